"""Blocks of a sheet on what the robot is made of: cautions, picture, wheels, motors, parts."""

from __future__ import annotations

from app.controller.motor_outputs import drive_unit
from app.design.facts import Facts
from app.drawing.elements import Drawing, box_of
from app.drawing.lettering import text_width
from app.sheet.blocks import MOST_HIGH, MOST_WIDE, Block, Caution, Figure, Heading, Paragraph, Table, sides_of
from app.sheet.live_plan import LivePlan, ground_of
from app.sheet.marks import turn_words
from app.units import show_number
from app.words.motor_words import held_words, ratio_words
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor, reading_of_shaft
from geometry.model.packaging import Part
from geometry.model.wheel import Wheel
from geometry.packaging.fit import Fit

CAUTIONS = (
    "Make the first run with the wheels off the ground, at low speed, with somebody at the switch.",
    "Keep fingers, sleeves and cables clear of the steering: a wheel may swing by half a turn.",
    "Fuse the battery, and have a switch within reach that cuts the power.",
    "Nothing here is for road vehicles, or for carrying people.",
    "Local codes and the practice of licensed engineers come before anything that stands here.",
)


def caution_blocks() -> list[Block]:
    """What must be read first."""
    return [Heading("Take care", "care"), Caution(CAUTIONS)]


def picture_blocks(facts: Facts, live: LivePlan | None) -> list[Block]:
    """The plan, with what can move where there are wheels."""
    blocks: list[Block] = [Heading("Picture", "picture")]
    if live is not None:
        told = "" if len(live.numbers) == len(live.kingpins) else " Where wheels crowd, numbers are left out."
        caption = (
            f"From above, forward is up, at turn {turn_words(live.turn)}. Numbers are those of the table of "
            f"wheels; each dashed line is an axle line, and the mark is the turn centre.{told}"
        )
        return [*blocks, Figure(live.at(live.turn), caption, live.high, live)]
    drawing = Drawing(facts.design.name, tuple(ground_of(facts.design, 1.0)))
    if not drawing.elements:
        return [*blocks, Paragraph("Nothing is laid out yet: no wheels, no body and no parts.")]
    return [*blocks, _bare_figure(drawing)]


def _bare_figure(drawing: Drawing) -> Figure:
    left, low, right, high = box_of(drawing.elements, text_width)
    scale = min(0.96 * MOST_WIDE / max(right - left, 1.0), 0.96 * MOST_HIGH / max(high - low, 1.0))
    margin = 0.02 * MOST_HIGH
    beside = 0.5 * MOST_WIDE - 0.5 * scale * (left + right)
    moved = drawing.moved(beside, margin - scale * low, scale)
    tall = scale * (high - low) + 2.0 * margin
    return Figure(moved, "From above, forward is up. There are no wheels yet.", tall)


def wheel_blocks(design: Design) -> list[Block]:
    """Every wheel with its place and sizes, and what they share."""
    if not design.wheels:
        return [Heading("Wheels", "wheels"), Paragraph("There are no wheels yet.")]
    head = ("No.", "Wheel", "Kind", "x mm", "y mm", "Ø mm", "Width mm", "Travel", "Driven", "Special")
    rows = tuple(_wheel_cells(n, wheel) for n, wheel in enumerate(design.wheels, 1))
    return [
        Heading("Wheels", "wheels"),
        Paragraph(
            "Places are those of the kingpins: x forward of the origin, y to the left of it. Angles count "
            "from straight ahead, to the left positive, seen from above."
        ),
        Table(head, rows, sides_of("rllrrrrlll")),
    ]


def _wheel_cells(number: int, wheel: Wheel) -> tuple[str, ...]:
    low, high = show_number(wheel.travel_min_deg, 2), show_number(wheel.travel_max_deg, 2)
    special = [
        f"{words} {show_number(value, 2)} {unit}"
        for words, value, unit in (
            ("trail", wheel.trail_mm, "mm"),
            ("lateral offset", wheel.lateral_offset_mm, "mm"),
            ("toe-in", wheel.toe_deg, "°"),
        )
        if value
    ]
    return (
        str(number),
        wheel.name,
        wheel.kind,
        show_number(wheel.x_mm, 2),
        show_number(wheel.y_mm, 2),
        show_number(wheel.diameter_mm, 2),
        show_number(wheel.width_mm, 2),
        f"{low}° to {high}°" if wheel.kind == "steered" else "-",
        "yes" if wheel.driven else "no",
        ", ".join(special) or "-",
    )


def motor_blocks(design: Design) -> list[Block]:
    """Which motor holds which wheel through which gears, and how each motor counts."""
    blocks: list[Block] = [Heading("Motors and gears", "motors")]
    motors: list[SteerMotor | DriveMotor] = [*design.steer_motors, *design.drive_motors]
    if not motors:
        return [*blocks, Paragraph("No motors are given: each wheel runs as if it had its own.")]
    gears = tuple(
        (motor.name, g.wheel, gear_words(g), show_number(g.turns, 6))
        for motor in motors
        for g in motor.wheels
    )
    return [
        *blocks,
        Table(
            ("Motor", "Wheel", "Gears", "Turns of the wheel"),
            gears,
            sides_of("lllr"),
            "Gears from the motor on; turns for one turn of the motor, below 0 in the other sense.",
        ),
        Table(
            ("Motor", "Does", "Wheels", "Direction", "Told in", "Straight ahead, limits"),
            tuple(_steer_cells(m) for m in design.steer_motors)
            + tuple(_drive_cells(m) for m in design.drive_motors),
            sides_of("llllll"),
            "Pins come with the wiring. Counter-clockwise is as seen from above.",
        ),
    ]


