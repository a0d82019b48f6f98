"""What a driven robot is told, against the exported module on a real MicroPython, value for value."""

from __future__ import annotations

import pytest

from app.controller.programme import Programme, programme_of
from app.design.samples import sample_design
from app.simulation.frame import Block
from app.simulation.robot_code import RobotCode
from tests.app.simulation.driven import MIXED, headless, with_controller
from tests.whole.replay import Call
from tests.whole.test_micropython import RUNNERS, played
from tests.written import code_text

CASES = [
    ("marsh_scout_motors", {"period_ms": 5}),
    ("marsh_scout_motors", {"period_ms": 7, "method": "formula"}),
    ("marsh_scout_six", {"period_ms": 2, "spacing": "even"}),
    ("creek_tricycle", {"period_ms": 20, "creep_permille": 250}),
    ("misbuilt_scout", {"period_ms": 50, "hold": False}),
]


def calls_of(blocks: list[Block], period_ms: int) -> tuple[list[Call], list[int]]:
    """Every call of a loop that runs each so many milliseconds, and which of them is the last of its step."""
    calls: list[Call] = []
    last, due = [], 0
    for block in blocks:
        for m, asked in enumerate(block.inputs):
            while due <= 5 * (block.first + m):
                calls.append((asked.call, asked.a, asked.b, period_ms, None))
                due += period_ms
            last.append(len(calls) - 1)
    return calls, last


def told(programme: Programme, blocks: list[Block]) -> list[list[int]]:
    holds = "hold" in programme.parts
    return [
        [*block.targets[m], *block.speeds[m], int(block.holding[m] and holds)]
        for block in blocks
        for m in range(len(block))
    ]


@pytest.mark.parametrize("runner", RUNNERS)
def test_a_script_tells_the_motors_what_the_exported_module_tells_them(runner, tmp_path):
    programmes, calls, lasts, due = [], [], [], []
    for i, (key, changes) in enumerate(CASES):
        design = with_controller(sample_design(key), prefix=f"p{i}", **changes)
        programme = programme_of(design)
        blocks = headless(RobotCode(programme), MIXED)
        mine, last = calls_of(blocks, design.controller.period_ms)
        programmes.append(programme)
        calls.append(mine)
        lasts.append(last)
        due.append(told(programme, blocks))
    texts = [code_text(programme, "micropython") for programme in programmes]
    answers = played(tmp_path, runner, programmes, calls, texts)
    for found, last, expected in zip(answers, lasts, due, strict=True):
        assert len(expected) > 500
        assert [found[call] for call in last] == expected


def test_the_code_in_the_loop_is_the_exported_text_itself():
    for key, changes in CASES:
        programme = programme_of(with_controller(sample_design(key), **changes))
        assert RobotCode(programme).text == code_text(programme, "micropython")
