"""The derivation of one wheel's angle and speed, line by line, with the person's own numbers.

Each number comes from the solution that is shown; the sums beside it are written so that a
pocket calculator gives the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.look import View
from app.units import degrees, radians
from geometry.motion import velocity_at
from geometry.solve import FLIPPED


@dataclass(frozen=True)
class Step:
    """One line: what, the formula in symbols, the sum in numbers, the result."""

    what: str
    formula: str
    sum: str
    value: float
    unit: str = ""

    def __str__(self) -> str:
        """The step as one or two lines of text."""
        result = f"{number(self.value)}{' ' if self.unit and self.unit != '°' else ''}{self.unit}"
        right = f"{self.sum} = {result}" if self.sum else result
        return f"{self.what}\n    {self.formula} = {right}"


def number(value: float) -> str:
    """A number with six significant digits, no exponent where that can be read.

    Examples
    --------
    >>> number(1 / 3), number(-0.0), number(240.0)
    ('0.333333', '0', '240')
    """
    if math.isinf(value):
        return "infinite"
    text = f"{value:.6g}"
    return "0" if text == "-0" else text


def _term(value: float) -> str:
    return f"({number(value)})" if value < 0 else number(value)


def working(view: View, index: int) -> tuple[Step, ...]:
    """Derive one wheel's angle and speed from the side speeds; lengths in mm, angles in degrees.

    Parameters
    ----------
    view : View
        What is shown.
    index : int
        The wheel.
    """
    return (*_turn_steps(view), *_wheel_steps(view, index))


def working_text(view: View, index: int) -> str:
    """The derivation as plain text with a head and closing remarks."""
    wheel = view.design.wheels[index]
    head = f"{wheel.name} ({wheel.kind}), turn input s = {number(view.command.turn)}"
    head += "\nLengths in mm, speeds as shares of the faster side, angles in degrees."
    lines = [head, "", *(str(step) for step in working(view, index))]
    lines += ["", *_remarks(view, index)]
    return "\n".join(lines).rstrip() + "\n"


def _forward(view: View) -> tuple[float, float, float]:
    """Twist in the forward sense: reverse changes signs of speeds, never an angle."""
    sense = float(view.motion.sense[0])
    vx, vy, omega = (float(v) * sense for v in view.motion.twist[0])
    return vx, vy, omega


def _turn_steps(view: View) -> list[Step]:
    base, turn = view.facts.base, view.command.turn
    u, _, omega = _forward(view)
    ratio = view.command.ratio
    left, right = (ratio, 1.0) if turn > 0 else (1.0, ratio)
    track = base.y_left - base.y_right
    slower = (
        "straight ahead: both sides alike"
        if turn == 0
        else f"the {'left' if turn > 0 else 'right'} side is slower"
    )
    steps = [
        Step(f"Speed ratio ({slower})", "k = 1 - 2 |s|", f"1 - 2 * {number(abs(turn))}", ratio),
        Step(
            "Track between the reference points",
            "b = y_L - y_R",
            f"{number(base.y_left)} - {_term(base.y_right)}",
            track,
            "mm",
        ),
        Step(
            "Yaw rate",
            "w = (v_R - v_L) / b",
            f"({number(right)} - {_term(left)}) / {number(track)}",
            omega,
            "per mm",
        ),
        Step(
            "Speed on the centre line",
            "u = v_L + w y_L",
            f"{number(left)} + {_term(omega)} * {_term(base.y_left)}",
            u,
        ),
    ]
    if omega == 0:
        steps.append(Step("Turn radius (no yaw: no turn centre)", "R", "", math.inf))
    else:
        steps.append(
            Step(
                "Turn radius, left positive", "R = u / w", f"{number(u)} / {_term(omega)}", view.radius, "mm"
            )
        )
    return steps


def _wheel_steps(view: View, index: int) -> list[Step]:
    wheels, base = view.facts.wheels, view.facts.base
    x, y = float(wheels.x[index]), float(wheels.y[index])
    u, _, omega = _forward(view)
    twist = view.motion.twist * view.motion.sense[0]
    vxs, vys = velocity_at(twist, wheels.x, wheels.y)
    vx, vy = float(vxs[0, index]), float(vys[0, index])
    steps = [
        Step(
            "Forward speed at the kingpin", "v_x = u - w y", f"{number(u)} - {_term(omega)} * {_term(y)}", vx
        ),
        Step(
            f"Leftward speed at the kingpin (base axle at x_b = {number(base.x)})",
            "v_y = w (x - x_b)",
            f"{_term(omega)} * ({number(x)} - {_term(base.x)})",
            vy,
        ),
    ]
    if view.design.wheels[index].kind == "fixed":
        return steps + _fixed_steps(view, index, vx, vy, omega)
    return steps + _steered_steps(view, index, vx, vy, omega)


def _steered_steps(view: View, index: int, vx: float, vy: float, omega: float) -> list[Step]:
    wheels, solved = view.facts.wheels, view.solution
    speed = math.hypot(vx, vy)
    direction = degrees(math.atan2(vy, vx))
    along, across = float(wheels.along[index]), float(wheels.across[index])
    steps = [
        Step(
            "Speed of the kingpin", "|v| = sqrt(v_x^2 + v_y^2)", f"sqrt({_term(vx)}^2 + {_term(vy)}^2)", speed
        ),
        Step(
            "Direction of the kingpin",
            "phi = atan2(v_y, v_x)",
            f"atan2({number(vy)}, {number(vx)})",
            direction,
            "°",
        ),
    ]
    share = 0.0 if speed == 0 else max(-1.0, min(1.0, along * omega / speed))
    lead = degrees(math.asin(share))
    if along:
        formula, numbers = (
            "lambda = asin(e_x w / |v|)",
            f"asin({_term(along)} * {_term(omega)} / {number(speed)})",
        )
        steps.append(Step("Lead of the trail (e_x is minus the trail)", formula, numbers, lead, "°"))
    heading, steer = degrees(float(solved.heading[0, index])), degrees(float(solved.steer[0, index]))
    if not (solved.limited[0, index] or solved.unreachable[0, index]):
        steps.append(_heading_step(direction, lead, heading))
    built_in = degrees(float(wheels.built_in[index]))
    if built_in:
        formula = "steer = heading - built-in angle"
        steps.append(Step("Steer angle", formula, f"{number(heading)} - {_term(built_in)}", steer, "°"))
    roll = float(view.alignment.roll[0, index]) * float(view.motion.sense[0])
    side = float(view.alignment.side[0, index])
    if abs(side) <= 1e-9 * max(speed, 1e-30):
        grip = speed * math.cos(radians(lead))
        sign = "-" if roll + omega * across < 0 else ""
        steps.append(
            Step(
                "Rolling speed" + (" (backward)" if roll < 0 else ""),
                f"{sign}|v| cos(lambda) - w e_y",
                f"{sign}{number(speed)} * cos({number(lead)}) - {_term(omega)} * {_term(across)}",
                roll,
            )
        )
        del grip
    return steps + _judgement(view, index)


def _heading_step(direction: float, lead: float, heading: float) -> Step:
    """Which of the two solutions, and how many whole turns from it."""
    for half, sign in ((0.0, 1.0), (180.0, -1.0)):
        rest = heading - (direction + half + sign * lead)
        if abs(rest - 360.0 * round(rest / 360.0)) < 1e-6:
            extra = half + 360.0 * round(rest / 360.0)
            break
    else:  # a kingpin at rest, or on the base axle: it stays as it was
        return Step("Heading (the kingpin keeps its angle)", "delta", "", heading, "°")
    sums = f"{number(direction)} {'+' if sign > 0 else '-'} {_term(lead)}"
    formula = f"delta = phi {'+' if sign > 0 else '-'} lambda"
    if extra:
        sums += f" {'+' if extra > 0 else '-'} {number(abs(extra))}"
        formula += f" {'+' if extra > 0 else '-'} {number(abs(extra))}"
    what = "Heading" if half == 0.0 else "Heading (rolling the other way)"
    return Step(what, formula, sums, heading, "°")


def _fixed_steps(view: View, index: int, vx: float, vy: float, omega: float) -> list[Step]:
    wheels = view.facts.wheels
    heading = degrees(float(view.solution.heading[0, index]))
    sense = float(view.motion.sense[0])
    d = number(heading)
    return [
        Step("Heading (fixed; only its toe)", "delta", "", heading, "°"),
        Step(
            "Rolling speed",
            "v_x cos(delta) + v_y sin(delta) - w e_y",
            f"{_term(vx)} * cos({d}) + {_term(vy)} * sin({d})"
            f" - {_term(omega)} * {_term(float(wheels.across[index]))}",
            float(view.alignment.roll[0, index]) * sense,
        ),
        Step(
            "Sideways speed at the contact",
            "v_y cos(delta) - v_x sin(delta) + w e_x",
            f"{_term(vy)} * cos({d}) - {_term(vx)} * sin({d})"
            f" + {_term(omega)} * {_term(float(wheels.along[index]))}",
            float(view.alignment.side[0, index]) * sense,
        ),
        *_judgement(view, index),
    ]


def _judgement(view: View, index: int) -> list[Step]:
    found = view.alignment
    omega = abs(float(view.motion.twist[0, 2]))
    roll, side = abs(float(found.roll[0, index])), abs(float(found.side[0, index]))
    steps = []
    if omega:
        steps.append(
            Step(
                "Turning radius of the contact",
                "sqrt(roll^2 + side^2) / |w|",
                f"sqrt({number(roll)}^2 + {number(side)}^2) / {number(omega)}",
                float(found.radius[0, index]),
                "mm",
            )
        )
        steps.append(
            Step(
                "Miss of the axle line",
                "|side / w|",
                f"{number(side)} / {number(omega)}",
                float(found.miss[0, index]),
                "mm",
            )
        )
    if roll or side:
        steps.append(
            Step(
                "Drag",
                "1000 |side| / sqrt(roll^2 + side^2)",
                f"1000 * {number(side)} / sqrt({number(roll)}^2 + {number(side)}^2)",
                float(found.drag[0, index]),
                "mm/m",
            )
        )
    return steps


def _remarks(view: View, index: int) -> list[str]:
    wheel, solved = view.design.wheels[index], view.solution
    said = []
    if wheel.kind == "steered":
        said.append(f"Travel: {number(wheel.travel_min_deg)}° to {number(wheel.travel_max_deg)}°.")
    if solved.limited[0, index]:
        said.append(
            "No angle within the travel suits: the wheel stands at the end nearest to one that would."
        )
    elif solved.branch[0, index] == FLIPPED:
        said.append("The angle continuous from straight ahead is outside the travel: the wheel is flipped.")
    if solved.unreachable[0, index]:
        said.append("The turn centre is nearer to the kingpin than the trail: no angle suits.")
    if view.command.speed < 0:
        said.append("In reverse every rolling speed changes its sign; the angles stay.")
    return said
