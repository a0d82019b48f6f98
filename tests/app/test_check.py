import math

import numpy as np
import pytest
from hypothesis import given

from app.design.edits import change_wheels
from app.design.facts import Facts
from app.design.samples import sample_design
from app.units import radians
from app.words.check_report import text_of, values_of
from geometry.kinematics.alignment import FAULTY
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import RangeCheck
from tests.app import scouts
from tests.app.checked import Checked
from tests.geometry.motored_six import PAIR
from tests.strategies import designs

SCOUT = sample_design("marsh_scout_six")
HAULER = sample_design("dyke_hauler_eight")
EIGHT_FREE = HAULER.edited(largest_turn=1.0)


def test_landmarks_are_among_the_turns_that_are_checked():
    check = Checked(change_wheels(SCOUT, range(6), travel_min_deg=-77.0, travel_max_deg=77.0))
    assert {mark.turn for mark in check.landmarks} <= set(check.dense.turns.tolist())
    assert len(check.dense.turns) > 2001


def test_two_fixed_axles_drag_as_their_distance_says():
    # Each axle stands 60 mm from the line of turn centres: the inner wheel at y = 130 sees the
    # centre R - 130 beside it and 60 ahead or behind.
    check = Checked(HAULER)
    assert check.robot.base.x == 0.0
    radius = 130 * (1 - 0.4) / 0.4
    worst = check.worst
    assert abs(worst.turn) == 0.4
    assert abs(worst.slip) == pytest.approx(math.atan2(60, radius - 130))
    assert worst.miss == pytest.approx(60.0)
    assert worst.drag == pytest.approx(1000 * 60 / math.hypot(60, radius - 130))


def test_the_first_fault_is_where_the_slip_leaves_the_tolerance():
    check = Checked(HAULER)
    # Slip of the inner wheel is atan(60 / (R - 130)), with R = 130 (1 - s) / s.
    reach = 60 / math.tan(math.radians(0.5)) + 130
    exact = 130 / (130 + reach)
    first = check.first_fault(2)
    assert exact == pytest.approx(0.01821923, abs=1e-8)
    assert exact - 1e-12 <= first <= exact + 1.001e-9


def test_a_fault_too_narrow_for_any_even_turn_is_no_secret():
    pair = [Wheel(name=n, x_mm=0.0, y_mm=y, width_mm=5.0) for n, y in (("L", 10.0), ("R", -10.0))]
    outer = Wheel(name="o", x_mm=0.5, y_mm=400.0, kind="steered", trail_mm=3.0, width_mm=1.0)
    check = Checked(Design(wheels=(*pair, outer)))
    assert not check.aligned
    assert (check.worst.wheel, check.worst.state) == (2, "drags")
    assert "shorten the trail" in check.remedy(check.worst)


def test_the_worst_slip_is_met_exactly_and_not_between_two_even_turns():
    # Two axles 6 mm off the line of centres; a tyre 2 mm wide hides little. The inner wheel's
    # slip is a right angle where the centre is abreast of it, at no even turn.
    pair = [Wheel(name=n, x_mm=0.0, y_mm=y, width_mm=2.0) for n, y in (("L", 100.0), ("R", -100.0))]
    odd = Wheel(name="B", x_mm=-6.0, y_mm=77.7, width_mm=2.0)
    check = Checked(Design(wheels=(*pair, odd), base_axle_x_mm=0.0))
    assert abs(check.worst.slip) == pytest.approx(math.pi / 2, abs=1e-9)
    assert abs(check.worst.turn) == pytest.approx(100.0 / 177.7, abs=1e-12)


def test_a_wheel_that_never_drags_has_no_first_fault():
    assert [Checked(SCOUT).first_fault(n) for n in range(6)] == [None] * 6
    assert Checked(SCOUT).worst is None


def test_the_remedy_for_limited_travel_removes_every_travel_end():
    for degrees in (15.0, 47.0, 80.0, 100.0):
        design = change_wheels(SCOUT, [0, 1], travel_min_deg=-degrees, travel_max_deg=degrees)
        check = Checked(design)
        if check.worst is None:
            continue
        words = check.remedy(check.worst)
        assert "end of travel" in words
        mended = design.edited(largest_turn=float(words.rsplit(" ", 1)[1].rstrip(".")))
        assert Checked(mended).worst is None


def test_no_remedy_asks_for_what_a_design_refuses():
    stiff = change_wheels(SCOUT, [0, 1], travel_min_deg=-0.2, travel_max_deg=0.2)
    check = Checked(stiff)
    assert check.remedy(check.worst).endswith("give it more travel.")


