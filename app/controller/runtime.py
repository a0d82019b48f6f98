"""The runtime, step by step, in Python's whole numbers: what every written code does, to the last bit.

`STEPS` describes each step, in the words of the JSON, so that whoever ports the code to another
language needs nothing but that file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np

from app.controller.code_outputs import FULL, MOST_MS
from app.controller.programme import Programme, rounded
from geometry.lookup_table.fixed_point import lookup

_WORDS = """\
Inputs are thousandths, times are milliseconds, all numbers are whole. Rounded is to the nearest
whole number, halves away from 0; // is a division rounded down, of numbers that are not negative.
What names one of 'parts' is left out where that is false. At the start the turn step is 0, each
steering output's place is its target there, and its rest is 0.

Each call has two inputs, and ms, the time since the last one. Inputs are held from -1000 to 1000
and rounded; where one is not a number, both count as 0. ms is held from 0 to 'most_ms' and its
fraction cut off; where it is not a number, it counts as 0. Then an input of at most
'dead_band_permille' in size counts as 0; beyond it stays as it is, so that the turn is the one
asked for.

The call drive has the sides, left and right, as inputs. With 'mixing' there is also the call stick,
with throttle and turn: left is throttle - turn and right is throttle + turn, so that a positive
turn is to the left; where one is over 1000 in size, both are multiplied by 1000 and divided by the
larger size, rounded.

fast is the size of the faster side. Its sense is -1 where left + right is below 0, else 1: equal
and opposite sides turn on the spot, forward. With fast above 0 the turn step is sense (right -
left) turn_steps_for_1 / (2 fast), rounded, and held from 'first_step' to 'last_step'; with both
sides at rest it stays what it was.

The 'table' or the 'formula' gives a number for each output at the turn step: the targets of the
outputs of 'steer', then the full speeds of those of 'speed' that have a 'top'. Where both are null,
there are none.

With 'clamp' each target is held from 'low' to 'high'.

With 'limiter' or 'hold' each place moves. Its budget is rest + per_second ms, and way is how far it
is from its target: where that is at most budget // 1000, the place becomes the target and its rest
0; else the place moves toward it by budget // 1000, and its rest is what that division leaves over.
With 'limiter' the place is what is returned, else the target.

With 'scaling', for each speed that has a 'top', in order: where its size times fast is over 1000
top, fast becomes 1000 top // size.

With 'hold' the drive waits while a place, or what the caller has measured in its stead, is farther
than 'hold_within' from its target, or is not a number: fast becomes fast creep_permille // 1000. So
around a flip the robot stops and turns its wheels.

