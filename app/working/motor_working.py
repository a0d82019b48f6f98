"""One wheel's share of the working as built: from its motor's shaft to its drag.

The ideal angle and the motion asked for are worked out before; their symbols are used here.
What belongs to the motors carries a ``b``. A shared motor's shaft angle and the motion that
results are least squares of all wheels, which no pocket calculator follows: they are given,
and all that follows from them is worked.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from app.design.motor_edits import MotorKind, holder_of
from app.picture.view import View
from app.units import degrees, radians
from app.working.calculator import MOST, Expression, Figure, Step, arctangent, cosine, number, root, sine
from app.working.derivation import difference, forward_speeds
from geometry.model.motors import Gearing, command_of_reading, reading_of_shaft, rolling_per_turn
from geometry.transmission.scale import LinearScale

# Below these, motions and angles agree [speed units, degrees].
_SAME_SPEED, _SAME_DEG = 1e-12, 1e-9
# A pocket calculator ends at 1e100.
_TOO_LARGE_TO_SQUARE = 1e49


@dataclass(frozen=True)
class _Wheel:
    """One wheel as built, in plain numbers in the forward sense; mm, degrees, speeds."""

    x: float
    y: float
    along: float
    across: float
    built_in: float
    ideal: float
    """Ideal steer angle."""
    steer: float
    heading: float
    v_x: float
    """Forward speed of the origin."""
    v_y: float
    omega: float
    as_asked: bool
    """Whether the motion is the one that is asked for."""

    @property
    def kingpin(self) -> tuple[float, float]:
        """Forward and leftward speed of the kingpin."""
        turned, swung = self.omega * self.y, self.omega * self.x
        return difference(self.v_x - turned, self.v_x, turned), difference(self.v_y + swung, self.v_y, swung)

    @property
    def roll(self) -> float:
        """Rolling speed of the contact point."""
        return self._contact(math.cos(self.angle), math.sin(self.angle), -self.omega * self.across)

    @property
    def side(self) -> float:
        """Sideways speed of the contact point."""
        return self._contact(-math.sin(self.angle), math.cos(self.angle), self.omega * self.along)

    @property
    def angle(self) -> float:
        """Heading [rad]."""
        return radians(self.heading)

    def _contact(self, forward: float, leftward: float, swing: float) -> float:
        (v_x, v_y), turned = self.kingpin, self.omega * math.hypot(self.x, self.y)
        parts = v_x * forward, v_y * leftward, swing
        return difference(sum(parts), *parts, turned, self.v_x)


def built_steps(view: View, index: int) -> tuple[Step, ...]:
    """From the motor of one wheel to its angle, and on to the motion that results and its drag.

    Parameters
    ----------
    view : View
        What is shown; without motors there are no such steps.
    index : int
        The wheel.
    """
    if not view.motored:
        return ()
    wheel = _wheel_of(view, index)
    return (
        *_angle_steps(view, wheel, index),
        *_motion_steps(view, wheel),
        *_contact_steps(wheel),
        *_drive_steps(view, wheel, index),
        *_as_driven(view, wheel),
    )


def _wheel_of(view: View, index: int) -> _Wheel:
    wheels, solved = view.robot.wheels, view.solution
    sense = float(view.asked.sense[0])
    u, omega = forward_speeds(view.ideal)
    asked = u, -omega * view.robot.base.x, omega
    found = tuple(float(part) * sense for part in solved.motion.twist[0])
    length = view.facts.size
    gaps = [abs(a - b) for a, b in zip(asked, found, strict=True)]
    same = max(gaps[0], gaps[1], gaps[2] * length) <= _SAME_SPEED
    # What is left of nothing by rounding is shown as 0.
    v_x, v_y, turning = asked if same else (_cleared(found[0]), _cleared(found[1]), found[2])
    return _Wheel(
        x=float(wheels.x[index]),
        y=float(wheels.y[index]),
        along=float(wheels.along[index]),
        across=float(wheels.across[index]),
        built_in=degrees(float(wheels.built_in[index])),
        ideal=degrees(float(view.response.ideal.steer[0, index])),
        steer=degrees(float(solved.steer[0, index])),
        heading=degrees(float(solved.heading[0, index])),
        v_x=v_x,
        v_y=v_y + 0.0,
        omega=turning if same or _cleared(turning * length) else 0.0,
        as_asked=same,
    )


def _cleared(speed: float) -> float:
    return speed if abs(speed) > _SAME_SPEED else 0.0


def _held(view: View, kind: MotorKind, index: int) -> tuple[int, Gearing] | None:
    """The motor that holds a wheel, and how the wheel hangs on it."""
    name = view.design.wheels[index].name
    holder = holder_of(view.design, kind, name)
    if holder is None:
        return None
    motors = view.design.steer_motors if kind == "steer" else view.design.drive_motors
    return holder, next(g for g in motors[holder].wheels if g.wheel == name)


# Steering ----------------------------------------------------------------------------------


def _angle_steps(view: View, wheel: _Wheel, index: int) -> list[Step]:
    """How the wheel comes to its heading."""
    kind, held = view.design.wheels[index].kind, _held(view, "steer", index)
    if kind == "caster":
        what = "Heading (the caster follows the motion that results)"
        return [Step(what, "delta_b", None, wheel.heading, "°")]
    if held is None:
        why = "fixed" if kind == "fixed" else "no motor turns it: taken at its ideal angle"
        return [Step(f"Heading as built ({why})", "delta_b = delta", None, wheel.heading, "°")]
    number_of_motor, gearing = held
    shaft = degrees(float(view.response.shaft[0, number_of_motor]))
    turning = _shaft_step(view, wheel, shaft, number_of_motor)
    if view.robot.motors.steer[number_of_motor].law.ratio is None:
        # What no gear gives, no pocket calculator follows.
        what, turned, formula = "Steer angle as built (by its transmission)", None, "f(theta)"
        steps = [turning]
    else:
        what, turned, formula = "Steer angle as built", Figure(gearing.turns) * Figure(shaft), "n theta"
        steps = [_ratio_step(gearing, "n", "the shaft"), turning]
    if wheel.built_in:
        steps.append(Step(what, f"steer_b = {formula}", turned, wheel.steer, "°"))
        sums = Figure(wheel.steer) + Figure(wheel.built_in)
        heading = "delta_b = steer_b + built-in angle of the toe"
        steps.append(Step("Heading as built", heading, sums, wheel.heading, "°"))
    else:
        steps.append(Step(what, f"delta_b = {formula}", turned, wheel.heading, "°"))
    return [*steps, *_told_steps(view, number_of_motor, shaft)]


def _ratio_step(gearing: Gearing, symbol: str, motor: str) -> Step:
    """The signed ratio, from the teeth where it has a train."""
    what = f"Turns of the wheel for a turn of {motor}, negative in the other sense"
    if gearing.proportion is not None:
        above, below = gearing.proportion
        return Step(f"{what} (as typed)", symbol, Figure(above) / Figure(below), gearing.turns)
    if not gearing.train:
        return Step(what, symbol, None, gearing.turns)
    meshes = [pair for chain in gearing.train for pair in itertools.pairwise(chain)]
    sums: Expression = Figure(math.copysign(abs(meshes[0][0]), gearing.turns))
    for n, (driver, driven) in enumerate(meshes):
        sums = (sums if n == 0 else sums * Figure(float(abs(driver)))) / Figure(float(abs(driven)))
    return Step(f"{what} (teeth of its train)", symbol, sums, gearing.turns)


def _shaft_step(view: View, wheel: _Wheel, shaft: float, k: int) -> Step:
    """The shaft angle, and why it is that one."""
    motor, law = view.design.steer_motors[k], view.robot.motors.steer[k].law
    ratio = wheel.steer / shaft if shaft and law.ratio is not None else math.nan
    shared = len(motor.wheels) > 1
    what = f"Shaft angle of {motor.name} from straight ahead"
    if view.response.stopped[0, k]:
        return Step(f"{what} (the end of its travel)", "theta", None, shaft, "°")
    suits = abs(wheel.steer - wheel.ideal) <= _SAME_DEG
    if suits and law.ratio is None:
        return Step(
            f"{what} (its transmission takes the wheel to the ideal angle)", "theta", None, shaft, "°"
        )
    if suits and math.isfinite(ratio):
        also = ", which also suits its other wheels" if shared else ""
        formula = f"theta = {'steer' if wheel.built_in else 'delta'} / n"
        sums = Figure(wheel.ideal) / Figure(ratio)
        return Step(f"{what}: the ideal angle{also}", formula, sums, shaft, "°")
    why = f", where its {len(motor.wheels)} wheels together drag least" if shared else ""
    return Step(f"{what}{why}", "theta", None, shaft, "°")


def _told_steps(view: View, k: int, shaft: float) -> list[Step]:
    """What the motor's own scale and its controller say."""
    motor, scale = view.design.steer_motors[k], view.robot.motors.scales[k]
    if not isinstance(scale, LinearScale):
        told = float(scale.command(np.array(radians(shaft))))
        return [Step("Its controller is told, by its own scale", "z(theta)", None, told, motor.unit)]
    reading = reading_of_shaft(motor, shaft)
    turned, zero = "-theta" if motor.reversed else "theta", f"m_0 = {number(motor.zero_deg, MOST)}°"
    what = f"Reading of {motor.name}{', which grows clockwise' if motor.reversed else ''}"
    if motor.zero_deg:
        sums = Figure(motor.zero_deg) + Figure(shaft) if not motor.reversed else None
        sums = sums or Figure(motor.zero_deg) - Figure(shaft)
        formula = f"m = m_0 {'- theta' if motor.reversed else '+ theta'}"
        steps = [Step(f"{what} ({zero} straight ahead)", formula, sums, reading, "°")]
    else:
        steps = [Step(what, f"m = {turned}", None, reading, "°")]
    told = command_of_reading(motor, reading)
    if motor.unit == "counts":
        sums = Figure(reading) * Figure(motor.counts_per_turn) / Figure(360.0)
        what = f"Its controller is told (z_1 = {number(motor.counts_per_turn, MOST)} counts for a turn)"
        steps.append(Step(what, "z = m z_1 / 360", sums, told, "counts"))
    elif motor.unit == "microseconds":
        slope = Figure(reading) * Figure(motor.us_per_90_deg) / Figure(90.0)
        what = (
            f"Its controller is told (t_0 = {number(motor.neutral_us, MOST)} microseconds at the reading 0, "
            f"t_1 = {number(motor.us_per_90_deg, MOST)} for 90° more)"
        )
        sums = Figure(motor.neutral_us) + slope
        steps.append(Step(what, "t = t_0 + m t_1 / 90", sums, told, "microseconds"))
    return steps


