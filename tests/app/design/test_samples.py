import math
from importlib import resources

import pytest

from app.design import edits
from app.design.disk import FileError
from app.design.files import design_text
from app.design.samples import FIRST_SAMPLE, sample_design, sample_text
from sample_chassis import SAMPLES
from tests.app.checked import Checked

KEYS = [sample.key for sample in SAMPLES]


def test_every_file_of_the_folder_is_a_sample_and_every_sample_has_a_file():
    files = {
        entry.name for entry in resources.files("sample_chassis").iterdir() if entry.name.endswith(".json")
    }
    assert files == {f"{key}.json" for key in KEYS}


@pytest.mark.parametrize("key", KEYS)
def test_a_sample_is_written_as_the_program_writes_it(key):
    assert sample_text(key) == design_text(sample_design(key))
    assert sample_design(key).notes


@pytest.mark.parametrize("key", KEYS)
def test_every_sample_is_symmetric_but_the_misbuilt_one(key):
    design = sample_design(key)
    paired = [edits.mirror_partner(design, i) is not None for i, w in enumerate(design.wheels) if w.y_mm]
    assert all(paired) == (key != "misbuilt_scout")


def test_the_first_sample_turns_on_the_spot_without_a_flip():
    check = Checked(sample_design(FIRST_SAMPLE))
    assert not [mark for mark in check.landmarks if mark.kind in {"flip", "travel end"}]
    inner = check.at([1.0]).response.solution.steer[0, 0]
    assert math.degrees(inner) == pytest.approx(180 - math.degrees(math.atan(132 / 120)))


def test_the_carts_travel_is_what_sets_its_largest_turn():
    cart = sample_design("reed_cart_four")
    assert Checked(cart).aligned
    assert not Checked(cart.edited(largest_turn=cart.largest_turn + 0.02)).aligned


def test_the_haulers_turn_centre_lies_midway_between_its_fixed_axles():
    check = Checked(sample_design("dyke_hauler_eight"))
    assert (check.robot.base.x, check.aligned) == (0.0, False)


def test_the_misbuilt_scout_is_mended_as_its_notes_say():
    scout = sample_design("misbuilt_scout")
    check = Checked(scout)
    assert {scout.wheels[i].name for i in check.faulty} == {"middle left", "middle right"}
    assert "cannot know which of the two" in scout.notes
    corners = {abs(wheel.x_mm) for wheel in scout.wheels if wheel.kind == "steered"}
    assert corners == {132.0}
    assert "132 mm before and behind x = 0" in scout.notes
    mended = edits.move_wheels(scout, {2: (0.0, 120.0)})
    assert scout.wheels[2].name == "middle left"
    assert "it is the left one; move it back to x = 0" in scout.notes
    assert Checked(mended).aligned
    assert mended.wheels == sample_design("marsh_scout_six").wheels


@pytest.mark.parametrize("key", KEYS)
def test_wheels_and_corners_of_a_sample_stand_on_its_holes(key):
    design = sample_design(key)
    if design.hole_pitch_mm is None:
        assert key == "creek_tricycle"
        return
    places = [(wheel.x_mm, wheel.y_mm) for wheel in design.wheels] + list(design.body_mm)
    for place in places:
        for value in place:
            assert edits.snap(value, design.hole_pitch_mm) == value, place


def test_an_unknown_sample_is_told():
    with pytest.raises(FileError, match="no sample named 'rover'; there are marsh_scout_six, "):
        sample_text("rover")
