"""First touches between poses, against many poses in between, and against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import affine_transform

from geometry.driving.swept_contact import Core, core, first_touches, gap_between, overlaps
from geometry.driving.way import poses_along, steps_of

BOX = np.array([(180.0, 130.0), (-180.0, 130.0), (-180.0, -130.0), (180.0, -130.0)])
HERE = np.zeros((1, 3))


def touched(
    shape: np.ndarray, twist: tuple[float, float, float], standing: Core, radius: float = 0.0
) -> float:
    found = first_touches(shape[None], radius, np.array([twist]), 1.0, HERE, (standing,))
    return float(found[0, 0])


def solid(points: np.ndarray, radius: float) -> shapely.Geometry:
    made = {1: shapely.Point, 2: shapely.LineString}.get(len(points), shapely.Polygon)(
        points[0] if len(points) == 1 else points
    )
    return made.buffer(radius, quad_segs=256) if radius else made


def by_poses(
    shape: np.ndarray, twist: tuple[float, float, float], standing: Core, radius: float, count: int
) -> float:
    """Share of the step at the first of so many poses that touches; infinite where none does."""
    body, other = solid(shape, radius), solid(standing.points, standing.radius)
    for share in np.linspace(0, 1, count):
        x, y, turned = steps_of([twist], float(share))[0]
        c, s = np.cos(turned), np.sin(turned)
        if affine_transform(body, [c, -s, s, c, x, y]).intersects(other):
            return float(share)
    return np.inf


def test_a_post_between_two_poses_one_degree_apart_is_not_missed() -> None:
    # On the spot, the corner at hypot(180, 130) = 222.04 mm goes 3.9 mm; a needle stands in its way.
    reach, corner = np.hypot(180.0, 130.0), np.arctan2(130.0, 180.0)
    needle = core(reach * (1 - 1e-7) * np.array([np.cos(corner + 0.008), np.sin(corner + 0.008)]))
    degree = np.radians(1.0)
    # Neither pose touches it.
    for turned in (0.0, degree):
        c, s = np.cos(turned), np.sin(turned)
        assert not overlaps(core(BOX @ np.array([[c, s], [-s, c]])), needle)
    found = touched(BOX, (0.0, 0.0, degree), needle)
    assert 0.0 < found < 1.0
    # It is the corner itself that comes there, but for a hair.
    assert found * degree == pytest.approx(0.008, abs=1e-6)
    just_out = core(reach * (1 + 1e-7) * np.array([np.cos(corner + 0.008), np.sin(corner + 0.008)]))
    assert touched(BOX, (0.0, 0.0, degree), just_out) == np.inf


def test_a_needle_that_an_edge_passes_and_leaves_within_one_step_is_found() -> None:
    found = touched(BOX, (2_000.0, 0.0, 0.0), core((700.0, 20.0)))
    assert found == pytest.approx((700.0 - 180.0) / 2_000.0, abs=1e-12)


@pytest.mark.parametrize(
    ("twist", "standing", "share"),
    [
        ((100.0, 0.0, 0.0), core([(240.0, -500.0), (240.0, 500.0)]), 0.6),
        ((100.0, 0.0, 0.0), core([(290.0, 0.0)], 60.0), 0.5),
        ((0.0, 50.0, 0.0), core([(0.0, 140.0), (0.0, 900.0)]), 0.2),
        # A round post beside the corner: met where its rim is 3 from the corner along x.
        ((100.0, 0.0, 0.0), core([(200.0, 134.0)], 5.0), 0.17),
        ((100.0, 0.0, 0.0), core([(200.0, 135.1)], 5.0), np.inf),
        ((-100.0, 0.0, 0.0), core([(240.0, -500.0), (240.0, 500.0)]), np.inf),
        ((0.0, 0.0, 0.0), core([(240.0, -500.0), (240.0, 500.0)]), np.inf),
        ((0.0, 0.0, 0.0), core([(180.0, 20.0), (300.0, 20.0)]), 0.0),
    ],
)
def test_straight_ways_meet_where_plain_sums_say(
    twist: tuple[float, float, float], standing: Core, share: float
) -> None:
    assert touched(BOX, twist, standing) == pytest.approx(share, abs=1e-9)


def test_a_round_part_meets_a_wall_at_its_rim_and_a_corner_round_it() -> None:
    point = np.array([(10.0, 0.0)])
    assert touched(point, (100.0, 0.0, 0.0), core([(80.0, -9.0), (80.0, 9.0)]), 20.0) == pytest.approx(0.5)
    for ends in ([(80.0, 12.0), (80.0, 90.0)], [(80.0, 90.0), (80.0, 12.0)]):
        assert touched(point, (100.0, 0.0, 0.0), core(ends), 20.0) == pytest.approx((70.0 - 16.0) / 100.0)


@pytest.mark.parametrize("turned", [0.3, 1.2, 2.4, 2.9, -2.9])
def test_a_long_turn_on_the_spot_meets_a_needle_at_its_angle(turned: float) -> None:
    # A bar with one end far out, which goes 3 rad in the step.
    bar = np.array([(0.0, 0.0), (100.0, 0.0)])
    needle = core(90.0 * np.array([np.cos(turned), np.sin(turned)]))
    rate = float(np.copysign(3.0, turned))
    assert touched(bar, (0.0, 0.0, rate), needle) == pytest.approx(turned / rate, abs=1e-9)
    assert touched(bar, (0.0, 0.0, -rate), needle) == np.inf


@given(
    st.floats(-300, 300),
    st.floats(-120, 120),
    st.one_of(st.floats(-2.5, 2.5), st.floats(-1e-6, 1e-6), st.just(0.0)),
    st.floats(-600, 600),
    st.floats(-600, 600),
    st.sampled_from(["post", "wall", "box", "needle"]),
    st.sampled_from(["box", "round"]),
)
def test_the_first_touch_is_where_the_first_of_many_poses_touches(
    vx: float, vy: float, rate: float, x: float, y: float, kind: str, body: str
) -> None:
    twist = (vx, vy, rate)
    made = {
        "post": core((x, y), 25.0),
        "needle": core((x, y)),
        "wall": core([(x, y), (x + 90.0, y + 150.0)]),
        "box": core([(x, y), (x + 60.0, y), (x + 60.0, y + 40.0), (x, y + 40.0)]),
    }[kind]
    shape, radius = (BOX, 0.0) if body == "box" else (np.array([(90.0, 40.0)]), 35.0)
    found = touched(shape, twist, made, radius)
    count = 401
    seen = by_poses(shape, twist, made, radius, count)
    if overlaps(Core(shape, radius), made):
        assert seen == 0.0
        return
    if np.isfinite(seen):
        # Not later than the first pose that touches, and never before the one ahead of it that is clear.
        assert seen - 1 / (count - 1) - 1e-6 <= found <= seen + 1e-6
    elif np.isfinite(found):
        # Between two poses: at that very moment they meet.
        px, py, turned = steps_of([twist], found)[0]
        c, s = np.cos(turned), np.sin(turned)
        there = core(shape @ np.array([[c, s], [-s, c]]) + (px, py), radius)
        assert gap_between(there, made)[0] <= radius + made.radius + 1e-6


def test_steps_one_after_the_other_leave_no_gap_between_them() -> None:
    twist = np.tile([(0.0, 0.0, 0.7)], (400, 1))
    poses = poses_along(twist, 0.005, (0.0, 0.0, 0.0))
    reach, corner = np.hypot(180.0, 130.0), np.arctan2(130.0, 180.0)
    shape = np.broadcast_to(BOX, (400, 4, 2))
    for angle in poses[1:-1:7, 2]:
        # Just where one step ends and the next one begins.
        needle = core(reach * (1 - 1e-12) * np.array([np.cos(corner + angle), np.sin(corner + angle)]))
        assert np.isfinite(first_touches(shape, 0.0, twist, 0.005, poses[:-1], (needle,))).any()


def test_outlines_within_one_another_overlap_and_those_apart_do_not() -> None:
    small = core(0.1 * BOX)
    assert overlaps(core(BOX), small)
    assert overlaps(small, core(BOX))
    assert not overlaps(small, core(BOX + np.array([500.0, 0.0])))
    assert gap_between(small, core(BOX + np.array([500.0, 0.0])))[0] == pytest.approx(500.0 - 180.0 - 18.0)


def test_a_course_with_nothing_on_it_is_no_error() -> None:
    assert first_touches(BOX[None], 0.0, np.zeros((1, 3)), 1.0, HERE, ()).shape == (1, 0)
