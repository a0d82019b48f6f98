"""Chassis with settings for their controllers, and the written module at work."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import inf, nan
from typing import Any

import numpy as np

from app.controller.programme import Programme
from app.design.samples import sample_design
from app.export.micropython import render
from geometry.kinematics.motion import turn_of_sides
from geometry.model.controller import PARTS
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.geometry.motored_six import four_motors

BARE = dict.fromkeys(PARTS, False)


def with_settings(design: Design, **changes: object) -> Design:
    return design.edited(controller=design.controller.edited(**changes))


def sample(key: str, **changes: object) -> Design:
    return with_settings(sample_design(key), **changes)


def flipping(**changes: object) -> Design:
    """Six wheels on four motors whose corners cannot turn past 80 degrees, and so flip."""
    return with_settings(four_motors(travel=80.0), **changes)


def module_of(programme: Programme) -> dict[str, Any]:
    """The names of the written module, run as plain Python."""
    names: dict[str, Any] = {}
    exec(compile(render(programme), "robot.py", "exec"), names)  # noqa: S102 - our own text
    return names


def controller_of(programme: Programme) -> Any:
    return module_of(programme)[f"{programme.controller.prefix}_controller"]()


def commands(programme: Programme, count: int, seed: int = 0) -> list[tuple[int, int]]:
    """Random side speeds, and those of all landmarks, both ways; none with both sides at rest."""
    draw = random.Random(seed)  # noqa: S311 - commands
    found = [(draw.randint(-1000, 1000), draw.randint(-1000, 1000)) for _ in range(count)]
    for mark in programme.chassis.marks:
        slow = round(1000 * (1 - 2 * abs(mark.turn)))
        found += [(slow, 1000), (-slow, -1000)] if mark.turn > 0 else [(1000, slow), (-1000, -slow)]
    return [sides for sides in found if sides != (0, 0)]


def loose_calls(programme: Programme, count: int, seed: int = 0) -> list[tuple[Any, ...]]:
    """Random calls with fractions, beyond the range, and with what is not a number."""
    draw = random.Random(seed)  # noqa: S311 - commands
    odd = (0.5, -0.5, 999.5, inf, -inf, nan, 50.49, -50.5, 2.5e9, True)
    calls = []
    for _ in range(count):
        kind = draw.choice(("drive", "stick") if "mixing" in programme.parts else ("drive",))
        a, b = (draw.choice((draw.choice(odd), draw.uniform(-1100, 1100))) for _ in range(2))
        ms = draw.choice((draw.uniform(-5, 60), 0.999, 1.0, inf, -inf, nan, 20, 1e12))
        measured = None
        if "hold" in programme.parts and draw.random() < 0.5:
            places = [
                draw.choice((o.low, 0.5 * o.high, draw.uniform(o.low, o.high))) for o in programme.steer
            ]
            places[draw.randrange(len(places))] = draw.choice((nan, inf, 0, 1.5))
            measured = tuple(places)
        calls.append((kind, a, b, ms, measured))
    return calls


def errors(programme: Programme, controller: Any, sides: Sequence[tuple[int, int]]) -> np.ndarray:
    """What the module answers less what the chassis as built asks for, in whole numbers: (M, C).

    Rows within half a turn step of a jump are left out: there either side is right.
    """
    turn, fast = turn_of_sides(*np.array(sides).T)
    reach = programme.design.largest_turn
    turn = np.clip(turn, -reach, reach)
    wanted = programme.chassis.values(turn)
    steers = len(programme.steer)
    wanted[:, steers:] *= fast[:, None] / 1000.0
    answers = []
    for left, right in sides:
        steer, speed = controller.drive(left, right, 20)
        answers.append([*steer, *(speed if programme.drive else ())])
    jumps = [mark.turn for mark in programme.chassis.marks if mark.kind in ("flip", "changes end", "jump")]
    clear = np.all([np.abs(turn - jump) > 0.51 / programme.turn_one for jump in jumps] or [turn < 2], axis=0)
    return (np.array(answers) - wanted)[clear]


def worst_allowed(programme: Programme) -> np.ndarray:
    """The stated bound of each output; a speed is rounded once more for its share of full."""
    speeds = [0.0] * len(programme.steer) + [0.5] * len(programme.drive)
    return np.asarray(programme.bound + 1e-6 + np.array(speeds))


def many_wheels(count: int = 24, **changes: object) -> Design:
    """Steered wheels by the dozen about a base axle far behind, so that all turn steps are too many."""
    places = [(200.0 * (i // 4), 150.0 * (i % 4) - 225.0) for i in range(count)]
    wheels = tuple(Wheel(name=f"w{i}", x_mm=x, y_mm=y, kind="steered") for i, (x, y) in enumerate(places))
    return with_settings(Design(wheels=wheels, base_axle_x_mm=-300.0), **{"error": 0.02, **changes})
