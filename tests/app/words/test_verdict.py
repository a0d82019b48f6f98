"""The verdict's sentences for each kind of state, held against the view that they speak of."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given

from app.design.facts import Facts
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.units import LengthUnit, show_length
from app.words.verdict import headline, measures, this_turn, tone, turning_error, what_to_do
from geometry.kinematics.alignment import CALM, FAULTY
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.scouts import DRIVES, FRONT, LEFT, REAR, RIGHT, drive_motor, scout, steer_motor
from tests.strategies import designs, turns


def view_of(design: Design, turn: float, speed: float = 1.0) -> View:
    return View(Facts(design), Command(turn, speed))


def told(view: View, unit: LengthUnit = "mm") -> str:
    return " ".join(what_to_do(view.facts, unit))


def cart(*, base: float | None = None, toe: float = 0.0, **front: object) -> Design:
    """A fixed axle of track 200 mm at x = 0, and one front wheel on the centre line."""
    values: dict[str, object] = {"name": "front", "x_mm": 100.0, "y_mm": 0.0, "kind": "steered", **front}
    rear = [
        Wheel(name=name, x_mm=0.0, y_mm=y, toe_deg=toe) for name, y in (("left", 100.0), ("right", -100.0))
    ]
    return Design(wheels=(Wheel.model_validate(values), *rear), base_axle_x_mm=base)


def test_an_empty_chassis_is_asked_for_a_wheel() -> None:
    view = view_of(Design(), 0.3)
    assert tone(view.facts) == "empty"
    assert headline(view.facts, "mm") == "Nothing to check yet."
    assert this_turn(view, "mm").startswith("No wheels yet.")
    assert what_to_do(view.facts, "mm") == ()


def test_an_aligned_chassis_is_told_so() -> None:
    view = view_of(cart(), 0.3)
    assert tone(view.facts) == "good"
    assert headline(view.facts, "mm") == "Aligned at every turn."
    # R = 100 (1 - 0.3) / 0.3.
    assert this_turn(view, "mm") == "This turn, 0.3: every axle points at the turn centre, 233.33 mm left."
    assert this_turn(view_of(cart(), -0.5), "mm").endswith(", 100 mm right.")
    assert this_turn(view_of(cart(), 1.0), "mm") == (
        "This turn, on the spot: every axle points at the turn centre."
    )
    assert what_to_do(view.facts, "mm") == ()


def test_straight_ahead_no_turn_centre_is_spoken_of() -> None:
    line = this_turn(view_of(cart(), 0.0), "mm")
    assert line == "This turn, straight ahead: every axle lies square to the motion."


def test_what_is_left_within_the_tolerance_is_told() -> None:
    assert this_turn(view_of(cart(toe=0.2), 0.0), "mm").endswith("square to the motion, within 0.20°.")
    assert "points at the turn centre, 900 mm left, within 0.2" in this_turn(
        view_of(cart(toe=0.2), 0.1), "mm"
    )


def test_toe_beyond_the_tolerance_is_slight_drag_and_then_drag() -> None:
    slight, bad = view_of(cart(toe=1.0), 0.0), view_of(cart(toe=3.0), 0.0)
    assert (tone(slight.facts), tone(bad.facts)) == ("slight", "bad")
    line = this_turn(slight, "mm")
    assert line.startswith("This turn, straight ahead: 2 axles are not square to the straight run. Worst: ")
    assert told(slight).endswith("Its toe of 1° turns a fixed axle off the turn centre: set the toe to 0.")
    assert "slip 1.0°, drags 17 mm per metre" in line


def test_a_wheel_at_its_end_of_travel_is_named_with_the_remedy() -> None:
    view = view_of(cart(travel_min_deg=-30.0, travel_max_deg=30.0), 0.5)
    line = this_turn(view, "mm")
    assert line.startswith(
        "This turn, 0.5: 1 axle misses the turn centre. Worst: front, slip 15.0°, misses by 36.6 mm"
    )
    # tan 30 = 100 s / (100 (1 - s)) of a wheel on the centre line.
    reach = math.floor(1e4 * math.tan(math.pi / 6) / (1 + math.tan(math.pi / 6))) / 1e4
    assert told(view).endswith(
        f"end of travel (-30.0°): give it more travel, or set the largest turn to at most {reach:g}."
    )


def test_a_trail_that_reaches_beyond_the_centre_is_named() -> None:
    view = view_of(cart(x_mm=0.0, y_mm=90.0, trail_mm=30.0), 0.5)
    assert "Worst: front" in this_turn(view, "mm")
    assert told(view).endswith("is nearer to its kingpin than its trail of 30 mm: shorten the trail.")


def test_fixed_wheels_that_disagree_are_told_apart_from_a_base_axle_chosen_elsewhere() -> None:
    apart = Design(wheels=tuple(Wheel(name=f"w{x:g}", x_mm=x, y_mm=100.0) for x in (-50.0, 50.0)))
    assert told(view_of(apart, 0.3)).endswith(
        "The fixed wheels share no axle line (w-50 at x -50 mm, w50 at x 50 mm): "
        "bring them to one x, or let some steer."
    )
    assert told(view_of(cart(base=-40.0), 0.3)).endswith(
        "The fixed wheels stand at x 0 mm but the base axle at x -40 mm: "
        'untick "Choose the base axle", or move one of them.'
    )


def test_flipped_wheels_are_named_and_are_no_fault() -> None:
    view = view_of(cart(y_mm=80.0, travel_min_deg=-90.0, travel_max_deg=90.0), 1.0)
    assert tone(view.facts) == "good"
    assert this_turn(view, "mm").endswith("Flipped, rolling the other way: front.")
    assert told(view) == "Flips on the way: front."


def test_a_pivoting_wheel_is_no_fault() -> None:
    design = cart(name="near", x_mm=2.0, y_mm=98.0, kind="fixed", width_mm=40.0).edited(base_axle_x_mm=0.0)
    view = view_of(design, 0.5)
    assert view.rows[0].state == "pivots"
    assert view.verdict.state in CALM
    assert this_turn(view, "mm") == (
        "This turn, 0.5: near pivots on the centre, every other axle points at the turn centre, 100 mm left."
    )
    # Far from the centre it is off the line by no more than this tolerance.
    wide = design.edited(aligned_within_deg=4.0, slight_drag_within_deg=5.0)
    middle = wide.edited(wheels=(design.wheels[0].edited(y_mm=0.0, width_mm=60.0), *design.wheels[1:]))
    assert (tone(Facts(middle)), headline(Facts(middle), "mm")) == ("good", "Aligned at every turn.")
    assert told(view_of(middle, 0.0)) == (
        "Within 4°, which counts as aligned, but not exact: axles are up to 4.00° off. "
        "Pivots on the centre on the way: near."
    )
    assert not view.verdict.centre_exists


def test_a_caster_that_swings_round_is_no_fault_and_is_told_by_its_state() -> None:
    view = view_of(cart(name="tail", x_mm=-10.0, kind="caster", trail_mm=18.0), 1.0)
    assert view.rows[0].state == "swings round"
    assert view.rows[0].notes == ("the centre is nearer than its trail",)
    assert (tone(view.facts), view.verdict.centre_exists) == ("good", True)
    assert headline(view.facts, "mm") == "Aligned at every turn."


def test_lengths_follow_the_unit_on_the_screen() -> None:
    view = view_of(cart(travel_min_deg=-30.0, travel_max_deg=30.0), 0.5)
    assert "misses by 1.441 in" in measures(view.rows[0], "inch")
    assert "1.441 in" in this_turn(view, "inch")
    assert "base axle at x -1.575 in:" in told(view_of(cart(base=-40.0), 0.3), "inch")


@given(designs(), turns())
def test_the_line_counts_and_names_what_the_view_holds(design: Design, turn: float) -> None:
    view = view_of(design, turn)
    line = this_turn(view, "mm")
    off = [row for row in view.rows if row.state in ("slight drag", "drags")]
    found = re.search(r": (\d+) axles? (?:miss|misses|is|are) ", line)
    assert (int(found.group(1)) if found else 0) == len(off)
    if off:
        worst = max(off, key=lambda row: (row.state == "drags", abs(row.slip)))
        named = next(row for row in view.rows if f"Worst: {row.name}, " in line)
        assert named.state == worst.state
        assert abs(named.slip) == pytest.approx(abs(worst.slip), abs=1e-12)
    assert "nan" not in line


EXACT = ("Exact: the motors turn every wheel to its ideal angle.",)
APART, JOIN = "The fixed wheels share no axle line", ": bring them to one x, or let some steer."
OF_SAMPLES = {
    "marsh_scout_six": ("good", "Aligned at every turn.", ()),
    "reed_cart_four": ("good", "Aligned at every turn in use, up to 0.39.", ()),
    "mudflat_carrier_four": ("good", "Aligned at every turn.", ()),
    "creek_tricycle": ("good", "Aligned at every turn.", ()),
    "dyke_hauler_eight": (
        "bad",
        "Drags over part of the range in use, by up to 678 mm per metre.",
        (
            "4 wheels drag, most front middle left at turn 0.4 (slip 42.7°, missing by 60 mm).",
            (
                f"{APART} (front middle left at x 60 mm, front middle right at x 60 mm, "
                f"rear middle left at x -60 mm, rear middle right at x -60 mm){JOIN}"
            ),
        ),
    ),
    "marsh_scout_motors": ("good", "With these motors: aligned at every turn checked.", EXACT),
    "crowded_scout": ("good", "With these motors: aligned at every turn checked.", EXACT),
    "misbuilt_scout": (
        "bad",
        "Drags over part of the range, by up to 1000 mm per metre.",
        (
            "2 wheels drag, most middle left at turn 0.5 (slip 90.0°, missing by 6 mm).",
            f"{APART} (middle left at x 12 mm, middle right at x 0 mm){JOIN}",
        ),
    ),
}


@pytest.mark.parametrize("key", [sample.key for sample in SAMPLES])
def test_the_range_of_each_sample_is_told_in_these_words(key: str) -> None:
    facts = Facts(sample_design(key))
    assert (tone(facts), headline(facts, "mm"), what_to_do(facts, "mm")) == OF_SAMPLES[key]


@pytest.mark.parametrize(
    ("toe", "off"), [(0.3, "up to 0.30° off"), (-0.47, "up to 0.47° off"), (0.002, "off by less than 0.01°")]
)
def test_aligned_within_the_tolerance_alone_is_told_with_the_tolerance(toe: float, off: str) -> None:
    facts = Facts(cart(toe=toe))
    assert (tone(facts), headline(facts, "mm")) == ("good", "Aligned at every turn.")
    assert what_to_do(facts, "mm") == (
        f"Within 0.5°, which counts as aligned, but not exact: axles are {off}.",
    )
    assert what_to_do(Facts(cart(toe=toe).edited(aligned_within_deg=0.8)), "mm")[0].startswith("Within 0.8°")


def test_a_good_turn_does_not_make_a_bad_range_good() -> None:
    view = view_of(sample_design("misbuilt_scout"), 0.1)
    assert {row.state for row in view.rows} == {"aligned"}
    assert "every axle points at the turn centre" in this_turn(view, "mm")
    assert (tone(view.facts), headline(view.facts, "mm")) == OF_SAMPLES["misbuilt_scout"][:2]


@pytest.mark.parametrize(
    ("design", "words"),
    [
        (
            cart(travel_min_deg=-89.45, travel_max_deg=89.45),
            "Slight drag on the spot, by up to 9.6 mm per metre.",
        ),
        (cart(toe=3.0), "Drags at every turn, by up to 52 mm per metre."),
        (
            cart(travel_min_deg=-44.0, travel_max_deg=44.0).edited(largest_turn=0.505),
            "Slight drag over part of the range in use, by up to 27 mm per metre.",
        ),
    ],
)
def test_where_in_the_range_it_drags_is_told(design: Design, words: str) -> None:
    assert headline(Facts(design), "mm") == words


@pytest.mark.parametrize("seed", range(6))
def test_no_verdict_is_good_where_the_check_finds_drag(seed: int) -> None:
    """Each turn shown, each way of looking: only an aligned range has a good headline."""
    draw, seen = np.random.default_rng(seed), set()
    motors = ((), (FRONT, REAR), (RIGHT, LEFT), (RIGHT, LEFT, *DRIVES), DRIVES)
    for n in range(20):
        design = shaken(scout(*motors[n % len(motors)]), draw)
        committed = Facts(design)
        for facts in (committed, Facts(design, previewing=True, like=committed)):
            # Asked of the turns themselves, not of what the check makes of them.
            states = facts.check.dense.response.states
            off = (states >= FAULTY).any()
            assert off == (not facts.check.aligned)
            good = tone(facts) == "good"
            assert not (good and off)
            assert good == ("ligned at every turn" in headline(facts, "mm"))
            for turn in draw.uniform(-design.largest_turn, design.largest_turn, 3):
                view = View(facts, Command(float(turn)))
                shown_off = any(row.state in ("slight drag", "drags") for row in view.rows)
                assert not (good and shown_off)
            seen.add((good, bool(off)))
    assert seen >= {(True, False), (False, True)}


@pytest.mark.parametrize("seed", range(3))
def test_the_headline_of_a_drag_is_that_of_rest_but_for_the_last_digits(seed: int) -> None:
    draw = np.random.default_rng(100 + seed)
    motors = ((), (FRONT, REAR), (RIGHT, LEFT, *DRIVES), DRIVES)
    for n in range(16):
        design = shaken(scout(*motors[n % len(motors)]), draw)
        rest = Facts(design)
        drag = Facts(design, previewing=True, like=rest)
        assert tone(drag) == tone(rest)
        # Nothing was moved yet, so that even the number stands.
        assert headline(drag, "mm") == headline(rest, "mm")


def shaken(design: Design, draw: np.random.Generator) -> Design:
    """A design with some wheels moved, toed, or kept from turning far; now and then as it was."""
    size, changed = 10.0 ** draw.uniform(-2.0, 1.5), []
    for wheel in design.wheels:
        edit: dict[str, object] = {}
        if draw.random() < 0.25:
            edit |= {"x_mm": wheel.x_mm + size * draw.normal(), "y_mm": wheel.y_mm + size * draw.normal()}
        if draw.random() < 0.1:
            edit["toe_deg"] = float(np.clip(0.6 * draw.normal(), -9.0, 9.0))
        if wheel.kind == "steered" and draw.random() < 0.1:
            travel = draw.uniform(40.0, 170.0)
            edit |= {"travel_min_deg": -travel, "travel_max_deg": travel}
        changed.append(wheel.edited(**edit))
    return design.edited(wheels=tuple(changed), largest_turn=float(draw.choice([1.0, 0.4])))


def test_what_happens_on_the_way_is_told_by_its_kind() -> None:
    flips = cart(y_mm=80.0, travel_min_deg=-90.0, travel_max_deg=90.0)
    assert "Flips on the way: front." in told(view_of(flips, 0.0))
    far_out = {"y_mm": 80.0, "lateral_offset_mm": -250.0}
    jumps = cart(**far_out, travel_min_deg=-90.0, travel_max_deg=90.0)
    assert "Jumps on the way: front." in told(view_of(jumps, 0.0))
    wide = cart(y_mm=80.0, travel_min_deg=-89.9, travel_max_deg=89.9)
    assert "Changes its end of travel on the way: front." in told(view_of(wide, 0.0))


def test_with_motors_the_verdict_says_so() -> None:
    exact, rough = scout(RIGHT, LEFT), scout(FRONT, REAR)
    assert headline(Facts(exact), "mm") == "With these motors: aligned at every turn checked."
    view = view_of(rough, 0.3)
    line = this_turn(view, "mm")
    assert headline(view.facts, "mm").startswith(
        "With these motors it drags over part of the range, by up to "
    )
    assert line.startswith("This turn, 0.3: 4 axles miss the turn centre. Worst: ")
    assert f"It turns {show_length(view.true_radius - view.radius, 'mm', digits=1)} wider than asked." in line
    assert "Its motor, " in told(view)


def test_an_exact_sharing_is_called_exact_and_another_is_not() -> None:
    assert told(view_of(scout(RIGHT, LEFT), 0.2)) == "Exact: the motors turn every wheel to its ideal angle."
    rough = told(view_of(scout(FRONT, REAR), 0.2))
    assert "xact" not in rough
    assert "4 wheels drag, most " in rough
    assert "xact" not in told(view_of(scout(), 0.2))
    # Motors that only drive turn no wheel.
    assert "xact" not in told(view_of(scout(*DRIVES), 0.2))


def test_a_misbuilt_chassis_is_not_blamed_on_motors_that_do_their_part() -> None:
    design = sample_design("dyke_hauler_eight")
    motors = tuple(
        steer_motor(f"motor {n}", {wheel.name: 1.0})
        for n, wheel in enumerate(design.wheels)
        if wheel.kind == "steered"
    )
    line = told(view_of(design.edited(steer_motors=motors), 0.2))
    assert "drag" in line
    assert line.endswith("Yet the motors turn every wheel to its ideal angle.")


def test_what_is_taken_for_granted_is_told_after_the_range() -> None:
    line = told(view_of(scout(RIGHT), 0.2))
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