# Motion and contact ------------------------------------------------------------------------


def _motion_steps(view: View, wheel: _Wheel) -> list[Step]:
    """The motion that results, and where it turns."""
    base_x, radius = view.robot.base.x, view.radius
    lead = "Motion that results" + (", as asked" if wheel.as_asked else ", by all wheels together")
    equal = ("u", "-w x_b", "w") if wheel.as_asked else ("", "", "")
    names = [
        f"{symbol} = {formula}" if formula else symbol
        for symbol, formula in zip(("v_xb", "v_yb", "w_b"), equal, strict=True)
    ]
    steps = [
        Step(f"{lead}: forward speed of the origin", names[0], None, wheel.v_x),
        Step("Leftward speed of the origin", names[1], None, wheel.v_y),
        Step("Yaw rate", names[2], None, wheel.omega, "per mm"),
    ]
    if wheel.omega == 0 or wheel.as_asked:
        return steps
    omega = Figure(wheel.omega)
    x, y = -wheel.v_y / wheel.omega + 0.0, wheel.v_x / wheel.omega
    ahead = Figure(-wheel.v_y + 0.0) / omega
    steps.append(Step("Turn centre, forward", "x_C = -v_yb / w_b", ahead, x, "mm"))
    what = "Turn centre, to the left: the radius that results"
    steps.append(Step(what, "y_C = v_xb / w_b", Figure(wheel.v_x) / omega, y, "mm"))
    if math.isfinite(radius):
        off = Figure(y) - Figure(radius)
        steps.append(Step("Error of the turn radius", "E = y_C - R", off, y - radius, "mm"))
        apart: Expression | None = root((Figure(x) - Figure(base_x)).squared() + Figure(y - radius).squared())
        what, formula = "Gap between the turn centres, ideal and as built", "gap = sqrt((x_C - x_b)^2 + E^2)"
        if abs(y - radius) > _TOO_LARGE_TO_SQUARE:
            what, formula, apart = f"{what} (beside E the rest does not count)", "gap = |E|", None
        steps.append(Step(what, formula, apart, math.hypot(x - base_x, y - radius), "mm"))
    return steps


