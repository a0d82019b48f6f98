"""A sketch laid on a chassis: unit, scale, direction, curves to chords, ends joined."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np

from app.design.outline_files.chains import chained
from app.design.outline_files.curves import Arc, CurveError, Floats
from app.design.outline_files.drawing import (
    CHORD_MM,
    JOIN_MM,
    LEAST_CHORD_MM,
    LEAST_SCALE,
    MM_PER_UNIT,
    MOST_CHORD_MM,
    MOST_JOIN_MM,
    MOST_SCALE,
    SAME_MM,
    Circle,
    Drawing,
    DrawingError,
    DrawingUnit,
    Forward,
    OpenPath,
    Outline,
    Path,
    Sketch,
    shortened,
)

# (x forward, y left) of the chassis from (X right, Y up) of the drawing.
_TURNED: dict[Forward, tuple[tuple[float, float], tuple[float, float]]] = {
    "up": ((0.0, 1.0), (-1.0, 0.0)),
    "right": ((1.0, 0.0), (0.0, 1.0)),
    "down": ((0.0, -1.0), (1.0, 0.0)),
    "left": ((-1.0, 0.0), (0.0, -1.0)),
}
# Arcs of one circle: how far centres and radii may differ, as share of the radius.
_SAME_CIRCLE = 1e-6
# What encloses less is nothing that can be cut [mm²].
_LEAST_MM2 = 1e-6
MOST_POINTS = 400_000
"""Of a whole drawing."""


def laid_out(
    sketch: Sketch,
    chord_mm: float = CHORD_MM,
    *,
    unit: DrawingUnit | None = None,
    scale: float = 1.0,
    forward: Forward = "up",
    join_mm: float = JOIN_MM,
) -> Drawing:
    """Lay a sketch on the axes of a chassis.

    Parameters
    ----------
    sketch : Sketch
        What the file holds.
    chord_mm : float
        How far a chord may be from its curve [mm], 0.001 to 5.
    unit : DrawingUnit, optional
        What one unit of the file is; not given: as the file states.
    scale : float
        Enlarges all.
    forward : Forward
        Which direction of the drawing is forward on the chassis.
    join_mm : float
        The widest gap between ends that is joined [mm].

    Returns
    -------
    Drawing
        Outlines and circles of the whole file.

    Raises
    ------
    DrawingError
        If a number is out of range, or the drawing holds no closed outline and no circle.
    """
    _in_range("the chord error", chord_mm, LEAST_CHORD_MM, MOST_CHORD_MM, " mm")
    _in_range("the gap to be joined", join_mm, 0.0, MOST_JOIN_MM, " mm")
    _in_range("the scale", scale, LEAST_SCALE, MOST_SCALE)
    size = (sketch.mm_per_unit if unit is None else MM_PER_UNIT[unit]) * scale
    sorter = _Sorter(sketch.name, chord_mm, Counter(sketch.left_out))
    turn = size * np.array(_TURNED[forward])
    with np.errstate(all="ignore"):  # what is not finite is told
        for path in sketch.paths:
            sorter.take(_turned(path, turn))
        back = np.diag([1.0, -1.0 if sketch.y_down else 1.0]) @ np.linalg.inv(turn)
        sorter.join(join_mm, back)
    drawing = Drawing(
        sketch.name,
        tuple(sorted(sorter.outlines, key=lambda one: -one.area_mm2)),
        tuple(sorter.circles),
        tuple(sorter.open_paths),
        dict(sorter.left_out),
        _unit_words(sketch, unit, scale),
        size,
        chord_mm,
        join_mm,
        (*sketch.notes, *shortened(sorter.broken)),
    )
    if not drawing.outlines and not drawing.circles:
        raise DrawingError(_nothing_closed(drawing))
    return drawing


def _in_range(what: str, value: float, least: float, most: float, unit: str = "") -> None:
    if not least <= value <= most:
        raise DrawingError(f"{what} must be from {least:g} to {most:g}{unit} (got {value:g})")


class _Sorter:
    """Sorts the paths of a drawing into circles, outlines and those that are open."""

    def __init__(self, name: str, chord: float, left_out: Counter[str]) -> None:
        self._name, self._chord = name, chord
        self.left_out = left_out
        self.circles: list[Circle] = []
        self.outlines: list[Outline] = []
        self.open_paths: list[OpenPath] = []
        self.broken: list[str] = []
        self._open: dict[str, list[Floats]] = defaultdict(list)
        self._seen: set[bytes] = set()
        self._total = 0

    def take(self, path: Path) -> None:
        """Take up one path, in the axes of the chassis."""
        try:
            points = _flat(path, self._chord)
        except CurveError as error:
            self.broken.append(
                f"Left out: {path.what} {path.place} on layer {path.layer} {error}; mend it in the drawing."
            )
            return
        self._total += len(points)
        if self._total > MOST_POINTS:
            raise DrawingError(
                f"{self._name} needs over {MOST_POINTS:,} points at a chord error of {self._chord:g} mm; "
                "choose a larger one, or a drawing of the outline alone"
            )
        mark = _mark(points, path)
        circle = _circle_of(path)
        if mark in self._seen:
            self.left_out["path that is drawn twice"] += 1
        elif circle is not None:
            self.circles.append(circle)
        elif path.closed or _meets_itself(points):
            self._close(points, path)
        elif len(points) > 1:
            self._open[path.layer].append(points)
        else:
            self.left_out[f"{path.what} without a length"] += 1
        self._seen.add(mark)

    def _close(self, points: Floats, path: Path) -> None:
        if len(points) > 1 and _same(points[0], points[-1]):
            points = points[:-1]
        self._keep(Outline(path.layer, points), path.what)

    def _keep(self, outline: Outline, what: str) -> None:
        if len(outline.points) > 2 and outline.area_mm2 > _LEAST_MM2:
            self.outlines.append(outline)
        else:
            self.left_out[f"{what} that encloses nothing"] += 1

    def join(self, within: float, back: Floats) -> None:
        """Join the open paths of each layer; `back` leads from the chassis to the file."""
        for layer, paths in self._open.items():
            for chain in chained(paths, within):
                if chain.closed:
                    self._keep(Outline(layer, chain.points, chain.gap), "path")
                else:
                    x, y = (float(value) for value in back @ chain.points[0] + 0.0)
                    self.open_paths.append(OpenPath(layer, chain.points, chain.gap, (x, y)))


def _turned(path: Path, turn: Floats) -> Path:
    nowhere = np.zeros(2)
    return replace(path, curves=tuple(curve.moved(turn, nowhere) for curve in path.curves))


def _circle_of(path: Path) -> Circle | None:
    """The circle that a path goes once round, whatever number of arcs it is made of; None for any other."""
    arcs = [curve for curve in path.curves if isinstance(curve, Arc)]
    if not arcs or len(arcs) < len(path.curves):
        return None
    radius = arcs[0].radius
    if radius is None or not math.isfinite(radius):
        return None
    turned = 0.0
    for arc in arcs:
        own = arc.radius
        off = float(np.hypot(*(arc.centre[:2] - arcs[0].centre[:2])))
        if own is None or abs(own - radius) > _SAME_CIRCLE * radius or not off <= _SAME_CIRCLE * radius:
            return None
        left = arc.u[0] * arc.v[1] - arc.u[1] * arc.v[0] > 0
        turned += arc.sweep if left else -arc.sweep
    if abs(abs(turned) - 2.0 * math.pi) > _SAME_CIRCLE:
        return None
    x, y = (float(value) for value in arcs[0].centre[:2])
    return Circle(path.layer, x, y, 2.0 * radius)


def _flat(path: Path, chord: float) -> Floats:
    """Points of a whole path, none twice in a row."""
    points = np.concatenate([curve.flat(chord) for curve in path.curves])
    if len(points) > 1:
        step = np.abs(np.diff(points, axis=0)).max(axis=1)
        points = points[np.concatenate(([True], step > SAME_MM))]
    return points


def _meets_itself(points: Floats) -> bool:
    return len(points) > 3 and _same(points[0], points[-1])


def _same(one: Floats, other: Floats) -> bool:
    return bool(np.abs(one - other).max() <= SAME_MM)


def _mark(points: Floats, path: Path) -> bytes:
    """The same for a path and for its copy, drawn either way."""
    rounded = np.round(points, 5) + 0.0
    one, other = rounded.tobytes(), rounded[::-1].tobytes()
    return path.layer.encode("utf-8", "replace") + bytes([path.closed]) + min(one, other)


def _unit_words(sketch: Sketch, unit: DrawingUnit | None, scale: float) -> str:
    if unit is not None:
        words = f"{unit}, as chosen"
    elif sketch.unit:
        words = f"{sketch.unit}, as the file states"
    else:
        words = "not stated by the file; choose it"
    return words if scale == 1.0 else f"{words}, times {scale:g}"


def _nothing_closed(drawing: Drawing) -> str:
    told = "\n".join(f"  {line}" for line in drawing.told())
    gaps = [path.gap_mm for path in drawing.open_paths if path.gap_mm <= MOST_JOIN_MM]
    helps = (
        f"close the paths in the drawing, or join gaps of up to {min(gaps):.3g} mm"
        if gaps
        else "draw the outline as one closed path, or as lines and arcs whose ends meet"
    )
    return f"{drawing.name} holds no closed outline and no circle: {helps}.\n{told}".rstrip()
