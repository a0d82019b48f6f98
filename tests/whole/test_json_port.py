"""A port to JavaScript, written from the JSON file's own words, answers as the runtime does."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from app.export.vectors import vectors
from tests.board import MOST_SECONDS, lacks
from tests.whole import replay
from tests.written import code_text

PORT = Path(__file__).with_name("port.mjs")
HEAD = "call,a,b,ms"


def ported(folder, text, calls):
    """What the port answers for a JSON file and calls as CSV."""
    node = shutil.which("node")
    if node is None:
        lacks("the port runs in Node, which is not here: install nodejs")
    (folder / "robot.json").write_text(text, encoding="utf-8")
    (folder / "calls.csv").write_text(calls, encoding="utf-8")
    command = [node, str(PORT), "robot.json", "calls.csv"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=MOST_SECONDS)
    assert done.returncode == 0, done.stderr[-2000:]
    return replay.read_answers(done.stdout)


def straight_and_turning(programme):
    """Side speeds that ask for straight ahead, and for turns beside every row and landmark."""
    sides = [(1000, 1000), (-1000, -1000), (500, 500)]
    for step in replay.landmark_steps(programme):
        slow = round(1000 * (1 - 2 * abs(step) / programme.turn_one))
        sides += [(slow, 1000), (1000, slow)]
    return [("drive", left, right, 1000, None) for left, right in sides]


@pytest.mark.parametrize("key", [*replay.KEYS, "flips", "trail to the travel's end", "mixed motors"])
def test_the_port_answers_the_written_vectors_and_every_turn_as_the_runtime_does(key, tmp_path):
    play = replay.sample_play(key) if key in replay.KEYS else replay.odd_play(key)
    for programme in play.programmes:
        text = code_text(programme, "json")
        calls, due = replay.vector_calls(programme, 300, seed=5)
        assert ported(tmp_path, text, vectors(programme, 300, 5)) == due
        calls = straight_and_turning(programme)
        lines = [HEAD, *(",".join(map(str, call[:4])) for call in calls)]
        assert ported(tmp_path, text, "\n".join(lines)) == replay.emulated(programme, calls)


@pytest.mark.parametrize("key", ["flips", "trail to the travel's end"])
def test_rows_past_the_end_of_their_segment_answer_wrong_where_segments_are_not_minded(key, tmp_path):
    # Else the test above would not say whether the port minds them.
    programme = next(p for p in replay.odd_play(key).programmes if p.table and p.table.spacing == "even")
    assert (np.diff(programme.table.nodes) <= 0).any()
    plain = json.loads(code_text(programme, "json"))
    table = plain["table"]
    table["rows"].sort()
    table["segments"] = [{**table["segments"][0], "rows": len(table["rows"])}]
    calls = straight_and_turning(programme)
    lines = "\n".join([HEAD, *(",".join(map(str, call[:4])) for call in calls)])
    assert ported(tmp_path, json.dumps(plain), lines) != replay.emulated(programme, calls)


def test_the_port_takes_fractions_and_what_is_no_number_as_the_words_say(tmp_path):
    programme = replay.sample_play("marsh_scout_motors").programmes[0]
    calls = [
        ("drive", a, b, ms, None)
        for a in (400.5, -400.5, 399.4, "NaN", "Infinity")
        for b in (900.5, -51.5, "NaN")
        for ms in (20.9, "NaN", "Infinity", -2.5)
    ]
    text = "\n".join([HEAD, *(",".join(map(str, call[:4])) for call in calls)])
    numbers = [(kind, float(a), float(b), float(ms), None) for kind, a, b, ms, _ in calls]
    assert ported(tmp_path, code_text(programme, "json"), text) == replay.emulated(programme, numbers)
