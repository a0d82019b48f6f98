"""SVG drawings, by the XML parser of the standard library: shapes, groups, transforms, copies."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np

from app.design.outline_files.curves import Curve
from app.design.outline_files.drawing import MM_PER_UNIT, DrawingError, Path, Sketch, shortened, shown_name
from app.design.outline_files.svg_path import (
    Affine,
    SvgError,
    after,
    ellipse,
    length_of,
    line_through,
    numbers_of,
    paths_of,
    rectangle,
    stated_mm,
    transform_of,
    view_of,
)
from geometry.model.frozen import short

MOST_PATHS = 20_000
MOST_ELEMENTS = 100_000
_DEEPEST = 60
_LEAST_UNIT, _MOST_UNIT = 1e-6, 1e6
# Units are the same where they differ by rounding alone.
_SAME = 1e-9
_SVG = "http://www.w3.org/2000/svg"
_HREFS = ("href", "http://www.w3.org/1999/xlink href")
# Shown only where something else refers to them.
_STORES = {
    "defs",
    "symbol",
    "clipPath",
    "mask",
    "marker",
    "pattern",
    "linearGradient",
    "radialGradient",
    "filter",
}
_SILENT = {"title", "desc", "metadata", "style", "script", "view"}
_GROUPS = {"g", "a", "svg"}
_NO_GROUP = "(no group)"


@dataclass
class _Element:
    tag: str
    """Without its namespace."""
    attributes: dict[str, str]
    line: int
    inside: list[_Element] = field(default_factory=list)


def read_svg(data: bytes, name: str) -> Sketch:
    """Read an SVG drawing.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        What to call it in errors.

    Returns
    -------
    Sketch
        Its shapes; layers are the groups around them, by label or id. Y points up.

    Raises
    ------
    DrawingError
        If it is no SVG drawing, declares entities, or holds far more than an outline.
    """
    root = _Parsed(name).of(data)
    if root.tag != "svg":
        raise DrawingError(f"{name} is XML, but no SVG drawing: it begins with {short(root.tag)}")
    reader = _Reader(name, root)
    unit, mm, first = _unit_of(root, name)
    reader.group(root, first, _NO_GROUP, ())
    return Sketch(
        name, tuple(reader.paths), dict(reader.left_out), unit, mm, shortened(reader.notes), y_down=True
    )


class _Parsed:
    """Makes a tree of elements, within bounds."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._stack: list[_Element] = []
        self._root: _Element | None = None
        self._count = 0
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        # By entities of its own a short text can grow without end.
        self._parser.EntityDeclHandler = self._entity

    def of(self, data: bytes) -> _Element:
        """The root of the tree."""
        try:
            self._parser.Parse(data, True)  # noqa: FBT003 - expat takes no names
        except expat.ExpatError as error:
            raise DrawingError(
                f"{self._name} is not valid XML: {expat.ErrorString(error.code)} at line {error.lineno}, "
                f"column {error.offset + 1}; save it anew as plain SVG"
            ) from None
        except (LookupError, UnicodeError, ValueError) as error:  # an encoding that Python does not know
            raise DrawingError(
                f"{self._name} cannot be read as text ({short(str(error))}); save it as plain SVG in UTF-8"
            ) from None
        if self._root is None:
            raise DrawingError(f"{self._name} is empty; save it anew as plain SVG")
        return self._root

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._count += 1
        if self._count > MOST_ELEMENTS:
            raise DrawingError(
                f"{self._name} holds more than {MOST_ELEMENTS:,} elements; save the outline alone"
            )
        if len(self._stack) >= _DEEPEST:
            raise DrawingError(
                f"{self._name} is nested more than {_DEEPEST} deep at line {self._parser.CurrentLineNumber}; "
                "ungroup what is in it"
            )
        space, _, plain = tag.rpartition(" ")
        known = plain if space in {"", _SVG} else ""
        element = _Element(known, attributes, self._parser.CurrentLineNumber)
        if self._stack:
            self._stack[-1].inside.append(element)
        else:
            self._root = element if known else _Element(plain, attributes, element.line)
        self._stack.append(element)

    def _end(self, _tag: str) -> None:
        self._stack.pop()

    def _entity(self, *_declared: object) -> None:
        raise DrawingError(
            f"{self._name} declares entities of its own at line {self._parser.CurrentLineNumber}, by which a "
            "file can grow without end; save it anew as plain SVG"
        )