def _contact_steps(wheel: _Wheel) -> list[Step]:
    """Speeds, miss, slip and drag of the contact point."""
    (v_x, v_y), roll, side = wheel.kingpin, wheel.roll, wheel.side
    omega, d, k_x, k_y = (Figure(v) for v in (wheel.omega, wheel.heading, v_x, v_y))
    forward = Figure(wheel.v_x) - omega * Figure(wheel.y)
    leftward = Figure(wheel.v_y) + omega * Figure(wheel.x)
    rolling, roll_is = k_x * cosine(d) + k_y * sine(d), "roll_b = v_xk cos(delta_b) + v_yk sin(delta_b)"
    sliding, side_is = k_y * cosine(d) - k_x * sine(d), "side_b = v_yk cos(delta_b) - v_xk sin(delta_b)"
    if wheel.across:
        rolling, roll_is = rolling - omega * Figure(wheel.across), roll_is + " - w_b e_y"
    if wheel.along:
        sliding, side_is = sliding + omega * Figure(wheel.along), side_is + " + w_b e_x"
    steps = [
        Step("Forward speed of the kingpin as built", "v_xk = v_xb - w_b y", forward, v_x),
        Step("Leftward speed of the kingpin as built", "v_yk = v_yb + w_b x", leftward, v_y),
        Step("Rolling speed as built", roll_is, rolling, roll),
        Step("Sideways speed of the contact point as built", side_is, sliding, side),
    ]
    speed = math.hypot(roll, side)
    if wheel.omega:
        reach = root(Figure(roll).squared() + Figure(side).squared()) / Figure(abs(wheel.omega))
        what, formula = (
            "Turning radius of the contact point as built",
            "r_b = sqrt(roll_b^2 + side_b^2) / |w_b|",
        )
        steps.append(Step(what, formula, reach, speed / abs(wheel.omega), "mm"))
        over = Figure(abs(side)) / Figure(abs(wheel.omega))
        miss = abs(side / wheel.omega)
        steps.append(Step("Miss of the axle line as built", "miss_b = |side_b / w_b|", over, miss, "mm"))
    if speed:
        rolled, slid = Figure(abs(roll)), Figure(abs(side))
        slip = degrees(math.atan2(abs(side), abs(roll)))
        formula = "slip_b = atan2(|side_b|, |roll_b|)"
        steps.append(Step("Slip angle as built", formula, arctangent(slid, rolled), slip, "°"))
        sums = Figure(1000.0) * slid / root(rolled.squared() + slid.squared())
        formula = "drag_b = 1000 |side_b| / sqrt(roll_b^2 + side_b^2)"
        drag = 1000 * abs(side) / speed
        steps.append(Step("Drag as built", formula, sums, drag, "mm per metre"))
    return steps


