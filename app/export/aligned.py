"""What the check says of a chassis, for the head of what is written: exact numbers may still drag."""

from __future__ import annotations

import numpy as np

from app.check import Check
from app.units import show_number
from geometry.alignment import STATES
from geometry.axes import Floats

_DIGITS_OF_DRAG = 3
# Where a slip angle says nothing.
_NO_FAULT = [STATES.index("pivots"), STATES.index("swings round")]


def verdict_lines(check: Check) -> tuple[str, ...]:
    """The verdict on a chassis as built, in one or two short lines.

    Parameters
    ----------
    check : Check
        Of a chassis with wheels.

    Returns
    -------
    tuple of str
        The first line begins with ALIGNED or NOT ALIGNED. Drag is in mm per metre. Names are as
        the person typed them.

    Examples
    --------
    >>> from app.design.samples import sample_design
    >>> verdict_lines(Check(sample_design("marsh_scout_six")))[0]
    'ALIGNED: every axle points at the turn centre, within 0.5 degrees'
    """
    reach = check.design.largest_turn
    checked = f"at over {check.rows - 1} turns from {-reach:g} to {reach:g}"
    worst = check.worst
    if worst is None:
        or_pivots = ", or pivots on it" if check.pivoting else ""
        within = f"within {check.design.aligned_within_deg:g} degrees"
        return (
            f"ALIGNED: every axle points at the turn centre{or_pivots}, {within}",
            f"(checked {checked}).",
        )
    count = len(check.faulty)
    wheels = "1 wheel drags" if count == 1 else f"{count} wheels drag"
    name = check.design.wheels[worst.wheel].name
    most = f"{show_number(worst.drag, 0)} mm per metre, at turn {show_number(worst.turn, 2)}"
    return (
        f"NOT ALIGNED: {name} drags up to {most}",
        f"({wheels}; checked {checked}).",
    )


def verdict_sentence(check: Check) -> str:
    """The same as one sentence."""
    return " ".join(verdict_lines(check))


def largest_drags(check: Check, turns: Floats) -> Floats:
    """Drag of the wheel that drags most at each turn.

    Parameters
    ----------
    check : Check
        Of a chassis with wheels.
    turns : ndarray, (M,)

    Returns
    -------
    ndarray, (M,)
        To a thousandth [mm per metre]; 0 of wheels that pivot or swing round.
    """
    judged = check.at(turns)
    drag = np.where(np.isin(judged.kinds, _NO_FAULT), 0.0, np.abs(judged.found.drag))
    return np.asarray(np.round(drag.max(axis=1), _DIGITS_OF_DRAG) + 0.0)
