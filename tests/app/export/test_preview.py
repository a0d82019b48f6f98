"""What is shown of a file for the controller before it is saved."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.controller.code_outputs import error_at_wheel_deg
from app.controller.programme import programme_of
from app.design.samples import sample_design
from app.export.preview import bound_words, in_unit, preview_of, size_words, thinned, usable_parts
from geometry.errors import AxlewrightError
from geometry.model.controller import ERROR_UNITS, Controller
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.written import code_text, only_file

MOTORS = sample_design("marsh_scout_motors")


@pytest.fixture(scope="module")
def programme():
    return programme_of(MOTORS)


def with_controller(**changes):
    return MOTORS.edited(controller=MOTORS.controller.edited(**changes))


def test_the_text_is_what_the_command_line_writes(programme):
    preview = preview_of(programme, "c")
    assert only_file(preview.files) == code_text(programme, "c").encode()


@pytest.mark.parametrize("part", ["mixing", "dead_band", "scaling", "clamp", "limiter", "hold"])
def test_a_part_takes_as_many_bytes_as_the_file_shrinks_without_it(programme, part):
    told = preview_of(programme, "micropython").part_bytes[part]
    without = replace(programme, parts=programme.parts - {part})
    shrunk = len(code_text(programme, "micropython")) - len(code_text(without, "micropython"))
    assert told == shrunk > 0


def test_a_part_that_is_left_out_tells_what_it_would_take(programme):
    without = replace(programme, parts=programme.parts - {"hold"})
    held = preview_of(programme, "micropython").part_bytes["hold"]
    assert preview_of(without, "micropython").part_bytes["hold"] == held


@pytest.mark.parametrize("key", ["json", "csv"])
def test_a_file_without_code_tells_no_sizes_of_parts(programme, key):
    assert preview_of(programme, key).part_bytes == {}


def test_only_what_has_something_to_act_on_is_told():
    design = Design(
        wheels=(
            Wheel(name="L", x_mm=0.0, y_mm=90.0, driven=True),
            Wheel(name="R", x_mm=0.0, y_mm=-90.0, driven=True),
        )
    )
    preview = preview_of(programme_of(design), "micropython")
    assert set(preview.part_bytes) == set(usable_parts(steers=False, drives=False)) == {"mixing", "dead_band"}
    assert preview.errors == ()
    assert "nothing depends on the turn" in size_words(preview)
    assert bound_words(preview) == ""


def test_the_peaks_of_every_error_are_plotted_and_lie_within_what_is_reached(programme):
    steering, speeds = preview_of(programme, "micropython").errors
    assert steering.names == tuple(motor.name for motor in MOTORS.steer_motors)
    assert speeds.names == tuple(motor.name for motor in MOTORS.drive_motors)
    assert np.abs(steering.values).max() == np.abs(programme.error_deg).max()
    for errors in (steering, speeds):
        assert len(errors.turns) == len(errors.values) <= 1_000
        assert 0.8 * errors.reached < np.abs(errors.values).max() <= errors.reached <= errors.allowed
    assert (steering.allowed, speeds.allowed) == (0.1, 10.0)


@given(st.lists(st.floats(-9, 9), min_size=1, max_size=60), st.integers(1, 20))
def test_thinning_keeps_the_extremes_and_adds_nothing(values, most):
    turns = np.linspace(-1.0, 1.0, len(values))
    kept_turns, kept = thinned(turns, np.array(values)[:, None], most)
    assert len(kept) <= 2 * most
    assert set(kept[:, 0]) <= set(values)
    assert (kept.min(), kept.max()) == (min(values), max(values))
    assert (np.diff(kept_turns) >= 0).all()
    assert set(kept_turns) <= set(turns)


def test_size_and_bound_are_told_in_words(programme):
    preview = preview_of(programme, "micropython")
    assert f"{preview.size:,} bytes" in size_words(preview)
    assert f"{len(programme.table.nodes)} rows and takes {programme.table.size} bytes" in size_words(preview)
    # Rounded up, as in the head of the file: a bound that is told too low is none.
    steering, speed = re.findall(r"([\d.]+)(?:°| ‰) (?:at a wheel|of full)", bound_words(preview))
    assert programme.bound_deg <= float(steering) < 1.01 * programme.bound_deg
    assert programme.bound_permille <= float(speed) < 1.01 * programme.bound_permille
    assert f"at any turn: {steering} degrees" in preview.text
    assert "(0.1° allowed)" in bound_words(preview)
    assert "(10 ‰ allowed)" in bound_words(preview)


def test_a_bound_in_drag_is_told_in_degrees_too():
    preview = preview_of(programme_of(with_controller(error=5.0, error_unit="mm_per_m")), "micropython")
    assert "5 mm of drag per metre, which is 0.2865°, allowed" in bound_words(preview)


def test_a_formula_is_told_as_one_and_has_no_rows():
    programme = programme_of(with_controller(method="formula"))
    assert "a formula, and no table" in size_words(preview_of(programme, "micropython"))
    with pytest.raises(AxlewrightError, match="choose the method table, or another format"):
        preview_of(programme, "csv")


@given(st.floats(0.001, 45.0), st.sampled_from(ERROR_UNITS))
def test_an_error_in_another_unit_is_as_large_and_always_allowed(error, unit):
    controller = Controller(error=error)
    other = controller.edited(error=in_unit(controller, unit), error_unit=unit)
    if error < 30:
        assert error_at_wheel_deg(other) == pytest.approx(error, rel=0.01, abs=0.001)
    else:
        assert error_at_wheel_deg(other) <= error * 1.01
