"""What a link of a URDF weighs and looks like: inertial, visual and collision elements."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Sequence

from app.export.header import shown
from app.export.xml_text import comment, metres, number
from geometry.kinematics.robot import Robot
from geometry.model.design import Design
from geometry.model.packaging import Part
from geometry.model.part_outline import way_of
from geometry.model.wheel import Wheel
from geometry.packaging.boxes import boxes_within, clear_of_wheels, rectangles_of
from geometry.packaging.inertia import Lump
from geometry.packaging.solids import size_of
from geometry.shapes.rectangles import rectangles

Place = Sequence[float]
# A product of inertia below this share of the largest moment is rounding.
_NOISE = 1e-14


def add_inertial(link: ET.Element, lump: Lump, origin: Place) -> None:
    """Mass, centre and inertia of a link whose frame has the axes of the lump's, at `origin` in it [mm]."""
    inertial = ET.SubElement(link, "inertial")
    centre = [float(a) - b for a, b in zip(lump.centre, origin, strict=True)]
    ET.SubElement(inertial, "origin", {"xyz": metres(centre), "rpy": "0 0 0"})
    ET.SubElement(inertial, "mass", {"value": number(lump.mass)})
    least = _NOISE * float(lump.inertia.max())
    entries = {}
    for i, a in enumerate("xyz"):
        for j, b in enumerate("xyz"):
            if i <= j:
                value = float(lump.inertia[i, j])
                entries[f"i{a}{b}"] = number(1e-6 * value if abs(value) > least else 0.0)
    ET.SubElement(inertial, "inertia", entries)


def add_base_shapes(link: ET.Element, robot: Robot, design: Design, *, solid: bool) -> None:
    """Body and parts that stand still; what a wheel would overlap is only seen, like a body not solid."""
    packaging = design.packaging
    floor, roof = packaging.floor_mm, packaging.roof_mm
    if design.body_mm:
        link.append(comment("Body"))
        spans = boxes_within(design.body_mm).spans
        clear = clear_of_wheels(
            robot, design, rectangles_of(spans), [floor] * len(spans), [roof] * len(spans)
        )
        for (rear, right, front, left), free in zip(spans.tolist(), clear.tolist(), strict=True):
            box = metres((front - rear, left - right, roof - floor))
            middle = (0.5 * (rear + front), 0.5 * (right + left), 0.5 * (floor + roof))
            shape = ("box", {"size": box})
            _add_shape(link, shape, middle, (0.0, 0.0), collides=free and solid)
    for part in packaging.parts:
        fixed = part.mounted_on is None or robot.wheels.fixed[design.index_of(part.mounted_on)]
        if fixed:
            add_part_shapes(link, part, (0.0, 0.0, 0.0), collides=_is_clear(robot, design, part))


def add_part_shapes(link: ET.Element, part: Part, origin: Place, *, collides: bool) -> None:
    """A part in a link whose frame stands at `origin` [mm]."""
    link.append(comment(f"Part {shown(part.name)}"))
    length, width, height = size_of(part)
    middle = [
        a - b for a, b in zip((part.x_mm, part.y_mm, part.bottom_mm + 0.5 * height), origin, strict=True)
    ]
    tilt, turn = 0.0, _turn(part)
    match part.shape:
        case "upright cylinder":
            shape, turn = _cylinder(width, height), 0.0
        case "lying cylinder":
            # A cylinder of a URDF lies along its own z.
            shape, tilt = _cylinder(width, length), 0.5 * math.pi
        case _:
            shape = ("box", {"size": metres((length, width, height))})
    _add_shape(link, shape, middle, (tilt, turn), collides=collides)


def add_wheel_shapes(link: ET.Element, wheel: Wheel) -> None:
    """A cylinder about the link's y axis."""
    for kind in ("visual", "collision"):
        element = ET.SubElement(link, kind)
        ET.SubElement(element, "origin", {"xyz": "0 0 0", "rpy": f"{number(0.5 * math.pi)} 0 0"})
        _add_geometry(element, _cylinder(wheel.diameter_mm, wheel.width_mm))


_Shape = tuple[str, dict[str, str]]


def _cylinder(diameter: float, length: float) -> _Shape:
    return "cylinder", {"radius": metres((0.5 * diameter,)), "length": metres((length,))}


def _add_geometry(element: ET.Element, shape: _Shape) -> None:
    ET.SubElement(ET.SubElement(element, "geometry"), shape[0], shape[1])


def _add_shape(
    link: ET.Element, shape: _Shape, middle: Place, tilt_and_turn: tuple[float, float], *, collides: bool
) -> None:
    tilt, turn = (number(angle) for angle in tilt_and_turn)
    for kind in ("visual", "collision") if collides else ("visual",):
        element = ET.SubElement(link, kind)
        ET.SubElement(element, "origin", {"xyz": metres(middle), "rpy": f"0 {tilt} {turn}"})
        _add_geometry(element, shape)


def _turn(part: Part) -> float:
    cos, sin = way_of(part)
    return math.atan2(sin, cos)


def _is_clear(robot: Robot, design: Design, part: Part) -> bool:
    length, width, height = size_of(part)
    box = rectangles([part.x_mm], [part.y_mm], [0.5 * length], [0.5 * width], [_turn(part)])
    low = part.bottom_mm
    return bool(clear_of_wheels(robot, design, box, [low], [low + height])[0])