def test_a_trail_longer_than_the_distance_is_named():
    design = Design(
        wheels=(
            Wheel(name="A", x_mm=0.0, y_mm=50.0),
            Wheel(name="B", x_mm=0.0, y_mm=-50.0),
            Wheel(name="C", x_mm=20.0, y_mm=0.0, kind="steered", trail_mm=30.0, width_mm=5.0),
        )
    )
    check = Checked(design)
    assert "its trail of 30 mm" in check.remedy(check.worst)


@given(designs())
def test_every_design_can_be_told_in_words_and_values(design):
    check = Checked(design)
    shown = check.at([-1.0, 0.0, 0.5])
    text, values = text_of(check.facts, shown), values_of(check.facts, shown)
    assert "nan" not in text.casefold()
    assert ("NOT ALIGNED" in text) == (not check.aligned)
    assert values["aligned"] == check.aligned
    assert len(values["turns"]) == 3


@given(designs(min_wheels=1))
def test_the_worst_case_is_as_bad_as_any(design):
    check = Checked(design)
    if check.worst is None:
        assert check.dense.response.states.max() < FAULTY
        return
    counted = np.where(
        check.dense.response.alignment.pivots, 0.0, np.abs(check.dense.response.alignment.slip)
    )
    bad = check.dense.response.states == check.dense.response.states.max()
    assert abs(check.worst.slip) == pytest.approx(counted[bad].max(), abs=1e-6)
    assert check.remedy(check.worst)


def test_a_caster_that_swings_round_near_the_centre_is_no_fault():
    check = Checked(
        Design(
            wheels=(
                Wheel(name="L", x_mm=0.0, y_mm=100.0),
                Wheel(name="R", x_mm=0.0, y_mm=-100.0),
                Wheel(name="tail", x_mm=-10.0, y_mm=0.0, kind="caster", trail_mm=18.0, width_mm=10.0),
            )
        )
    )
    assert check.aligned
    shown = check.at([1.0])
    assert shown.wheel_at(0, 2).state == "swings round"
    assert shown.flags(0, 2) == ("swings",)
    assert "swings round" in text_of(check.facts, shown)


def test_wheels_that_only_pivot_past_the_centre_are_named():
    pair = (Wheel(name="L", x_mm=0.0, y_mm=100.0), Wheel(name="R", x_mm=0.0, y_mm=-100.0))
    near = Wheel(name="mid", x_mm=2.0, y_mm=0.0, width_mm=60.0)
    limits = {"aligned_within_deg": 4.0, "slight_drag_within_deg": 5.0}
    check = Checked(Design(wheels=(*pair, near), base_axle_x_mm=0.0, **limits))
    assert (check.worst, check.pivoting) == (None, (2,))
    assert "points at the turn centre, or pivots on it (mid), at every turn" in text_of(
        check.facts, check.at([0])
    )


def fixed(name: str, x: float, y: float, **more: float) -> Wheel:
    return Wheel(name=name, x_mm=x, y_mm=y, **more)


def steered(name: str, x: float, y: float, travel: float, **more: float) -> Wheel:
    return Wheel(
        name=name, x_mm=x, y_mm=y, kind="steered", travel_min_deg=-travel, travel_max_deg=travel, **more
    )


REAR = (fixed("L", 0.0, 100.0), fixed("R", 0.0, -100.0))


def test_a_small_toe_is_not_blamed_for_the_distance_between_two_axles():
    for toe, words in ((0.1, ["share no axle line"]), (20.0, ["share no axle line", "toe of 20° adds"])):
        wheels = [fixed(f"{x:g} {y:g}", x, y, toe_deg=toe) for x in (60.0, -60.0) for y in (100.0, -100.0)]
        check = Checked(Design(wheels=tuple(wheels)))
        told = check.remedy(check.at([0.2]).wheel_at(0, 3 if toe > 1 else 2))
        assert ("Its toe" in told) == (toe > 1)
        assert all(word in told for word in words), told


def sharing(*wheels: Wheel, **more: object) -> Design:
    """The steered ones of these wheels on one motor."""
    held = {wheel.name: 1.0 for wheel in wheels if wheel.kind == "steered"}
    return Design(wheels=wheels, steer_motors=(scouts.steer_motor("both", held),), **more)


def test_a_steered_wheel_is_told_its_motor_and_its_own_end_and_nothing_of_fixed_axles():
    for toe in (0.0, 3.0):
        stiff = steered("A", 100.0, 60.0, 45.0, toe_deg=toe)
        far = steered("B", 100.0, -150.0, 90.0, load_share=2)
        check = Checked(sharing(stiff, far, base_axle_x_mm=0.0, largest_turn=0.45))
        assert check.remedy(check.worst) == (
            "Its motor, both, also turns B, and alone it would come to its own end of travel (45.0°): "
            "give it more travel, and share or gear them otherwise."
        )


