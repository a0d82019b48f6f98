"""A first chassis from numbers: aligned or with the reason, clear of body and wheels, on the hole pattern."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design.first_chassis import (
    LIMITS_MM,
    MOTORS,
    STEERED,
    WIDEST_TRAVEL_DEG,
    FirstRequest,
    first_chassis,
    laid_out,
    proportions,
)
from geometry.errors import DesignError
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.frozen import built
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import RangeCheck


def request(**fields: object) -> FirstRequest:
    """The request of the defaults with some fields given."""
    return built(FirstRequest, {**proportions(int(str(fields.get("wheels", 6))), {}), **fields})


def accepted(fields: dict[str, object]) -> FirstRequest | None:
    """The request; None where it is refused."""
    try:
        return built(FirstRequest, fields)
    except DesignError:
        return None


@st.composite
def choices(draw: st.DrawFn) -> dict[str, object]:
    """All choices of the form; lengths near each other more often than not."""
    wheels = draw(st.integers(3, 24))
    fields: dict[str, object] = dict(proportions(wheels, {}))
    for key, (low, high) in LIMITS_MM.items():
        usual = float(str(fields[key]))
        how = draw(st.sampled_from(["usual", "near", "near", "any", "least"]))
        if how == "near":
            fields[key] = round(min(max(usual * draw(st.floats(0.4, 2.5)), low), high), 1)
        elif how == "any":
            fields[key] = round(draw(st.floats(low, high)), 1)
        elif how == "least":
            fields[key] = float(low)
    return {
        **fields,
        "wheels": wheels,
        "single": draw(st.sampled_from(["front", "rear"])),
        "steered": draw(st.sampled_from(STEERED)),
        "middle_in_line": draw(st.booleans()),
    }


def corners(wheel: Wheel, degrees: float) -> np.ndarray:
    """Corners of a tyre turned about its kingpin, (4, 2) [mm]."""
    turn = math.radians(degrees)
    along = 0.5 * wheel.diameter_mm * np.array([math.cos(turn), math.sin(turn)])
    across = 0.5 * wheel.width_mm * np.array([-math.sin(turn), math.cos(turn)])
    middle = np.array([wheel.x_mm, wheel.y_mm])
    return np.array([middle + a * along + b * across for a, b in ((1, 1), (1, -1), (-1, -1), (-1, 1))])


def edge_points(outline: np.ndarray) -> np.ndarray:
    """Points along every edge of an outline."""
    share = np.linspace(0, 1, 33)[:, None]
    return np.concatenate(
        [a + share * (b - a) for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)]
    )


def holds(outline: np.ndarray, points: np.ndarray) -> bool:
    """Whether a convex outline holds one of the points, or its own edges hold one."""
    edges = np.roll(outline, -1, axis=0) - outline
    to = points[:, None, :] - outline[None, :, :]
    side = edges[None, :, 0] * to[..., 1] - edges[None, :, 1] * to[..., 0]
    return bool(((side > 0).all(axis=1) | (side < 0).all(axis=1)).any())


def meet(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two convex outlines overlap, told by points on their edges."""
    return holds(one, edge_points(other)) or holds(other, edge_points(one))


def check_clear(design: Design, share: float) -> None:
    """Fail where a wheel, anywhere in its travel, meets the body or another wheel in its own."""
    body = np.array(design.body_mm)
    angle = {w.name: share * w.travel_max_deg if w.kind == "steered" else 0.0 for w in design.wheels}
    placed = {w.name: [corners(w, a) for a in (angle[w.name], -angle[w.name])] for w in design.wheels}
    for i, wheel in enumerate(design.wheels):
        for outline in placed[wheel.name]:
            assert not len(body) or not meet(outline, body), wheel.name
            for other in design.wheels[:i]:
                near = math.hypot(other.x_mm - wheel.x_mm, other.y_mm - wheel.y_mm)
                if near < 2 * math.hypot(wheel.diameter_mm, wheel.width_mm):
                    for second in placed[other.name]:
                        assert not meet(outline, second), (wheel.name, other.name)


@given(choices(), st.floats(0, 1))
def test_every_choice_gives_an_aligned_chassis_or_a_true_reason(
    fields: dict[str, object], share: float
) -> None:
    asked = accepted(fields)
    if asked is None:
        return
    found = laid_out(asked)
    design = found.design
    check = RangeCheck(robot_of(design), design.largest_turn)
    assert (check.aligned and check.off_course is None) == (found.reason == "")
    assert (design.largest_turn == 1) == (not any("largest turn" in text for text in found.told))
    assert len(design.wheels) == asked.wheels
    names = [wheel.name for wheel in design.wheels]
    assert len(set(names)) == len(names)
    for wheel in design.wheels:
        if asked.hole_pitch_mm:
            for place in (wheel.x_mm, wheel.y_mm):
                assert place / asked.hole_pitch_mm == pytest.approx(round(place / asked.hole_pitch_mm))
        if wheel.kind == "steered":
            assert 1 <= wheel.travel_max_deg <= WIDEST_TRAVEL_DEG
            assert wheel.travel_min_deg == -wheel.travel_max_deg
    for part in (share, 1.0):
        check_clear(design, part)


