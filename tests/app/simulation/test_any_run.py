"""Runs of any script, in frames of any length, and of odd chassis."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.simulation.frame import Block
from app.simulation.run import Run
from geometry.errors import AxlewrightError, DesignError
from geometry.model.driving import Move, Script
from tests.app.simulation.driven import MIXED, code_of, headless, joined, same_bits, sample_code
from tests.effort import effort
from tests.whole.odd_robots import MORE, ODD

SHARES = st.floats(-1, 1).map(lambda share: round(share, 3))
WAYS = st.one_of(
    st.builds(lambda turn, speed: {"by": "turn", "turn": turn, "speed": speed}, SHARES, SHARES),
    st.builds(lambda left, right: {"by": "speeds", "left": left, "right": right}, SHARES, SHARES),
    st.builds(lambda throttle, turn: {"by": "stick", "throttle": throttle, "turn": turn}, SHARES, SHARES),
    st.builds(
        lambda radius, speed: {"by": "radius", "radius_mm": radius, "speed": speed},
        st.floats(-2_000, 2_000),
        SHARES,
    ),
)
ENDS = st.one_of(
    st.builds(lambda amount: {"until": "time", "amount": amount}, st.floats(0.003, 1.5)),
    st.builds(lambda amount: {"until": "distance", "amount": amount}, st.floats(0.5, 150)),
    st.builds(lambda amount: {"until": "heading", "amount": amount}, st.floats(0.5, 60)),
)
MOVES = st.builds(lambda way, end: Move.model_validate({**way, **end}), WAYS, ENDS)


@settings(max_examples=effort(12, 200))
@given(
    st.lists(MOVES, max_size=8),
    st.lists(st.integers(0, 50), min_size=1, max_size=20),
    st.sampled_from([2, 5, 13, 20, 50]),
)
def test_any_script_is_the_same_in_frames_of_any_length(
    moves: list[Move], lengths: list[int], period: int
) -> None:
    code = sample_code("marsh_scout_motors", period)
    script = Script(name="any", moves=tuple(moves))
    try:
        run = Run(code, script=script)
    except DesignError:
        return
    blocks: list[Block] = []
    frames = 0
    while not run.frame.ended:
        # Some frames take nothing, but not all of them.
        blocks += run.take(lengths[frames % len(lengths)] + (frames % 20 == 0)).blocks
        frames += 1
    alone = headless(code, script)
    assert not alone or same_bits(blocks, alone)
    assert len(blocks) == len(alone)


@pytest.mark.parametrize("key", [*ODD, *MORE])
def test_odd_chassis_are_driven_or_refused_with_a_sentence(key: str) -> None:
    design = (ODD | MORE)[key]()
    try:
        code = code_of(design)
    except AxlewrightError:
        return
    timed = MIXED.edited(moves=tuple(move.edited(until="time", amount=0.8) for move in MIXED.moves))
    if not code.mixes:
        timed = timed.edited(moves=tuple(move for move in timed.moves if move.by != "stick"))
    blocks = headless(code, timed)
    for name in ("pose", "drag", "heading", "roll", "side", "twist", "distance"):
        assert np.isfinite(joined(blocks, name)).all()
    assert (np.diff(joined(blocks, "drag"), axis=0) >= 0).all()
    assert not joined(blocks, "twist")[-1].any()
