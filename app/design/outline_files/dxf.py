"""DXF drawings, by ezdxf: which entities become paths, blocks within blocks, units, layers."""

from __future__ import annotations

import io
import logging
import math
import struct
from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from app.design.outline_files.curves import Arc, Curve, CurveError, Floats, Lines, Spline
from app.design.outline_files.drawing import MM_PER_UNIT, DrawingError, Path, Sketch, shown_name
from app.units import radians
from geometry.model.frozen import short

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.math import BSpline

BINARY = b"AutoCAD Binary DXF"
"""How a DXF drawing begins that is no text."""
MOST_PATHS = 20_000
_MOST_VISITS = 200_000
_DEEPEST = 30
_MOST_CONTROLS = 5_000

# Header variable $INSUNITS: name and millimetres of what a chassis may be drawn in.
_UNITS = {
    1: ("inch", MM_PER_UNIT["inch"]),
    2: ("foot", 12 * MM_PER_UNIT["inch"]),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    8: ("millionth of an inch", 1e-6 * MM_PER_UNIT["inch"]),
    9: ("thousandth of an inch", 1e-3 * MM_PER_UNIT["inch"]),
    10: ("yard", 36 * MM_PER_UNIT["inch"]),
    13: ("micrometre", 1e-3),
    14: ("dm", 100.0),
}
_WORDS = {
    "TEXT": "text",
    "MTEXT": "text",
    "ATTRIB": "text",
    "ATTDEF": "text",
    "DIMENSION": "dimension",
    "ARC_DIMENSION": "dimension",
    "LARGE_RADIAL_DIMENSION": "dimension",
    "LEADER": "leader",
    "MULTILEADER": "leader",
    "HATCH": "hatch",
    "MPOLYGON": "hatch",
    "IMAGE": "image",
    "WIPEOUT": "image",
    "POINT": "point",
    "SOLID": "filled area",
    "TRACE": "filled area",
    "3DFACE": "surface",
    "MESH": "surface",
    "3DSOLID": "solid",
    "BODY": "solid",
    "REGION": "region",
    "XLINE": "endless line",
    "RAY": "endless line",
    "VIEWPORT": "window on a sheet",
}
# What ezdxf raises on files that break its rules, beside its own errors, not all of which are among these.
_BROKEN = (
    ArithmeticError,
    AttributeError,
    LookupError,
    TypeError,
    ValueError,
    AssertionError,
    RuntimeError,
    struct.error,
)


def read_dxf(data: bytes, name: str) -> Sketch:
    """Read a DXF drawing, text or binary, of any version that ezdxf reads.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        What to call it in errors.

    Returns
    -------
    Sketch
        What its model space shows; layers by their names.

    Raises
    ------
    DrawingError
        If it is no DXF drawing, or holds far more than an outline.
    """
    # Late: a start of the program does without.
    from ezdxf.lldxf.const import DXFError

    broken = (DXFError, *_BROKEN)
    try:
        document, mended = _loaded(data)
        reader = _Reader(document, name, broken)
        reader.visit(list(document.modelspace()), np.eye(3), np.zeros(3), None, ())
        unit, mm = _unit_of(document)
    except broken as error:
        raise _no_drawing(name, error) from None
    notes = []
    if mended:
        notes.append(f"The file breaks rules of its format in {mended} places; what could be read is shown.")
    return Sketch(name, tuple(reader.paths), dict(reader.left_out), unit, mm, (*notes, *reader.notes))


def _loaded(data: bytes) -> tuple[Drawing, int]:
    """The document, and how many faults of the file were mended in it."""
    from ezdxf import recover
    from ezdxf.document import Drawing as Document
    from ezdxf.lldxf.tagger import binary_tags_loader

    # Its warnings, with whatever a broken file holds, would go to the terminal.
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL + 1)
    if data.startswith(BINARY):
        return Document.load(binary_tags_loader(data)), 0
    document, auditor = recover.read(io.BytesIO(data))
    return document, len(auditor.errors) + len(auditor.fixes)


def _no_drawing(name: str, error: BaseException) -> DrawingError:
    why = short(str(error)) if str(error) else type(error).__name__
    return DrawingError(
        f"{name} cannot be read as a DXF drawing ({why}); save it anew, as DXF of the year 2000 or later"
    )


def _unit_of(document: Drawing) -> tuple[str, float]:
    try:
        return _UNITS.get(int(document.header.get("$INSUNITS", 0)), ("", 1.0))
    except _BROKEN:
        return "", 1.0


