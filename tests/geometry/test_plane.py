from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.plane import (
    clip_line,
    crossing_edges,
    least_squares_meeting_point,
    outline_gaps,
    turned_box_touches,
)

Point = tuple[int, int]
corners = st.tuples(st.integers(-4, 4), st.integers(-4, 4))


def _shared_points(a: Point, b: Point, c: Point, d: Point) -> list[tuple[Fraction, Fraction]]:
    """Points that two segments share, in exact fractions: none, one, or two ends of an overlap."""
    r, s = (b[0] - a[0], b[1] - a[1]), (d[0] - c[0], d[1] - c[1])
    gap = (c[0] - a[0], c[1] - a[1])
    cross = r[0] * s[1] - r[1] * s[0]
    if cross:
        t = Fraction(gap[0] * s[1] - gap[1] * s[0], cross)
        u = Fraction(gap[0] * r[1] - gap[1] * r[0], cross)
        inside = 0 <= t <= 1 and 0 <= u <= 1
        return [(a[0] + t * r[0], a[1] + t * r[1])] if inside else []
    if gap[0] * r[1] - gap[1] * r[0]:
        return []
    length = r[0] ** 2 + r[1] ** 2
    along = sorted(Fraction((p[0] - a[0]) * r[0] + (p[1] - a[1]) * r[1], length) for p in (c, d))
    low, high = max(along[0], Fraction(0)), min(along[1], Fraction(1))
    return sorted({(a[0] + t * r[0], a[1] + t * r[1]) for t in (low, high)}) if low <= high else []


def _first_crossing(outline: list[Point]) -> tuple[int, int] | None:
    edges = list(zip(outline, outline[1:] + outline[:1], strict=True))
    for i, j in itertools.combinations(range(len(edges)), 2):
        shared = _shared_points(*edges[i], *edges[j])
        neighbours = j - i == 1 or (i == 0 and j == len(edges) - 1)
        if len(shared) > (1 if neighbours else 0):
            return i, j
    return None


@settings(max_examples=400)
@given(st.lists(corners, min_size=3, max_size=7))
def test_crossing_edges_agree_with_exact_fractions(outline: list[Point]) -> None:
    if any(a == b for a, b in zip(outline, outline[1:] + outline[:1], strict=True)):
        return  # repeated corners are refused before
    assert crossing_edges(outline) == _first_crossing(outline)


def test_a_triangle_cannot_cross_itself_but_can_be_flat() -> None:
    assert crossing_edges([(0, 0), (4, 0), (0, 3)]) is None
    assert crossing_edges([(0, 0), (4, 0), (2, 0)]) is not None


@given(
    st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
    st.tuples(st.floats(-1, 1), st.floats(-1, 1)).filter(lambda d: abs(d[0]) + abs(d[1]) > 1e-3),
)
def test_a_clipped_line_lies_in_the_box_just_between_its_ends(
    point: tuple[float, float], direction: tuple[float, float]
) -> None:
    low, high = np.array([-5.0, -3.0]), np.array([10.0, 6.0])
    t_in, t_out = clip_line([point], [direction], low, high)
    p, d = np.array(point), np.array(direction)

    def inside(t: float, slack: float) -> bool:
        here = p + t * d
        return bool(((here >= low - slack) & (here <= high + slack)).all())

    if t_in[0] > t_out[0]:
        assert not any(inside(t, -1e-6) for t in np.linspace(-2e3, 2e3, 2001))
    else:
        assert inside(t_in[0], 1e-6)
        assert inside(t_out[0], 1e-6)
        assert not inside(t_in[0] - 1.0, -1e-9)
        assert not inside(t_out[0] + 1.0, -1e-9)


def _cost(spot: np.ndarray, points: np.ndarray, normals: np.ndarray, weights: np.ndarray) -> float:
    return float((weights * (((spot - points) * normals).sum(axis=1)) ** 2).sum())


