"""The written module on a real MicroPython, and on plain Python."""

from __future__ import annotations

import pytest

from app.export.formats import code_text
from tests.board import micropython, plain_python
from tests.whole import replay

PLAYER = """
import sys
sys.path.append({where!r})
for index in range({count}):
    module = __import__("robot_%d" % index)
    controller = getattr(module, "p%d_controller" % index)()
    out = []
    for line in open({where!r} + "/calls_%d.txt" % index):
        words = [int(word) for word in line.split()]
        kind, a, b, ms, known = words[:5]
        more = [words[5:]] if known else []
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
    program.write_text(PLAYER.format(where=where, count=len(texts)), encoding="utf-8")
    found = replay.read_answers(run(program, *files))
    assert len(found) == sum(map(len, calls))
    parts = []
    for mine in calls:
        parts.append(found[: len(mine)])
        found = found[len(mine) :]
    return parts


# The upper one varies faster, so that both runners share one play.
@pytest.mark.parametrize("runner", RUNNERS)
@pytest.mark.parametrize("key", replay.KEYS)
def test_the_module_answers_as_described_and_within_the_bound_that_it_states(key, runner, tmp_path):
    play = replay.sample_play(key)
    texts = [code_text(programme, "micropython") for programme in play.programmes]
    assert played(tmp_path, runner, play.programmes, play.calls, texts) == play.answers
    assert play.misses(texts) == []
