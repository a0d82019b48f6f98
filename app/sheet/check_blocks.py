"""Blocks of a sheet on what is true of the robot: working, check, room to turn, collisions, weights."""

from __future__ import annotations

import math

from app.design.facts import Facts
from app.picture.view import Command, View
from app.sheet.blocks import Block, Figure, Heading, Paragraph, Table, sides_of
from app.sheet.live_plan import LivePlan
from app.sheet.marks import turn_words
from app.sheet.plots import HIGH, plot
from app.sheet.turn_rows import TurnRows
from app.units import show_angle, show_number
from app.words.check_report import event_words
from app.words.fit_words import balance_lines, collision_words, kilograms
from app.words.space_words import MEASURES, Span, lane_sentence, reading, span_of
from app.words.verdict import headline, what_to_do
from app.working.wheel_working import working
from geometry.axes import Floats
from geometry.packaging.fit import Fit, fit_of
from geometry.packaging.solids import knows_heights
from geometry.turn_range.range_check import WheelAtTurn, at_turns
from geometry.turn_range.sweep import JUMPS, turns_between
from geometry.turning_space.measures import measures_of

_RANGE_ROWS = 81
# Shown with one decimal this is 0 [mm per metre].
_NO_DRAG = 0.05


def working_blocks(facts: Facts, live: LivePlan) -> list[Block]:
    """How the angle and the speed of the wheel that turns most come about, with numbers."""
    view = View(facts, Command(turn=live.turn))
    steer = [abs(row.steer) if row.kind == "steered" else -1.0 for row in view.rows]
    index = steer.index(max(steer))
    steps = working(view, index)
    rows = tuple(
        (step.what, step.formula, step.sum or "given", _with_unit(step.shown, step.unit, step.value))
        for step in steps
    )
    return [
        Heading("Working", "working"),
        Paragraph(
            f"{view.rows[index].name} at turn {turn_words(live.turn)}. Lengths in mm, angles in degrees, "
            "left positive; speeds are shares of the faster side's. A pocket calculator gives each result."
        ),
        Table(("What", "Formula", "With the numbers", "Result"), rows, sides_of("lllr")),
    ]


def _with_unit(shown: str, unit: str, value: float) -> str:
    if not unit or not math.isfinite(value):
        return shown
    return f"{shown}{unit}" if unit == "°" else f"{shown} {unit}"


def check_blocks(facts: Facts, live: LivePlan) -> list[Block]:
    """The verdict over the range, the worst of each wheel, what happens on the way, and plots."""
    worst = tuple(_worst_cells(facts, case) for case in facts.check.worst_of_wheels)
    events = [mark for mark in facts.check.landmarks if mark.kind in {"travel end", *JUMPS}]
    blocks: list[Block] = [
        Heading("Check over the range", "check"),
        Paragraph(headline(facts, "mm")),
        *(Paragraph(line) for line in what_to_do(facts, "mm")),
        Table(
            ("No.", "Wheel", "State at its worst", "At turn", "Slip", "Miss mm", "Drag mm/m"),
            worst,
            sides_of("rllrrrr"),
            "Each wheel at its worst turn. Miss: from the turn centre to its axle line; drag: millimetres "
            "sideways for each metre travelled.",
        ),
    ]
    if events:
        told = tuple((event_words(facts, mark),) for mark in events)
        blocks.append(Table(("On the way",), told, ("left",)))
    rows, every = live.rows, range(len(facts.robot))
    steered = [n for n in every if facts.robot.wheels.steered[n]]
    if steered:
        blocks.append(_figure("Steer angle", "degrees", rows, rows.heading - live.built_in, steered))
    if float(rows.drag.max()) < _NO_DRAG:
        return [*blocks, Paragraph("No wheel drags at any turn, so that there is no plot of it.")]
    return [*blocks, _figure("Drag", "mm per metre", rows, rows.drag, list(every))]


def _figure(name: str, unit: str, rows: TurnRows, values: Floats, wheels: list[int]) -> Figure:
    drawing = plot(name, unit, rows, values, wheels)
    notes = "".join(f" {note}." for note in drawing.notes)
    return Figure(drawing, f"{name} over the turn. Numbers at the left are those of the wheels.{notes}", HIGH)


