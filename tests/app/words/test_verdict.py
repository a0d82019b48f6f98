"""The verdict's sentences for each kind of state, held against the view that they speak of."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given

from app.design.facts import Facts
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.units import show_length
from app.words.verdict import measures, range_line, tone, turning_error, verdict_line
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.scouts import DRIVES, FRONT, LEFT, REAR, RIGHT, drive_motor, scout, steer_motor
from tests.strategies import designs, turns


def view_of(design: Design, turn: float, speed: float = 1.0) -> View:
    return View(Facts(design), Command(turn, speed))


def cart(*, base: float | None = None, toe: float = 0.0, **front: object) -> Design:
    """A fixed axle of track 200 mm at x = 0, and one front wheel on the centre line."""
    values: dict[str, object] = {"name": "front", "x_mm": 100.0, "y_mm": 0.0, "kind": "steered", **front}
    rear = [
        Wheel(name=name, x_mm=0.0, y_mm=y, toe_deg=toe) for name, y in (("left", 100.0), ("right", -100.0))
    ]
    return Design(wheels=(Wheel.model_validate(values), *rear), base_axle_x_mm=base)


def test_an_empty_chassis_is_asked_for_a_wheel() -> None:
    view = view_of(Design(), 0.3)
    assert tone(view) == "empty"
    assert verdict_line(view, "mm").startswith("No wheels yet.")
    assert range_line(view, "mm") == ""


def test_an_aligned_chassis_is_told_so() -> None:
    view = view_of(cart(), 0.3)
    assert tone(view) == "good"
    assert verdict_line(view, "mm") == "Every axle points at the turn centre."
    assert range_line(view, "mm") == "Over the whole range: all aligned."


def test_straight_ahead_no_turn_centre_is_spoken_of() -> None:
    line = verdict_line(view_of(cart(), 0.0), "mm")
    assert line == "Straight ahead: every axle lies square to the motion."


def test_what_is_left_within_the_tolerance_is_told() -> None:
    assert verdict_line(view_of(cart(toe=0.2), 0.0), "mm").endswith("square to the motion, within 0.20°.")
    assert "points at the turn centre, within 0.2" in verdict_line(view_of(cart(toe=0.2), 0.1), "mm")


def test_toe_beyond_the_tolerance_is_slight_drag_and_then_drag() -> None:
    slight, bad = view_of(cart(toe=1.0), 0.0), view_of(cart(toe=3.0), 0.0)
    assert (tone(slight), tone(bad)) == ("slight", "bad")
    line = verdict_line(slight, "mm")
    assert line.startswith("2 axles are not square to the straight run. Worst: ")
    assert line.endswith("Its toe of 1° turns a fixed axle off the turn centre: set the toe to 0.")
    assert "slip 1.0°, drags 17 mm per metre" in line


def test_a_wheel_at_its_end_of_travel_is_named_with_the_remedy() -> None:
    line = verdict_line(view_of(cart(travel_min_deg=-30.0, travel_max_deg=30.0), 0.5), "mm")
    assert line.startswith("1 axle misses the turn centre. Worst: front, slip 15.0°, misses by 36.6 mm")
    # tan 30 = 100 s / (100 (1 - s)) of a wheel on the centre line.
    reach = math.floor(1e4 * math.tan(math.pi / 6) / (1 + math.tan(math.pi / 6))) / 1e4
    assert line.endswith(
        f"end of travel (30.0°): give it more travel, or set largest_turn to at most {reach:g}."
    )


def test_a_trail_that_reaches_beyond_the_centre_is_named() -> None:
    line = verdict_line(view_of(cart(x_mm=0.0, y_mm=90.0, trail_mm=30.0), 0.5), "mm")
    assert "Worst: front" in line
    assert line.endswith("is nearer to its kingpin than its trail of 30 mm: shorten the trail.")


def test_fixed_wheels_that_disagree_are_told_apart_from_a_base_axle_chosen_elsewhere() -> None:
    apart = Design(wheels=tuple(Wheel(name=f"w{x:g}", x_mm=x, y_mm=100.0) for x in (-50.0, 50.0)))
    assert verdict_line(view_of(apart, 0.3), "mm").endswith(
        "The fixed wheels share no axle line (w-50 at x -50 mm, w50 at x 50 mm): "
        "bring them to one x, or let some steer."
    )
    assert verdict_line(view_of(cart(base=-40.0), 0.3), "mm").endswith(
        "The fixed wheels stand at x 0 mm but the base axle at x -40 mm: "
        "clear base_axle_x_mm, or move one of them."
    )


def test_flipped_wheels_are_named_and_are_no_fault() -> None:
    view = view_of(cart(y_mm=80.0, travel_min_deg=-90.0, travel_max_deg=90.0), 1.0)
    assert tone(view) == "good"
    assert verdict_line(view, "mm").endswith("Flipped, rolling the other way: front.")
    assert range_line(view, "mm").endswith("flips on the way: front.")


def test_a_pivoting_wheel_is_no_fault() -> None:
    design = cart(name="near", x_mm=2.0, y_mm=98.0, kind="fixed", width_mm=40.0).edited(base_axle_x_mm=0.0)
    view = view_of(design, 0.5)
    assert view.rows[0].state == "pivots"
    assert tone(view) == "good"
    assert (
        verdict_line(view, "mm") == "near pivots on the centre. Every other axle points at the turn centre."
    )
    assert not view.verdict.centre_exists


def test_a_caster_that_swings_round_is_no_fault_and_is_told_by_its_state() -> None:
    view = view_of(cart(name="tail", x_mm=-10.0, kind="caster", trail_mm=18.0), 1.0)
    assert view.rows[0].state == "swings round"
    assert view.rows[0].notes == ("the centre is nearer than its trail",)
    assert (tone(view), view.verdict.centre_exists) == ("good", True)
    assert range_line(view, "mm") == "Over the whole range: all aligned."


def test_lengths_follow_the_unit_on_the_screen() -> None:
    view = view_of(cart(travel_min_deg=-30.0, travel_max_deg=30.0), 0.5)
    assert "misses by 1.441 in" in measures(view.rows[0], "inch")
    assert "1.441 in" in verdict_line(view, "inch")
    assert "base axle at x -1.575 in:" in verdict_line(view_of(cart(base=-40.0), 0.3), "inch")


@given(designs(), turns())
def test_the_line_counts_and_names_what_the_view_holds(design: Design, turn: float) -> None:
    view = view_of(design, turn)
    line = verdict_line(view, "mm")
    off = [row for row in view.rows if row.state in ("slight drag", "drags")]
    assert (tone(view) in ("slight", "bad")) == bool(off)
    found = re.match(r"(\d+) ax(is|le|les) ", line)
    assert (int(found.group(1)) if found else 0) == len(off)
    if off:
        worst = max(off, key=lambda row: (row.state == "drags", abs(row.slip)))
        named = next(row for row in view.rows if f"Worst: {row.name}, " in line)
        assert named.state == worst.state
        assert abs(named.slip) == pytest.approx(abs(worst.slip), abs=1e-12)
    assert "nan" not in line


@pytest.mark.parametrize("key", [sample.key for sample in SAMPLES])
def test_the_range_line_agrees_with_the_check(key: str) -> None:
    view = view_of(sample_design(key), 0.0)
    line = range_line(view, "mm")
    assert ("all aligned" in line) == view.facts.check.aligned
    if view.facts.check.worst is not None:
        assert view.design.wheels[view.facts.check.worst.wheel].name in line


def test_what_happens_on_the_way_is_told_by_its_kind() -> None:
    flips = cart(y_mm=80.0, travel_min_deg=-90.0, travel_max_deg=90.0)
    assert "; flips on the way: front." in range_line(view_of(flips, 0.0), "mm")
    far_out = {"y_mm": 80.0, "lateral_offset_mm": -250.0}
    jumps = cart(**far_out, travel_min_deg=-90.0, travel_max_deg=90.0)
    assert "; jumps on the way: front." in range_line(view_of(jumps, 0.0), "mm")
    wide = cart(y_mm=80.0, travel_min_deg=-89.9, travel_max_deg=89.9)
    assert "; changes its end of travel on the way: front." in range_line(view_of(wide, 0.0), "mm")


def test_with_motors_the_verdict_says_so() -> None:
    exact, rough = scout(RIGHT, LEFT), scout(FRONT, REAR)
    assert verdict_line(view_of(exact, 0.3), "mm") == "With its motors, every axle points at the turn centre."
    assert verdict_line(view_of(exact, 0.0), "mm").startswith("Straight ahead, with its motors: every axle")
    view = view_of(rough, 0.3)
    line = verdict_line(view, "mm")
    assert line.startswith("With its motors: 4 axles miss the turn centre. Worst: ")
    assert f"It turns {show_length(view.true_radius - view.radius, 'mm', digits=1)} wider than asked." in line
    assert "Its motor, " in line


def test_an_exact_sharing_is_called_exact_and_another_is_not() -> None:
    exact = range_line(view_of(scout(RIGHT, LEFT), 0.2), "mm")
    assert exact == (
        "Over the whole range: all aligned; exact, the motors turn every wheel to its ideal angle."
    )
    rough = range_line(view_of(scout(FRONT, REAR), 0.2), "mm")
    assert "exact" not in rough
    assert "4 wheels drag, most " in rough
    assert "exact" not in range_line(view_of(scout(), 0.2), "mm")
    # Motors that only drive turn no wheel.
    assert "exact" not in range_line(view_of(scout(*DRIVES), 0.2), "mm")


def test_a_misbuilt_chassis_is_not_blamed_on_motors_that_do_their_part() -> None:
    design = sample_design("dyke_hauler_eight")
    motors = tuple(
        steer_motor(f"motor {n}", {wheel.name: 1.0})
        for n, wheel in enumerate(design.wheels)
        if wheel.kind == "steered"
    )
    line = range_line(view_of(design.edited(steer_motors=motors), 0.2), "mm")
    assert "drag" in line
    assert line.endswith("Yet the motors turn every wheel to its ideal angle.")


def test_what_is_taken_for_granted_is_told_after_the_range() -> None:
    line = range_line(view_of(scout(RIGHT), 0.2), "mm")
    assert line.endswith("No steer motor turns front left, rear left: taken at the ideal angle.")


def test_the_error_of_the_turn_is_told_by_its_kind() -> None:
    assert turning_error(view_of(scout(), 0.3), "mm") == ""
    assert turning_error(view_of(scout(RIGHT, LEFT), 0.3), "mm") == ""
    assert turning_error(view_of(scout(FRONT, REAR), 0.3), "inch").endswith(" in wider than asked.")
    lame = scout(drive_motor("both", {"middle left": 1.0, "middle right": 0.5}))
    assert turning_error(view_of(lame, 0.0), "mm").startswith(
        "It does not run straight, but turns to the right"
    )
    bent = scout(steer_motor("right", {"front right": 1.0, "rear right": -0.9}), LEFT)
    gap = show_length(view_of(bent, 0.6).gap, "mm", digits=1)
    assert turning_error(view_of(bent, 0.6), "mm").endswith(f", its centre {gap} off.")
