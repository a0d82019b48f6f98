import math

import pytest

from app.cli.command_line import run
from app.cli.exit_codes import ALIGNED
from app.design.facts import Facts
from app.design.files import design_text
from app.picture.view import Command, View
from app.words.check_report import text_of, values_of
from app.words.off_course import off_course_words, turning_words
from app.words.verdict import headline, tone
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.turn_range.range_check import CentreError
from tests.app import scouts
from tests.app.checked import Checked


def axle(left: float, right: float) -> Design:
    """One motor drives both wheels of an axle by these ratios."""
    wheels = (
        Wheel(name="L", x_mm=0.0, y_mm=100.0, driven=True),
        Wheel(name="R", x_mm=0.0, y_mm=-100.0, driven=True),
        Wheel(name="C", x_mm=150.0, y_mm=0.0, kind="caster", trail_mm=20.0),
    )
    return Design(wheels=wheels, drive_motors=(scouts.drive_motor("M", {"L": left, "R": right}),))


RIGID = axle(1.0, 1.0)


def test_a_chassis_that_cannot_turn_is_not_told_aligned_and_no_more():
    check = Checked(RIGID)
    shown = check.at([0.5, 0.0])
    lines = text_of(check.facts, shown).splitlines()
    assert lines[1].startswith("ALIGNED, BUT IT DOES NOT TURN AS ASKED.")
    assert lines[2] == (
        "The chassis does not turn as asked, at turn -0.5: it runs straight instead of turning."
    )
    assert lines.count("  It runs straight instead of turning.") == 1
    values = values_of(check.facts, shown)
    assert (values["aligned"], values["turns_as_asked"]) == (True, False)


def test_the_window_says_the_same_of_the_whole_range():
    view = View(Facts(RIGID), Command())
    assert headline(view.facts, "mm") == off_course_words(view.facts.check)
    assert (view.facts.check.aligned, tone(view.facts)) == (True, "bad")
    assert off_course_words(Checked(RIGID))


def test_the_exit_code_speaks_of_axles_alone(tmp_path, capsys):
    path = tmp_path / "rigid.json"
    path.write_text(design_text(RIGID), encoding="utf-8")
    assert run(["check", str(path)]) == ALIGNED
    assert "DOES NOT TURN AS ASKED" in capsys.readouterr().out


def test_a_chassis_that_does_not_run_straight_is_told_where_it_goes():
    check = Checked(axle(1.0, 1.5))
    # The sides roll as 1 to 1.5: a radius of 100 (1.5 + 1) / (1.5 - 1) mm.
    assert off_course_words(check) == (
        "The chassis does not turn as asked, straight ahead: it does not run straight, "
        "but turns to the left at 500 mm."
    )
    assert "  It does not run straight, but turns to the left at 500 mm." in text_of(
        check.facts, check.at([0.0])
    )


def test_a_motor_that_cannot_drive_ahead_is_no_chassis_that_runs_straight():
    assert off_course_words(Checked(axle(1.0, -1.0))).endswith("it drives at less than half of the speed.")


@pytest.mark.parametrize("motors", [(), scouts.DRIVES, (scouts.RIGHT, scouts.LEFT)])
def test_a_chassis_that_turns_as_asked_is_told_nothing(motors):
    check = Checked(scouts.scout(*motors))
    shown = check.at([0.0, 0.5])
    assert (check.off_course, off_course_words(check)) == (None, "")
    assert "as asked" not in text_of(check.facts, shown).casefold()
    assert values_of(check.facts, shown)["turns_as_asked"] is True


def test_two_straight_runs_differ_by_nothing():
    assert turning_words(CentreError(math.inf, math.inf, math.inf), "mm") == ""