def _worst_cells(facts: Facts, case: WheelAtTurn) -> tuple[str, ...]:
    silent = case.state in {"pivots", "swings round"}
    return (
        str(case.wheel + 1),
        facts.design.wheels[case.wheel].name,
        case.state,
        show_number(case.turn, 4),
        "-" if silent else show_angle(abs(case.slip), 2),
        show_number(case.miss, 1),
        "-" if silent else show_number(case.drag, 1),
    )


def space_blocks(facts: Facts) -> list[Block]:
    """The room that it takes to turn, at the end of the range, and least and most over it."""
    reach = facts.design.largest_turn
    turns = turns_between(-reach, reach, _RANGE_ROWS)
    over = measures_of(facts.robot, facts.design, turns)
    blocks: list[Block] = [Heading("Room to turn", "room"), Paragraph(lane_sentence(over, "mm"))]
    if over.box is None:
        return blocks
    rows = []
    for measure in MEASURES:
        span = span_of(measure.values(over), over.turns)
        ends = [reading(measure, over, row, "mm", suffix=False) for row in (len(turns) - 1, 0)]
        told = ["-"] * 4 if span is None else _span_cells(span)
        rows.append((measure.name, *ends, *told))
    head = ("Measure mm", f"Turn {reach:g}", f"Turn {-reach:g}", "Least", "at turn", "Most", "at turn")
    caption = (
        f"Circles are diameters. Least and most over {_RANGE_ROWS} even turns; a gentle turn needs most."
    )
    return [*blocks, Table(head, tuple(rows), sides_of("lrrrrrr"), caption)]


def _span_cells(span: Span) -> list[str]:
    sides = ((span.least, span.least_at), (span.most, span.most_at))
    return [cell for length, turn in sides for cell in (show_number(length, 1), show_number(turn, 3))]


def fit_of_sheet(facts: Facts) -> Fit:
    """What collides and how it stands, straight ahead and over all travel."""
    heading = at_turns(facts.robot, [0.0]).response.solution.heading[0]
    return fit_of(facts.robot, facts.design, heading)


def fit_blocks(facts: Facts, fit: Fit) -> list[Block]:
    """What collides, straight ahead and wherever a wheel can steer."""
    design = facts.design
    blocks: list[Block] = [Heading("Collisions", "collisions")]
    if fit.fits:
        blocks.append(Paragraph("Nothing collides, straight ahead or anywhere in the travel of the wheels."))
    else:
        told = tuple((f"{collision_words(design, one)}.",) for one in fit.collisions)
        count = "1 collision" if len(told) == 1 else f"{len(told)} collisions, the deepest first"
        blocks.append(Table((f"Does not fit: {count}",), told, ("left",)))
    if design.body_mm and not knows_heights(design):
        blocks.append(
            Paragraph("No parts and no heights of the body are given, so the body was not looked at.")
        )
    return blocks


def weight_blocks(facts: Facts, fit: Fit) -> list[Block]:
    """How heavy it is, what each wheel carries, and when it tips."""
    lines = balance_lines(facts.design, fit.balance)
    # The indented lines are those of the wheels, which stand in the table; the line before is its caption.
    caption = next((line.rstrip(":") for line in lines if line.endswith(":")), "")
    told = [line for line in lines if not line.startswith(" ") and not line.endswith(":")]
    blocks: list[Block] = [Heading("Weights", "weights"), *(Paragraph(line) for line in told)]
    balance = fit.balance
    if balance is None or balance.loads is None:
        return blocks
    rows = tuple(
        (
            str(n + 1),
            wheel.name,
            show_number(float(balance.loads[n]), 2),
            kilograms(float(balance.loads[n])),
            "lifted" if n in balance.lifted else "-",
        )
        for n, wheel in enumerate(facts.design.wheels)
    )
    return [
        *blocks,
        Table(("No.", "Wheel", "Load N", "as kg", "Remark"), rows, sides_of("rlrrl"), f"{caption}."),
    ]
