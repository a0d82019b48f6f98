"""Blocks of a sheet on how it is run: angles at the marks, what the controller gets, the first run."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.controller.export_error import ExportError
from app.controller.motor_outputs import STEER_SUFFIX, MotorOutputs, drive_unit, outputs_of
from app.controller.programme import Programme, programme_of
from app.design.facts import Facts
from app.sheet.blocks import Block, Heading, Paragraph, Steps, Table, sides_of
from app.sheet.marks import mark_turns, turn_words
from app.units import show_angle, show_number
from app.words.alignment_summary import verdict_sentence
from app.words.bounds import rounded_up
from geometry.model.design import Design
from geometry.progress import Progress
from geometry.turn_range.range_check import AtTurns, at_turns

_DIGITS = 3
_MOST_NAMED = 8
"""More wheels than that are not named in a step."""


@dataclass(frozen=True, eq=False)
class AtMarks:
    """What wheels and motors do at the marks."""

    shown: AtTurns
    told: MotorOutputs | None
    """None for a design without motors."""

    @property
    def turns(self) -> list[float]:
        """Turn inputs of the marks."""
        found: list[float] = self.shown.turns.tolist()
        return found

    @property
    def ahead(self) -> int:
        """The mark straight ahead."""
        return self.turns.index(0.0)

    def angle(self, row: int, wheel: int) -> str:
        """Of a steered wheel its steer angle, of another where it points."""
        solution = self.shown.response.solution
        steered = self.shown.robot.wheels.steered[wheel]
        return show_angle(float((solution.steer if steered else solution.heading)[row, wheel]), 2)


def at_marks(facts: Facts) -> AtMarks:
    """Ask the robot at every mark."""
    shown = at_turns(facts.robot, mark_turns(facts.design.largest_turn))
    return AtMarks(shown, outputs_of(facts.design, shown.response) if facts.robot.motors else None)


def mark_blocks(facts: Facts, marks: AtMarks) -> list[Block]:
    """Each wheel's angle at each mark, and what each motor is told there."""
    design, count = facts.design, len(marks.turns)
    head = ("No.", "Wheel", *(f"{show_number(turn, 4)}" for turn in marks.turns))
    rows = tuple(
        (str(n + 1), wheel.name, *(marks.angle(row, n) for row in range(count)))
        for n, wheel in enumerate(design.wheels)
    )
    named = "; ".join(turn_words(turn) for turn in marks.turns if "," in turn_words(turn))
    blocks: list[Block] = [
        Heading("Angles at the marks", "angles"),
        Paragraph(f"Turn inputs run from the right, below 0, to the left: {named}."),
        Table(head, rows, sides_of("rl" + "r" * count), "Steer angles at each turn, driving forward."),
    ]
    told = _told_rows(design, marks)
    if told:
        head = ("Motor", "in", *(show_number(turn, 4) for turn in marks.turns))
        caption = "What each motor is told at each turn, as fast as the motors can go."
        blocks.append(Table(head, told, sides_of("ll" + "r" * count), caption))
    return blocks


def _told_rows(design: Design, marks: AtMarks) -> tuple[tuple[str, ...], ...]:
    if marks.told is None:
        return ()
    told, rows = marks.told, range(len(marks.turns))
    steer = [
        (m.name, STEER_SUFFIX[m.unit], *(show_number(float(told.positions[row, k]), 2) for row in rows))
        for k, m in enumerate(design.steer_motors)
    ]
    drive = [
        (
            m.name,
            drive_unit(m).replace("_", " "),
            *(show_number(float(told.drive[row, d]), 1) for row in rows),
        )
        for d, m in enumerate(design.drive_motors)
    ]
    return (*steer, *drive)


def export_blocks(facts: Facts, fingerprint: str, progress: Progress) -> list[Block]:
    """What the code for the controller is: rows, bytes, bounds, and the numbers that it returns."""
    blocks: list[Block] = [
        Heading("Code for the controller", "code"),
        Paragraph(f"Chassis fingerprint (SHA-256): {fingerprint}"),
    ]
    try:
        programme = programme_of(facts.design, progress)
    except ExportError as error:
        text = str(error)
        return [*blocks, Paragraph(f"No code can be written as it stands: {text}.")]
    rows = [*_method_rows(programme), *_bound_rows(programme)]
    blocks += [
        Paragraph(
            "The head of the written code has its first 16 digits: then code and chassis belong together."
        ),
        Paragraph(verdict_sentence(facts)),
        Table(("What", "How much"), tuple(rows), sides_of("ll")),
        *(Paragraph(words) for words in programme.given_up),
    ]
    outputs = [(o.name, o.label, o.unit, str(o.low), str(o.high)) for o in programme.steer]
    outputs += [(o.name, o.label, o.unit, str(-o.top), str(o.top)) for o in programme.drive]
    if outputs:
        head = ("Number in the code", "Motor or wheel", "Unit", "Lowest", "Highest")
        blocks.append(
            Table(head, tuple(outputs), sides_of("lllrr"), "In the order in which they are returned.")
        )
    return blocks


