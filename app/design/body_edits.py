"""Edits of the body outline: its corners, and its overhangs beyond the outermost axles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal

from geometry.errors import DesignError, Problem
from geometry.model.design import Corner, Design

End = Literal["front", "rear"]

# Corners this near to the outermost one make up an end of the body, and a corner this
# near to a mirrored place is a partner [mm].
SAME_END_MM = 0.5


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
        partner = _partner(design.body_mm, corner) if mirror else None
        if partner is not None and partner not in places:
            moves[partner] = (x, 0.0 - y)
    return design.edited(body_mm=tuple(moves.get(i, place) for i, place in enumerate(design.body_mm)))


def add_corner(design: Design, edge: int) -> Design:
    """Add a corner in the middle of an edge; edge i runs from corner i to the next.

    Raises
    ------
    DesignError
        If there is no body outline.
    """
    body = _body(design)
    (x0, y0), (x1, y1) = body[edge], body[(edge + 1) % len(body)]
    middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
    return design.edited(body_mm=(*body[: edge + 1], middle, *body[edge + 1 :]))


def delete_corner(design: Design, corner: int) -> Design:
    """Remove a corner; a body keeps at least three."""
    return delete_corners(design, [corner])


def delete_corners(design: Design, corners: Iterable[int]) -> Design:
    """Remove corners; a body keeps at least three."""
    gone = set(corners)
    return design.edited(body_mm=tuple(place for i, place in enumerate(design.body_mm) if i not in gone))


def fit_body(design: Design, margin_mm: float = 20.0) -> Design:
    """Draw a new body: the rectangle around all wheels, straight ahead, plus a margin [mm]."""
    if not design.wheels:
        raise DesignError([Problem("body_mm", "needs a wheel to be drawn around; add one first")])
    front = max(w.x_mm + 0.5 * w.diameter_mm for w in design.wheels) + margin_mm
    rear = min(w.x_mm - 0.5 * w.diameter_mm for w in design.wheels) - margin_mm
    left = max(w.y_mm + 0.5 * w.width_mm for w in design.wheels) + margin_mm
    right = min(w.y_mm - 0.5 * w.width_mm for w in design.wheels) - margin_mm
    return design.edited(body_mm=((front, left), (rear, left), (rear, right), (front, right)))


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


def _partner(body: tuple[Corner, ...], corner: int) -> int | None:
    x, y = body[corner]
    gaps = [(max(abs(px - x), abs(py + y)), i) for i, (px, py) in enumerate(body) if i != corner]
    gap, index = min(gaps, default=(SAME_END_MM + 1.0, None))
    return index if gap <= SAME_END_MM and abs(y) > 0.5 * SAME_END_MM else None
