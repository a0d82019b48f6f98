"""One wheel's share of the working: from the motion of its kingpin to angle, speed and drag."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.picture.view import View, WheelRow
from app.units import degrees
from app.working.calculator import (
    MOST,
    Expression,
    Figure,
    Step,
    arcsine,
    arctangent,
    cosine,
    number,
    root,
    sine,
)
from geometry.kinematics.alignment import miss_distance

# Below this share of its terms a difference is rounding, and shown as 0.
_ROUNDING = 1e-14


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
    wheels, solved, base = view.robot.wheels, view.solution, view.robot.base
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
    base_x = view.robot.base.x
    omega = Figure(wheel.omega)
    forward = Figure(wheel.u) - omega * Figure(wheel.y)
    leftward = omega * (Figure(wheel.x) - Figure(base_x))
    what = f"Leftward speed of the kingpin (base axle at x_b = {number(base_x, MOST)})"
    return [
        Step("Forward speed of the kingpin", "v_x = u - w y", forward, wheel.vx),
        Step(what, "v_y = w (x - x_b)", leftward, wheel.vy),
    ]


def _fixed_steps(view: View, wheel: Numbers) -> list[Step]:
    """A fixed wheel points where it was built to point."""
    toe = view.design.wheels[wheel.row.index].toe_deg
    if toe == 0:
        heading = Step("Heading (fixed straight ahead)", "delta", None, wheel.heading, "°")
    elif wheel.heading * toe < 0:
        what = f"Heading (toe-in of {number(toe, MOST)}° turns a left-hand wheel right)"
        heading = Step(what, "delta = -toe", None, wheel.heading, "°")
    else:
        what = f"Heading (toe-in of {number(toe, MOST)}° turns a right-hand wheel left)"
        heading = Step(what, "delta = toe", None, wheel.heading, "°")
    return [heading, *_contact_steps(wheel)]


def _turning_steps(wheel: Numbers) -> list[Step]:
    """A steered wheel or a caster points across the line to the turn centre, as far as it can."""
    if wheel.speed == 0:
        steps = [Step("Speed of the kingpin (the turn centre is on it)", "|v|", None, 0.0)]
        steps.append(Step("Direction of the kingpin (at rest: straight ahead)", "phi", None, 0.0, "°"))
    else:
        vx, vy = Figure(wheel.vx), Figure(wheel.vy)
        squares = root(vx.squared() + vy.squared())
        steps = [Step("Speed of the kingpin", "|v| = sqrt(v_x^2 + v_y^2)", squares, wheel.speed)]
        sums = arctangent(vy, vx)
        steps.append(Step("Direction of the kingpin", "phi = atan2(v_y, v_x)", sums, wheel.direction, "°"))
    lead, lead_steps = _lead(wheel)
    steps += lead_steps
    if wheel.limited:
        return [*steps, *_limited_steps(wheel, lead), *_contact_steps(wheel)]
    steps.append(_heading_step(wheel, lead))
    if wheel.built_in:
        back = Figure(wheel.heading) - Figure(wheel.built_in)
        steps.append(Step("Steer angle", "steer = delta - built-in angle of the toe", back, wheel.steer, "°"))
    if wheel.unreachable:
        return [*steps, *_contact_steps(wheel)]
    return [*steps, *_rolling_steps(wheel, lead)]


def _lead(wheel: Numbers) -> tuple[float, list[Step]]:
    """Angle by which the trail turns the wheel from its kingpin's direction."""
    if not wheel.along:
        return 0.0, []
    what = f"Lead of the trail (e_x = {number(wheel.along, MOST)} is minus the trail)"
    share = math.inf if wheel.speed == 0 else wheel.along * wheel.omega / wheel.speed
    sums = Figure(wheel.along) * Figure(wheel.omega) / Figure(wheel.speed)
    if not wheel.unreachable:
        share = 0.0 if wheel.speed == 0 else max(-1.0, min(1.0, share))
        lead = degrees(math.asin(share))
        if wheel.speed == 0:
            return lead, [Step(what, "lambda", None, lead, "°")]
        return lead, [Step(what, "lambda = asin(e_x w / |v|)", arcsine(sums), lead, "°")]
    steps = []
    if wheel.speed:
        steps.append(Step("Share for the trail (beyond 1: no angle suits)", "e_x w / |v|", sums, share))
    # Where the kingpin is at rest its direction is rounding, so the sign is read from the result.
    upward = [sign for sign in (90.0, -90.0) if _turns_between(wheel.heading, wheel.direction + sign)]
    lead = upward[0] if len(upward) == 1 and not wheel.limited else math.copysign(90.0, share)
    return lead, [*steps, Step("Lead of the trail (the nearest that there is)", "lambda", None, lead, "°")]


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
        return Step(f"{what} (stays as it was)", "delta", None, wheel.heading, "°")
    extra = half + 360.0 * round((wheel.heading - wheel.direction - half - sign * lead) / 360.0)
    formula = "delta = phi"
    sums: Expression = Figure(wheel.direction)
    if symbol:
        formula += f" {'+' if sign > 0 else '-'} {symbol}"
        sums = sums + Figure(lead) if sign > 0 else sums - Figure(lead)
    if extra:
        formula += f" {'+' if extra > 0 else '-'} {number(abs(extra))}"
        sums = sums + Figure(extra) if extra > 0 else sums - Figure(-extra)
    if caster:
        what += ", so that it trails" + (" in reverse" if wheel.reverse else "")
    elif half:
        what += ", rolling the other way"
    return Step(what, formula, sums if symbol or extra else None, wheel.heading, "°")