@pytest.mark.parametrize("travel", [17.3, 20.0, 25.0])
def test_the_largest_turn_advised_for_a_shared_motor_is_before_its_first_stop(travel):
    check = Checked(sharing(*REAR, steered("A", 150.0, 100.0, travel), steered("B", 150.0, -100.0, travel)))
    advised = float(check.remedy(check.worst).rsplit(" ", 1)[1].rstrip("."))
    first = min(abs(mark.turn) for mark in check.landmarks if mark.kind == "travel end")
    assert first - 1e-4 <= advised <= first
    turns = np.linspace(-advised, advised, 4001)
    assert not check.at(turns).response.solution.limited.any()


def test_a_motor_at_its_own_end_is_not_taken_for_a_wheel_at_its_own():
    design = sharing(*REAR, steered("A", 150.0, 100.0, 90.0), steered("B", 150.0, -100.0, 90.0))
    short = design.steer_motors[0].edited(travel_min_deg=-20.0, travel_max_deg=20.0)
    check = Checked(design.edited(steer_motors=(short,)))
    for wheel, mate in ((2, "B"), (3, "A")):
        # With more travel the two would still want unlike angles.
        assert check.remedy(check.worst_of_wheels[wheel]) == (
            f"Its motor, both, also turns {mate}, and no one angle suits them all: "
            "share or gear them otherwise. That alone is not enough: its motor, "
            "both, stands at its end of travel: give it more, or set largest_turn to at most 0.2042."
        )


def test_a_toe_that_moves_a_contact_off_the_axle_is_named_and_no_empty_field_is_cleared():
    odd = fixed("R", 0.0, -100.0, toe_deg=10.0, lateral_offset_mm=-60.0)
    check = Checked(Design(wheels=(REAR[0], odd)))
    left, right = check.worst_of_wheels
    assert check.remedy(left) == (
        "Toe moves the contact of R off the axle line (L at x 0 mm, R at x 10.42 mm): "
        "set its toe to 0, or its lateral offset."
    )
    assert check.remedy(right) == "Its toe of 10° turns a fixed axle off the turn centre: set the toe to 0."
    assert Checked(change_wheels(check.design, [1], toe_deg=0.0)).aligned
    assert Checked(change_wheels(check.design, [1], lateral_offset_mm=0.0)).robot.base.x == 0.0


def test_a_toe_that_alone_is_at_fault_is_blamed():
    toed = Design(wheels=(fixed("L", 0.0, 100.0, toe_deg=3.0), REAR[1]))
    told = Checked(toed).remedy(Checked(toed).worst)
    assert told == "Its toe of 3° turns a fixed axle off the turn centre: set the toe to 0."
    assert Checked(change_wheels(toed, [0], toe_deg=0.0)).aligned


def test_a_missing_angle_is_told_before_an_end_of_travel():
    check = Checked(Design(wheels=(*REAR, steered("F", 5.0, 50.0, 40.0, trail_mm=18.0, width_mm=5.0))))
    both = [
        row
        for row in range(len(check.dense.turns))
        if {"no_angle", "travel_end"} <= set(check.dense.flags(row, 2))
    ]
    assert both
    assert "shorten the trail" in check.remedy(check.dense.wheel_at(both[0], 2))


def test_the_advice_on_the_largest_turn_goes_by_that_wheel_alone():
    # The near wheel comes to its end at a turn of 0.37, before the far one does.
    near, far = steered("near", 30.0, 90.0, 20.0), steered("far", 200.0, 0.0, 60.0)
    check = Checked(Design(wheels=(*REAR, near, far)))
    assert check.first_fault(2) < 0.4
    reach = math.tan(math.radians(60.0)) / (2.0 + math.tan(math.radians(60.0)))
    told = check.remedy(check.at([0.6]).wheel_at(0, 3))
    assert told.endswith(f"or set largest_turn to at most {math.floor(reach * 1e4) / 1e4:g}.")


@given(designs(min_wheels=1, kinds=["steered"]))
def test_the_advised_largest_turn_is_the_most_that_the_wheel_can_take(design):
    check = Checked(design)
    for case in check.worst_of_wheels:
        told = check.remedy(case) if case.state in ("slight drag", "drags") else ""
        if "largest_turn" in told:
            advised = float(told.rsplit(" ", 1)[1].rstrip("."))
            mended = Checked(design.edited(largest_turn=advised))
            assert not mended.dense.response.solution.limited[:, case.wheel].any()
            wider = Checked(design.edited(largest_turn=min(advised + 1.1e-4, 1.0)))
            assert wider.dense.response.solution.limited[:, case.wheel].any()