def _unit_of(root: _Element, name: str) -> tuple[str, float, Affine]:
    """The unit in words, its millimetres, and the map from the axes of the root, Y down, to those, Y up."""
    flip: Affine = (np.diag([1.0, -1.0]), np.zeros(2))
    width, height = stated_mm(root.attributes.get("width")), stated_mm(root.attributes.get("height"))
    box_text = root.attributes.get("viewBox")
    px = MM_PER_UNIT["px"]
    if box_text is None:
        words = "px of 1/96 inch" if width is not None or height is not None else ""
        return words, px, flip
    try:
        box = numbers_of(box_text)
        if width is None and height is None:
            view_of(box, 1.0, 1.0, "")
            return "", px, flip
        # One side alone gives the other its share.
        across = width if width is not None else (height or 0.0) * box[2] / box[3]
        up = height if height is not None else (width or 0.0) * box[3] / box[2]
        matrix, _ = view_of(box, across, up, root.attributes.get("preserveAspectRatio", ""))
    except (SvgError, ZeroDivisionError, IndexError) as error:
        why = str(error) if isinstance(error, SvgError) else "has a viewBox without a size"
        raise DrawingError(f"{name}: the svg element at line {root.line} {why}") from None
    mm, tall = float(matrix[0, 0]), float(matrix[1, 1])
    if not (_LEAST_UNIT <= mm <= _MOST_UNIT and _LEAST_UNIT <= tall <= _MOST_UNIT):
        raise DrawingError(
            f"{name}: the svg element at line {root.line} has a size and a viewBox that no drawing can have; "
            "save it anew as plain SVG"
        )
    named = (unit for unit, size in MM_PER_UNIT.items() if abs(size - mm) <= _SAME * mm)
    return next(named, f"{mm:.6g} mm for 1"), mm, (np.diag([1.0, -tall / mm]), np.zeros(2))


class _Reader:
    """Goes through the tree, and through the copies within it."""

    def __init__(self, name: str, root: _Element) -> None:
        self._name = name
        self.paths: list[Path] = []
        self.left_out: Counter[str] = Counter()
        self.notes: list[str] = []
        self._visits = 0
        self._by_id: dict[str, _Element] = {}
        waiting = [root]
        while waiting:
            element = waiting.pop()
            if "id" in element.attributes:
                self._by_id.setdefault(element.attributes["id"], element)
            waiting += element.inside

    def group(self, element: _Element, place: Affine, layer: str, within: tuple[int, ...]) -> None:
        """Take up what is inside an element."""
        for inner in element.inside:
            self.take(inner, place, layer, within)

    def take(self, element: _Element, place: Affine, layer: str, within: tuple[int, ...]) -> None:
        """Take up an element.

        Parameters
        ----------
        element
            Anything.
        place
            From the axes around it to those of the sketch.
        layer
            Name of the group around it.
        within
            Marks of the copies around it, so that none holds itself.
        """
        self._visits += 1
        if self._visits > MOST_ELEMENTS or len(self.paths) > MOST_PATHS:
            raise DrawingError(
                f"{self._name} holds far more than an outline: over {MOST_PATHS:,} paths, or "
                f"{MOST_ELEMENTS:,} elements with their copies; save a drawing of the outline alone"
            )
        tag = element.tag
        if not tag or tag in _SILENT or tag in _STORES:
            return
        if _hidden(element):
            self.left_out["thing that the drawing hides"] += 1
            return
        try:
            here = after(place, transform_of(element.attributes.get("transform", "")))
            if tag in _GROUPS:
                here = after(here, _nested(element)) if tag == "svg" else here
                self.group(element, here, _layer_of(element, layer), within)
            elif tag == "use":
                self._copy(element, here, layer, within)
            elif tag in _SHAPES:
                self._shape(element, here, layer)
            else:
                self.left_out[_WORDS.get(tag, f"element {short(tag)}")] += 1
        except (ValueError, ArithmeticError) as error:  # sines of endless numbers are among them
            why = (
                error
                if isinstance(error, SvgError)
                else "holds numbers that are not finite, or far too large"
            )
            self.notes.append(f"Left out: {tag} {_place(element)} {why}; mend it in the drawing.")

    def _shape(self, element: _Element, here: Affine, layer: str) -> None:
        found = _SHAPES[element.tag](element.attributes)
        if not found:
            self.left_out[f"{element.tag} without a size"] += 1
        for curves, closed in found:
            moved = tuple(curve.moved(*here) for curve in curves)
            self.paths.append(Path(layer, moved, closed, element.tag, _place(element)))

    def _copy(self, element: _Element, here: Affine, layer: str, within: tuple[int, ...]) -> None:
        target = next((element.attributes[key] for key in _HREFS if key in element.attributes), "")
        shown = self._by_id.get(target.removeprefix("#")) if target.startswith("#") else None
        if shown is None:
            self.left_out["copy of something that is not in the file"] += 1
            return
        if id(shown) in within or len(within) >= _DEEPEST:
            self.left_out["copy that holds itself"] += 1
            return
        x, y = (length_of(element.attributes.get(key, "0")) for key in ("x", "y"))
        here = after(here, (np.eye(2), np.array([x, y])))
        inside = (*within, id(shown))
        if shown.tag != "symbol":
            self.take(shown, here, layer, inside)
            return
        size = {key: text for key, text in element.attributes.items() if key in {"width", "height"}}
        sized = _Element("svg", {**shown.attributes, **size}, shown.line)
        self.group(shown, after(here, _nested(sized)), _layer_of(shown, layer), inside)


