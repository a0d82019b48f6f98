import json
import math

import numpy as np
import pytest

from app.controller.code_outputs import ExportError
from app.controller.motor_outputs import drive_unit
from app.controller.programme import programme_of
from app.controller.steering_table import table_of
from app.export.csv_table import render
from app.words.check_report import text_of, values_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.app.checked import Checked
from tests.app.scouts import drive_motor


def against_each_other(load: float = 1.0) -> Design:
    """One motor that turns the left wheel forward and the right one backward."""
    wheels = (
        Wheel(name="L", x_mm=0.0, y_mm=100.0, driven=True, load_share=load),
        Wheel(name="R", x_mm=0.0, y_mm=-100.0, driven=True, load_share=load),
        Wheel(name="C", x_mm=150.0, y_mm=0.0, kind="caster", trail_mm=20.0),
    )
    return Design(wheels=wheels, drive_motors=(drive_motor("M", {"L": 1.0, "R": -1.0}),))


def test_a_motor_that_stands_still_is_told_no_speed_and_limits_none():
    check = Checked(against_each_other())
    shown = check.at([-1.0, 0.0, 1.0])
    told = check.outputs(shown)
    assert told is not None
    assert told.drive[1, 0] == 0.0
    assert math.isinf(told.speed[1])
    assert np.abs(told.drive[[0, 2], 0]) == pytest.approx(check.design.drive_motors[0].usable_rpm)
    assert np.isfinite(told.speed[[0, 2]]).all()


@pytest.mark.parametrize(("units", "unit", "a_second"), [(None, "rpm", 60.0), (48.0, "units_per_s", 48.0)])
def test_a_drive_motor_is_told_rpm_or_the_units_that_are_given_for_a_turn(units, unit, a_second):
    wheels = (
        Wheel(name="L", x_mm=0.0, y_mm=100.0, driven=True, diameter_mm=80.0),
        Wheel(name="R", x_mm=0.0, y_mm=-100.0, driven=True, diameter_mm=80.0),
    )
    motors = tuple(drive_motor(n, {n: 1.0}).edited(units_per_turn=units) for n in ("L", "R"))
    check = Checked(Design(wheels=wheels, drive_motors=motors))
    told = check.outputs(check.at([0.0, -0.25]))
    assert told is not None
    assert [drive_unit(motor) for motor in motors] == [unit, unit]
    # A wheel turns once for its circumference; the right side goes half as fast as the left one.
    turns = told.speed[:, None] * [[1.0, 1.0], [1.0, 0.5]] / (math.pi * 80.0)
    np.testing.assert_allclose(told.drive, a_second * turns)
    assert told.drive[0] == pytest.approx(a_second / 60.0 * motors[0].usable_rpm)


def test_what_rounding_leaves_of_a_motor_at_rest_limits_no_speed():
    # 0.1 and 0.2 less 0.3 is no zero.
    wheels = [
        Wheel(name=n, x_mm=0.0, y_mm=y, driven=True) for n, y in (("L", 100.0), ("M", 0.0), ("R", -100.0))
    ]
    motor = drive_motor("motor", {"L": 0.1, "M": 0.2, "R": -0.3})
    check = Checked(Design(wheels=tuple(wheels), drive_motors=(motor,)))
    ahead = check.at([0.0])
    told = check.outputs(ahead)
    assert told is not None
    assert ahead.response.drive[0, 0] != 0.0
    assert (told.speed.tolist(), told.drive.tolist()) == ([math.inf], [[0.0]])


def test_an_unlimited_speed_is_null_for_machines_and_in_words_for_people():
    check = Checked(against_each_other())
    shown = check.at([0.0])
    values = json.loads(json.dumps(values_of(check.facts, shown), allow_nan=False))
    assert values["turns"][0]["faster_side_mm_per_s"] is None
    assert values["turns"][0]["drive_motors"] == [{"motor": "M", "unit": "rpm", "speed": 0.0}]
    assert "faster_side_mm_per_s where no drive motor turns" in values["null_means"]
    assert "drive: M 0 rpm, none turns" in text_of(check.facts, shown)
    heads, row = [line.split(",") for line in render(table_of(check.design, [0.0])).splitlines()]
    cells = dict(zip(heads, row, strict=True))
    assert (cells["faster_side_mm_per_s"], cells["m_rpm"]) == ("inf", "0")


def test_a_chassis_that_no_motor_drives_ahead_is_no_controllers_job():
    with pytest.raises(ExportError, match="no drive motor turns when the chassis goes straight ahead"):
        programme_of(against_each_other())
