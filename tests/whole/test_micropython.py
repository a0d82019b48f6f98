"""The written module on a real MicroPython, and on plain Python."""

from __future__ import annotations

import ast
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.controller.programme import programme_of
from app.design.samples import sample_design
from geometry.model.controller import Controller
from tests.app.export.robots import loose_calls
from tests.board import micropython, plain_python
from tests.strategies import motored_designs
from tests.whole import replay
from tests.whole.odd_robots import MORE, ODD
from tests.written import code_text

PLAYER = """
import sys
sys.path.append({where!r})
for index, prefix in enumerate({prefixes!r}):
    module = __import__("robot_%d" % index)
    make = getattr(module, prefix + "_controller")
    controller = make()
    out = []
    for line in open({where!r} + "/calls_%d.txt" % index):
        words = [int(word) for word in line.split()]
        kind, a, b, ms, known = words[:5]
        more = [words[5:]] if known else []
        if kind == 3:
            controller = make()
        if kind == 2:
            controller.step = a
            steer, speed = controller.drive(0, 0, ms, *more)
        elif kind == 1:
            steer, speed = controller.stick(a, b, ms, *more)
        else:
            steer, speed = controller.drive(a, b, ms, *more)
        out.append(" ".join(str(n) for n in steer + speed + [int(getattr(controller, "holding", False))]))
        if len(out) > 500:
            print("\\n".join(out))
            out = []
    if out:
        print("\\n".join(out))
"""
RUNNERS = {"micropython": (micropython, "/"), "python": (plain_python, ".")}


def played(tmp_path, runner, programmes, calls, texts=None):
    """Answers of several written modules, all in one process: one list for each."""
    texts = texts or [code_text(programme, "micropython") for programme in programmes]
    run, where = RUNNERS[runner]
    files = []
    for i, (text, mine) in enumerate(zip(texts, calls, strict=True)):
        for name, content in ((f"robot_{i}.py", text), (f"calls_{i}.txt", replay.told(mine))):
            files.append(tmp_path / name)
            files[-1].write_text(content, encoding="utf-8")
    program = tmp_path / "player.py"
    prefixes = [programme.controller.prefix for programme in programmes]
    program.write_text(PLAYER.format(where=where, prefixes=prefixes), encoding="utf-8")
    found = replay.read_answers(run(program, *files))
    assert len(found) == sum(map(len, calls))
    parts = []
    for mine in calls:
        parts.append(found[: len(mine)])
        found = found[len(mine) :]
    return parts


def agrees(folder, runner, play):
    """The modules answer as described and within the bound that they state."""
    texts = [code_text(programme, "micropython") for programme in play.programmes]
    assert played(folder, runner, play.programmes, play.calls, texts) == play.answers
    assert play.misses(texts) == []


# The upper one varies faster, so that both runners share one play.
@pytest.mark.parametrize("runner", RUNNERS)
@pytest.mark.parametrize("key", replay.KEYS)
def test_the_module_answers_as_described_and_within_the_bound_that_it_states(key, runner, tmp_path):
    agrees(tmp_path, runner, replay.sample_play(key))


@pytest.mark.parametrize("runner", RUNNERS)
@pytest.mark.parametrize("key", [*ODD, *MORE])
def test_the_module_of_an_odd_chassis_answers_so_too(key, runner, tmp_path):
    agrees(tmp_path, runner, replay.odd_play(key))


@pytest.mark.parametrize("runner", RUNNERS)
def test_every_choice_of_parts_runs_and_answers_as_described(runner, tmp_path):
    agrees(tmp_path, runner, replay.parts_play())


@replay.RANDOM
@given(st.lists(motored_designs(min_wheels=1, max_wheels=6), min_size=5, max_size=5), st.data())
def test_modules_of_random_chassis_answer_as_described_and_within_the_bound(designs, data):
    play = replay.random_play(designs, data.draw(st.sampled_from([0.1, 0.5, 3.0])))
    with TemporaryDirectory() as folder:
        agrees(Path(folder), "micropython", play)


LOOSE = """
import sys
sys.path.append({where!r})
from robot import chassis_controller
inf, nan = float("inf"), float("nan")
controller = chassis_controller()
for name, a, b, ms, measured in {calls!r}:
    steer, speed = getattr(controller, name)(a, b, ms, measured)
    print(" ".join(repr(n) for n in steer + speed + [int(controller.holding)]))
"""


@pytest.mark.parametrize("runner", RUNNERS)
def test_numbers_of_any_kind_are_answered_by_whole_ones(runner, tmp_path):
    programme = replay.sample_play("marsh_scout_motors").programmes[0]
    programme = programme_of(programme.design.edited(controller=Controller()))
    calls = loose_calls(programme, 600, seed=6)
    run, where = RUNNERS[runner]
    (tmp_path / "robot.py").write_text(code_text(programme, "micropython"), encoding="utf-8")
    (tmp_path / "loose.py").write_text(LOOSE.format(where=where, calls=calls), encoding="utf-8")
    answers = replay.read_answers(run(tmp_path / "loose.py", tmp_path / "robot.py"))
    assert answers == replay.emulated(programme, calls)


def with_altered_number(text, programme, row, column, by):
    """The module with one number of its table changed."""
    table = programme.table
    size, columns = table.value_bytes, table.values.shape[1]
    start = text.index("_VALUES = (\n")
    end = text.index(")\n", start)
    data = bytearray(b"".join(ast.literal_eval(line.strip()) for line in text[start:end].splitlines()[1:]))
    at = size * (row * columns + column)
    number = int.from_bytes(data[at : at + size], "little", signed=True)
    assert number == table.values[row, column]
    data[at : at + size] = (number + by).to_bytes(size, "little", signed=True)
    return f"{text[:start]}_VALUES = (\n    {bytes(data)!r}\n{text[end:]}"


@pytest.mark.parametrize("mode", [0, 1])
def test_one_altered_number_is_found(mode, tmp_path):
    programme = replay.sample_play("marsh_scout_six").programmes[2 * mode + 1]
    text, calls = code_text(programme, "micropython"), replay.landmark_calls(programme)
    due = replay.emulated(programme, calls)
    for row, column in replay.altered_rows(programme):
        unit = 1 << max(0, int(programme.table.shift[column]))
        # The second is more than the whole bound, so that geometry must see it as well.
        slightly, far = (
            played(tmp_path, "micropython", [programme], [calls], [altered])[0]
            for altered in (
                with_altered_number(text, programme, row, column, by)
                for by in (unit, int(2.5 * programme.bound[column] + 1) * unit)
            )
        )
        assert slightly != due
        assert replay.misses(programme, calls, far, text) != []


@pytest.mark.parametrize("key", replay.KEYS)
def test_by_table_the_module_imports_nothing_and_needs_no_floats(key):
    for programme in replay.programmes(sample_design(key), *replay.MODES[:2]):
        tree = ast.parse(code_text(programme, "micropython"))
        assert not any(isinstance(node, ast.Import | ast.ImportFrom | ast.Div) for node in ast.walk(tree))
        assert not any(isinstance(getattr(node, "value", 0), float) for node in ast.walk(tree))
