"""A file for the controller says what the check says: exact numbers are no proof of aligned axles."""

import csv
import io
import json

import numpy as np
import pytest

from app.controller.programme import programme_of
from app.design.samples import sample_design
from app.export.preview import preview_of, verdict_words
from app.words.alignment_summary import largest_drags, verdict_lines, verdict_sentence
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from sample_chassis import SAMPLES
from tests.app.checked import Checked
from tests.written import code_text

KEYS = [sample.key for sample in SAMPLES]
DRAG = {"misbuilt_scout", "dyke_hauler_eight"}


@pytest.mark.parametrize("key", KEYS)
def test_the_verdict_is_that_of_the_check(key):
    check = Checked(sample_design(key))
    lines = verdict_lines(check.facts)
    assert lines[0].startswith("NOT ALIGNED" if key in DRAG else "ALIGNED")
    assert (check.worst is None) == check.aligned == (key not in DRAG)
    if not check.aligned:
        worst = check.worst
        faulty = [case.drag for case in check.worst_of_wheels if case.state in ("slight drag", "drags")]
        assert worst.drag == pytest.approx(max(faulty), abs=1e-5)
        assert f"up to {worst.drag:.0f} mm per metre" in lines[0]
        assert check.design.wheels[worst.wheel].name in lines[0]
        assert f"{len(check.faulty)} wheels drag" in lines[1]


@pytest.mark.parametrize("key", ["micropython", "c"])
@pytest.mark.parametrize("sample", ["misbuilt_scout", "marsh_scout_motors"])
def test_the_head_of_the_code_holds_the_verdict_before_the_error(key, sample):
    programme = programme_of(sample_design(sample))
    text = code_text(programme, key)
    for line in verdict_lines(programme.chassis.facts):
        assert line in text
    verdict = text.index(verdict_lines(programme.chassis.facts)[0])
    assert verdict < text.index("Largest error") < text.index("against the angles that the check shows")


def test_the_json_holds_the_verdict():
    for sample in ("dyke_hauler_eight", "marsh_scout_six"):
        programme = programme_of(sample_design(sample))
        plain = json.loads(code_text(programme, "json"))
        assert plain["aligned"] is (sample not in DRAG)
        assert plain["verdict"] == verdict_sentence(programme.chassis.facts)


def test_the_csv_holds_the_drag_of_each_row():
    for sample in ("dyke_hauler_eight", "marsh_scout_six"):
        programme = programme_of(sample_design(sample))
        rows = list(csv.DictReader(io.StringIO(code_text(programme, "csv"), newline="")))
        drags = [float(row["largest_drag_mm_per_m"]) for row in rows]
        if sample in DRAG:
            # The last row stands at a whole turn step, up to half of one from the largest turn.
            assert max(drags) == pytest.approx(Checked(programme.design).worst.drag, abs=0.5)
            gentlest = min(rows, key=lambda row: abs(float(row["turn_input"])))
            assert float(gentlest["largest_drag_mm_per_m"]) < 0.1 * max(drags)
        else:
            assert max(drags) == 0.0


def test_a_wheel_that_pivots_drags_nothing():
    wheels = tuple(Wheel(name=side, x_mm=0.0, y_mm=y) for side, y in (("L", 100.0), ("R", -100.0)))
    check = Checked(Design(wheels=wheels))
    assert (largest_drags(check.robot, np.array([-0.5, 0.0, 0.5])) == 0.0).all()


def test_of_two_that_drag_alike_the_first_is_named():
    mirrored = sample_design("dyke_hauler_eight")
    names = [wheel.name for wheel in mirrored.wheels]
    worst = Checked(mirrored).worst
    drags = [case.drag for case in Checked(mirrored).worst_of_wheels]
    alike = [n for n, drag in enumerate(drags) if drag == pytest.approx(max(drags), abs=1e-6)]
    assert len(alike) > 1
    assert names[worst.wheel] == names[alike[0]]


def test_a_name_cannot_end_the_comment_that_holds_the_verdict():
    design = sample_design("misbuilt_scout")
    wheels = tuple(
        wheel.edited(name=f"{n} */ int evil; /*" if n in (2, 3) else wheel.name)
        for n, wheel in enumerate(design.wheels)
    )
    text = code_text(programme_of(design.edited(wheels=wheels)), "c")
    head = text[: text.index("#ifndef")]
    assert head.count("*/") == 1
    assert "* / int evil; / *" in head


def test_the_dialog_is_told_the_verdict_and_what_errors_are_against():
    off = verdict_words(preview_of(programme_of(sample_design("misbuilt_scout")), "c"))
    assert off.startswith("NOT ALIGNED: ")
    assert "against the angles that the check shows" in off
    assert verdict_words(preview_of(programme_of(sample_design("marsh_scout_six")), "c")).startswith(
        "ALIGNED"
    )
