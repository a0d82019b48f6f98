"""The chassis as a URDF, for simulators: links with masses and shapes, joints that steer and roll.

One link for all that stands still, one for each kingpin, one for each wheel. Wheels that share a motor
follow its first wheel as mimic joints. What the design does not say is a default, and a comment names it.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence

from app.controller.export_error import NO_WHEELS, ExportError
from app.controller.fingerprint import fingerprint_of
from app.controller.steering_table import slugs_of
from app.export.header import shown
from app.export.urdf_shapes import add_base_shapes, add_inertial, add_part_shapes, add_wheel_shapes
from app.export.xml_text import comment, metres, number
from app.units import radians
from geometry.kinematics.robot import Robot, robot_of
from geometry.model.design import Design
from geometry.packaging.boxes import boxes_within
from geometry.packaging.masses import (
    BODY_DENSITY,
    CARRIER_SHARE,
    PART_DENSITY,
    WHEEL_DENSITY,
    Bodies,
    Weighed,
    bodies_of,
    weighed,
)
from geometry.packaging.solids import knows_heights
from geometry.packaging.weights import GRAVITY

BASE = "base_link"
_FRAME = (
    "Metres, kilograms, radians. x forward, y to the left, z up; the origin is that of the chassis, on the "
    "floor. All joints at 0: every wheel straight ahead, toe built in. A positive steer angle turns a wheel "
    "to the left, a positive roll rolls it forward."
)
_WELDED = (
    f'MuJoCo welds {BASE} to the world and drops its mass without a word: set fusestatic="false" in its '
    "compiler, and give the link a free joint."
)


def render(design: Design, robot: Robot | None = None) -> str:
    """Write the whole file.

    Parameters
    ----------
    design : Design
        With at least one wheel.
    robot : Robot, optional
        Numbers to use in place of the design's own, for transmissions that no file holds.

    Raises
    ------
    ExportError
        If there are no wheels.
    """
    if not design.wheels:
        raise ExportError(NO_WHEELS)
    writer = _Writer(design, robot or robot_of(design))
    ET.indent(writer.root)
    text = ET.tostring(writer.root, encoding="unicode")
    return f'<?xml version="1.0" encoding="utf-8"?>\n{text}\n'


def notes_of(design: Design) -> tuple[str, ...]:
    """What the person should know of the file: which masses are defaults."""
    names = _without_mass(weighed(design), plain=True)
    if not names:
        return ()
    some = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    return (f"no mass is given of {some}; the URDF has default masses there, by volume, and says so",)


class _Writer:
    """The file as it grows: links and joints in the order of the wheels."""

    def __init__(self, design: Design, robot: Robot) -> None:
        self.robot = robot
        # With default masses something would always be said of what must fit.
        self.solid = knows_heights(design)
        self.weighed: Weighed = weighed(design)
        self.design = self.weighed.design
        self.bodies: Bodies = bodies_of(robot, self.weighed)
        self.slugs = slugs_of([wheel.name for wheel in design.wheels])
        self.mass = sum(
            lump.mass for lump in (self.bodies.base, *self.bodies.carriers, *self.bodies.wheels) if lump
        )
        self.steer_speed = [radians(design.controller.wheel_speed_deg_s)] * len(robot)
        self.roll_speed: list[float | None] = [None] * len(robot)
        self.leader: dict[str, tuple[str, float]] = {}
        self.motor_lines = [*self._steer_motors(), *self._drive_motors()]
        name = slugs_of([f"chassis {design.name}"], word="chassis")[0]
        self.root = ET.Element("robot", {"name": name})
        for line in self._head():
            self.root.append(comment(line))
        self._base()
        for n in range(len(robot)):
            self._wheel(n)

    def _steer_motors(self) -> Iterable[str]:
        """Set speeds and mimics; a line for each motor."""
        for motor, group in zip(self.design.steer_motors, self.robot.motors.steer, strict=True):
            held = [int(n) for n in group.wheels]
            first = f"{self.slugs[held[0]]}_steer"
            for n, steep in zip(held, group.law.steepest.tolist(), strict=True):
                self.steer_speed[n] = radians(motor.top_speed_deg_s) * steep
            yield f"Steer motor {shown(motor.name)}: its first wheel's joint is {first}."
            if group.law.ratio is None:
                yield (
                    f"The wheels of {shown(motor.name)} do not follow it in a fixed ratio, which no mimic "
                    "joint can say: each of them has a joint of its own here."
                )
                continue
            ratio = group.law.ratio.tolist()
            for n, own in zip(held[1:], ratio[1:], strict=True):
                self.leader[f"{self.slugs[n]}_steer"] = (first, own / ratio[0])

    def _drive_motors(self) -> Iterable[str]:
        for motor, group in zip(self.design.drive_motors, self.robot.motors.drive, strict=True):
            first = f"{self.slugs[group.wheels[0]]}_roll"
            for n, gearing in zip(group.wheels, motor.wheels, strict=True):
                self.roll_speed[n] = math.tau * group.usable * abs(gearing.turns)
                if n != group.wheels[0]:
                    share = gearing.turns / motor.wheels[0].turns
                    self.leader[f"{self.slugs[n]}_roll"] = (first, share)
            yield f"Drive motor {shown(motor.name)}: its first wheel's joint is {first}."

    def _head(self) -> list[str]:
        design = self.design
        lines = [
            f"The chassis {shown(design.name)}, written by Axlewright.",
            f"Chassis fingerprint (SHA-256): {fingerprint_of(design)[:16]}",
            _FRAME,
            _WELDED,
        ]
        lines += self._mass_lines()
        lines += self._shape_lines()
        lines.append(
            "The effort of every joint is a default: the weight of the whole chassis times the radius of the "
            "wheel. The speed of a steering joint is its motor's, without one "
            f"{number(design.controller.wheel_speed_deg_s)} degrees a second. That of a rolling joint is "
            "what its motor keeps under load; without a motor none is stated."
        )
        return [*lines, *self.motor_lines]

    def _mass_lines(self) -> list[str]:
        lines = []
        names = _without_mass(self.weighed, plain=False)
        if names:
            lines.append(
                f"DEFAULT MASSES, since none are given: {', '.join(names)}. By volume: "
                f"{BODY_DENSITY:g} kg/m3 for the body with the air in it, {WHEEL_DENSITY:g} for wheels, "
                f"{PART_DENSITY:g} for parts."
            )
        lines.append(
            "Inertias are those of shapes filled evenly: wheels and parts as cylinders and boxes, the body "
            "as " + ("its outline from floor to roof." if self.design.body_mm else "a box over the kingpins.")
        )
        if self.bodies.shared:
            lines.append(
                f"A link that steers or swivels and bears no part of its own, or a light one, carries "
                f"{CARRIER_SHARE:.0%} of its wheel's mass and inertia: together they are the wheel."
            )
        return lines

    def _shape_lines(self) -> list[str]:
        if not self.design.body_mm:
            return ["No outline of a body is given, so no shape of it is here."]
        boxes = boxes_within(self.design.body_mm)
        if boxes.around:
            lines = ["The body is shown as ONE BOX AROUND its outline, which would take too many boxes."]
        else:
            short = number(round(boxes.short, 1))
            what = "The body is solid boxes within its outline, from floor to roof, without openings"
            lines = [f"{what}; the outline reaches up to {short} mm beyond them."]
        if not self.solid:
            return [
                *lines,
                "Its heights are defaults, so that it touches nothing: it has no collision shapes.",
            ]
        return [*lines, "What a wheel would overlap somewhere in its travel has no collision shape."]

    def _base(self) -> None:
        link = ET.SubElement(self.root, "link", {"name": BASE})
        add_inertial(link, self.bodies.base, (0.0, 0.0, 0.0))
        add_base_shapes(link, self.robot, self.design, solid=self.solid)

    def _wheel(self, n: int) -> None:
        """The links of one wheel with their joints, from the base on."""
        wheels, wheel, slug = self.robot.wheels, self.design.wheels[n], self.slugs[n]
        toe, height = float(wheels.built_in[n]), 0.5 * wheel.diameter_mm
        along, across = float(wheels.along[n]), float(wheels.across[n])
        ex = along * math.cos(toe) - across * math.sin(toe)
        ey = along * math.sin(toe) + across * math.cos(toe)
        self.root.append(comment(f"Wheel {shown(wheel.name)}, {wheel.kind}"))
        parent, place = BASE, (wheel.x_mm + ex, wheel.y_mm + ey, height)
        carrier = self.bodies.carriers[n]
        if carrier is not None:
            pin = (wheel.x_mm, wheel.y_mm, height)
            parent = f"{slug}_swivel" if wheel.kind == "caster" else f"{slug}_steering"
            link = ET.SubElement(self.root, "link", {"name": parent})
            add_inertial(link, carrier, pin)
            for part in self.design.packaging.parts:
                if part.mounted_on == wheel.name:
                    add_part_shapes(link, part, pin, collides=True)
            self._kingpin_joint(n, parent, pin)
            place = (ex, ey, 0.0)
        link = ET.SubElement(self.root, "link", {"name": f"{slug}_wheel"})
        add_inertial(link, self.bodies.wheels[n], (0.0, 0.0, 0.0))
        add_wheel_shapes(link, wheel)
        joint = self._joint(f"{slug}_roll", "continuous", parent, f"{slug}_wheel", place, toe)
        ET.SubElement(joint, "axis", {"xyz": "0 1 0"})
        speed = self.roll_speed[n]
        if speed is not None:
            ET.SubElement(joint, "limit", {"effort": self._effort(n), "velocity": number(speed)})
        self._mimic(joint)

    def _kingpin_joint(self, n: int, child: str, pin: tuple[float, float, float]) -> None:
        travel, slug = self.robot.motor_travel, self.slugs[n]
        low, high = float(travel.low[n]), float(travel.high[n])
        name = f"{slug}_steer"
        if self.design.wheels[n].kind == "caster":
            joint = self._joint(f"{slug}_swivel", "continuous", BASE, child, pin)
            ET.SubElement(joint, "axis", {"xyz": "0 0 1"})
            return
        if low >= high:
            self.root.append(comment(f"Travel and motor leave {name} no angle but 0."))
            self._joint(name, "fixed", BASE, child, pin)
            return
        joint = self._joint(name, "revolute", BASE, child, pin)
        ET.SubElement(joint, "axis", {"xyz": "0 0 1"})
        limit = {
            "lower": number(low),
            "upper": number(high),
            "effort": self._effort(n),
            "velocity": number(self.steer_speed[n]),
        }
        ET.SubElement(joint, "limit", limit)
        self._mimic(joint)

    def _joint(
        self, name: str, kind: str, parent: str, child: str, place: Sequence[float], yaw: float = 0.0
    ) -> ET.Element:
        joint = ET.SubElement(self.root, "joint", {"name": name, "type": kind})
        ET.SubElement(joint, "parent", {"link": parent})
        ET.SubElement(joint, "child", {"link": child})
        ET.SubElement(joint, "origin", {"xyz": metres(place), "rpy": f"0 0 {number(yaw)}"})
        return joint

    def _mimic(self, joint: ET.Element) -> None:
        followed = self.leader.get(joint.attrib["name"])
        if followed is not None:
            first, share = followed
            ET.SubElement(joint, "mimic", {"joint": first, "multiplier": number(share), "offset": "0"})

    def _effort(self, n: int) -> str:
        return number(round(self.mass * GRAVITY * 0.0005 * self.design.wheels[n].diameter_mm, 6))


def _without_mass(found: Weighed, *, plain: bool) -> list[str]:
    """What has a default mass, in words."""
    design = found.design
    names = ["the body"] if found.body else []
    if len(found.wheels) == len(design.wheels) and plain:
        names.append("the wheels")
    else:
        names += [f"wheel {shown(design.wheels[n].name)}" for n in found.wheels]
    return names + [f"part {shown(design.packaging.parts[p].name)}" for p in found.parts]