def _method_rows(programme: Programme) -> list[tuple[str, str]]:
    table = programme.table
    if programme.formula is not None:
        return [("Method", "formula: arctangents on the controller")]
    if table is None:
        return [("Method", "no table: nothing depends on the turn")]
    return [
        ("Method", f"table, {'evenly' if table.spacing == 'even' else 'freely'} spaced rows"),
        ("Rows", str(len(table.nodes))),
        ("Bytes", str(programme.size)),
    ]


def _bound_rows(programme: Programme) -> list[tuple[str, str]]:
    rows = []
    if programme.steer:
        bound = rounded_up(programme.bound_deg, _DIGITS)
        rows.append(("Largest error of a steering angle at any turn", f"{bound:g}° at the wheel"))
    if programme.drive:
        bound = rounded_up(programme.bound_permille, _DIGITS)
        rows.append(("Largest error of a motor's speed", f"{bound:g} thousandths of its full speed"))
    return rows


def step_blocks(facts: Facts, marks: AtMarks | None, fingerprint: str) -> list[Block]:
    """Set-up and first run, in order."""
    blocks: list[Block] = [Heading("Set up", "set-up")]
    if marks is None:
        return [*blocks, Paragraph("There is nothing to set up before there are wheels.")]
    blocks.append(Steps(_set_up(facts, marks, fingerprint)))
    return [*blocks, Heading("First run", "first-run"), Steps(_first_run(facts, marks))]


def _set_up(facts: Facts, marks: AtMarks, fingerprint: str) -> tuple[str, ...]:
    design = facts.design
    steps = [
        "Drill and mount by the table of wheels; measure each kingpin's x and y again.",
        "Fuse the battery, and put the switch that cuts the power within reach. Leave the power off.",
        "Set every steered wheel straight ahead by hand or by its gauge.",
    ]
    for k, motor in enumerate(design.steer_motors):
        zero = _told(marks, k, marks.ahead, STEER_SUFFIX[motor.unit])
        held = ", ".join(g.wheel for g in motor.wheels)
        steps.append(
            f"{motor.name}: with {held} straight ahead it must stand at {zero}; set its horn or zero so."
        )
    steps += [
        f"Write the code anew from this chassis; its head must have the fingerprint {fingerprint[:16]}.",
        "Put the robot on a stand, all wheels off the ground.",
    ]
    return tuple(steps)


def _told(marks: AtMarks, motor: int, row: int, unit: str) -> str:
    assert marks.told is not None  # noqa: S101 - there are steer motors
    return f"{show_number(float(marks.told.positions[row, motor]), 2)} {unit}"


def _first_run(facts: Facts, marks: AtMarks) -> tuple[str, ...]:
    design, left = facts.design, marks.ahead + 1
    turn = show_number(marks.turns[left], 4)
    steps = [
        "Wheels off the ground, fingers clear of the steering, hand at the switch. Switch on at low speed."
    ]
    place = {wheel.name: n for n, wheel in enumerate(design.wheels)}
    for k, motor in enumerate(design.steer_motors):
        ends = ", ".join(f"{g.wheel} to {marks.angle(left, place[g.wheel])}" for g in motor.wheels)
        unit = STEER_SUFFIX[motor.unit]
        steps.append(
            f"{motor.name} alone, from {_told(marks, k, marks.ahead, unit)} to {_told(marks, k, left, unit)} "
            f"(turn {turn}): {ends}; above 0 is to the left. If not, change its direction."
        )
    for d, drive in enumerate(design.drive_motors):
        forward = "positive" if _forward(marks, d) >= 0 else "negative"
        held = ", ".join(g.wheel for g in drive.wheels)
        steps.append(f"{drive.name} alone, a small {forward} number: {held} must roll the robot forward.")
    steps += [_turn_step(design, marks, row) for row, asked in enumerate(marks.turns) if asked > 0]
    steps += [
        "Stop, straight ahead, power off: no wheel may still turn.",
        "On the floor, with room around it, at low speed: straight ahead first. It must not draw aside.",
        f"A gentle turn to each side (turn {turn} and -{turn}). Watch for a wheel that scrubs.",
        "The tightest turn in use, slowly. Feel for warm motors, and look for cables that wind up.",
    ]
    return tuple(steps)


def _turn_step(design: Design, marks: AtMarks, row: int) -> str:
    asked = marks.turns[row]
    steered = [n for n, wheel in enumerate(design.wheels) if wheel.kind == "steered"]
    # A word between a name and its number keeps both in their order where the name runs to the left.
    ends = "; ".join(f"{design.wheels[n].name} to {marks.angle(row, n)}" for n in steered)
    column = f"column {show_number(asked, 4)} of the angles at the marks"
    if not steered:
        ends = "no wheel may turn about its kingpin"
    elif len(steered) > _MOST_NAMED:
        ends = f"each wheel as in {column}"
    return f"Turn {turn_words(asked)}: {ends}. To the right as in column {show_number(-asked, 4)}."


def _forward(marks: AtMarks, motor: int) -> float:
    assert marks.told is not None  # noqa: S101 - there are drive motors
    number = float(marks.told.drive[marks.ahead, motor])
    return number if math.isfinite(number) else 0.0
