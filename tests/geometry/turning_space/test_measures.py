"""Measures by closed forms and by swept outlines, on many chassis; what has no measure says so."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.errors import CommandError
from geometry.kinematics.alignment import contacts
from geometry.kinematics.motion import from_turn, pose_after, turn_of_radius
from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel
from geometry.turning_space.box import any_motion_lane, sliding_lane
from geometry.turning_space.measures import Measures, measures_of
from tests.strategies import motored_designs, turns

BODY = ((180.0, 130.0), (-180.0, 130.0), (-180.0, -130.0), (180.0, -130.0))
BARE = Design(body_mm=BODY)
CAR = Design(
    wheels=(
        Wheel(name="rear left", x_mm=0.0, y_mm=100.0),
        Wheel(name="rear right", x_mm=0.0, y_mm=-100.0),
        Wheel(name="front left", x_mm=240.0, y_mm=100.0, kind="steered"),
        Wheel(name="front right", x_mm=240.0, y_mm=-100.0, kind="steered"),
    ),
    body_mm=((300.0, 130.0), (-60.0, 130.0), (-60.0, -130.0), (300.0, -130.0)),
)


def measured(design: Design, turn: list[float]) -> Measures:
    return measures_of(robot_of(design), design, turn)


def at_radius(design: Design, *radius: float) -> Measures:
    robot = robot_of(design)
    return measures_of(robot, design, turn_of_radius(radius, robot.base))


def numbers(found: Measures) -> dict[str, np.ndarray]:
    return {
        field.name: value
        for field in dataclasses.fields(found)
        if isinstance(value := getattr(found, field.name), np.ndarray)
    }


@st.composite
def bodied(draw: st.DrawFn) -> Design:
    """Chassis with motors or without, with a body of any shape about the origin or none, and odd parts."""
    design = draw(motored_designs(min_wheels=0, max_wheels=6))
    corners = draw(st.integers(0, 7))
    body: tuple[tuple[float, float], ...] = ()
    if corners >= 3:
        reach = draw(st.lists(st.integers(20, 400), min_size=corners, max_size=corners))
        angle = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
        x, y = draw(st.integers(-200, 200)), draw(st.integers(-200, 200))
        body = tuple(
            (float(x + r * np.cos(a)), float(y + r * np.sin(a))) for r, a in zip(reach, angle, strict=True)
        )
    parts = []
    if draw(st.booleans()):
        place = draw(st.integers(-300, 300)), draw(st.integers(-300, 300))
        on = design.wheels[0].name if design.wheels and draw(st.booleans()) else None
        parts = [
            Part(name="box", x_mm=place[0], y_mm=place[1], turn_deg=draw(st.integers(-90, 90)), length_mm=90,
                 width_mm=30, height_mm=20, mounted_on=on),
            Part(name="drum", shape="upright cylinder", x_mm=-place[1], y_mm=place[0], diameter_mm=50,
                 height_mm=20),
        ]  # fmt: skip
    return design.edited(body_mm=body, packaging=Packaging(parts=tuple(parts)))


@given(bodied(), turns().filter(lambda turn: abs(turn) > 1e-3))
@settings(max_examples=240)
def test_closed_forms_agree_with_outlines_swept_pose_by_pose(design: Design, turn: float) -> None:
    found = measured(design, [turn])
    swept = found.swept(0)
    if swept is None:
        assert found.straight[0] or found.box is None
        return
    # A gentle circle, such as that of a chassis that runs straight instead, leaves few digits.
    assume(found.wall_to_wall[0] < 1e6)
    near = pytest.approx
    far = 1e-6 + 1e-6 * found.wall_to_wall[0]
    assert swept.wall_to_wall == near(found.wall_to_wall[0], abs=far)
    assert swept.inner_radius == near(found.inner_radius[0], abs=far)
    assert swept.lane == near(found.lane[0], abs=1e-3 + far)
    assert swept.kerb_gap == near(found.kerb_gap[0], abs=1e-3 + far)
    assert swept.tail_swing == near(found.tail_swing[0], abs=1e-3 + far)


def half_a_circle(twist: np.ndarray, points: np.ndarray) -> np.ndarray:
    """How far points come in half a turn, which is across their circles; (P,) by poses alone [mm]."""
    x, y, heading = pose_after([twist / abs(twist[2])], [np.pi])[0, 0]
    assert abs(heading) == pytest.approx(np.pi)
    return np.hypot(x - 2 * points[:, 0], y - 2 * points[:, 1])


@given(
    motored_designs(min_wheels=1, max_wheels=6),
    st.floats(0.02, 1.0),
    st.sampled_from([1.0, -1.0]),
)
@settings(max_examples=200)
def test_circles_of_contacts_agree_with_how_far_they_come_in_half_a_turn(
    design: Design, size: float, side: float
) -> None:
    found = measured(design, [side * size])
    assume(not found.straight[0])
    robot, twist = found.response.robot, found.response.motion.twist[0]
    own = np.stack(contacts(robot.wheels, found.response.solution.heading), axis=2)[0]
    level = robot.at(from_turn(0.0, robot.base)).solution.heading
    abreast = own.copy()
    abreast[:, 0] = contacts(robot.wheels, level)[0].max()
    across, ahead = half_a_circle(twist, own), half_a_circle(twist, abreast)
    assert found.kerb_to_kerb[0] == pytest.approx(across.max(), rel=1e-9, abs=1e-6)
    assert found.off_tracking[0] == pytest.approx(0.5 * (ahead - across), rel=1e-6, abs=1e-5)
    assert found.inner_wheel[0] >= 0.5 * across.min() * (1 - 1e-9) - 1e-6


@given(st.floats(10.0, 500.0), st.floats(10.0, 500.0))
def test_a_lane_for_any_motion_is_what_a_box_between_two_walls_asks_for(one: float, other: float) -> None:
    length, width = max(one, other), min(one, other)
    asked = []
    for turned in np.linspace(0.0, 0.5 * np.pi, 1801):
        cos, sin = np.cos(turned), np.sin(turned)
        corners = np.array([(0, 0), (length, 0), (length, width), (0, width)]) @ np.array(
            [(cos, -sin), (sin, cos)]
        )
        corners -= corners.min(axis=0)
        ends = np.roll(corners, -1, axis=0)
        more, less = (ends - corners).T
        gap = corners[:, 1] - corners[:, 0]
        even = more - less
        share = np.clip(np.divide(gap, even, out=np.zeros(4), where=even != 0), 0, 1)[:, None]
        asked.append(np.minimum(*(corners + share * (ends - corners)).T).max())
        asked.append(corners.min(axis=1).max())
    assert any_motion_lane(length, width) == pytest.approx(max(asked), rel=1e-6)


@given(motored_designs(max_wheels=6), st.lists(turns(), min_size=1, max_size=4))
def test_no_measure_is_ever_nan_and_all_are_read_only(design: Design, turn: list[float]) -> None:
    found = measured(design, turn)
    for name, values in numbers(found).items():
        assert not np.isnan(values).any(), name
        assert not values.flags.writeable, name
        assert len(values) == len(turn), name


@pytest.mark.parametrize("turn", [0.2, 0.5, 0.9, 1.0])
def test_a_mirrored_turn_of_a_symmetric_chassis_has_the_same_measures(turn: float) -> None:
    found = measured(CAR, [turn, -turn])
    for name in (
        "kerb_to_kerb",
        "wall_to_wall",
        "inner_radius",
        "lane",
        "kerb_gap",
        "tail_swing",
        "inner_wheel",
    ):
        values = getattr(found, name)
        assert values[1] == pytest.approx(values[0]), name
    assert found.least_inner_wheel[1] == pytest.approx(found.least_inner_wheel[0])
    assert found.off_tracking[1] == pytest.approx(found.off_tracking[0, [1, 0, 3, 2]])


def test_a_chassis_twice_as_large_has_measures_twice_as_large() -> None:
    large = CAR.edited(
        wheels=tuple(w.edited(x_mm=2 * w.x_mm, y_mm=2 * w.y_mm, diameter_mm=2 * w.diameter_mm,
                              width_mm=2 * w.width_mm) for w in CAR.wheels),
        body_mm=tuple((2 * x, 2 * y) for x, y in CAR.body_mm),
    )  # fmt: skip
    one, two = measured(CAR, [0.3]), measured(large, [0.3])
    for name in (
        "kerb_to_kerb",
        "wall_to_wall",
        "inner_radius",
        "lane",
        "kerb_gap",
        "tail_swing",
        "off_tracking",
    ):
        assert getattr(two, name) == pytest.approx(2 * getattr(one, name)), name
    assert two.least_inner_wheel == pytest.approx(2 * one.least_inner_wheel)


def test_straight_ahead_has_no_circle_and_no_off_tracking() -> None:
    found = measured(CAR, [0.0, 5e-324, 1e-12])
    assert found.straight.all()
    for name in ("kerb_to_kerb", "wall_to_wall", "inner_radius", "lane", "kerb_gap", "tail_swing"):
        assert np.isinf(getattr(found, name)).all(), name
    assert (found.off_tracking == 0.0).all()
    assert found.any_motion_lane == pytest.approx(any_motion_lane(360.0, 260.0))


def test_without_wheels_there_is_no_kerb_to_kerb_and_without_anything_nothing() -> None:
    found = at_radius(BARE, 400.0)
    assert np.isinf([found.kerb_to_kerb[0], found.inner_wheel[0]]).all()
    assert found.off_tracking.shape == (1, 0)
    nothing = measured(Design(), [0.5])
    assert nothing.box is None
    assert nothing.swept(0) is None
    assert np.isinf([nothing.wall_to_wall[0], nothing.lane[0], nothing.inner_radius[0]]).all()
    assert nothing.any_motion_lane == 0.0


def test_without_a_body_tyres_are_the_outline() -> None:
    found = at_radius(CAR.edited(body_mm=()), 400.0)
    outer = CAR.wheels[3]
    heading = np.arctan2(240.0, 500.0)
    # The outer front tyre, square to its radius: half its length along the circle, half its width outward.
    reach = np.hypot(np.hypot(240.0, 500.0) + 0.5 * outer.width_mm, 0.5 * outer.diameter_mm)
    assert found.wall_to_wall[0] == pytest.approx(2 * reach)
    assert np.degrees(found.response.solution.heading[0, 3]) == pytest.approx(np.degrees(heading))
    assert found.kerb_to_kerb[0] == pytest.approx(2 * np.hypot(240.0, 500.0))


def test_on_the_spot_the_centre_is_inside_and_no_gap_at_a_kerb_is_entered() -> None:
    found = measured(BARE, [1.0, -1.0])
    assert found.centre_inside.all()
    assert (found.inner_radius == 0).all()
    assert np.isinf(found.kerb_gap).all()
    assert found.width_to_turn == pytest.approx(np.hypot(360.0, 260.0))


def test_a_part_inside_the_body_changes_nothing_and_one_outside_does() -> None:
    def with_part(x: float, **more: object) -> Measures:
        part = Part(name="mast", x_mm=x, y_mm=0.0, length_mm=40, width_mm=40, height_mm=10, **more)
        return at_radius(BARE.edited(packaging=Packaging(parts=(part,))), 400.0)

    bare = at_radius(BARE, 400.0)
    assert with_part(0.0).wall_to_wall == bare.wall_to_wall
    assert with_part(400.0).wall_to_wall[0] == pytest.approx(2 * np.hypot(420.0, 420.0))
    round_ = Part(name="drum", shape="upright cylinder", x_mm=400.0, diameter_mm=100, height_mm=10)
    found = at_radius(BARE.edited(packaging=Packaging(parts=(round_,))), 400.0)
    assert found.wall_to_wall[0] == pytest.approx(2 * (np.hypot(400.0, 400.0) + 50.0), abs=0.07)


def test_a_part_on_a_kingpin_turns_with_its_wheel() -> None:
    arm = Part(
        name="arm", x_mm=340, y_mm=-100, length_mm=400, width_mm=10, height_mm=10, mounted_on="front right"
    )
    found = at_radius(CAR.edited(packaging=Packaging(parts=(arm,))), 400.0)
    # The wheel runs square to its radius, and so does the arm: 300 mm along the circle, 5 mm outside it.
    assert found.wall_to_wall[0] == pytest.approx(2 * np.hypot(300.0, np.hypot(240.0, 500.0) + 5.0))


def test_a_chassis_that_drags_is_measured_about_the_centre_that_results() -> None:
    toed = CAR.edited(
        wheels=tuple(w.edited(toe_deg=8.0) if w.name == "front left" else w for w in CAR.wheels)
    )
    found = measured(toed, [0.3])
    assert found.centre[0] == pytest.approx(found.response.centre[0])
    far = max(np.hypot(*(np.array(corner) - found.centre[0])) for corner in CAR.body_mm)
    assert found.wall_to_wall[0] == pytest.approx(2 * far)


def test_a_longer_turn_comes_nearer_to_the_steady_circle() -> None:
    found = at_radius(CAR, 500.0, 900.0)
    assert found.inner_wheel == pytest.approx([400.0, 800.0])
    least = found.least_inner_wheel
    assert (np.diff(least, axis=1) < 0).all()
    assert (least > found.inner_wheel[:, None]).all()
    assert least[:, 2] == pytest.approx(found.inner_wheel, rel=5e-3)


def test_without_a_wheel_ahead_of_the_base_axle_nothing_lags_behind() -> None:
    axle = Design(wheels=CAR.wheels[:2], body_mm=BODY)
    found = at_radius(axle, 500.0)
    assert found.least_inner_wheel[0] == pytest.approx([400.0] * 3)


def test_the_neighbour_at_the_kerb_may_be_of_another_width() -> None:
    robot = robot_of(BARE)
    turn = turn_of_radius([400.0], robot.base)
    gaps = [measures_of(robot, BARE, turn, width).kerb_gap[0] for width in (100.0, 260.0, 400.0)]
    line = 530.0 - np.array([100.0, 260.0, 400.0])
    assert gaps == pytest.approx(180.0 + np.sqrt(180.0**2 + 530.0**2 - line**2))
    assert np.isinf(measures_of(robot, BARE, turn, 531.0).kerb_gap[0])


def test_where_the_rear_is_the_longer_end_its_corner_passes_the_neighbour() -> None:
    turned = Design(body_mm=tuple((-x - 120.0, y) for x, y in BODY), base_axle_x_mm=0.0)
    found = at_radius(turned, 400.0)
    assert found.kerb_gap[0] == pytest.approx(300.0 + np.sqrt(300.0**2 + 530.0**2 - 270.0**2))
    assert found.swept(0).kerb_gap == pytest.approx(found.kerb_gap[0], abs=1e-6)  # type: ignore[union-attr]


@pytest.mark.parametrize(("length", "width"), [(100.0, 100.0), (109.0, 100.0), (110.0, 100.0)])
def test_a_box_may_slide_through_a_lane_that_it_could_not_turn_in(length: float, width: float) -> None:
    turned = any_motion_lane(length, width)
    assert sliding_lane(length, width) == min(length, turned)
    assert (length < turned) == (length / width < 1.0938)
    assert sliding_lane(60.0, 100.0) == any_motion_lane(60.0, 100.0) == 100.0


def test_a_turn_out_of_range_is_refused() -> None:
    with pytest.raises(CommandError, match="from -1 to 1"):
        measured(CAR, [1.5])


def test_measures_of_many_turns_are_those_of_each() -> None:
    turn = np.linspace(-1.0, 1.0, 21).tolist()
    robot: Robot = robot_of(CAR)
    together = numbers(measures_of(robot, CAR, turn))
    for k, each in enumerate(turn):
        alone = numbers(measures_of(robot, CAR, [each]))
        for name, values in together.items():
            assert values[k] == pytest.approx(alone[name][0], rel=1e-9, abs=1e-9), name
