"""Edits of the body outline: its corners, and its overhangs beyond the outermost axles."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Literal

from geometry.errors import DesignError, Problem
from geometry.model.design import Corner, Design

End = Literal["front", "rear"]

# Corners this near to the outermost one make up an end of the body, and a corner this
# near to a mirrored place is a partner [mm].
SAME_END_MM = 0.5

FIRST_SIZE_MM = (360.0, 168.0)
"""Length and width of a body that nothing else gives a size."""
LEAST_SIZE_MM, MOST_SIZE_MM = 1.0, 12_000.0


def move_corner(design: Design, corner: int, x: float, y: float, *, mirror: bool = False) -> Design:
    """Put a corner of the body at (x, y) [mm]; with `mirror` its partner goes to (x, -y)."""
    return move_corners(design, {corner: (x, y)}, mirror=mirror)


def move_corners(design: Design, places: Mapping[int, Corner], *, mirror: bool = False) -> Design:
    """Put corners of the body at places [mm] by their number.

    With `mirror`, partners go to (x, -y), unless they are given a place themselves. Partners are those of
    `design`, not of the moved one.
    """
    moves = dict(places)
    for corner, (x, y) in places.items():
        partner = corner_partner(design, corner) if mirror else None
        if partner is not None and partner not in places:
            moves[partner] = (x, 0.0 - y)
    return design.edited(body_mm=tuple(moves.get(i, place) for i, place in enumerate(design.body_mm)))


def add_corner(design: Design, edge: int, *, mirror: bool = False) -> Design:
    """Add a corner in the middle of an edge; edge i runs from corner i to the next.

    With `mirror` the edge on the other side gets one too.

    Raises
    ------
    DesignError
        If there is no body outline.
    """
    body = _body(design)
    edges = {edge}
    if mirror:
        start, end = corner_partner(design, edge), corner_partner(design, (edge + 1) % len(body))
        # Mirrored, the outline runs the other way round.
        if start is not None and end is not None and (end + 1) % len(body) == start:
            edges.add(end)
    corners: list[Corner] = []
    for i, (x, y) in enumerate(body):
        corners.append((x, y))
        if i in edges:
            next_x, next_y = body[(i + 1) % len(body)]
            corners.append((0.5 * (x + next_x), 0.5 * (y + next_y)))
    return design.edited(body_mm=tuple(corners))


def add_corner_after(design: Design, corner: int | None, *, mirror: bool = False) -> Design:
    """Add a corner after another, or with None on the longest edge; without a body, draw one."""
    if not design.body_mm:
        return fit_body(design)
    return add_corner(design, longest_edge(design) if corner is None else corner, mirror=mirror)


def longest_edge(design: Design) -> int:
    """Find the edge with the most room for another corner; of equal ones the first.

    Raises
    ------
    DesignError
        If there is no body outline.
    """
    body = _body(design)
    gaps = [math.dist(place, body[(i + 1) % len(body)]) for i, place in enumerate(body)]
    return gaps.index(max(gaps))


def delete_corner(design: Design, corner: int) -> Design:
    """Remove a corner; a body keeps at least three."""
    return delete_corners(design, [corner])


def delete_corners(design: Design, corners: Iterable[int]) -> Design:
    """Remove corners; a body keeps at least three."""
    gone = set(corners)
    return design.edited(body_mm=tuple(place for i, place in enumerate(design.body_mm) if i not in gone))


def fit_body(design: Design, margin_mm: float = 20.0) -> Design:
    """Draw a new body: the rectangle around all wheels, straight ahead, plus a margin [mm].

    Without wheels it is a rectangle of `FIRST_SIZE_MM` about the origin.
    """
    if not design.wheels:
        half_length, half_width = (0.5 * size for size in FIRST_SIZE_MM)
        return design.edited(body_mm=_rectangle(half_length, -half_length, half_width, -half_width))
    front = max(w.x_mm + 0.5 * w.diameter_mm for w in design.wheels) + margin_mm
    rear = min(w.x_mm - 0.5 * w.diameter_mm for w in design.wheels) - margin_mm
    left = max(w.y_mm + 0.5 * w.width_mm for w in design.wheels) + margin_mm
    right = min(w.y_mm - 0.5 * w.width_mm for w in design.wheels) - margin_mm
    return design.edited(body_mm=_rectangle(front, rear, left, right))


def body_size(design: Design) -> tuple[float | None, float | None]:
    """Measure the body.

    Returns
    -------
    (length, width) : float or None
        From its foremost to its rearmost corner, and from its leftmost to its rightmost [mm];
        None without a body.

    Examples
    --------
    >>> body_size(fit_body(Design())), body_size(Design())
    ((360.0, 168.0), (None, None))
    """
    if not design.body_mm:
        return None, None
    length, width = (max(along) - min(along) for along in zip(*design.body_mm, strict=True))
    return length, width


def set_body_size(design: Design, *, length_mm: float | None = None, width_mm: float | None = None) -> Design:
    """Stretch the body about its middle to a length or a width; without a body, make one of that size.

    Parameters
    ----------
    design : Design
        The design before.
    length_mm, width_mm : float, optional
        New size, 1 to 12 000 [mm]; what is not given stays, or is as `fit_body` has it.

    Raises
    ------
    DesignError
        If a size is out of range, or a corner would come farther out than a place may be.
    """
    for what, size in (("length", length_mm), ("width", width_mm)):
        if size is not None and not LEAST_SIZE_MM <= size <= MOST_SIZE_MM:
            rule = f"must be from {LEAST_SIZE_MM:g} to {MOST_SIZE_MM:g} mm"
            raise DesignError([Problem(f"body {what}", rule, f"{size:g}")])
    made = design if design.body_mm else fit_body(design)
    axes = zip(*made.body_mm, strict=True)
    stretched = [_stretched(along, size) for along, size in zip(axes, (length_mm, width_mm), strict=True)]
    return made.edited(body_mm=tuple(zip(*stretched, strict=True)))


def _stretched(along: tuple[float, ...], size: float | None) -> tuple[float, ...]:
    """Coordinates about their middle, the outermost so far apart [mm]."""
    low, high = min(along), max(along)
    if size is None:
        return along
    middle, factor = 0.5 * (low + high), size / (high - low)
    # Ends exactly where they are wanted; rounded, since a factor leaves a last bit everywhere else.
    return tuple(round(middle + (place - middle) * factor, 9) + 0.0 for place in along)


def _rectangle(front: float, rear: float, left: float, right: float) -> tuple[Corner, ...]:
    return ((front, left), (rear, left), (rear, right), (front, right))


def overhangs(design: Design) -> tuple[float | None, float | None]:
    """Measure from the outermost kingpins to the ends of the body.

    Returns
    -------
    (front, rear) : float or None
        Bumper to axle, positive where the body reaches beyond the axle [mm]; None
        without a body or without wheels.
    """
    if not design.body_mm or not design.wheels:
        return None, None
    body = [x for x, _ in design.body_mm]
    kingpins = [wheel.x_mm for wheel in design.wheels]
    return max(body) - max(kingpins), min(kingpins) - min(body)


def set_overhang(design: Design, end: End, mm: float) -> Design:
    """Move one end of the body so that it reaches so far beyond the outermost axle.

    The corners within 0.5 mm of the outermost one move together; the others stay.

    Raises
    ------
    DesignError
        If there is no body or no wheel, or the moved outline crosses itself.
    """
    body = _body(design)
    if not design.wheels:
        raise DesignError([Problem("body_mm", "has no overhang without wheels; add one first")])
    sign = 1.0 if end == "front" else -1.0
    axle = max(sign * wheel.x_mm for wheel in design.wheels)
    extreme = max(sign * x for x, _ in body)
    target = sign * (axle + mm) + 0.0
    moved = tuple((target if extreme - sign * x <= SAME_END_MM else x, y) for x, y in body)
    return design.edited(body_mm=moved)


def _body(design: Design) -> tuple[Corner, ...]:
    if not design.body_mm:
        raise DesignError([Problem("body_mm", "is empty; draw a body first")])
    return design.body_mm


def corner_partner(design: Design, corner: int) -> int | None:
    """Find the corner at the mirrored place of another; None for one on the centre line, or where none is."""
    x, y = design.body_mm[corner]
    gaps = [(max(abs(px - x), abs(py + y)), i) for i, (px, py) in enumerate(design.body_mm) if i != corner]
    gap, index = min(gaps, default=(SAME_END_MM + 1.0, None))
    return index if gap <= SAME_END_MM and abs(y) > 0.5 * SAME_END_MM else None
