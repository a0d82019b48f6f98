"""A broken rule in the words of the window: no path of a file is left in any of them."""

import re

import pytest

from app.design.files import BadChassisError
from app.design.motor_edits import change_motor, set_gearing
from app.design.places import in_words
from app.design.samples import sample_design
from geometry.errors import AxlewrightError, DesignError, Problem
from geometry.model.design import Design
from tests.app.scouts import DRIVES, LEFT, RIGHT, scout

SCOUT = scout(RIGHT, LEFT, *DRIVES)
PATH = re.compile(r"\[\d|_|\bnull\b")


def refusal(change, design=SCOUT):
    with pytest.raises(DesignError) as caught:
        change(design)
    return in_words(caught.value, design)


def wheel(index, **fields):
    return lambda d: d.edited(
        wheels=tuple({**dict(w), **fields} if i == index else w for i, w in enumerate(d.wheels))
    )


def motor(kind, index, **fields):
    return lambda d: change_motor(d, kind, index, **fields)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (wheel(0, diameter_mm=1.0), "front left, diameter must be at least 5 (got 1.0)"),
        (wheel(1, toe_deg=50.0), "front right, toe-in must be at most 45 (got 50.0)"),
        (
            lambda d: set_gearing(d, "steer", "front right", ratio=5_000.0),
            "right, gearing of front right must be at most 1000 (got 5000.0)",
        ),
        (
            motor("steer", 0, travel_max_deg=-200.0),
            "right, highest travel must be above the lowest travel, which is -180; swap the two (got -200)",
        ),
        (
            motor("drive", 1, usable_rpm=300.0),
            "drive right, usable speed must be at most the no-load speed, which is 200 (got 300)",
        ),
        (
            motor("steer", 1, name="RIGHT"),
            "left, name must differ from the name of right; capitals do not count (got 'RIGHT')",
        ),
        (lambda d: d.edited(largest_turn=2.0), "Largest turn must be at most 1 (got 2.0)"),
        (
            lambda d: d.edited(left_reference="nobody"),
            "Left reference must name a wheel of this chassis, or be chosen by rule (got 'nobody')",
        ),
        (
            lambda d: d.edited(left_reference="front right", right_reference="front left"),
            "Left reference must stand at least 1 mm to the left of the right reference (got 'front right')",
        ),
        (
            lambda d: d.edited(body_mm=((0.0, 0.0), (100.0, 0.0), (100.0, 0.0))),
            "Corner 3 must not repeat corner 2; remove one of them (got x 100, y 0)",
        ),
        (
            lambda d: d.edited(body_mm=((0.0, 0.0), (100.0, 0.0), (1e9, 5.0))),
            "Corner 3, x must be at most 10000 (got 1000000000.0)",
        ),
    ],
)
def test_a_refusal_names_the_thing_and_its_field(change, words):
    assert refusal(change) == words


def test_two_wheels_at_one_place_are_named():
    front = SCOUT.wheels[0]
    words = refusal(wheel(1, x_mm=front.x_mm, y_mm=front.y_mm))
    assert words.startswith("front right, x must not stand on front left; move one of them")


def test_a_name_in_use_is_told_with_its_owner():
    words = refusal(wheel(1, name="Front Left"), sample_design("marsh_scout_six"))
    assert words == (
        "front right, name must differ from the name of front left; capitals do not count (got 'Front Left')"
    )


def test_a_crossing_outline_tells_its_corners():
    body = ((0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0))
    words = refusal(lambda d: d.edited(body_mm=body))
    assert re.fullmatch(
        r"Body outline must not cross itself: the edge from corner \d meets the edge from corner \d", words
    )


def test_what_is_not_there_yet_is_called_new():
    assert "the new motor, name" in refusal(
        lambda d: d.edited(
            steer_motors=(*d.steer_motors, {"name": "", "wheels": ({"wheel": "nobody", "ratio": 1.0},)})
        )
    )
    far = {"name": "w", "x_mm": 1e9, "y_mm": 0.0}
    assert "the new wheel, x must be at most" in refusal(lambda d: d.edited(wheels=(far,)), Design())


def test_each_rule_stands_on_a_line_of_its_own():
    assert len(refusal(wheel(0, diameter_mm=1.0, width_mm=0.0)).splitlines()) == 2


@pytest.mark.parametrize("group", ["wheels", "steer_motors", "drive_motors"])
def test_no_field_is_told_by_its_path(group):
    for field in type(getattr(sample_design("marsh_scout_motors"), group)[0]).model_fields:
        for index in (0, 99):
            problem = Problem(f"{group}[{index}].{field}", "must be otherwise")
            assert not PATH.search(in_words(DesignError([problem]), SCOUT))
    for field in Design.model_fields:
        assert not PATH.search(in_words(DesignError([Problem(field, "must be otherwise")]), SCOUT))


def test_errors_about_files_keep_their_paths():
    error = BadChassisError("scout.json", (Problem("wheels[0].x_mm", "must be a number"),))
    assert "wheels[0].x_mm" in in_words(error, SCOUT)
    assert in_words(AxlewrightError("as it is"), SCOUT) == "as it is"