class _Reader:
    """Goes through entities and the blocks within them."""

    def __init__(self, document: Drawing, name: str, broken: tuple[type[Exception], ...]) -> None:
        self._document, self._name, self._broken = document, name, broken
        self.paths: list[Path] = []
        self.left_out: Counter[str] = Counter()
        self.notes: list[str] = []
        self._visits = 0
        self._hidden = {
            self._key(layer.dxf.name) for layer in document.layers if layer.is_off() or layer.is_frozen()
        }

    @staticmethod
    def _key(layer: object) -> str:
        return str(layer).casefold()

    def visit(
        self,
        entities: Iterable[Any],
        matrix: Floats,
        shift: Floats,
        inherited: str | None,
        within: tuple[str, ...],
    ) -> None:
        """Take up entities.

        Parameters
        ----------
        entities
            Of the model space, or of a block.
        matrix, shift
            (3, 3) and (3,): from their axes to those of the drawing.
        inherited
            Layer of the insert, which those on layer 0 of a block get.
        within
            Names of the blocks around them.
        """
        for entity in entities:
            self._count()
            try:
                self._take(entity, matrix, shift, inherited, within)
            except self._broken:
                self.left_out[f"broken {_words(entity)}"] += 1

    def _count(self, more: int = 1) -> None:
        """Count things, and end where there are far too many."""
        self._visits += more
        if self._visits > _MOST_VISITS or len(self.paths) > MOST_PATHS:
            raise DrawingError(
                f"{self._name} holds far more than an outline: over {MOST_PATHS:,} paths, or "
                f"{_MOST_VISITS:,} entities with those of its blocks; save the outline's layers alone"
            )

    def _take(
        self, entity: Any, matrix: Floats, shift: Floats, inherited: str | None, within: tuple[str, ...]
    ) -> None:
        kind = entity.dxftype()
        own = str(entity.dxf.get("layer", "0"))
        layer = inherited if inherited is not None and own == "0" else own
        if self._key(layer) in self._hidden or entity.dxf.get("invisible", 0):
            self.left_out["thing that the drawing hides"] += 1
        elif kind == "INSERT":
            self._take_insert(entity, matrix, shift, layer, within)
        elif kind in _READ:
            curves, closed = _READ[kind](entity)
            if curves:
                moved = tuple(curve.moved(matrix[:2], shift[:2]) for curve in curves)
                place = f"(handle {shown_name(str(entity.dxf.get('handle', '?')))})"
                self.paths.append(Path(shown_name(layer), moved, closed, kind.lower(), place))
            else:
                self.left_out[_words(entity)] += 1
        else:
            self.left_out[_words(entity)] += 1

    def _take_insert(
        self, insert: Any, matrix: Floats, shift: Floats, layer: str, within: tuple[str, ...]
    ) -> None:
        block = insert.block()
        if block is None:
            self.left_out["block that is not in the file"] += 1
            return
        name = self._key(block.name)
        if name in within or len(within) >= _DEEPEST:
            self.left_out["block that holds itself"] += 1
            return
        if insert.attribs:
            self.left_out["text"] += len(insert.attribs)
        repeated = insert.mcount > 1
        # Before they are made: those at one place are gone through one by one, and left out.
        self._count(int(insert.dxf.row_count) * int(insert.dxf.column_count) if repeated else 1)
        for one in insert.multi_insert() if repeated else (insert,):
            m = one.matrix44()
            own = np.column_stack([tuple(m.ux), tuple(m.uy), tuple(m.uz)])
            self.visit(
                block, matrix @ own, matrix @ np.array(tuple(m.origin)) + shift, layer, (*within, name)
            )


def _words(entity: Any) -> str:
    kind = str(entity.dxftype())
    if kind == "POLYLINE":
        return "surface"
    return _WORDS.get(kind, f"thing of the kind {short(kind)}")


def _ocs(entity: Any) -> Floats:
    """From the entity's own axes to those around it, (3, 3)."""
    ocs = entity.ocs()
    return np.column_stack([tuple(ocs.ux), tuple(ocs.uy), tuple(ocs.uz)])


def _point(value: Any) -> Floats:
    return np.array([value[0], value[1], value[2]], dtype=np.float64)


def _line(entity: Any) -> tuple[list[Curve], bool]:
    return [Lines(np.array([_point(entity.dxf.start), _point(entity.dxf.end)]))], False


def _round(entity: Any) -> tuple[list[Curve], bool]:
    """A circle or an arc."""
    whole = entity.dxftype() == "CIRCLE"
    r = float(entity.dxf.radius)
    start, sweep = 0.0, 2.0 * math.pi
    if not whole:
        start = radians(entity.dxf.start_angle)
        sweep = (radians(entity.dxf.end_angle) - start) % (2.0 * math.pi) or 2.0 * math.pi
    ocs = _ocs(entity)
    return [Arc(ocs @ _point(entity.dxf.center), r * ocs[:, 0], r * ocs[:, 1], start, sweep)], whole