@given(choices(), st.sampled_from(MOTORS), st.integers(1, 24), st.integers(1, 24))
def test_motors_hold_every_wheel_they_should_and_a_reason_is_given_where_they_drag(
    fields: dict[str, object], motors: str, steer: int, drive: int
) -> None:
    steered_few = int(str(fields["wheels"])) <= 6
    if motors == "share" and not steered_few:
        steer = 24  # the search for many wheels takes seconds
    asked = accepted({**fields, "motors": motors, "steer_motors": steer, "drive_motors": drive})
    if asked is None:
        return
    found = first_chassis(asked)
    design = found.design
    check = RangeCheck(robot_of(design), design.largest_turn)
    assert (check.aligned and check.off_course is None) == (found.reason == "")
    assert design.notes == " ".join(filter(None, (*found.told, found.reason)))
    if motors == "none":
        assert not design.steer_motors
        assert not design.drive_motors
        return
    steered = sorted(wheel.name for wheel in design.wheels if wheel.kind == "steered")
    assert sorted(g.wheel for motor in design.steer_motors for g in motor.wheels) == steered
    if motors == "share":
        assert len(design.drive_motors) == min(drive, asked.wheels)
        if steered_few:
            assert len(design.steer_motors) <= steer
    else:
        assert len(design.drive_motors) == asked.wheels


def test_the_defaults_make_a_six_wheeler_that_turns_on_the_spot_and_keeps_what_was_asked() -> None:
    found = laid_out(FirstRequest())
    assert found.told == ()
    assert found.reason == ""
    assert [wheel.name for wheel in found.design.wheels] == [
        *("front left", "front right", "middle left", "middle right", "rear left", "rear right")
    ]
    assert {wheel.travel_max_deg for wheel in found.design.wheels if wheel.kind == "steered"} == {135.0}
    assert found.design.largest_turn == 1
    assert found.design.body_mm[0] == (180.0, 84.0)


@pytest.mark.parametrize("wheels", range(3, 25))
@pytest.mark.parametrize("steered", STEERED)
def test_the_form_as_it_opens_is_aligned_over_the_whole_range(wheels: int, steered: str) -> None:
    found = laid_out(request(wheels=wheels, steered=steered))
    assert found.reason == ""
    assert found.design.largest_turn == 1
    assert sum(wheel.kind == "fixed" for wheel in found.design.wheels) <= 2


def test_a_wide_body_shortens_the_travel_and_says_so() -> None:
    found = laid_out(request(body_width_mm=200.0))
    travel = {w.travel_max_deg for w in found.design.wheels if w.kind == "steered"}
    # By hand, for a tyre grown by 1 mm all round: 31 sin t + 13.5 cos t = 120 - 100, so t = 12.7 degrees.
    assert travel == {12.0}
    assert any("Travel is down to" in text for text in found.told)


def test_close_wheels_keep_from_each_other() -> None:
    found = laid_out(request(wheels=8, wheelbase_mm=192.0, hole_pitch_mm=0.0, diameter_mm=62.0))
    travel = {w.travel_max_deg for w in found.design.wheels if w.kind == "steered"}
    assert max(travel) < WIDEST_TRAVEL_DEG
    assert any("another wheel" in text for text in found.told)


@pytest.mark.parametrize(
    ("fields", "place", "mended"),
    [
        ({"wheelbase_mm": 100.0}, "wheelbase_mm", "wheelbase_mm"),
        ({"track_mm": 24.0, "body_width_mm": 0.0}, "track_mm", "track_mm"),
        ({"body_width_mm": 240.0}, "body_width_mm", "body_width_mm"),
        ({"wheels": 24, "hole_pitch_mm": 500.0, "track_mm": 1000.0}, "wheelbase_mm", "wheelbase_mm"),
    ],
)
def test_what_cannot_be_is_refused_with_a_number_that_can(
    fields: dict[str, object], place: str, mended: str
) -> None:
    with pytest.raises(DesignError) as refused:
        request(**fields)
    problem = refused.value.problems[0]
    assert problem.place == place
    numbers = [int(word.rstrip(",:;")) for word in problem.rule.split() if word.rstrip(",:;").isdigit()]
    enough = max(number for number in numbers)
    if enough <= LIMITS_MM[mended][1]:
        assert request(**{**fields, mended: float(enough)})


def test_unedited_lengths_follow_the_first_edited_one() -> None:
    lengths = proportions(6, {"track_mm": 480.0})
    assert lengths["wheelbase_mm"] == 528
    assert lengths["body_length_mm"] == 720
    assert lengths["diameter_mm"] == 120
    assert lengths["hole_pitch_mm"] == 12


@pytest.mark.parametrize(
    ("key", "value"), [("wheels", 2), ("wheels", 25), ("track_mm", 19.0), ("hole_pitch_mm", 0.05)]
)
def test_a_number_out_of_range_is_refused_by_place_and_value(key: str, value: float) -> None:
    with pytest.raises(DesignError, match=f"{key} must be"):
        request(**{key: value})


def test_motors_are_shared_best_and_drives_hold_wheels_of_one_speed() -> None:
    found = first_chassis(request(motors="share", steer_motors=2, drive_motors=4))
    assert found.reason == ""
    steer = [{g.wheel: g.ratio for g in motor.wheels} for motor in found.design.steer_motors]
    assert steer == [{"front left": 1.0, "rear left": -1.0}, {"front right": 1.0, "rear right": -1.0}]
    drive = [{g.wheel for g in motor.wheels} for motor in found.design.drive_motors]
    assert {"front left", "rear left"} in drive
    assert {"middle left"} in drive
    few = first_chassis(request(motors="share", steer_motors=1, drive_motors=2))
    assert "with these motors" in few.reason
    assert any("Rolling free" in text for text in few.told)


def test_more_steered_wheels_than_advice_covers_get_a_motor_each_and_it_is_said() -> None:
    found = first_chassis(request(wheels=12, steered="all", motors="share", steer_motors=2))
    assert len(found.design.steer_motors) == 12
    assert any("up to 10 steered wheels, and there are 12" in text for text in found.told)
