"""Going back in a run, and inputs of any kind."""

from __future__ import annotations

from math import inf, nan

from app.simulation.history import History
from app.simulation.inputs import sides, stick
from app.simulation.run import ROWS, Run
from tests.app.simulation.driven import MIXED, sample_code


def test_every_moment_of_a_script_can_be_gone_back_to() -> None:
    history, run = History(), Run(sample_code("marsh_scout_motors", 20), script=MIXED)
    seen = []
    while not run.frame.ended:
        seen.append(run.take(17))
        history.add(seen[-1])
    assert (history.first, history.last) == (0, seen[-1].steps)
    for frame in seen:
        again = history.frame_at(frame.steps)
        assert again is not None
        assert (again.pose, again.drag, again.targets, again.move) == (
            frame.pose,
            frame.drag,
            frame.targets,
            frame.move,
        )
    first, last = history.frame_at(-5), history.frame_at(10**9)
    assert first is not None
    assert last is not None
    assert (first.steps, last.steps) == (1, seen[-1].steps)


def test_the_oldest_is_dropped_and_nothing_has_no_frame() -> None:
    history, run = History(2 * ROWS), Run(sample_code("marsh_scout_motors", 20))
    assert history.frame_at(3) is None
    for _ in range(40):
        history.add(run.take(100, sides(1, 0.8)))
    assert 2 * ROWS <= history.last - history.first < 3 * ROWS
    assert history.last == len(history.blocks) * ROWS + history.first


def test_inputs_of_any_kind_become_whole_thousandths() -> None:
    assert sides(0.0005, -0.0005)[1:] == (1, -1)
    assert stick(2.0, -inf)[1:] == (1000, -1000)
    assert sides(nan, 0.5)[1:] == (0, 500)