def _ellipse(entity: Any) -> tuple[list[Curve], bool]:
    u = _point(entity.dxf.major_axis)
    up = _point(entity.dxf.extrusion)
    v = np.cross(up, u) / np.linalg.norm(up) * float(entity.dxf.ratio)
    start = float(entity.dxf.start_param)
    sweep = (float(entity.dxf.end_param) - start) % (2.0 * math.pi)
    whole = sweep < 1e-9 or 2.0 * math.pi - sweep < 1e-9
    return [Arc(_point(entity.dxf.center), u, v, start, 2.0 * math.pi if whole else sweep)], whole


def _lwpolyline(entity: Any) -> tuple[list[Curve], bool]:
    height = float(entity.dxf.get("elevation", 0.0))
    vertices = [(x, y, height, bulge) for x, y, bulge in entity.get_points("xyb")]
    return _bulged(vertices, _ocs(entity), bool(entity.closed))


def _polyline(entity: Any) -> tuple[list[Curve], bool]:
    closed = bool(entity.is_closed)
    # Control points of a smoothed polyline are not on it.
    shown = [vertex for vertex in entity.vertices if not int(vertex.dxf.get("flags", 0)) & 16]
    if entity.is_2d_polyline:
        vertices = [(*_point(v.dxf.location).tolist(), float(v.dxf.get("bulge", 0.0))) for v in shown]
        return _bulged(vertices, _ocs(entity), closed)
    if entity.is_3d_polyline:
        points = np.array([_point(v.dxf.location) for v in shown]).reshape(-1, 3)
        if closed and len(points):
            points = np.vstack([points, points[:1]])
        return ([Lines(points)] if len(points) > 1 else []), closed
    return [], False


# A bulge below this is a straight line for any size of chassis.
_STRAIGHT = 1e-9


def _bulged(
    vertices: list[tuple[float, float, float, float]],
    ocs: Floats,
    closed: bool,  # noqa: FBT001 - as the file has it
) -> tuple[list[Curve], bool]:
    """Lines and arcs from vertex to vertex: a bulge is the tangent of a quarter of the arc's angle."""
    if len(vertices) < 2:
        return [], closed
    curves: list[Curve] = []
    last = len(vertices) if closed else len(vertices) - 1
    for i in range(last):
        x, y, z, bulge = vertices[i]
        nx, ny, *_ = vertices[(i + 1) % len(vertices)]
        a, b = np.array([x, y, z]), np.array([nx, ny, z])
        if abs(bulge) < _STRAIGHT or (x == nx and y == ny):
            curves.append(Lines(np.array([ocs @ a, ocs @ b])))
            continue
        # The centre is beside the middle of the chord, by half of it times the cotangent of half the angle.
        beside = 0.5 * (1.0 / bulge - bulge)
        across = 0.5 * np.array([y - ny, nx - x, 0.0])
        centre = 0.5 * (a + b) + beside * across
        u = a - centre
        v = np.array([-u[1], u[0], 0.0])
        curves.append(Arc(ocs @ centre, ocs @ u, ocs @ v, 0.0, 4.0 * math.atan(bulge)))
    return curves, closed


def _spline(entity: Any) -> tuple[list[Curve], bool]:
    curve = entity.construction_tool()
    if curve.count > _MOST_CONTROLS:
        raise ValueError
    controls = np.array([tuple(point) for point in curve.control_points], dtype=np.float64)
    knots = np.array(curve.knots(), dtype=np.float64)
    order = int(curve.order)
    if not np.isfinite(knots).all() or (np.diff(knots) < 0).any():
        raise ValueError
    # Outside of these a B-spline is not defined.
    inside = knots[order - 1 : len(controls) + 1]
    return [Spline(controls, inside, _evaluator(curve))], False


def _evaluator(curve: BSpline) -> Any:
    from ezdxf.math import BSpline as Made

    order, knots, weights = curve.order, list(curve.knots()), list(curve.weights()) or None

    def evaluated(controls: Floats, t: Floats) -> Floats:
        try:
            made = Made([tuple(point) for point in controls.tolist()], order, knots, weights)
            return np.array([(p.x, p.y) for p in made.points(t.tolist())])
        except (ArithmeticError, ValueError):
            raise CurveError("holds knots or weights that give no curve") from None

    return evaluated


_READ = {
    "LINE": _line,
    "ARC": _round,
    "CIRCLE": _round,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
