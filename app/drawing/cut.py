"""What a cutter gets of a drawing: closed paths that neither cross nor repeat, and nothing else."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, TypeAlias

from app.drawing.dimensioning import number
from app.drawing.elements import (
    ArcEdge,
    Box,
    Circle,
    Corner,
    Drawing,
    Element,
    Outline,
    Point,
    Role,
    arc_edge,
    box_of,
    bulge_of,
    edges,
    on_circle,
    points_of,
)
from geometry.plane import crossing_edges, points_outside

CUT: tuple[Role, ...] = ("outline", "opening", "kingpin", "axle")
"""Roles of what is cut, in the order in which they are kept: the body first."""
_SAME = 1e-6
"""Points nearer than this are one [mm]."""
_WORDS: dict[Role, str] = {
    "outline": "outline",
    "opening": "opening",
    "kingpin": "kingpin hole",
    "axle": "axle hole",
}

Path: TypeAlias = Circle | Outline


def cut_of(drawing: Drawing) -> Drawing:
    """Keep what a cutter can cut: outlines and holes that are closed, simple and once.

    Parameters
    ----------
    drawing : Drawing
        A plan at full size; only closed outlines and circles of body, openings, kingpins and axles count.

    Returns
    -------
    Drawing
        Circles and closed outlines. Its notes tell what was left out, mended or refused, by its place in
        millimetres of the drawing, and which holes lie outside of the body.
    """
    notes: list[str] = []
    kept: list[_Known] = []
    candidates = sorted(
        (element for element in drawing.elements if element.role in CUT), key=lambda e: CUT.index(e.role)
    )
    for element in candidates:
        path = _path(element, notes)
        if path is None:
            continue
        known = _Known(path)
        double = next((one.path for one in kept if _are_same(one, known)), None)
        if double is not None:
            notes.append(f"Left out {_named(path)}: it lies on {_named(double)}, and would be cut twice.")
            continue
        crossed = next((one.path for one in kept if _meet(one, known)), None)
        if crossed is not None:
            notes.append(
                f"Refused {_named(path)}: it crosses or touches {_named(crossed)}; move one of them or make "
                "it smaller."
            )
            continue
        kept.append(known)
    paths = tuple(one.path for one in kept)
    return Drawing(drawing.name, paths, (*notes, *_told_of_places(paths), *_left_out(drawing.elements)))


def _left_out(elements: Iterable[Element]) -> list[str]:
    """What is no path to cut, counted by kind."""
    counts: Counter[str] = Counter()
    for element in elements:
        if not isinstance(element, Circle | Outline):
            counts[type(element).__name__.lower()] += 1
        elif element.role not in CUT:
            counts[f"{'outline' if isinstance(element, Outline) else 'circle'} of {element.role}"] += 1
    if not counts:
        return []
    words = ", ".join(f"{count} × {kind}" for kind, count in sorted(counts.items()))
    return [f"Left out, since it is not cut: {words}."]


def _told_of_places(paths: Sequence[Path]) -> list[str]:
    """Holes that no outline of a body is around, and holes within another one."""
    found = []
    around = [(path, points_of(path, 0.01)) for path in paths if isinstance(path, Outline)]
    bodies = [points for path, points in around if path.role == "outline"]
    for path in paths:
        if path.role == "outline":
            continue
        point = _any_point(path)
        if bodies and all(points_outside(body, [point]).size for body in bodies):
            found.append(f"{_capital(_named(path))} lies outside of the body, and is cut all the same.")
        for other in paths:
            if other is path or other.role == "outline":
                continue
            within = (
                math.dist(point, other.centre) < other.radius
                if isinstance(other, Circle)
                else not points_outside(points_of(other, 0.01), [point]).size
            )
            if within:
                found.append(
                    f"{_capital(_named(path))} lies within {_named(other)}, which falls out with it."
                )
    return found


def _any_point(path: Path) -> Point:
    if isinstance(path, Circle):
        return path.centre[0] + path.radius, path.centre[1]
    return path.corners[0].x, path.corners[0].y


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _named(path: Path) -> str:
    """A path by its kind, its size and its place."""
    low_x, low_y, high_x, high_y = _box(path)
    at = f"x {number(0.5 * (low_x + high_x))}, y {number(0.5 * (low_y + high_y))}"
    if isinstance(path, Circle):
        size = f"ø{number(2.0 * path.radius)}"
    else:
        size = f"{number(high_x - low_x)} × {number(high_y - low_y)}"
    return f"the {_WORDS[path.role]} {size} about {at} on the drawing"


def _box(path: Path) -> Box:
    return box_of([path], lambda _text, _height: 0.0)


# One path ----------------------------------------------------------------------------------------


def _path(element: Element, notes: list[str]) -> Path | None:
    """A closed path without edges of no length; None where there is none."""
    if isinstance(element, Circle):
        if element.radius <= _SAME:
            notes.append(f"Left out {_named(element)}: it has no size.")
            return None
        return Circle(element.role, element.centre, element.radius)
    if not isinstance(element, Outline):
        return None  # lines and crosses are told by their number
    if not element.closed:
        notes.append(f"Refused {_named(element)}: it is open; close it.")
        return None
    corners = _without_short(element, notes)
    path = Outline(element.role, corners)
    if len(corners) < 2 or (len(corners) == 2 and not any(c.bulge for c in corners)):
        notes.append(f"Refused {_named(element)}: it encloses nothing.")
        return None
    ring = _as_circle(path)
    if ring is not None:
        return ring
    if _crosses_itself(path):
        notes.append(f"Refused {_named(path)}: it crosses or touches itself; move its corners.")
        return None
    return path


def _without_short(outline: Outline, notes: list[str]) -> tuple[Corner, ...]:
    kept: list[Corner] = []
    for here, there in edges(outline):
        if math.dist((here.x, here.y), (there.x, there.y)) <= _SAME:
            notes.append(
                f"Took an edge of no length out of {_named(outline)}, at x {number(here.x)}, "
                f"y {number(here.y)}."
            )
        else:
            kept.append(here)
    return tuple(kept)


def _as_circle(outline: Outline) -> Circle | None:
    """The circle that an outline is, where all its edges are arcs of one."""
    if not all(corner.bulge for corner in outline.corners):
        return None
    arcs = [arc_edge(*edge) for edge in edges(outline)]
    first = arcs[0]
    one = all(
        math.dist(arc.centre, first.centre) <= _SAME and abs(arc.radius - first.radius) <= _SAME
        for arc in arcs
    )
    whole = abs(abs(math.fsum(arc.sweep for arc in arcs)) - 2.0 * math.pi) <= 1e-6
    return Circle(outline.role, first.centre, first.radius) if one and whole else None


def _crosses_itself(outline: Outline) -> bool:
    if not any(corner.bulge for corner in outline.corners):
        return crossing_edges([(c.x, c.y) for c in outline.corners]) is not None
    pieces = _pieces(outline)
    count = len(pieces)
    for i, j in itertools.combinations(range(count), 2):
        shared = [pieces[i].end] if j == i + 1 else []
        shared += [pieces[i].start] if i == 0 and j == count - 1 else []
        met = _meetings(pieces[i], pieces[j])
        if any(all(math.dist(p, q) > 10 * _SAME for q in shared) for p in met):
            return True
    return False


# Two paths ---------------------------------------------------------------------------------------


class _Piece(NamedTuple):
    """A straight edge, or an arc with its centre."""

    start: Point
    end: Point
    arc: ArcEdge | None

    @property
    def box(self) -> Box:
        corner = Corner(*self.start, bulge_of(self.arc.sweep) if self.arc else 0.0)
        return box_of([Outline("outline", (corner, Corner(*self.end)), closed=False)], lambda _t, _h: 0.0)


def _pieces(path: Path) -> list[_Piece]:
    if isinstance(path, Circle):
        found = []
        for start in (0.0, math.pi):
            a, b = (on_circle(path.centre, path.radius, start + turn) for turn in (0.0, math.pi))
            found.append(_Piece(a, b, ArcEdge(path.centre, path.radius, start, math.pi)))
        return found
    return [_Piece((a.x, a.y), (b.x, b.y), arc_edge(a, b) if a.bulge else None) for a, b in edges(path)]


@dataclass(frozen=True, eq=False)
class _Known:
    """A path with what is asked of it again and again."""

    path: Path

    @cached_property
    def box(self) -> Box:
        return _box(self.path)

    @cached_property
    def pieces(self) -> list[tuple[_Piece, Box]]:
        return [(piece, piece.box) for piece in _pieces(self.path)]


def _are_same(one: _Known, other: _Known) -> bool:
    """Whether two paths cover each other, wherever they begin and whichever way they go."""
    a, b = one.path, other.path
    if any(abs(u - v) > 2 * _SAME for u, v in zip(one.box, other.box, strict=True)):
        return False
    if isinstance(a, Circle) or isinstance(b, Circle):
        return isinstance(a, Circle) and isinstance(b, Circle)
    return len(one.pieces) == len(other.pieces) and all(
        any(_same_piece(p, q) for q, _ in other.pieces) for p, _ in one.pieces
    )


def _same_piece(one: _Piece, other: _Piece) -> bool:
    forth = math.dist(one.start, other.start) <= _SAME and math.dist(one.end, other.end) <= _SAME
    back = math.dist(one.start, other.end) <= _SAME and math.dist(one.end, other.start) <= _SAME
    if not (forth or back):
        return False
    return math.dist(_middle(one), _middle(other)) <= _SAME


def _middle(piece: _Piece) -> Point:
    if piece.arc is None:
        return 0.5 * (piece.start[0] + piece.end[0]), 0.5 * (piece.start[1] + piece.end[1])
    return on_circle(piece.arc.centre, piece.arc.radius, piece.arc.start + 0.5 * piece.arc.sweep)


def _meet(one: _Known, other: _Known) -> bool:
    """Whether the lines of two paths cross or touch; one that lies inside the other meets it not."""
    if not _near(one.box, other.box):
        return False
    return any(
        _near(box, other.box) and any(_near(box, b) and _meetings(piece, p) for p, b in other.pieces)
        for piece, box in one.pieces
    )


def _near(one: Box, other: Box) -> bool:
    return (
        one[0] <= other[2] + _SAME
        and other[0] <= one[2] + _SAME
        and one[1] <= other[3] + _SAME
        and other[1] <= one[3] + _SAME
    )


def _meetings(one: _Piece, other: _Piece) -> list[Point]:
    """Points that two edges share; of edges that lie on each other, ends."""
    if one.arc is None and other.arc is None:
        found = _of_lines(one, other)
    elif one.arc is not None and other.arc is not None:
        found = _of_circles(one.arc, other.arc)
    elif one.arc is not None:
        found = _of_line_and_circle(other, one.arc)
    else:
        found = _of_line_and_circle(one, other.arc or ArcEdge((0.0, 0.0), 0.0, 0.0, 0.0))
    ends = (one.start, one.end, other.start, other.end)
    return [p for p in (*found, *ends) if _on(one, p) and _on(other, p)]


def _on(piece: _Piece, point: Point) -> bool:
    """Whether a point lies on an edge."""
    if piece.arc is None:
        (ax, ay), (bx, by) = piece.start, piece.end
        dx, dy = bx - ax, by - ay
        share = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
        share = min(max(share, 0.0), 1.0)
        return math.dist(point, (ax + share * dx, ay + share * dy)) <= _SAME
    arc = piece.arc
    if abs(math.dist(point, arc.centre) - arc.radius) > _SAME:
        return False
    if min(math.dist(point, piece.start), math.dist(point, piece.end)) <= _SAME:
        return True
    angle = math.atan2(point[1] - arc.centre[1], point[0] - arc.centre[0])
    along = (angle - arc.start) * math.copysign(1.0, arc.sweep) % (2.0 * math.pi)
    return along <= abs(arc.sweep)


def _of_lines(one: _Piece, other: _Piece) -> list[Point]:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = one.start, one.end, other.start, other.end
    across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if across == 0.0:
        return []
    share = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
    return [(ax + share * (bx - ax), ay + share * (by - ay))]


def _of_line_and_circle(line: _Piece, arc: ArcEdge) -> list[Point]:
    (ax, ay), (bx, by) = line.start, line.end
    long = math.dist(line.start, line.end)
    ux, uy = (bx - ax) / long, (by - ay) / long
    foot = (arc.centre[0] - ax) * ux + (arc.centre[1] - ay) * uy
    off = math.dist(arc.centre, (ax + foot * ux, ay + foot * uy))
    if off > arc.radius + _SAME:
        return []
    half = math.sqrt(max(arc.radius**2 - off**2, 0.0))
    return [(ax + t * ux, ay + t * uy) for t in (foot - half, foot + half)]


def _of_circles(one: ArcEdge, other: ArcEdge) -> list[Point]:
    (ax, ay), (bx, by) = one.centre, other.centre
    apart = math.dist(one.centre, other.centre)
    if apart <= _SAME or apart > one.radius + other.radius + _SAME:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2.0 * apart)
    if abs(along) > one.radius + _SAME:
        return []
    half = math.sqrt(max(one.radius**2 - along**2, 0.0))
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    return [(ax + along * ux - s * half * uy, ay + along * uy + s * half * ux) for s in (1.0, -1.0)]
