"""What the driver asks for at a step, in the whole thousandths that the robot's code takes."""

from __future__ import annotations

from math import copysign, floor, isnan
from typing import Literal, NamedTuple

from app.controller.code_outputs import FULL
from geometry.kinematics.motion import sides_of_turn, turn_of_radius
from geometry.model.base_axle import Base
from geometry.model.driving import Move

STEP_US = 5_000
"""A step of the run [microseconds]."""
STEP_S = STEP_US / 1e6


class Input(NamedTuple):
    """The two inputs of a call, and which call it is."""

    call: Literal["drive", "stick"]
    """drive: left and right side; stick: throttle and turn."""
    a: int
    """[thousandths of full]."""
    b: int
    """[thousandths of full]."""


AT_REST = Input("drive", 0, 0)


def sides(left: float, right: float) -> Input:
    """Side speeds, as shares of full; more counts as full, and what is not a number as 0.

    Examples
    --------
    >>> sides(0.5, -1)
    Input(call='drive', a=500, b=-1000)
    """
    return Input("drive", _thousandths(left), _thousandths(right))


def stick(throttle: float, turn: float) -> Input:
    """One stick, as shares of full; a positive turn is to the left."""
    return Input("stick", _thousandths(throttle), _thousandths(turn))


def _thousandths(share: float) -> int:
    # As the code does with what is not a number.
    if isnan(share):
        return 0
    return int(copysign(floor(min(abs(share), 1.0) * FULL + 0.5), share))


def input_of(move: Move, base: Base) -> Input:
    """What a move of a script asks for."""
    if move.by == "speeds":
        return sides(move.left or 0.0, move.right or 0.0)
    if move.by == "stick":
        return stick(move.throttle or 0.0, move.turn or 0.0)
    turn = move.turn if move.by == "turn" else float(turn_of_radius([move.radius_mm or 0.0], base)[0])
    left, right = sides_of_turn([turn or 0.0], move.speed or 0.0)
    return sides(float(left[0]), float(right[0]))
