"""What an export may cost, what that gives up, and that it can be watched and stopped."""

import tracemalloc

import numpy as np
import pytest

import geometry.kinematics.ideal
from app.controller.programme import FEWER, programme_of, rounded
from app.design.samples import SAMPLES, sample_design
from app.export.preview import given_up_words, preview_of
from geometry.errors import Cancelled
from geometry.lookup_table.fixed_point import lookup_all
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from tests.app.export.robots import many_wheels
from tests.written import code_text

METHODS = [("table", "free"), ("table", "even"), ("formula", "free")]
methods = pytest.mark.parametrize(("method", "spacing"), METHODS)


def answers(programme, steps):
    """What the code answers at full speed, (M, C)."""
    if programme.formula is not None:
        whole = programme.formula.whole(steps)
    else:
        whole = rounded(lookup_all(programme.table, steps), programme.table.shift)
    for k, output in enumerate(programme.steer if "clamp" in programme.parts else ()):
        whole[:, k] = np.clip(whole[:, k], output.low, output.high)
    return whole


@methods
def test_the_bound_holds_at_every_turn_step_though_not_each_was_looked_at(method, spacing):
    programme = programme_of(many_wheels(method=method, spacing=spacing))
    steps = np.arange(programme.first, programme.last + 1)
    assert len(programme.steps) < 0.3 * len(steps)
    for off in (-0.49, 0.0, 0.49):
        for part in np.array_split(steps, 16):
            turn = np.clip((part + off) / programme.turn_one, -1.0, 1.0)
            error = np.abs(answers(programme, part) - programme.chassis.values(turn))
            assert (error <= programme.bound + 1e-9).all()
    assert programme.bound_deg <= 0.02 or method == "formula"


@methods
def test_what_was_given_up_is_told_in_the_file(method, spacing):
    programme = programme_of(many_wheels(method=method, spacing=spacing))
    looked = f"only {len(programme.steps):,} of {2 * programme.turn_one + 1:,} were checked"
    assert looked in programme.given_up[0]
    assert (FEWER in programme.given_up) == (method == "table")
    for key, mark in (("micropython", "#"), ("c", " *")):
        head = " ".join(line.removeprefix(mark).strip() for line in code_text(programme, key).splitlines())
        assert all(words in head for words in programme.given_up)
    assert " ".join(programme.given_up) in code_text(programme, "json")
    assert looked in given_up_words(preview_of(programme, "micropython"))


@methods
def test_samples_give_nothing_up(method, spacing):
    for sample in SAMPLES:
        design = sample_design(sample.key)
        programme = programme_of(
            design.edited(controller=design.controller.edited(method=method, spacing=spacing))
        )
        assert programme.given_up == ()
        assert len(programme.steps) in {0, programme.last - programme.first + 1}
        assert "given_up" not in code_text(programme, "json")


def test_even_rows_that_were_not_searched_the_slow_way_say_so(monkeypatch):
    design = many_wheels(36, spacing="even", error=0.2)
    whole = programme_of(design)
    assert len(whole.steps) == whole.last - whole.first + 1
    assert whole.given_up == ()
    monkeypatch.setattr("geometry.lookup_table.even_nodes._MOST_FOLLOWED_NUMBERS", 1_000)
    hasty = programme_of(design)
    assert hasty.given_up == (FEWER,)
    assert len(hasty.table.nodes) >= len(whole.table.nodes)


def with_motors(design):
    wheels = tuple(wheel.edited(driven=True) for wheel in design.wheels)
    steer = tuple(
        SteerMotor(
            name=f"s{i}", wheels=(Gearing(wheel=w.name, ratio=1.0),), unit="counts", counts_per_turn=1e6
        )
        for i, w in enumerate(wheels)
    )
    drive = tuple(
        DriveMotor(name=f"d{i}", wheels=(Gearing(wheel=w.name, ratio=1.0),)) for i, w in enumerate(wheels)
    )
    return design.edited(wheels=wheels, steer_motors=steer, drive_motors=drive)


@pytest.mark.parametrize("method", ["table", "formula"])
def test_128_outputs_stay_within_memory_and_looks(method, monkeypatch):
    looks, solve = 0, geometry.kinematics.ideal.solve

    def counted(wheels, motion):
        nonlocal looks
        looks += len(wheels) * len(motion)
        return solve(wheels, motion)

    monkeypatch.setattr("geometry.kinematics.as_built.solve", counted)
    design = with_motors(many_wheels(64, method=method, error=0.01))
    tracemalloc.start()
    programme = programme_of(design)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(programme.bound) == 128
    assert peak < 200e6
    # Each of three finenesses looks at no more than a million and a half, beside the check.
    assert looks < 5_000_000


def test_progress_rises_to_its_end_and_stops_the_work_anywhere():
    design, told = many_wheels(12, error=0.05), []
    programme_of(design, lambda share: not told.append(share))
    assert len(told) > 15
    assert told == sorted(told)
    assert 0 <= told[0] < 0.2
    assert 0.3 < told[-1] <= 1.0
    for stop in range(0, len(told), 4):
        left = iter(range(stop))
        with pytest.raises(Cancelled):
            programme_of(design, lambda _share, left=left: next(left, None) is not None)


@methods
def test_each_way_can_be_stopped_midway(method, spacing):
    told = []

    def until_half(share):
        told.append(share)
        return len(told) < 6

    with pytest.raises(Cancelled):
        programme_of(many_wheels(method=method, spacing=spacing), until_half)
    assert len(told) == 6


def test_writing_can_be_stopped_midway():
    programme, told = programme_of(many_wheels(8, error=0.5)), []
    with pytest.raises(Cancelled):
        preview_of(programme, "c", lambda share: not told.append(share) and share < 0.7)
    assert told[-1] >= 0.7