def gear_words(gearing: Gearing) -> str:
    """Teeth of a train gear by gear, else the ratio as typed.

    Examples
    --------
    >>> gear_words(Gearing(wheel="left", train=((12, 20, 36), (10, -40))))
    '12 teeth, 20 teeth, 36 teeth; on its shaft 10 teeth, ring of 40 teeth'
    >>> gear_words(Gearing(wheel="left", ratio=-0.5))
    'ratio −0.5'
    """
    if not gearing.train:
        return f"ratio {ratio_words(gearing)}"
    chains = [
        ", ".join(f"{teeth} teeth" if teeth > 0 else f"ring of {-teeth} teeth" for teeth in chain)
        for chain in gearing.train
    ]
    return "; on its shaft ".join(chains)


def _steer_cells(motor: SteerMotor) -> tuple[str, ...]:
    told = {
        "degrees": "degrees",
        "counts": f"counts, {show_number(motor.counts_per_turn, 2)} a turn",
        "microseconds": f"µs of pulse: {show_number(motor.neutral_us, 1)} at reading 0, "
        f"{show_number(motor.us_per_90_deg, 1)} for 90°",
    }[motor.unit]
    low, high = show_number(motor.travel_min_deg, 2), show_number(motor.travel_max_deg, 2)
    return (
        motor.name,
        "steers",
        held_words(motor.wheels),
        f"reading grows {'clockwise' if motor.reversed else 'counter-clockwise'}",
        told,
        f"reading {show_number(reading_of_shaft(motor, 0.0), 2)}°, from {low}° to {high}°",
    )


def _drive_cells(motor: DriveMotor) -> tuple[str, ...]:
    per_turn = "" if motor.units_per_turn is None else f", {show_number(motor.units_per_turn, 3)} a turn"
    return (
        motor.name,
        "drives",
        held_words(motor.wheels),
        f"a positive number turns its shaft {'backward' if motor.reversed else 'forward'}",
        f"{drive_unit(motor).replace('_per_', ' per ').replace('_', ' ')}{per_turn}",
        f"usable {show_number(motor.usable_rpm, 1)} rpm, {show_number(motor.no_load_rpm, 1)} without load",
    )


def part_blocks(design: Design, fit: Fit) -> list[Block]:
    """What must be at hand, with sizes, places and masses."""
    parts, body = design.packaging.parts, design.packaging.body_mass_kg
    rows = [_part_cells(part) for part in parts]
    for wheel in design.wheels:
        size = f"Ø {show_number(wheel.diameter_mm, 2)} × {show_number(wheel.width_mm, 2)}"
        rows.append((wheel.name, "wheel", size, "see wheels", _mass(wheel.mass_kg)))
    if design.body_mm or body:
        rows.append(("Body", "body", _body_size(design), "-", _mass(body)))
    if not rows:
        return [Heading("Parts", "parts"), Paragraph("There are no parts.")]
    rows.append(("All together", "", "", "", _mass(fit.balance.mass if fit.balance else 0.0)))
    head = ("Part", "Kind", "Size mm", "Middle x, y; lower edge mm", "Mass kg")
    caption = (
        "Sizes are length × width × height; the lower edge is above the ground. A dash: no mass is given."
    )
    return [Heading("Parts", "parts"), Table(head, tuple(rows), sides_of("llllr"), caption)]


def _mass(kilograms: float) -> str:
    return show_number(kilograms, 3) if kilograms else "-"


def _part_cells(part: Part) -> tuple[str, str, str, str, str]:
    shown = {key: show_number(getattr(part, key) or 0.0, 2) for key in _SIZES}
    size = {
        "box": f"{shown['length_mm']} × {shown['width_mm']} × {shown['height_mm']}",
        "upright cylinder": f"Ø {shown['diameter_mm']}, {shown['height_mm']} high",
        "lying cylinder": f"Ø {shown['diameter_mm']}, {shown['length_mm']} long",
    }[part.shape]
    place = f"{show_number(part.x_mm, 2)}, {show_number(part.y_mm, 2)}; {show_number(part.bottom_mm, 2)}"
    turned = f", turned {show_number(part.turn_deg, 2)}°" if part.turn_deg else ""
    tied = f" {part.motor}" if part.motor else ""
    on = f", turns with {part.mounted_on}" if part.mounted_on else ""
    return part.name, f"{part.kind}{tied}", size, f"{place}{turned}{on}", _mass(part.mass_kg)


_SIZES = ("length_mm", "width_mm", "height_mm", "diameter_mm")


def _body_size(design: Design) -> str:
    if not design.body_mm:
        return "-"
    xs, ys = zip(*design.body_mm, strict=True)
    return f"{show_number(max(xs) - min(xs), 2)} × {show_number(max(ys) - min(ys), 2)}"
