"""The runtime, step by step, in Python's whole numbers: what every written code does, to the last bit.

Inputs are thousandths, from -1000 to 1000; times are milliseconds. "Rounded" is to the nearest
whole number, halves away from 0. Steps that name a part are left out where it is.

1. With mixing, ``stick(throttle, turn, ms)``: both are held within the thousand; *dead band*
   (see 2); left = throttle - turn and right = throttle + turn, so that a positive turn is to
   the left; where one is over 1000, both are multiplied by 1000 and divided by the larger one's
   size, rounded. Then 3.
2. ``drive(left, right, ms)``: both are held within the thousand. *Dead band*: an input of at
   most its size counts as 0; beyond it stays as it is, so that the turn is the one asked for.
3. The turn step: fast = size of the faster side. Its sense is -1 where the faster side goes
   backward, or both do, else 1; equal and opposite sides turn on the spot, forward. With fast
   above 0 the step is ``sense (right - left) turn_one / (2 fast)``, rounded, and held within the
   table; with both sides at rest it stays what it was (straight ahead at first).
4. The table (or the formula) gives a number for each output; steering targets are rounded to
   whole numbers of their unit, speeds at full likewise.
5. *Clamp*: targets are held within the travel.
6. *Limiter* or *hold*: each output has a place where its motor is taken to be, which starts
   straight ahead and moves toward the target by at most its top speed times ms (0 to 1000 ms);
   thousandths left over are kept for the next call. With the limiter the place is what is
   returned, else the target.
7. *Scaling*: fast is lowered to ``1000 top // speed`` where a motor would pass its usable speed.
8. *Hold*: while a place (or what the caller has measured) is farther than the set angle from its
   target, fast is ``fast creep // 1000``: around a flip the robot stops and turns its wheels.
9. Speeds are ``speed fast / 1000``, rounded, with the sense. Without drive motors they are the two
   sides: fast, and ``fast (turn_one - 2 |step|) / turn_one`` for the slower one, rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.export.outputs import FULL, MOST_MS
from app.export.programme import Programme, rounded
from geometry.fixed_point import lookup


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

    def stick(self, throttle: int, turn: int, ms: int, measured: Sequence[int] | None = None) -> Answer:
        """Answer a throttle and a turn, positive to the left, in thousandths."""
        throttle, turn = self._input(throttle), self._input(turn)
        left, right = throttle - turn, throttle + turn
        most = max(abs(left), abs(right))
        if most > FULL:
            left, right = divided(left * FULL, most), divided(right * FULL, most)
        return self._sides(left, right, ms, measured)

    def drive(self, left: int, right: int, ms: int, measured: Sequence[int] | None = None) -> Answer:
        """Answer two side speeds in thousandths.

        Parameters
        ----------
        left, right : int
            Side speeds, thousandths of full.
        ms : int
            Time since the last call.
        measured : sequence of int, optional
            Where the steering stands, one for each output, in its unit.
        """
        return self._sides(self._input(left), self._input(right), ms, measured)

    def _input(self, value: int) -> int:
        held = max(-FULL, min(FULL, value))
        dead = self.programme.controller.dead_band_permille if self._has("dead_band") else 0
        return 0 if abs(held) <= dead else held

    def _has(self, part: str) -> bool:
        return part in self.programme.parts

    def _sides(self, left: int, right: int, ms: int, measured: Sequence[int] | None) -> Answer:
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
            self._move(target, max(0, min(MOST_MS, ms)))
        if self._has("hold"):
            places = self.at if measured is None else measured
            holding = any(abs(a - t) > o.within for a, t, o in zip(places, target, p.steer, strict=True))
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
