"""A first chassis from numbers: aligned or with the reason, clear of body and wheels, on the hole pattern."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.design.first_chassis import first_chassis, headline, laid_out
from app.design.first_request import (
    LIMITS_MM,
    MOTORS,
    STEERED,
    WIDEST_TRAVEL_DEG,
    FirstRequest,
    proportions,
)
from app.units import LENGTH_UNITS, MM_PER_INCH, LengthUnit, parse_length
from geometry.errors import DesignError, Problem
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.frozen import built
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import RangeCheck
from tests.effort import LONG


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
    unit = draw(st.sampled_from(LENGTH_UNITS))
    fields: dict[str, object] = dict(proportions(wheels, {}, unit))
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
        "unit": unit,
    }


def well(design: Design) -> bool:
    """Whether a design is aligned and turns as asked at every turn in use."""
    check = RangeCheck(robot_of(design), design.largest_turn)
    return check.aligned and check.off_course is None


def free_to_turn(design: Design) -> Design:
    """The same with steered wheels that turn without end stops."""
    return design.edited(
        wheels=tuple(
            wheel.edited(travel_min_deg=-180.0, travel_max_deg=180.0) if wheel.kind == "steered" else wheel
            for wheel in design.wheels
        )
    )


LENGTH = r"([0-9.]+ (?:mm|in))"


def lengths_in(pattern: str, text: str) -> list[float]:
    """Lengths that a sentence names where the pattern has LENGTH, as typing them again gives them [mm]."""
    return [parse_length(found, "mm") for found in re.findall(pattern.replace("LENGTH", LENGTH), text)]


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
    assert well(design) == (found.reason == "")
    assert (design.largest_turn == 1) == (not any("largest turn" in text for text in found.told))
    assert len(design.wheels) == asked.wheels
    names = [wheel.name for wheel in design.wheels]
    assert len(set(names)) == len(names)
    for wheel in design.wheels:
        check_place(asked, wheel)
        if wheel.kind == "steered":
            assert 1 <= wheel.travel_max_deg <= WIDEST_TRAVEL_DEG
            assert wheel.travel_min_deg == -wheel.travel_max_deg
    for part in (share, 1.0):
        check_clear(design, part)
    check_told_of_travel(asked, design, " ".join((*found.told, found.reason)))


def check_place(asked: FirstRequest, wheel: Wheel) -> None:
    """Fail where a wheel stands neither where the given lengths have it nor on a hole."""
    if not asked.hole_pitch_mm:
        return
    at_end = abs(wheel.x_mm) == 0.5 * asked.wheelbase_mm
    beside = abs(wheel.y_mm) - 0.5 * asked.track_mm if wheel.y_mm else 0.0
    for place in (0.0 if at_end else wheel.x_mm, beside):
        assert place / asked.hole_pitch_mm == pytest.approx(round(place / asked.hole_pitch_mm), abs=1e-6)


def check_told_of_travel(asked: FirstRequest, design: Design, told: str) -> None:
    """Fail where a sentence about a short travel is not true."""
    assert ("Travel is down to" in told) == any(
        wheel.travel_max_deg < WIDEST_TRAVEL_DEG for wheel in design.wheels if wheel.kind == "steered"
    )
    if "travel is so short" in told:
        assert well(free_to_turn(design))
    if "beyond it the travel" in told:
        further = design.edited(largest_turn=min(round(design.largest_turn + 0.01, 2), 1.0))
        assert not well(further)
        assert well(free_to_turn(further))
    if "even there the travel" in told:
        assert not well(design)
    mended = {
        "wheelbase_mm": lengths_in("takes .*a wheelbase of LENGTH", told),
        "track_mm": lengths_in("takes .*a track of LENGTH", told),
        "body_width_mm": lengths_in("takes .*a body at most LENGTH wide", told),
    }
    changes = {key: found[0] for key, found in mended.items() if found}
    if changes:
        better = laid_out(asked.edited(**changes))
        assert not any("Travel is down to" in text for text in better.told)
        # None of them is said without need.
        for key in changes:
            fewer = {other: value for other, value in changes.items() if other != key}
            assert any("Travel is down to" in text for text in laid_out(asked.edited(**fewer)).told)


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
    assert well(design) == (found.reason == "")
    check_cause(asked, design, found.reason)
    assert (headline(found, asked) == found.reason) == bool(found.reason)
    enough = [int(n) for n in re.findall(r"([0-9]+) motors? (?:is|are) enough", " ".join(found.told))]
    short = [
        made
        for made, wanted in ((len(design.steer_motors), steer), (len(design.drive_motors), drive))
        if motors == "share" and made < wanted
    ]
    assert enough == short or "sharing is worked out for up to" in " ".join(found.told)
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


def check_cause(asked: FirstRequest, design: Design, reason: str) -> None:
    """Fail where a chassis is not as it should be without what the reason names, or with less of it."""
    if not reason:
        return
    bare = design.edited(steer_motors=(), drive_motors=())
    if "with these motors; one for each wheel would do" in reason:
        assert well(bare)
        assert first_chassis(asked.edited(motors="each")).reason == ""
    elif "and with these motors" in reason:
        assert not well(bare)
        assert not well(free_to_turn(design))
    else:
        assert "because its travel is so short" in reason
        assert well(free_to_turn(design))
        assert not well(bare)


@pytest.mark.parametrize("wheels", range(3, 25))
def test_every_count_of_wheels_with_every_choice_is_aligned_or_says_why(wheels: int) -> None:
    for steered in STEERED:
        for single in ("front", "rear") if wheels % 2 else ("front",):
            for in_line in (True, False):
                for motors, steer in (("none", 2), ("each", 2), ("share", 24)):
                    asked = request(
                        wheels=wheels,
                        steered=steered,
                        single=single,
                        middle_in_line=in_line,
                        motors=motors,
                        steer_motors=steer,
                        drive_motors=4,
                    )
                    found = first_chassis(asked)
                    assert well(found.design) == (found.reason == ""), asked
                    assert len(found.design.wheels) == wheels
                    if motors != "share":
                        assert headline(found, asked) == (
                            "Opens aligned at every turn and turns on the spot."
                        ), asked


@pytest.mark.parametrize("wheels", [3, 4, 5, *([6, 7, 8] if LONG else [])])
@pytest.mark.parametrize("steered", STEERED)
@pytest.mark.parametrize("motors", [1, 2])
def test_shared_steering_of_every_kind_is_aligned_or_says_why(wheels: int, steered: str, motors: int) -> None:
    asked = request(wheels=wheels, steered=steered, motors="share", steer_motors=motors)
    found = first_chassis(asked)
    assert well(found.design) == (found.reason == "")
    check_cause(asked, found.design, found.reason)


@given(choices())
def test_what_is_refused_names_a_length_that_is_accepted(fields: dict[str, object]) -> None:
    for problem in refused(fields):
        assert problem.value.endswith({"mm": " mm", "inch": " in"}[str(fields["unit"])])
        remedies = {
            problem.place: lengths_in("LENGTH is enough", problem.rule)
            + lengths_in("at (?:most|least) LENGTH", problem.rule),
            "diameter_mm": lengths_in("wheels of LENGTH are small enough", problem.rule),
        }
        if "no body" in problem.rule or problem.rule.startswith("must be 0"):
            remedies[problem.place].append(0.0)
        tried = [(place, value) for place, values in remedies.items() for value in values]
        assert tried or "take fewer or smaller wheels, and a longer wheelbase" in problem.rule
        for place, value in tried:
            low, high = LIMITS_MM[place]
            assert low <= value <= high
            assert problem.place not in {other.place for other in refused({**fields, place: value})}


def refused(fields: dict[str, object]) -> tuple[Problem, ...]:
    """What is wrong with a request."""
    try:
        built(FirstRequest, fields)
    except DesignError as error:
        return error.problems
    return ()


def test_wheels_that_no_wheelbase_holds_are_refused_with_all_that_must_change() -> None:
    asked: dict[str, object] = {
        **proportions(24, {}),
        "wheels": 24,
        "diameter_mm": 1_500.0,
        "wheelbase_mm": 20.0,
    }
    (problem,) = refused(asked)
    assert "take fewer or smaller wheels, and a longer wheelbase" in problem.rule
    assert refused({**asked, "wheelbase_mm": 9_000.0})
    assert refused({**asked, "diameter_mm": 5.0, "width_mm": 1.0})
    assert not refused({**asked, "wheelbase_mm": 9_000.0, "diameter_mm": 60.0})


def test_short_travel_names_each_thing_that_is_too_near() -> None:
    body = laid_out(request(body_width_mm=200.0)).told
    assert "no wheel touches the body. 135° takes a body at most 172 mm wide." in " ".join(body)
    axle = laid_out(request(wheels=8, wheelbase_mm=192.0, hole_pitch_mm=0.0)).told
    assert "no wheel touches a wheel of another axle. 135° takes a wheelbase of 204 mm." in " ".join(axle)
    across = laid_out(request(wheels=4, track_mm=60.0, body_width_mm=0.0, hole_pitch_mm=0.0)).told
    assert "no wheel touches the wheel across. 135° takes a track of 68 mm." in " ".join(across)


def test_more_axles_steer_only_where_the_chassis_would_drag_without() -> None:
    for wheels in range(3, 25):
        for steered in STEERED:
            found = laid_out(request(wheels=wheels, steered=steered))
            if not any("than asked for" in text for text in found.told):
                continue
            ends = {"front and rear": ("front", "rear"), "front": ("front",), "rear": ("rear",)}[steered]
            asked = found.design.edited(
                base_axle_x_mm=None,
                wheels=tuple(
                    wheel.edited(kind="steered" if wheel.name.split()[0] in ends else "fixed")
                    for wheel in found.design.wheels
                ),
            )
            assert not well(asked), (wheels, steered)


def test_sentences_are_in_the_unit_of_the_screen() -> None:
    fields = {"body_width_mm": 200.0, "wheelbase_mm": 260.0, "unit": "inch", "wheels": 5}
    told = " ".join(laid_out(request(**fields)).told)
    assert "The wheelbase of 10.236 in stays as it was given: its wheels stand between holes of" in told
    assert " mm" not in told
    (problem,) = refused({**proportions(6, {}), "unit": "inch", "track_mm": 24.0, "body_width_mm": 0.0})
    assert problem.rule.startswith("must leave room between wheels that are 0.984 in wide")
    assert problem.value == "0.945 in"


def test_motors_that_no_wheel_needs_are_not_made_and_it_is_said() -> None:
    found = first_chassis(request(wheels=4, steered="front", motors="share", steer_motors=5, drive_motors=9))
    assert "2 motors are enough to steer, instead of 5." in found.told
    assert "4 motors are enough to drive, instead of 9." in found.told
    one = first_chassis(request(wheels=3, steered="front", motors="share", steer_motors=2, drive_motors=3))
    assert "1 motor is enough to steer, instead of 2." in one.told


def test_the_headline_does_not_promise_what_a_search_has_yet_to_find() -> None:
    asked = request(motors="share")
    assert headline(laid_out(asked), asked) == (
        "Whether it is aligned is not known yet: the best sharing is searched for as it is made."
    )
    assert headline(first_chassis(asked), asked) == "Opens aligned at every turn and turns on the spot."


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


@pytest.mark.parametrize("unit", LENGTH_UNITS)
@pytest.mark.parametrize("wheels", range(3, 25))
@pytest.mark.parametrize("steered", STEERED)
def test_the_form_as_it_opens_is_aligned_over_the_whole_range(
    wheels: int, steered: str, unit: LengthUnit
) -> None:
    found = laid_out(
        built(FirstRequest, {**proportions(wheels, {}, unit), "wheels": wheels, "steered": steered})
    )
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
    assert any("a wheel of another axle" in text for text in found.told)


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


def test_a_given_track_stays_as_it_is_whatever_the_hole_pattern_and_that_is_told() -> None:
    given_mm = {"track_mm": 9.5 * MM_PER_INCH, "hole_pitch_mm": 0.5 * MM_PER_INCH}
    found = laid_out(built(FirstRequest, {**proportions(6, given_mm, "inch"), "unit": "inch"}))
    assert {abs(wheel.y_mm) for wheel in found.design.wheels} == {4.75 * MM_PER_INCH}
    assert found.told == (
        "The track of 9.5 in stays as it was given: its wheels stand between holes of a pattern of 0.5 in.",
    )
    given_mm["track_mm"] = 10 * MM_PER_INCH
    assert laid_out(built(FirstRequest, {**proportions(6, given_mm, "inch"), "unit": "inch"})).told == ()


@given(
    st.integers(3, 24),
    st.dictionaries(st.sampled_from(["wheelbase_mm", "track_mm", "diameter_mm"]), st.floats(0.02, 4)),
    st.sampled_from(LENGTH_UNITS),
)
def test_no_wheel_is_proposed_wider_than_it_is_high(
    wheels: int, factors: dict[str, float], unit: LengthUnit
) -> None:
    usual = proportions(wheels, {}, unit)
    edited = {key: max(factor * usual[key], LIMITS_MM[key][0]) for key, factor in factors.items()}
    lengths = proportions(wheels, edited, unit)
    assert lengths["width_mm"] <= lengths["diameter_mm"]
    assert proportions(wheels, {**edited, "width_mm": 77.7}, unit)["width_mm"] == 77.7


def test_unedited_lengths_follow_the_first_edited_one() -> None:
    lengths = proportions(6, {"track_mm": 480.0})
    assert lengths["wheelbase_mm"] == 528
    assert lengths["body_length_mm"] == 720
    assert lengths["diameter_mm"] == 120
    assert lengths["hole_pitch_mm"] == 12


@given(
    st.integers(3, 24),
    st.sampled_from(list(LIMITS_MM)),
    st.floats(0.3, 4),
    st.sampled_from(LENGTH_UNITS),
)
def test_a_length_that_nobody_gave_stands_on_the_hole_pattern(
    wheels: int, key: str, factor: float, unit: LengthUnit
) -> None:
    low, high = LIMITS_MM[key]
    given_mm = min(max(round(factor * proportions(wheels, {}, unit)[key], 1), low), high)
    asked = accepted({**proportions(wheels, {key: given_mm}, unit), "wheels": wheels, "unit": unit})
    told = " ".join(laid_out(asked).told) if asked else ""
    other = {"wheelbase_mm": "The track of", "track_mm": "The wheelbase of"}.get(key, "between holes")
    if given_mm or key != "hole_pitch_mm":
        assert other not in told


@given(
    st.integers(3, 24),
    st.sampled_from([key for key in LIMITS_MM if key != "hole_pitch_mm"]),
    st.floats(0.5, 4),
    st.sampled_from(LENGTH_UNITS),
)
def test_one_length_alone_makes_a_chassis_that_turns_on_the_spot(
    wheels: int, key: str, factor: float, unit: LengthUnit
) -> None:
    given_mm = round(factor * proportions(wheels, {}, unit)[key], 1)
    asked = built(
        FirstRequest, {**proportions(wheels, {key: given_mm}, unit), "wheels": wheels, "unit": unit}
    )
    found = laid_out(asked)
    assert headline(found, asked) == "Opens aligned at every turn and turns on the spot."
    assert not any("Travel is down" in text for text in found.told)


def test_lengths_that_nobody_gave_are_round_in_inches_too() -> None:
    lengths = proportions(8, {}, "inch")
    assert {key: round(value / MM_PER_INCH, 9) for key, value in lengths.items()} == {
        "wheelbase_mm": 12,
        "track_mm": 10,
        "diameter_mm": 2.5,
        "width_mm": 1,
        "body_length_mm": 16,
        "body_width_mm": 7,
        "hole_pitch_mm": 0.5,
    }


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


def hemmed_in(**fields: object) -> FirstRequest:
    """A long chassis whose body leaves its wheels one degree of travel."""
    usual = {"wheels": 8, "wheelbase_mm": 1_200.0, "body_length_mm": 1_300.0, "body_width_mm": 211.0}
    return request(**{**usual, **fields})


def test_short_travel_is_named_and_not_the_motors_where_it_alone_is_the_cause() -> None:
    found = first_chassis(hemmed_in(motors="each"))
    assert found.reason.endswith(", because its travel is so short.")
    assert not well(found.design.edited(steer_motors=(), drive_motors=()))
    assert well(free_to_turn(found.design))


def test_motors_are_named_and_not_the_travel_where_they_alone_are_the_cause() -> None:
    found = first_chassis(request(motors="share", steer_motors=1))
    assert found.reason.endswith(", with these motors; one for each wheel would do.")
    assert well(found.design.edited(steer_motors=(), drive_motors=()))
    assert not well(free_to_turn(found.design))


def test_both_are_named_where_neither_alone_would_mend_it() -> None:
    long = {"wheelbase_mm": 1_800.0, "body_length_mm": 1_900.0}
    asked = hemmed_in(wheels=6, steered="all", motors="share", steer_motors=1, **long)
    found = first_chassis(asked)
    assert found.reason.endswith(", because its travel is so short, and with these motors.")
    check_cause(asked, found.design, found.reason)
