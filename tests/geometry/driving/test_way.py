"""Poses over many short steps, the way of a point, and lines thinned for drawing."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.driving.way import (
    halved_together,
    poses_along,
    steps_of,
    thinned_together,
    twists_between,
    way_of_point,
)
from geometry.kinematics.motion import pose_after

SPEEDS = st.floats(-500, 500)


def test_straight_is_the_limit_of_gentle() -> None:
    gentle = steps_of([(200.0, 30.0, 1e-13), (200.0, 30.0, -1e-13)], 0.005)
    straight = steps_of([(200.0, 30.0, 0.0)], 0.005)
    np.testing.assert_allclose(gentle - straight, 0.0, atol=2e-15)


@given(SPEEDS, SPEEDS, st.floats(-20, 20), st.floats(0.001, 0.2))
def test_a_step_is_the_pose_of_the_exponential(vx: float, vy: float, rate: float, duration: float) -> None:
    step = steps_of([(vx, vy, rate)], duration)[0]
    np.testing.assert_allclose(step, pose_after([(vx, vy, rate)], [duration])[0, 0], atol=1e-11)


def test_a_full_circle_in_many_steps_comes_back() -> None:
    rate, steps = 0.8, 1_000
    duration = 2 * np.pi / rate / steps
    found = poses_along(np.tile([(100.0, 0.0, rate)], (steps, 1)), duration, (3.0, -4.0, 0.3))
    np.testing.assert_allclose(found[-1], (3.0, -4.0, 0.3 + 2 * np.pi), atol=1e-10)
    middle = np.array([3.0, -4.0]) + 100.0 / rate * np.array([-np.sin(0.3), np.cos(0.3)])
    np.testing.assert_allclose(np.hypot(*(found[:, :2] - middle).T), 100.0 / rate, rtol=1e-12)


@given(st.lists(st.tuples(SPEEDS, SPEEDS, st.floats(-5, 5)), min_size=2, max_size=30), st.integers(1, 29))
def test_in_two_parts_the_way_is_the_same(twists: list[tuple[float, float, float]], cut: int) -> None:
    twist = np.array(twists)
    whole = poses_along(twist, 0.005, (1.0, 2.0, 0.5))
    first = poses_along(twist[:cut], 0.005, (1.0, 2.0, 0.5))
    second = poses_along(twist[cut:], 0.005, first[-1])
    np.testing.assert_allclose(np.concatenate([first, second[1:]]), whole, atol=1e-9)


def test_a_point_goes_along_its_own_arc() -> None:
    assert way_of_point([(0.0, 0.0, 2.0)], 0.5, 30.0, 40.0)[0] == pytest.approx(50.0)
    assert way_of_point([(0.0, 0.0, 2.0)], 0.5, 0.0, 0.0)[0] == 0.0


LINES = st.lists(st.tuples(*[st.floats(-3, 3)] * 6), max_size=60)


def held(lines: np.ndarray, kept: np.ndarray, within: float) -> None:
    """Each moment lies near the piece between the kept ones around it, on each of the lines."""
    assert (np.diff(kept) > 0).all()
    if len(lines):
        assert (kept[0], kept[-1]) == (0, len(lines) - 1)
    for start, end in itertools.pairwise(kept):
        for line in np.moveaxis(lines, 1, 0):
            a, b = line[start], line[end]
            for point in line[start : end + 1]:
                along = b - a
                share = np.clip((point - a) @ along / max(along @ along, 1e-300), 0, 1)
                assert np.linalg.norm(point - a - share * along) <= within * (1 + 1e-9)


@given(LINES, st.floats(0.05, 2.0))
def test_points_left_out_lie_near_the_line_that_remains(
    steps: list[tuple[float, ...]], within: float
) -> None:
    lines = np.cumsum(np.array(steps).reshape(-1, 2, 3), axis=0)
    held(lines, thinned_together(lines, within), within)
    held(lines, halved_together(lines, within), within)


def test_a_straight_line_keeps_its_ends_alone_and_a_circle_few_points() -> None:
    line = np.column_stack([np.arange(1_000.0), np.zeros(1_000)])
    assert thinned_together(line[:, None], 0.3).tolist() == [0, 999]
    assert len(halved_together(line[:, None], 0.3)) == 501
    angle = np.linspace(0, 2 * np.pi, 5_000)
    circle = 400.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    # A chord that stays within 0.3 mm is at least 2 sqrt(2 R 0.3) / 2 long.
    few = 2 * np.pi * 400.0 / np.sqrt(2 * 400.0 * 0.3) + 2
    assert len(thinned_together(circle[:, None], 0.3)) < few


def test_a_point_that_goes_there_and_back_keeps_the_place_where_it_turned() -> None:
    line = np.column_stack([[0.0, 5.0, 10.0, 6.0, 2.0], np.zeros(5)])
    assert thinned_together(line[:, None], 0.3).tolist() == [0, 2, 4]


@given(
    st.lists(st.tuples(SPEEDS, SPEEDS, st.floats(-3.1, 3.1)), min_size=1, max_size=20),
    st.tuples(SPEEDS, SPEEDS, st.floats(-9, 9)),
)
def test_the_twists_between_poses_lead_from_each_to_the_next(
    twists: list[tuple[float, float, float]], start: tuple[float, float, float]
) -> None:
    poses = poses_along(np.array(twists), 1.0, start)
    np.testing.assert_allclose(twists_between(poses), twists, atol=1e-7)


def test_standing_still_is_no_twist() -> None:
    assert (twists_between([(3.0, 4.0, 1.0), (3.0, 4.0, 1.0)]) == 0.0).all()
    assert twists_between([(3.0, 4.0, 1.0)]).shape == (0, 3)
