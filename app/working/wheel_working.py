"""The derivation of one wheel's angle and speed, line by line, with the person's own numbers.

Each result comes from the solution that is shown; the sums beside it are written so that a
pocket calculator gives the same. All is worked in the forward sense and at full speed of
the faster side, since neither changes an angle; the last line tells the speed as driven.
"""

from __future__ import annotations

import itertools
import math
import re

from app.design.motor_edits import holder_of
from app.picture.view import View
from app.working.calculator import MOST, Figure, Step, number, settled
from app.working.derivation import forward_speeds, wheel_steps
from app.working.motor_working import built_steps
from geometry.kinematics.ideal import FLIPPED

__all__ = ["Step", "number", "working", "working_text"]


def working(view: View, index: int) -> tuple[Step, ...]:
    """Derive one wheel's angle and speed from the side speeds; lengths in mm, angles in degrees.

    With motors, what they make of it follows after what would suit.

    Parameters
    ----------
    view : View
        What is shown.
    index : int
        The wheel.
    """
    return tuple(itertools.chain(*_parts(view, index)))


def _parts(view: View, index: int) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """What would suit, and what the motors make of it."""
    ideal, built = _ideal_steps(view.ideal, index), built_steps(view, index)
    steps = settled((*ideal, *built))
    return steps[: len(ideal)], steps[len(ideal) :]


def _ideal_steps(view: View, index: int) -> tuple[Step, ...]:
    """The wheel by itself, for the motion that is asked for."""
    return (*_side_steps(view), *_radius_steps(view), *wheel_steps(view, index))


def working_text(view: View, index: int) -> str:
    """The derivation as plain text with a head and closing remarks."""
    wheel = view.design.wheels[index]
    kingpin = f"x = {number(wheel.x_mm, MOST)}, y = {number(wheel.y_mm, MOST)}"
    turn = number(view.command.turn, MOST)
    ideal, built = ("\n".join(map(str, part)) for part in _parts(view, index))
    body = f"{_IDEAL_HEAD}\n\n{ideal}\n\n{_BUILT_HEAD}\n\n{built}" if built else ideal
    lines = [
        f"{wheel.name} ({wheel.kind}), kingpin at {kingpin}; turn input s = {turn}",
        "Lengths in mm, angles in degrees, left positive. Speeds are shares of the faster side's.",
    ]
    if re.search(r"[0-9]e[+-][0-9]", body):
        lines.append("2.5e-06 is short for 2.5 / 10^6.")
    return "\n".join([*lines, "", body, "", *_remarks(view, index)]).rstrip() + "\n"


_IDEAL_HEAD = "IDEAL: the wheel steered and driven by itself"
_BUILT_HEAD = "AS BUILT: what the motors make of it"


def _motor_remarks(view: View, index: int) -> list[str]:
    holder = holder_of(view.design, "steer", view.design.wheels[index].name)
    if not view.motored or holder is None or not view.response.stopped[0, holder]:
        return []
    name = view.design.steer_motors[holder].name
    return [f"{name} stands at the end of the travel that it and its wheels leave together."]


def _side_steps(view: View) -> list[Step]:
    """From the turn input to the side speeds."""
    turn, ratio = view.command.turn, view.command.ratio
    if turn == 0:
        left, right = ("both alike", 1.0), ("both alike", 1.0)
    elif turn > 0:
        left, right = ("the slower: k", ratio), ("the faster", 1.0)
    else:
        left, right = ("the faster", 1.0), ("the slower: k", ratio)
    sums = Figure(1.0) - Figure(2.0) * Figure(abs(turn))
    return [
        Step("Speed ratio, slower side by faster side", "k = 1 - 2 |s|", sums, ratio),
        Step(f"Left side speed ({left[0]})", "v_L", None, left[1]),
        Step(f"Right side speed ({right[0]})", "v_R", None, right[1]),
    ]


def _radius_steps(view: View) -> list[Step]:
    """From the side speeds to the turn radius."""
    base, turn = view.robot.base, view.command.turn
    u, omega = forward_speeds(view)
    left = view.command.ratio if turn > 0 else 1.0
    track = base.y_left - base.y_right
    sums = Figure(base.y_left) - Figure(base.y_right)
    steps = [Step("Track between the reference points", "b = y_L - y_R", sums, track, "mm")]
    what = "Yaw rate, left positive (v_R - v_L is always 2 s)"
    sums = Figure(2.0) * Figure(turn) / Figure(track)
    steps.append(Step(what, "w = (v_R - v_L) / b = 2 s / b", sums, omega, "per mm"))
    sums = Figure(left) + Figure(omega) * Figure(base.y_left)
    steps.append(Step("Forward speed on the centre line", "u = v_L + w y_L", sums, u))
    if omega == 0:
        steps.append(Step("Turn radius (no yaw, so no turn centre)", "R", None, math.inf, "mm"))
    else:
        sums = Figure(u) / Figure(omega)
        steps.append(Step("Turn radius, left positive", "R = u / w", sums, view.radius, "mm"))
    return steps


def _remarks(view: View, index: int) -> list[str]:
    wheel, solved, design = view.design.wheels[index], view.ideal.solution, view.design
    said = []
    if wheel.kind == "steered":
        said.append(f"Travel: {number(wheel.travel_min_deg)}° to {number(wheel.travel_max_deg)}°.")
    if solved.limited[0, index]:
        trailing = solved.unreachable[0, index]
        where = "an end of it" if trailing else "the end nearest to one that would"
        said.append(f"No angle within the travel suits: the wheel stands at {where}.")
    elif solved.branch[0, index] == FLIPPED:
        said.append("The angle reached from straight ahead is outside the travel: the wheel is flipped.")
    said += _motor_remarks(view, index)
    state = view.states[index]
    if state == "swings round":
        said.append("The turn centre is nearer to the kingpin than the trail: the caster swings round.")
    elif view.solution.unreachable[0, index]:
        said.append("The turn centre is nearer to the kingpin than the trail: no angle suits.")
    if state == "pivots":
        said.append("The tyre covers the turn centre: the wheel pivots there, and its slip says nothing.")
    elif state != "swings round":
        limits = (
            f"{number(design.aligned_within_deg)}° aligned, up to {number(design.slight_drag_within_deg)}°"
        )
        said.append(f"By its slip angle (up to {limits} slight drag): {state}.")
    if view.command.speed < 0:
        turns = "a caster swings round" if wheel.kind == "caster" else "the angle stays"
        said.append(f"All but the last line is worked forward; in reverse {turns}.")
    return said