def _nested(element: _Element) -> Affine:
    """Place and view of an svg within another."""
    given = element.attributes
    x, y = (length_of(given.get(key, "0")) for key in ("x", "y"))
    move: Affine = (np.eye(2), np.array([x, y]))
    if "viewBox" not in given:
        return move
    box = numbers_of(given["viewBox"])
    if "width" not in given or "height" not in given:
        raise SvgError("has a viewBox, but no width and height")
    size = length_of(given["width"]), length_of(given["height"])
    return after(move, view_of(box, *size, given.get("preserveAspectRatio", "")))


def _hidden(element: _Element) -> bool:
    style = element.attributes.get("style", "").replace(" ", "")
    return (
        element.attributes.get("display") == "none"
        or element.attributes.get("visibility") in {"hidden", "collapse"}
        or "display:none" in style
        or "visibility:hidden" in style
    )


def _layer_of(element: _Element, around: str) -> str:
    labels = (value for key, value in element.attributes.items() if key.endswith(" label"))
    name = next(labels, "") or element.attributes.get("id", "")
    return shown_name(name) if name.strip() else around


def _place(element: _Element) -> str:
    return f"at line {element.line}"


Found = list[tuple[list[Curve], bool]]


def _number(given: dict[str, str], key: str) -> float:
    return length_of(given.get(key, "0"))


def _path(given: dict[str, str]) -> Found:
    return paths_of(given.get("d", ""))


def _rect(given: dict[str, str]) -> Found:
    # Where one radius is left out, it is the other.
    radii = [given.get(key, "auto").strip() for key in ("rx", "ry")]
    rx, ry = (given_one if given_one != "auto" else other for given_one, other in (radii, radii[::-1]))
    round_ = [0.0 if one == "auto" else length_of(one) for one in (rx, ry)]
    x, y, width, height = (_number(given, key) for key in ("x", "y", "width", "height"))
    return _some(rectangle(x, y, width, height, *round_), closed=True)


def _circle(given: dict[str, str]) -> Found:
    r = _number(given, "r")
    return _some(ellipse(_number(given, "cx"), _number(given, "cy"), r, r), closed=True)


def _ellipse(given: dict[str, str]) -> Found:
    numbers = (_number(given, key) for key in ("cx", "cy", "rx", "ry"))
    return _some(ellipse(*numbers), closed=True)


def _line(given: dict[str, str]) -> Found:
    numbers = [_number(given, key) for key in ("x1", "y1", "x2", "y2")]
    return _some(line_through(numbers, closed=False), closed=False)


def _polyline(given: dict[str, str]) -> Found:
    return _some(line_through(numbers_of(given.get("points", "")), closed=False), closed=False)


def _polygon(given: dict[str, str]) -> Found:
    return _some(line_through(numbers_of(given.get("points", "")), closed=True), closed=True)


def _some(curves: list[Curve], *, closed: bool) -> Found:
    return [(curves, closed)] if curves else []


_SHAPES: dict[str, Callable[[dict[str, str]], Found]] = {
    "path": _path,
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
    "line": _line,
    "polyline": _polyline,
    "polygon": _polygon,
}
_WORDS = {
    "text": "text",
    "image": "image",
    "foreignObject": "foreign content",
    "switch": "choice by language",
}