# Driving -----------------------------------------------------------------------------------


def _drive_steps(view: View, wheel: _Wheel, index: int) -> list[Step]:
    """What the drive motor makes of the wheel."""
    held = _held(view, "drive", index)
    if held is None:
        return []
    d, gearing = held
    motor, diameter = view.design.drive_motors[d], view.design.wheels[index].diameter_mm
    way = rolling_per_turn(motor, gearing, diameter)
    turns = float(view.response.drive[0, d]) * float(view.asked.sense[0])
    given, roll, side = way * turns, wheel.roll, wheel.side
    sign, backward = (-1.0, ", which runs backward") if motor.reversed else (1.0, "")
    what = f"Way of the wheel for a turn of {motor.name}{backward} (D = {number(diameter, MOST)})"
    round_wheel = Figure(sign * math.pi) * Figure(diameter) * Figure(gearing.turns)
    formula = f"c = {'-' if motor.reversed else ''}pi D n_d"
    shared = ", where its wheels together slip least" if len(motor.wheels) > 1 else ""
    steps = [
        _ratio_step(gearing, "n_d", motor.name),
        Step(what, formula, round_wheel, way, "mm"),
        Step(f"Turns of {motor.name} for a mm of the faster side{shared}", "T", None, turns, "per mm"),
        Step("Rolling speed that it gives", "roll_m = c T", Figure(way) * Figure(turns), given),
    ]
    speed = math.hypot(roll, side)
    if speed:
        short = difference(given - roll, given, roll, 1.0)
        rolled = root(Figure(roll).squared() + Figure(side).squared())
        sums = Figure(1000.0) * (Figure(given) - Figure(roll)) / rolled
        formula = "1000 (roll_m - roll_b) / sqrt(roll_b^2 + side_b^2)"
        steps.append(Step("Lengthwise slip", formula, sums, 1000 * short / speed, "mm per metre"))
    return steps


def _as_driven(view: View, wheel: _Wheel) -> list[Step]:
    """The rolling speed as the table of wheels has it, where that is another."""
    pace = view.command.speed
    if pace == 1.0:
        return []
    way = "in reverse" if pace < 0 else "the faster side"
    what = f"Rolling speed as built and driven, {way} at {number(abs(pace), MOST)}"
    return [Step(what, "p * roll_b", Figure(pace) * Figure(wheel.roll), pace * wheel.roll)]
