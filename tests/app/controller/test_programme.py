import math

import numpy as np
import pytest

from app.controller.export_error import ExportError
from app.controller.output_curves import curves_of
from app.controller.programme import programme_of, rounded
from app.controller.runtime import Runtime
from app.design.samples import sample_design
from geometry.lookup_table.fixed_point import MOST_32, largest_number
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.export.robots import BARE, flipping, sample, with_settings

SCOUT = sample_design("marsh_scout_motors")


def lone(**changes):
    """One steered wheel ahead of two that drive."""
    return with_settings(
        Design(
            wheels=(
                Wheel(name="front", x_mm=200.0, y_mm=0.0, kind="steered"),
                Wheel(name="left", x_mm=0.0, y_mm=100.0, driven=True),
                Wheel(name="right", x_mm=0.0, y_mm=-100.0, driven=True),
            )
        ),
        **changes,
    )


def test_an_empty_chassis_has_nothing_to_export():
    with pytest.raises(ExportError, match=r"no wheels.*add some"):
        programme_of(Design())


def test_a_chassis_that_neither_steers_nor_has_motors_gives_its_side_speeds():
    for method in ("table", "formula"):
        wheels = tuple(w.edited(kind="fixed") for w in lone().wheels)
        programme = programme_of(lone(method=method).edited(wheels=wheels))
        assert (programme.steer, programme.drive, programme.size) == ((), (), 0)
        assert programme.parts == {"mixing", "dead_band"}
        assert (programme.bound_deg, programme.bound_permille) == (0.0, 0.0)
        assert programme.error.shape == (0, 0)


def test_a_single_wheel_is_enough():
    programme = programme_of(lone().edited(wheels=lone().wheels[:1]))
    assert [output.name for output in programme.steer] == ["front_cdeg"]
    assert programme.bound_deg <= 0.1


def test_each_output_has_the_unit_of_its_motor():
    def motors(unit):
        motor = SteerMotor(name="A", wheels=(Gearing(wheel="front", ratio=0.5),), unit=unit)
        drives = (DriveMotor(name="D", wheels=(Gearing(wheel="left", ratio=1.0),), units_per_turn=1000.0),)
        return programme_of(lone(error=0.5).edited(steer_motors=(motor,), drive_motors=drives))

    names = {unit: motors(unit) for unit in ("degrees", "counts", "microseconds")}
    assert [p.steer[0].name for p in names.values()] == ["a_cdeg", "a_counts", "a_us"]
    # A degree at the wheel is two at the motor.
    per = [p.steer[0].per_degree for p in names.values()]
    assert per == pytest.approx([200.0, 2 * 4096 / 360, 2 * 1000 / 90])
    assert [p.drive[0].name for p in names.values()] == ["d_units_per_s"] * 3
    assert names["degrees"].drive[0].top == 2500


@pytest.mark.parametrize("method", ["table", "formula"])
@pytest.mark.parametrize(
    ("units", "name", "full"),
    [(None, "d_crpm", 100 * 150), (1_000.0, "d_units_per_s", 2_500), (40.0, "d_cunits_per_s", 100 * 100)],
)
def test_a_drive_motor_at_full_speed_is_told_its_usable_speed_in_its_unit(method, units, name, full):
    drive = DriveMotor(name="D", wheels=(Gearing(wheel="left", ratio=1.0),), units_per_turn=units)
    programme = programme_of(lone(method=method).edited(drive_motors=(drive,)))
    assert drive.usable_rpm == 150.0
    assert (programme.drive[0].name, programme.drive[0].top) == (name, full)
    assert Runtime(programme).drive(1000, 1000, 0).speed == pytest.approx((full,), abs=1)


def test_the_strictest_wheel_of_a_motor_sets_the_error():
    wheels = (
        Wheel(name="a", x_mm=200.0, y_mm=100.0, kind="steered"),
        Wheel(name="b", x_mm=200.0, y_mm=-100.0, kind="steered"),
        *lone().wheels[1:],
    )
    shared = (Gearing(wheel="a", ratio=2.0), Gearing(wheel="b", ratio=-0.5))
    motor = SteerMotor(name="M", wheels=shared)
    (output,) = programme_of(Design(wheels=wheels, steer_motors=(motor,))).steer
    assert output.per_degree == pytest.approx(50.0)
    assert output.allowed == pytest.approx(5.0)


def test_an_error_in_drag_is_its_angle():
    drag = programme_of(lone(error=5.0, error_unit="mm_per_m"))
    assert drag.steer[0].allowed == pytest.approx(100 * math.degrees(math.asin(0.005)))


@pytest.mark.parametrize("spacing", ["free", "even"])
@pytest.mark.parametrize("key", [s.key for s in SAMPLES])
def test_the_stated_bound_is_met_and_told_at_every_step(key, spacing):
    programme = programme_of(sample(key, spacing=spacing))
    assert programme.error.shape == (len(programme.turn), len(programme.bound))
    assert (np.abs(programme.error) <= programme.bound).all()
    allowed = [output.allowed for output in programme.chassis.outputs]
    assert (programme.bound <= np.array(allowed) * (1 + 1e-9)).all()
    assert largest_number(programme.table) <= MOST_32
    assert np.abs(programme.error_deg).max() <= programme.bound_deg