def test_a_turn_beyond_the_range_in_use_has_a_remedy_too():
    check = Checked(Design(wheels=(*REAR, steered("F", 100.0, 0.0, 30.0)), largest_turn=0.2))
    assert check.aligned
    told = check.remedy(check.at([0.9]).wheel_at(0, 2))
    assert told == "It stands at its end of travel (30.0°): give it more travel."


def test_each_kind_of_jump_has_words_of_its_own():
    def told(travel: float, **more: float) -> str:
        check = Checked(Design(wheels=(*REAR, steered("F", 100.0, 80.0, travel, **more))))
        return text_of(check.facts, check.at([0.0]))

    assert "F flips from 90.0° to -90.0° and rolls the other way" in told(90.0)
    assert "F goes from one end of its travel, 80.0°, to the other, -80.0°" in told(80.0)
    jumps = told(90.0, lateral_offset_mm=-250.0)
    assert "F jumps from 90.0° to -90.0°\n" in jumps
    assert "rolls the other way" not in jumps


def test_a_sharing_is_exact_only_where_every_axle_is_ideal_over_the_whole_range() -> None:
    assert Checked(scouts.scout(scouts.RIGHT, scouts.LEFT)).exact
    assert Checked(scouts.scout(scouts.RIGHT)).exact
    assert not Checked(scouts.scout(scouts.FRONT, scouts.REAR)).exact
    assert not Checked(scouts.scout()).exact
    assert not Checked(scouts.scout(*scouts.DRIVES)).exact
    off = scouts.steer_motor("right", {"front right": 1.0, "rear right": -1.0001})
    assert not Checked(scouts.scout(off, scouts.LEFT)).exact
    # 30 degrees of travel are enough for a gentle turn only.
    short = scouts.RIGHT.edited(travel_min_deg=-25.0, travel_max_deg=35.0)
    assert not Checked(scouts.scout(short, scouts.LEFT)).exact
    assert Checked(scouts.scout(short, scouts.LEFT).edited(largest_turn=0.2)).exact


def test_a_remedy_is_the_same_whoever_judged_the_turn() -> None:
    check = Checked(scouts.scout(scouts.FRONT, scouts.REAR))
    worst = check.worst
    assert worst is not None
    assert check.remedy(worst) == check.remedy(worst, "mm", check.at([worst.turn]))
    assert check.remedy(worst).startswith("Its motor, front, also turns front right, and no one angle")


def test_a_fault_amid_two_even_turns_that_motors_make_is_no_secret() -> None:
    check = Checked(PAIR)
    even = check.at(np.linspace(-1.0, 1.0, 2001))
    assert (even.response.states < FAULTY).all()
    assert not check.aligned
    assert check.faulty == (0, 1)
    assert len(Checked(PAIR, previewing=True).dense.turns) < 300


def test_with_motors_no_more_is_claimed_than_was_looked_at() -> None:
    check = Checked(scouts.scout(scouts.RIGHT, scouts.LEFT))
    shown = check.at([0.0])
    count = values_of(check.facts, shown)["turns_checked"]
    assert count >= 2001
    assert f"at each of {count} turns checked from" in text_of(check.facts, shown)


def test_the_turns_that_drag_are_those_and_no_others():
    check = Checked(sample_design("misbuilt_scout"))
    worst = np.abs(check.dense.response.alignment.slip).max(axis=1)
    # With neither motors nor pivots the states follow the slip angle.
    expected = check.dense.turns[worst > radians(check.design.aligned_within_deg)]
    assert check.faulty_turns.tolist() == expected.tolist()
    assert 0.0 not in check.faulty_turns
    assert Checked(sample_design("marsh_scout_six")).faulty_turns.size == 0


def test_turns_to_look_at_besides_are_looked_at_within_the_range():
    robot = Checked(sample_design("reed_cart_four")).robot
    check = RangeCheck(robot, 0.39, 11, (0.123, -0.3901, 0.39))
    assert 0.123 in check.dense.turns
    assert np.abs(check.dense.turns).max() == 0.39


def test_a_drag_looks_where_it_was_worst_before():
    design = scouts.scout(scouts.FRONT, scouts.REAR)
    rest = Facts(design)
    moved = change_wheels(design, [0], x_mm=design.wheels[0].x_mm + 0.5)
    step = Facts(moved, previewing=True, like=rest)
    assert rest.check.worst.turn in step.check.dense.turns
    true = Facts(moved).check.worst.drag
    assert step.check.worst.drag == pytest.approx(true, rel=5e-3)
    # Without motors a closed form tells the worst turn.
    plain = Facts(sample_design("misbuilt_scout"))
    assert Facts(plain.design, previewing=True, like=plain).check.also == ()
