"""One wheel's share of the working: from the motion of its kingpin to angle, speed and drag."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.look import View, WheelRow
from app.units import degrees
from geometry.alignment import miss_distance

# Below this share of its terms a difference is rounding, and shown as 0.
_ROUNDING = 1e-14


@dataclass(frozen=True)
class Step:
    """One line: what, the formula in symbols, the sum in numbers, the result."""

    what: str
    formula: str
    sum: str
    value: float
    unit: str = ""

    def __str__(self) -> str:
        """The step as two lines of text."""
        unit = f" {self.unit}" if self.unit not in ("", "°") else self.unit
        result = number(self.value) + (unit if math.isfinite(self.value) else "")
        parts = [part for part in (self.formula, self.sum, result) if part]
        return f"{self.what}\n    {' = '.join(parts)}"


@dataclass(frozen=True)
class Numbers:
    """One wheel of a view as plain numbers in the forward sense; mm, degrees, speeds."""

    row: WheelRow
    x: float
    y: float
    along: float
    across: float
    built_in: float
    u: float
    """Forward speed on the centre line."""
    omega: float
    vx: float
    vy: float
    heading: float
    steer: float
    roll: float
    side: float
    limited: bool
    unreachable: bool
    reverse: bool

    @property
    def speed(self) -> float:
        """Speed of the kingpin."""
        return math.hypot(self.vx, self.vy)

    @property
    def direction(self) -> float:
        """Direction in which the kingpin moves; 0 where it is at rest."""
        return degrees(math.atan2(self.vy, self.vx))


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


def term(value: float) -> str:
    """A number that may stand behind a sign."""
    text = number(value)
    return f"({text})" if text.startswith("-") else text


def difference(result: float, *terms: float) -> float:
    """The result of a sum of terms, without what is left of them by rounding."""
    return 0.0 if abs(result) <= _ROUNDING * sum(map(abs, terms)) else result


def forward_speeds(view: View) -> tuple[float, float]:
    """Speed on the centre line and yaw rate in the forward sense."""
    sense = float(view.motion.sense[0])
    omega = float(view.motion.twist[0, 2]) * sense
    u = float(view.motion.twist[0, 0]) * sense
    return difference(u, 1.0), omega


def numbers_of(view: View, index: int) -> Numbers:
    """Gather one wheel's numbers."""
    wheels, solved, base = view.facts.wheels, view.solution, view.facts.base
    u, omega = forward_speeds(view)
    sense = float(view.motion.sense[0])
    x, y = float(wheels.x[index]), float(wheels.y[index])
    roll = float(solved.roll[0, index]) * sense
    side = float(solved.side[0, index]) * sense
    along, across = float(wheels.along[index]), float(wheels.across[index])
    vx, heading = difference(u - omega * y, u, omega * y), float(solved.heading[0, index])
    return Numbers(
        row=view.rows[index],
        x=x,
        y=y,
        along=along,
        across=across,
        built_in=degrees(float(wheels.built_in[index])),
        u=u,
        omega=omega,
        vx=vx,
        vy=difference(omega * (x - base.x), omega * x, omega * base.x) + 0.0,
        heading=degrees(heading),
        steer=degrees(float(solved.steer[0, index])),
        roll=difference(roll, u, omega * y, omega * across),
        side=difference(side, omega * x, omega * base.x, omega * along, vx * math.sin(heading)),
        limited=bool(solved.limited[0, index]),
        unreachable=bool(solved.unreachable[0, index]),
        reverse=sense < 0,
    )


def _kingpin_steps(view: View, wheel: Numbers) -> list[Step]:
    """How the kingpin moves."""
    base_x = view.facts.base.x
    omega = term(wheel.omega)
    return [
        Step(
            "Forward speed of the kingpin",
            "v_x = u - w y",
            f"{number(wheel.u)} - {omega} * {term(wheel.y)}",
            wheel.vx,
        ),
        Step(
            f"Leftward speed of the kingpin (base axle at x_b = {number(base_x)})",
            "v_y = w (x - x_b)",
            f"{omega} * ({number(wheel.x)} - {term(base_x)})",
            wheel.vy,
        ),
    ]


def _fixed_steps(view: View, wheel: Numbers) -> list[Step]:
    """A fixed wheel points where it was built to point."""
    toe = view.design.wheels[wheel.row.index].toe_deg
    if toe == 0:
        heading = Step("Heading (fixed straight ahead)", "delta", "", wheel.heading, "°")
    elif wheel.heading * toe < 0:
        formula, sums = "delta = -toe", f"-{term(toe)}"
        heading = Step("Heading (toe-in turns a left-hand wheel right)", formula, sums, wheel.heading, "°")
    else:
        heading = Step(
            "Heading (toe-in turns a right-hand wheel left)", "delta = toe", "", wheel.heading, "°"
        )
    return [heading, *_contact_steps(wheel)]