def _limited_steps(wheel: Numbers, lead: float) -> list[Step]:
    """What would suit, and where the wheel stands instead."""
    steps = []
    if not wheel.unreachable:
        plus = Figure(wheel.direction) + Figure(lead) if wheel.along else None
        what = "Heading that would suit (or the one that rolls the other way)"
        formula = "phi + lambda" if wheel.along else "phi"
        steps.append(Step(what, formula, plus, wheel.direction + lead, "°"))
    symbol = "steer" if wheel.built_in else "delta"
    steps.append(Step("Steer angle (the end of its travel)", symbol, None, wheel.steer, "°"))
    if wheel.built_in:
        sums = Figure(wheel.steer) + Figure(wheel.built_in)
        steps.append(Step("Heading", "delta = steer + built-in angle of the toe", sums, wheel.heading, "°"))
    return steps


def _contact_steps(wheel: Numbers) -> list[Step]:
    """Both speeds of the contact point of a wheel that does not point as it should."""
    d, vx, vy, omega = map(Figure, (wheel.heading, wheel.vx, wheel.vy, wheel.omega))
    roll, rolling = "roll = v_x cos(delta) + v_y sin(delta)", vx * cosine(d) + vy * sine(d)
    side, sliding = "side = v_y cos(delta) - v_x sin(delta)", vy * cosine(d) - vx * sine(d)
    if wheel.across:
        roll, rolling = roll + " - w e_y", rolling - omega * Figure(wheel.across)
    if wheel.along:
        side, sliding = side + " + w e_x", sliding + omega * Figure(wheel.along)
    trail = f" (e_x = {number(wheel.along, MOST)}, minus the trail)" if wheel.along else ""
    return [
        Step(f"Rolling speed{_offset(wheel)}", roll, rolling, wheel.roll),
        Step(f"Sideways speed of the contact point{trail}", side, sliding, wheel.side),
    ]


def _offset(wheel: Numbers) -> str:
    return f" (e_y = {number(wheel.across, MOST)}, the lateral offset)" if wheel.across else ""


def _rolling_steps(wheel: Numbers, lead: float) -> list[Step]:
    """Both speeds of the contact point of a wheel that points as it should."""
    backward = wheel.roll + wheel.omega * wheel.across < 0
    formula = f"roll = {'-' if backward else ''}|v|"
    sums: Expression = Figure(-wheel.speed if backward else wheel.speed)
    what = f"Rolling speed{' (backward)' if wheel.roll < 0 else ''}{_offset(wheel)}"
    if wheel.along:
        formula, sums = f"{formula} cos(lambda)", sums * cosine(Figure(lead))
    if wheel.across:
        formula, sums = f"{formula} - w e_y", sums - Figure(wheel.omega) * Figure(wheel.across)
    return [
        Step(what, formula, sums if wheel.along or wheel.across else None, wheel.roll),
        Step("Sideways speed of the contact point (it moves as the wheel points)", "side", None, wheel.side),
    ]


def _judgement(wheel: Numbers) -> list[Step]:
    """Radius, miss, slip and drag of the contact point."""
    roll, side, omega = abs(wheel.roll), abs(wheel.side), abs(wheel.omega)
    rolled, slid, turned = Figure(roll), Figure(side), Figure(omega)
    travel = root(rolled.squared() + slid.squared())
    speed = math.hypot(roll, side)
    steps = []
    if omega:
        what, formula = "Turning radius of the contact point", "r = sqrt(roll^2 + side^2) / |w|"
        steps.append(Step(what, formula, travel / turned, speed / omega, "mm"))
        if wheel.row.state == "swings round":
            what = "Miss, slip and drag (the caster has no rolling angle here, and swings round)"
            return [*steps, Step(what, "miss", None, 0.0, "mm")]
        miss, sums = side / omega, slid / turned
        steps.append(Step("Miss of the axle line", "miss = |side / w|", sums, miss, "mm"))
    else:
        what = "Miss of the axle line (straight ahead: 0 where it is square to the motion, else infinite)"
        steps.append(Step(what, "miss", None, float(miss_distance([[side]], [[0.0]])[0, 0]), "mm"))
    if speed:
        slip, sums = degrees(math.atan2(side, roll)), arctangent(slid, rolled)
        steps.append(Step("Slip angle", "slip = atan2(|side|, |roll|)", sums, slip, "°"))
        what, formula = "Drag", "drag = 1000 |side| / sqrt(roll^2 + side^2)"
        sums = Figure(1000.0) * slid / travel
        steps.append(Step(what, formula, sums, 1000 * side / speed, "mm per metre"))
    return steps


def _as_driven(view: View, wheel: Numbers) -> list[Step]:
    """The rolling speed as the table of wheels has it, where that is another."""
    pace = view.command.speed
    if pace == 1.0:
        return []
    way = "in reverse" if pace < 0 else "the faster side"
    what = f"Rolling speed as driven, {way} at {number(abs(pace), MOST)}"
    return [Step(what, "p * roll", Figure(pace) * Figure(wheel.roll), pace * wheel.roll)]


def wheel_steps(view: View, index: int) -> tuple[Step, ...]:
    """From the motion of the body to one wheel's angle, speed, miss and drag."""
    wheel = numbers_of(view, index)
    angle = _fixed_steps(view, wheel) if wheel.row.kind == "fixed" else _turning_steps(wheel)
    return (*_kingpin_steps(view, wheel), *angle, *_judgement(wheel), *_as_driven(view, wheel))