@given(
    st.lists(
        st.tuples(st.floats(-100, 100), st.floats(-100, 100), st.floats(-3, 3), st.floats(0.1, 5)),
        min_size=2,
        max_size=6,
    )
)
def test_no_point_nearby_suits_the_lines_better(lines: list[tuple[float, float, float, float]]) -> None:
    table = np.array(lines)
    points, weights = table[:, :2], table[:, 3]
    normals = np.stack([np.cos(table[:, 2]), np.sin(table[:, 2])], axis=1)
    found = least_squares_meeting_point(points[None], normals[None], weights)[0]
    spread = np.abs(np.sin(table[:, 2] - table[0, 2])).max()
    if not np.isfinite(found).all():
        assert spread < 1e-5
        return
    if spread < 1e-2:
        return
    here = _cost(found, points, normals, weights)
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1)):
        assert _cost(found + np.array([dx, dy]), points, normals, weights) >= here - 1e-6 * (1 + here)


@pytest.mark.parametrize("heavy", [1.0, 3.0])
def test_two_parallel_lines_and_one_across_meet_at_the_weighted_middle(heavy: float) -> None:
    points = [[(0.0, 0.0), (100.0, 0.0), (0.0, 40.0)]]
    normals = [[(1.0, 0.0), (1.0, 0.0), (0.0, 1.0)]]
    found = least_squares_meeting_point(points, normals, (1.0, heavy, 1.0))
    assert found[0] == pytest.approx((100.0 * heavy / (1.0 + heavy), 40.0))


@given(
    st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
    st.tuples(st.floats(1, 40), st.floats(1, 40)),
    st.floats(-7, 7),
    st.tuples(st.floats(1, 40), st.floats(1, 40)),
)
def test_a_turned_box_touches_another_where_they_share_a_point(
    offset: tuple[float, float], half: tuple[float, float], angle: float, box: tuple[float, float]
) -> None:
    # Another way: of all points of the upright box the one that reaches least far outside of the turned one.
    grid = np.linspace(-1, 1, 81)
    x, y = offset[0] + box[0] * grid[:, None], offset[1] + box[1] * grid[None, :]
    along = np.abs(x * np.cos(angle) + y * np.sin(angle)) - half[0]
    across = np.abs(y * np.cos(angle) - x * np.sin(angle)) - half[1]
    gap = float(np.maximum(along, across).min())
    fine = np.hypot(*box) / 40  # a point of the box is nearer than this to one of the grid
    if gap <= 0:
        assert turned_box_touches(offset, half, angle, box)
    elif gap > fine:
        assert not turned_box_touches(offset, half, angle, box)


def _rectangle(draw):
    half = np.array([draw(st.floats(1, 8)), draw(st.floats(1, 8))])
    turn, x, y = draw(st.floats(0, 7)), draw(st.floats(-12, 12)), draw(st.floats(-12, 12))
    corners = np.array([(1, 1), (1, -1), (-1, -1), (-1, 1)]) * half
    spin = np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    return corners @ spin + (x, y)


@given(st.data())
def test_the_gap_of_two_outlines_is_that_of_their_densest_points(data):
    draw = data.draw
    one, other = _rectangle(draw), _rectangle(draw)
    share = np.linspace(0.0, 1.0, 200)[:, None]
    dense = [
        np.concatenate([p + share * (q - p) for p, q in zip(o, np.roll(o, -1, 0), strict=True)])
        for o in (one, other)
    ]
    sampled = np.sqrt(((dense[0][:, None] - dense[1][None]) ** 2).sum(axis=-1)).min()
    gap = float(outline_gaps(one, other))
    assert gap <= sampled + 1e-9
    assert sampled - gap < 0.12  # neighbours of the samples are 0.08 apart
    assert gap == pytest.approx(float(outline_gaps(other, one)), abs=1e-12)


def test_gaps_to_many_outlines_are_those_to_each():
    one = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)])
    moves = np.array([(0.0, 5.0), (1.0, 1.0), (4.0, 0.0), (7.0, 6.0)])
    others = [*(one + moves[:, None]), 10 * one - np.array([10.0, 7.0])]
    assert outline_gaps(one, others).tolist() == [3.0, 0.0, 0.0, 5.0, 7.0]
    np.testing.assert_array_equal(outline_gaps(one, others), [float(outline_gaps(one, o)) for o in others])
