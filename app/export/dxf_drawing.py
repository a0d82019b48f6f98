"""A drawing as DXF, by ezdxf: millimetres, a layer for each role, outlines as polylines with their arcs.

Dimensions are written as lines, arrows and numbers. As dimensions of the format each reader would draw them
anew in a style of its own, and measure their numbers anew, which here may be rounded or of another unit.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from app.drawing.elements import Arc, Circle, Drawing, Line, Outline, Role, Text
from app.drawing.layers import LAYERS
from app.export.drawing_parts import Frame, Part, for_cutting, frame_of, once, one_line, parts
from app.units import degrees

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.layout import Modelspace

COLOURS: dict[Role, int] = {
    "frame": 8,
    "sweep": 9,
    "outline": 7,
    "opening": 1,
    "part": 3,
    "wheel": 4,
    "axle line": 5,
    "kingpin": 6,
    "axle": 30,
    "centre": 150,
    "dimension": 140,
    "gauge": 7,
    "text": 7,
}
"""Colour by its number in the format's own list, not the ink of paper, which is lost on a dark screen; 7 is
black or white. What is cut has a number of its own for each role: cutters tell passes by it."""
_CAPITALS = 0.729
"""Height of capitals, which the format counts, as share of the height of the font."""
_STYLE, _FONT_FILE = "lettering", "DejaVuSans.ttf"
_MM = 4
_HUNDREDTHS = 100


def render(drawing: Drawing, *, cut: bool = False) -> str:
    """Write a drawing as the text of a DXF file of the year 2010.

    Nothing is drawn twice on a layer. What paper covers shows here: only what is filled with ink is filled.

    Parameters
    ----------
    drawing : Drawing
        Of any size.
    cut : bool
        Only closed paths, none filled or dashed.

    Raises
    ------
    ExportError
        If there is nothing on it, or what a cutter cannot cut where it is to be cut.
    """
    found = parts(drawing.elements)
    found = for_cutting(found) if cut else once(found)
    frame = frame_of(drawing)
    from ezdxf.filemanagement import new  # late: a start of the program does without

    with _no_dates():
        document = new("R2010", units=_MM)
        _set_up(document, frame)
        _add_layers(document, {part.role for part in found}, dashed=not cut)
        space = document.modelspace()
        for part in found:
            _add(space, part)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue()


@contextmanager
def _no_dates() -> Iterator[None]:
    """Keep dates and random marks out of the file: the same drawing, the same bytes."""
    from ezdxf import options  # type: ignore[attr-defined]

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _set_up(document: Document, frame: Frame) -> None:
    document.header["$MEASUREMENT"] = 1
    document.header["$LWDISPLAY"] = 1
    document.styles.add(_STYLE, font=_FONT_FILE)
    middle = frame.left + 0.5 * frame.width, frame.low + 0.5 * frame.height
    # A window is wider than high: what is wide needs less height.
    document.set_modelspace_vport(max(frame.height, 0.6 * frame.width), middle)
    space = document.modelspace()
    space.reset_extents(
        (frame.left, frame.low, 0.0), (frame.left + frame.width, frame.low + frame.height, 0.0)
    )


def _add_layers(document: Document, roles: Iterable[Role], *, dashed: bool) -> None:
    from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

    wanted = frozenset(roles)
    for role, layer in LAYERS.items():
        if role not in wanted:
            continue
        linetype = "Continuous"
        if dashed and layer.dash:
            linetype = f"{layer.key}_dash"
            strokes = [length if k % 2 == 0 else -length for k, length in enumerate(layer.dash)]
            document.linetypes.add(linetype, [sum(layer.dash), *strokes], description=layer.key)
        weight = min(VALID_DXF_LINEWEIGHTS, key=lambda one: abs(one - _HUNDREDTHS * layer.width))
        document.layers.add(layer.key, color=COLOURS[role], linetype=linetype, lineweight=weight)


def _add(space: Modelspace, part: Part) -> None:
    on_layer = {"layer": LAYERS[part.role].key}
    match part:
        case Line():
            space.add_line(part.start, part.end, on_layer)
        case Arc():
            # Always counter-clockwise here.
            start, end = sorted((part.start, part.start + part.sweep))
            space.add_arc(part.centre, part.radius, degrees(start), degrees(end), dxfattribs=on_layer)
        case Circle():
            space.add_circle(part.centre, part.radius, on_layer)
            (x, y), r = part.centre, part.radius
            _fill(space, part, [(x - r, y, 1.0), (x + r, y, 1.0)])
        case Outline():
            corners = [tuple(corner) for corner in part.corners]
            space.add_lwpolyline(corners, "xyb", close=part.closed, dxfattribs=on_layer)
            _fill(space, part, corners)
        case Text():
            _add_text(space, part)


def _fill(space: Modelspace, part: Circle | Outline, corners: list[tuple[float, ...]]) -> None:
    """Fill what is filled with ink, such as an arrow."""
    layer = LAYERS[part.role]
    if part.filled and layer.ground == layer.ink:
        hatch = space.add_hatch(color=256, dxfattribs={"layer": layer.key})  # 256: that of the layer
        hatch.paths.add_polyline_path(corners, is_closed=True)


def _add_text(space: Modelspace, text: Text) -> None:
    from ezdxf.enums import TextEntityAlignment

    align = {
        "left": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "right": TextEntityAlignment.RIGHT,
    }[text.align]
    attributes = {"layer": LAYERS[text.role].key, "style": _STYLE}
    made = space.add_text(
        escaped(text.text), height=_CAPITALS * text.height, rotation=degrees(text.turn), dxfattribs=attributes
    )
    made.set_placement(text.place, align=align)


def escaped(text: str) -> str:
    r"""A text as the format holds it: a blank parts what would be one of its codes.

    Codes begin with two percent signs, with a caret, or with ``\U+`` and ``\M+``. The format has escapes for
    some of these, which not all readers know. Braces and other backslashes are codes in texts of several
    lines alone, which are not written.

    Examples
    --------
    >>> escaped("50%%c ^J"), escaped("100 %"), escaped(r"\U+0041"), escaped(r"{\H3;x}")
    ('50% %c ^ J', '100 %', '\\ U+0041', '{\\H3;x}')
    """
    return re.sub(r"%(?=%)|\^|\\(?=[UuMm]\+)", r"\g<0> ", one_line(text))
