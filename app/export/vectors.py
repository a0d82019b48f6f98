"""Random commands with the answers that are due, to check a port to another language."""

from __future__ import annotations

import csv
import io
from random import Random

from app.controller.export_error import ExportError
from app.controller.programme import Programme
from app.controller.runtime import Runtime
from app.export.header import speed_names

MOST_VECTORS = 1_000_000
# Beyond the range as well, and times longer than a call may count.
_MOST_INPUT, _TIMES = 1_100, (0, 1, 5, 10, 20, 50, 200, 1_000, 5_000)
# Straight, on the spot both ways, around either side, reverse, and at rest.
_FIRST = ((1000, 1000), (-1000, 1000), (1000, -1000), (0, 1000), (1000, 0), (-1000, -500), (0, 0), (1, -1))


def vectors(programme: Programme, count: int, seed: int = 0) -> str:
    """Write commands and answers as CSV, one call a line, all to one controller, in order.

    Parameters
    ----------
    programme : Programme
        What answers.
    count : int
        Number of calls, 1 to 1,000,000.
    seed : int
        Where the random numbers start; the same one gives the same text.

    Returns
    -------
    str
        Columns ``call`` (drive or stick), ``a`` and ``b`` (its two inputs), ``ms``, the
        outputs, and ``holding`` (0 or 1). Nothing is measured.

    Raises
    ------
    ExportError
        If the number is out of range.
    """
    if not 1 <= count <= MOST_VECTORS:
        raise ExportError(f"the number of vectors must be from 1 to {MOST_VECTORS} (got {count})")
    random, runtime = Random(seed), Runtime(programme)  # noqa: S311 - commands, not secrets
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    names = [o.name for o in programme.steer] + [name for name, _ in speed_names(programme)]
    writer.writerow(["call", "a", "b", "ms", *names, "holding"])
    for i in range(count):
        a, b = (random.randint(-_MOST_INPUT, _MOST_INPUT) for _ in range(2))
        if i < len(_FIRST):
            a, b = _FIRST[i]
        ms = random.choice(_TIMES)
        sticks = "mixing" in programme.parts and i >= len(_FIRST) and random.getrandbits(1)
        call = "stick" if sticks else "drive"
        answer = (runtime.stick if call == "stick" else runtime.drive)(a, b, ms)
        writer.writerow([call, a, b, ms, *answer.steer, *answer.speed, int(answer.holding)])
    return text.getvalue()
