"""What the check says of a chassis, for the head of what is written: exact numbers may still drag."""

from __future__ import annotations

import numpy as np

from app.design.facts import Facts
from app.units import LengthUnit, show_number
from app.words.lengths import show_drag
from geometry.axes import Floats
from geometry.kinematics.alignment import STATES
from geometry.kinematics.robot import Robot
from geometry.turn_range.range_check import at_turns

_DIGITS_OF_DRAG = 3
# Where a slip angle says nothing.
_NO_FAULT = [STATES.index("pivots"), STATES.index("swings round")]


def verdict_lines(facts: Facts, unit: LengthUnit = "mm") -> tuple[str, ...]:
    """The verdict on a chassis as built, in one or two short lines.

    Parameters
    ----------
    facts : Facts
        Of a chassis with wheels.
    unit : 'mm' or 'inch'
        Unit of lengths, and with it of drag; what is written to files has mm per metre.

    Returns
    -------
    tuple of str
        The first line begins with ALIGNED or NOT ALIGNED. Names are as the person typed them.

    Examples
    --------
    >>> from app.design.samples import sample_design
    >>> verdict_lines(Facts(sample_design("marsh_scout_six")))[0]
    'ALIGNED: every axle points at the turn centre, within 0.5 degrees'
    """
    design, check = facts.design, facts.check
    reach = design.largest_turn
    checked = f"at over {check.rows - 1} turns from {-reach:g} to {reach:g}"
    worst = check.worst
    if worst is None:
        or_pivots = ", or pivots on it" if check.pivoting else ""
        within = f"within {design.aligned_within_deg:g} degrees"
        return (
            f"ALIGNED: every axle points at the turn centre{or_pivots}, {within}",
            f"(checked {checked}).",
        )
    count = len(check.faulty)
    wheels = "1 wheel drags" if count == 1 else f"{count} wheels drag"
    name = design.wheels[worst.wheel].name
    most = f"{show_drag(worst.drag, unit, digits=0)}, at turn {show_number(worst.turn, 2)}"
    return (
        f"NOT ALIGNED: {name} drags up to {most}",
        f"({wheels}; checked {checked}).",
    )


def verdict_sentence(facts: Facts, unit: LengthUnit = "mm") -> str:
    """The same as one sentence."""
    return " ".join(verdict_lines(facts, unit))


def largest_drags(robot: Robot, turns: Floats) -> Floats:
    """Drag of the wheel that drags most at each turn.

    Parameters
    ----------
    robot : Robot
        With wheels.
    turns : ndarray, (M,)

    Returns
    -------
    ndarray, (M,)
        To a thousandth [mm per metre]; 0 of wheels that pivot or swing round.
    """
    found = at_turns(robot, turns).response
    drag = np.where(np.isin(found.states, _NO_FAULT), 0.0, np.abs(found.alignment.drag))
    return np.asarray(np.round(drag.max(axis=1), _DIGITS_OF_DRAG) + 0.0)