def _turning_steps(wheel: Numbers) -> list[Step]:
    """A steered wheel or a caster points across the line to the turn centre, as far as it can."""
    if wheel.speed == 0:
        steps = [Step("Speed of the kingpin (the turn centre is on it)", "|v|", "", 0.0)]
        steps.append(Step("Direction of the kingpin (at rest: straight ahead)", "phi", "", 0.0, "°"))
    else:
        squares = f"sqrt({term(wheel.vx)}^2 + {term(wheel.vy)}^2)"
        steps = [Step("Speed of the kingpin", "|v| = sqrt(v_x^2 + v_y^2)", squares, wheel.speed)]
        sums = f"atan2({number(wheel.vy)}, {number(wheel.vx)})"
        steps.append(Step("Direction of the kingpin", "phi = atan2(v_y, v_x)", sums, wheel.direction, "°"))
    lead, lead_steps = _lead(wheel)
    steps += lead_steps
    if wheel.limited:
        return [*steps, *_limited_steps(wheel, lead), *_contact_steps(wheel)]
    steps.append(_heading_step(wheel, lead))
    if wheel.built_in:
        sums = f"{number(wheel.heading)} - {term(wheel.built_in)}"
        steps.append(Step("Steer angle", "steer = delta - built-in angle of the toe", sums, wheel.steer, "°"))
    if wheel.unreachable:
        return [*steps, *_contact_steps(wheel)]
    return [*steps, *_rolling_steps(wheel, lead)]


def _lead(wheel: Numbers) -> tuple[float, list[Step]]:
    """Angle by which the trail turns the wheel from its kingpin's direction."""
    if not wheel.along:
        return 0.0, []
    what = f"Lead of the trail (e_x = {number(wheel.along)} is minus the trail)"
    share = math.inf if wheel.speed == 0 else wheel.along * wheel.omega / wheel.speed
    if not wheel.unreachable:
        share = 0.0 if wheel.speed == 0 else max(-1.0, min(1.0, share))
        lead = degrees(math.asin(share))
        if wheel.speed == 0:
            return lead, [Step(what, "lambda", "", lead, "°")]
        sums = f"asin({term(wheel.along)} * {term(wheel.omega)} / {number(wheel.speed)})"
        return lead, [Step(what, "lambda = asin(e_x w / |v|)", sums, lead, "°")]
    steps = []
    if wheel.speed:
        sums = f"{term(wheel.along)} * {term(wheel.omega)} / {number(wheel.speed)}"
        steps.append(Step("Share for the trail (beyond 1: no angle suits)", "e_x w / |v|", sums, share))
    # Where the kingpin is at rest its direction is rounding, so the sign is read from the result.
    upward = [sign for sign in (90.0, -90.0) if _turns_between(wheel.heading, wheel.direction + sign)]
    lead = upward[0] if len(upward) == 1 and not wheel.limited else math.copysign(90.0, share)
    return lead, [*steps, Step("Lead of the trail (the nearest that there is)", "lambda", "", lead, "°")]


def _turns_between(angle: float, other: float) -> bool:
    """Whether two angles are whole turns apart, but for rounding."""
    rest = angle - other
    return abs(rest - 360.0 * round(rest / 360.0)) < 1e-6


def _heading_step(wheel: Numbers, lead: float) -> Step:
    """Which of the two solutions, and how many half turns from it."""
    caster = wheel.row.kind == "caster"
    what = "Heading" if wheel.built_in or caster else "Steer angle"
    symbol = "lambda" if wheel.along else ""
    for half, sign in ((0.0, 1.0), (180.0, -1.0)):
        if _turns_between(wheel.heading, wheel.direction + half + sign * lead):
            break
    else:
        return Step(f"{what} (stays as it was)", "delta", "", wheel.heading, "°")
    extra = half + 360.0 * round((wheel.heading - wheel.direction - half - sign * lead) / 360.0)
    formula, sums = "delta = phi", number(wheel.direction)
    if symbol:
        formula += f" {'+' if sign > 0 else '-'} {symbol}"
        sums += f" {'+' if sign > 0 else '-'} {term(lead)}"
    if extra:
        turn = f" {'+' if extra > 0 else '-'} {number(abs(extra))}"
        formula, sums = formula + turn, sums + turn
    if caster:
        what += ", so that it trails" + (" in reverse" if wheel.reverse else "")
    elif half:
        what += ", rolling the other way"
    return Step(what, formula, sums if symbol or extra else "", wheel.heading, "°")


def _limited_steps(wheel: Numbers, lead: float) -> list[Step]:
    """What would suit, and where the wheel stands instead."""
    steps = []
    if not wheel.unreachable:
        plus = ("phi + lambda", f"{number(wheel.direction)} + {term(lead)}") if wheel.along else ("phi", "")
        what = "Heading that would suit (or the one that rolls the other way)"
        steps.append(Step(what, plus[0], plus[1], wheel.direction + lead, "°"))
    symbol = "steer" if wheel.built_in else "delta"
    steps.append(Step("Steer angle (the end of its travel)", symbol, "", wheel.steer, "°"))
    if wheel.built_in:
        sums = f"{number(wheel.steer)} + {term(wheel.built_in)}"
        steps.append(Step("Heading", "delta = steer + built-in angle of the toe", sums, wheel.heading, "°"))
    return steps