def test_straight_ahead_is_exact_where_there_is_room_for_a_row():
    programme = programme_of(SCOUT)
    assert programme.error[len(programme.turn) // 2].tolist() == pytest.approx([0.0] * 4, abs=1e-9)


def test_too_few_bytes_name_the_best_error_and_it_can_be_had():
    with pytest.raises(ExportError, match=r"within 150 bytes; the best is about ([0-9.]+) deg") as refused:
        programme_of(with_settings(SCOUT, largest_bytes=150))
    best, permille = _numbers(str(refused.value))
    programme = programme_of(
        with_settings(SCOUT, largest_bytes=150, error=best * 1.01, speed_error_permille=permille * 1.01)
    )
    assert programme.size <= 150


def test_a_size_that_no_error_of_use_fits_into_is_told_so():
    with pytest.raises(ExportError, match=r"within 20 bytes, nor to any error of use; allow more bytes"):
        programme_of(with_settings(SCOUT, largest_bytes=20))


def _numbers(text):
    words = text.split("the best is about ")[1].split()
    return float(words[0]), float(words[words.index("thousandths") - 1])


def test_a_coarse_unit_names_the_best_error_and_it_can_be_had():
    coarse = SCOUT.edited(steer_motors=tuple(m.edited(counts_per_turn=256.0) for m in SCOUT.steer_motors))
    with pytest.raises(ExportError, match=r"1 is 0\.703 degrees at the wheel.*the best is about") as refused:
        programme_of(coarse)
    best = float(str(refused.value).split("the best is about ")[1].split()[0])
    assert programme_of(with_settings(coarse, error=best * 1.05, clamp=False)).bound_deg <= best * 1.05


def test_a_wheel_that_swings_round_in_no_time_is_named_with_the_best_error():
    near = Wheel(name="swinger", x_mm=0.5, y_mm=100.0, kind="steered")
    design = lone(error=0.01).edited(wheels=(near, *lone().wheels))
    # Beside the reference wheel's place nothing may stand.
    design = design.edited(wheels=(near, design.wheels[1], design.wheels[3]))
    with pytest.raises(ExportError, match=r"near turn -?0\.\d+ swinger changes so fast.*best is about"):
        programme_of(design)


def test_speeds_beyond_32_bits_are_refused_with_the_remedy():
    fast = SCOUT.edited(drive_motors=tuple(m.edited(units_per_turn=1e7) for m in SCOUT.drive_motors))
    with pytest.raises(ExportError, match=r"32 bits.*fewer units per turn"):
        programme_of(fast)


def test_values_beyond_16_bits_take_four_bytes():
    motors = tuple(m.edited(counts_per_turn=1e6) for m in SCOUT.steer_motors)
    programme = programme_of(with_settings(SCOUT, error=0.01).edited(steer_motors=motors))
    assert programme.table.value_bytes == 4
    assert programme.bound_deg <= 0.01 * (1 + 1e-9)
    assert largest_number(programme.table) <= MOST_32


def test_a_slow_motor_is_told_in_finer_units():
    names = []
    for rpm in (2_000.0, 90.0, 3.0):
        slow = tuple(m.edited(usable_rpm=rpm, no_load_rpm=rpm) for m in SCOUT.drive_motors)
        programme = programme_of(SCOUT.edited(drive_motors=slow))
        assert programme.bound_permille <= 10 + 1e-6
        names.append(programme.drive[0].name)
    assert names == ["right_drive_rpm", "right_drive_crpm", "right_drive_rpm_e4"]


def test_drives_that_stand_still_straight_ahead_are_refused():
    wheels = tuple(w.edited(driven=True) for w in lone().wheels[1:])
    against = (Gearing(wheel="left", ratio=1.0), Gearing(wheel="right", ratio=-1.0))
    design = lone().edited(
        wheels=(lone().wheels[0], *wheels), drive_motors=(DriveMotor(name="D", wheels=against),)
    )
    with pytest.raises(ExportError, match="full speed is unknown"):
        programme_of(design)


def test_targets_keep_within_the_travel_even_where_it_is_no_whole_number():
    motors = tuple(m.edited(travel_min_deg=-100.03, travel_max_deg=100.03) for m in SCOUT.steer_motors)
    programme = programme_of(SCOUT.edited(steer_motors=motors))
    for output in programme.steer:
        assert output.high == math.floor(100.03 * 4096 / 360) == -output.low


def test_parts_without_anything_to_act_on_are_left_out():
    assert "scaling" not in programme_of(lone()).parts
    assert programme_of(with_settings(lone(), **BARE)).parts == frozenset()


def test_a_small_range_gives_a_small_table():
    whole, part = programme_of(flipping()), programme_of(flipping().edited(largest_turn=0.01))
    assert part.size < whole.size
    assert (part.first, part.last) == (-164, 164)


def test_rounding_goes_to_the_nearest_and_halves_away_from_zero():
    counts = np.array([[5, 6, 7, -5, -6, -7, 3]])
    assert rounded(counts, np.array([2, 2, 1, 1, 2, 2, -2])).tolist() == [[1, 2, 4, -3, -2, -2, 12]]


def test_curves_leave_the_last_rounding_its_room():
    chassis = programme_of(SCOUT).chassis
    whole, less = curves_of(chassis, 0.0), curves_of(chassis, 0.5)
    assert np.array(whole.allowed) - 0.5 == pytest.approx(less.allowed)
