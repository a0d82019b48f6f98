"""The build sheet of a design, block by block."""

from __future__ import annotations

from app.controller.fingerprint import fingerprint_of
from app.design.facts import Facts
from app.sheet.blocks import MOST_HIGH, MOST_WIDE, Block, Paragraph, Sheet
from app.sheet.check_blocks import (
    check_blocks,
    fit_blocks,
    fit_of_sheet,
    space_blocks,
    weight_blocks,
    working_blocks,
)
from app.sheet.live_plan import live_plan
from app.sheet.robot_blocks import caution_blocks, motor_blocks, part_blocks, picture_blocks, wheel_blocks
from app.sheet.run_blocks import at_marks, export_blocks, mark_blocks, step_blocks
from geometry.progress import Progress, part_of, tell, unwatched


def sheet_of(facts: Facts, progress: Progress = unwatched) -> Sheet:
    """Gather all that a builder needs.

    Parameters
    ----------
    facts : Facts
        Of the chassis, which may be empty.
    progress : callable
        Told the share that is done.

    Returns
    -------
    Sheet
        Cautions first, set-up and first run last.

    Raises
    ------
    Cancelled
        If `progress` returned False.
    """
    design = facts.design
    fingerprint = fingerprint_of(design)
    fit = fit_of_sheet(facts)
    live = live_plan(facts, MOST_WIDE, MOST_HIGH) if design.wheels else None
    tell(progress, 0.2)
    marks = at_marks(facts) if design.wheels else None
    blocks: list[Block] = [
        *caution_blocks(),
        *picture_blocks(facts, live),
        *([Paragraph(design.notes)] if design.notes.strip() else []),
        *wheel_blocks(design),
        *motor_blocks(design),
        *part_blocks(design, fit),
    ]
    if live is not None and marks is not None:
        blocks += [
            *mark_blocks(facts, marks),
            *working_blocks(facts, live),
            *check_blocks(facts, live),
        ]
    blocks += [*space_blocks(facts), *fit_blocks(facts, fit), *weight_blocks(facts, fit)]
    tell(progress, 0.4)
    if live is not None:
        blocks += export_blocks(facts, fingerprint, part_of(progress, 0.4, 1.0))
    blocks += step_blocks(facts, marks, fingerprint)
    tell(progress, 1.0)
    return Sheet(design, design.name, fingerprint, tuple(blocks))