A speed that has a 'top' is its full speed times sense fast / 1000, rounded. Without such speeds the
two sides are returned: sense fast for the faster one, and sense fast (turn_steps_for_1 - 2 |turn
step|) / turn_steps_for_1, rounded, for the slower one, which is the left one where the turn step is
above 0, else the right one.
"""
STEPS = tuple(" ".join(step.split()) for step in _WORDS.split("\n\n"))
"""What is done at a call, in order; a word in quotes is a key of the JSON."""


@dataclass(frozen=True)
class Answer:
    """What one call returns."""

    steer: tuple[int, ...]
    """Steering targets, in the order of `Programme.steer`."""
    speed: tuple[int, ...]
    """Speeds of the drive motors, or of the left and right side."""
    holding: bool
    """Whether the drive waits for the steering."""


def divided(number: int, by: int) -> int:
    """Quotient to the nearest whole number, halves away from 0; `by` is above 0.

    Examples
    --------
    >>> divided(5, 2), divided(-5, 2), divided(4, 3)
    (3, -3, 1)
    """
    size = (abs(number) + by // 2) // by
    return -size if number < 0 else size


class Runtime:
    """The state of one robot's controller."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.step = 0
        self.at = list(self._values(0)[: len(programme.steer)])
        self.rest = [0] * len(self.at)

    def stick(
        self, throttle: float, turn: float, ms: float, measured: Sequence[float] | None = None
    ) -> Answer:
        """Answer a throttle and a turn, positive to the left, in thousandths."""
        ahead, about = self._inputs(throttle, turn)
        left, right = ahead - about, ahead + about
        most = max(abs(left), abs(right))
        if most > FULL:
            left, right = divided(left * FULL, most), divided(right * FULL, most)
        return self._sides(left, right, ms, measured)

    def drive(self, left: float, right: float, ms: float, measured: Sequence[float] | None = None) -> Answer:
        """Answer two side speeds in thousandths.

        Parameters
        ----------
        left, right : float
            Side speeds, thousandths of full; rounded, and both 0 where one is not a number.
        ms : float
            Time since the last call; its fraction is cut off.
        measured : sequence of float, optional
            Where the steering stands, one for each output, in its unit; the drive waits where one
            is not a number.
        """
        return self._sides(*self._inputs(left, right), ms, measured)

    def _inputs(self, a: float, b: float) -> tuple[int, int]:
        return (0, 0) if isnan(a) or isnan(b) else (self._input(a), self._input(b))

    def _input(self, value: float) -> int:
        # Twice a number is exact, and a half of it then rounds as everywhere else.
        held = divided(int(2 * max(-FULL, min(FULL, value))), 2)
        dead = self.programme.controller.dead_band_permille if self._has("dead_band") else 0
        return 0 if abs(held) <= dead else held

    def _has(self, part: str) -> bool:
        return part in self.programme.parts

    def _sides(self, left: int, right: int, ms: float, measured: Sequence[float] | None) -> Answer:
        p = self.programme
        fast = max(abs(left), abs(right))
        sense = -1 if left + right < 0 else 1
        if fast:
            step = divided(sense * (right - left) * p.turn_one, 2 * fast)
            self.step = max(p.first, min(p.last, step))
        values = self._values(self.step)
        target, speed = values[: len(p.steer)], values[len(p.steer) :]
        holding = False
        if self._has("limiter") or self._has("hold"):
            self._move(target, 0 if isnan(ms) else int(max(0, min(MOST_MS, ms))))
        if self._has("hold"):
            places: Sequence[float] = self.at if measured is None else measured
            near = (abs(a - t) <= o.within for a, t, o in zip(places, target, p.steer, strict=True))
            holding = not all(near)
        fast = self._allowed_speed(fast, speed)
        if holding:
            fast = fast * p.controller.creep_permille // FULL
        steer = tuple(self.at) if self._has("limiter") else target
        return Answer(steer, self._speeds(sense * fast, speed), holding)

    def _values(self, step: int) -> tuple[int, ...]:
        p = self.programme
        if p.formula is not None:
            whole = p.formula.whole(np.array([step]))[0].tolist()
        elif p.table is not None:
            whole = rounded(np.array(lookup(p.table, step)), p.table.shift).tolist()
        else:
            return ()
        if self._has("clamp"):
            for k, output in enumerate(p.steer):
                whole[k] = max(output.low, min(output.high, whole[k]))
        return tuple(whole)

    def _move(self, target: tuple[int, ...], ms: int) -> None:
        for k, output in enumerate(self.programme.steer):
            way = target[k] - self.at[k]
            budget = self.rest[k] + output.per_second * ms
            most = budget // 1000
            if abs(way) <= most:
                self.at[k], self.rest[k] = target[k], 0
            else:
                self.at[k] += most if way > 0 else -most
                self.rest[k] = budget % 1000

    def _allowed_speed(self, fast: int, speed: tuple[int, ...]) -> int:
        if self._has("scaling"):
            for value, output in zip(speed, self.programme.drive, strict=True):
                if abs(value) * fast > output.top * FULL:
                    fast = output.top * FULL // abs(value)
        return fast

    def _speeds(self, fast: int, speed: tuple[int, ...]) -> tuple[int, ...]:
        p = self.programme
        if p.drive:
            return tuple(divided(value * fast, FULL) for value in speed)
        slow = divided(fast * (p.turn_one - 2 * abs(self.step)), p.turn_one)
        return (slow, fast) if self.step > 0 else (fast, slow)