def _contact_steps(wheel: Numbers) -> list[Step]:
    """Both speeds of the contact point of a wheel that does not point as it should."""
    d, vx, vy, omega = number(wheel.heading), term(wheel.vx), term(wheel.vy), term(wheel.omega)
    roll = ("roll = v_x cos(delta) + v_y sin(delta)", f"{vx} * cos({d}) + {vy} * sin({d})")
    side = ("side = v_y cos(delta) - v_x sin(delta)", f"{vy} * cos({d}) - {vx} * sin({d})")
    if wheel.across:
        roll = (roll[0] + " - w e_y", roll[1] + f" - {omega} * {term(wheel.across)}")
    if wheel.along:
        side = (side[0] + " + w e_x", side[1] + f" + {omega} * {term(wheel.along)}")
    offset = f" (e_y = {number(wheel.across)}, the lateral offset)" if wheel.across else ""
    trail = f" (e_x = {number(wheel.along)}, minus the trail)" if wheel.along else ""
    return [
        Step(f"Rolling speed{offset}", roll[0], roll[1], wheel.roll),
        Step(f"Sideways speed of the contact point{trail}", side[0], side[1], wheel.side),
    ]


def _rolling_steps(wheel: Numbers, lead: float) -> list[Step]:
    """Both speeds of the contact point of a wheel that points as it should."""
    sign = "-" if wheel.roll + wheel.omega * wheel.across < 0 else ""
    formula, sums = f"roll = {sign}|v|", f"{sign}{number(wheel.speed)}"
    what = f"Rolling speed{' (backward)' if wheel.roll < 0 else ''}"
    if wheel.along:
        formula, sums = f"{formula} cos(lambda)", f"{sums} * cos({number(lead)})"
    if wheel.across:
        formula, sums = f"{formula} - w e_y", f"{sums} - {term(wheel.omega)} * {term(wheel.across)}"
        what += f" (e_y = {number(wheel.across)}, the lateral offset)"
    return [
        Step(what, formula, sums if wheel.along or wheel.across else "", wheel.roll),
        Step("Sideways speed of the contact point (it moves as the wheel points)", "side", "", wheel.side),
    ]


def _judgement(wheel: Numbers) -> list[Step]:
    """Radius, miss, slip and drag of the contact point."""
    roll, side, omega = abs(wheel.roll), abs(wheel.side), abs(wheel.omega)
    travel = f"sqrt({number(roll)}^2 + {number(side)}^2)"
    speed = math.hypot(roll, side)
    steps = []
    if omega:
        what, formula = "Turning radius of the contact point", "r = sqrt(roll^2 + side^2) / |w|"
        steps.append(Step(what, formula, f"{travel} / {number(omega)}", speed / omega, "mm"))
        if wheel.row.state == "swings round":
            what = "Miss, slip and drag (the caster has no rolling angle here, and swings round)"
            return [*steps, Step(what, "miss", "", 0.0, "mm")]
        miss, sums = side / omega, f"{number(side)} / {number(omega)}"
        steps.append(Step("Miss of the axle line", "miss = |side / w|", sums, miss, "mm"))
    else:
        what = "Miss of the axle line (straight ahead: 0 where it is square to the motion, else infinite)"
        steps.append(Step(what, "miss", "", float(miss_distance([[side]], [[0.0]])[0, 0]), "mm"))
    if speed:
        slip, sums = degrees(math.atan2(side, roll)), f"atan2({number(side)}, {number(roll)})"
        steps.append(Step("Slip angle", "slip = atan2(|side|, |roll|)", sums, slip, "°"))
        what, formula = "Drag", "drag = 1000 |side| / sqrt(roll^2 + side^2)"
        steps.append(
            Step(what, formula, f"1000 * {number(side)} / {travel}", 1000 * side / speed, "mm per metre")
        )
    return steps


def _as_driven(view: View, wheel: Numbers) -> list[Step]:
    """The rolling speed as the table of wheels has it, where that is another."""
    pace = view.command.speed
    if pace == 1.0:
        return []
    what = (
        f"Rolling speed as driven, {'in reverse' if pace < 0 else 'the faster side'} at {number(abs(pace))}"
    )
    return [Step(what, "p * roll", f"{term(pace)} * {term(wheel.roll)}", pace * wheel.roll)]


def wheel_steps(view: View, index: int) -> tuple[Step, ...]:
    """From the motion of the body to one wheel's angle, speed, miss and drag."""
    wheel = numbers_of(view, index)
    angle = _fixed_steps(view, wheel) if wheel.row.kind == "fixed" else _turning_steps(wheel)
    return (*_kingpin_steps(view, wheel), *angle, *_judgement(wheel), *_as_driven(view, wheel))
