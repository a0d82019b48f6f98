"""The fitted rows as CSV, for a spreadsheet or a program that interpolates by itself.

CSV has no comments, so that a column says how much the chassis drags there.
"""

from __future__ import annotations

import csv
import io

import numpy as np

from app.controller.export_error import ExportError
from app.controller.programme import Programme
from app.words.alignment_summary import largest_drags
from geometry.axes import Floats
from geometry.lookup_table.fixed_point import Counts, LookupTable

DRAG_COLUMN = "largest_drag_mm_per_m"


def render(programme: Programme) -> str:
    """Write one line for each row of the table: the turn input, then each output in its whole numbers.

    Values are as stored, with a fraction where rows are finer than what is returned; straight
    lines between the rows keep to the stated error. Turns rise from line to line: where an even
    row stands past the end of its segment, the line to it is written up to that end alone. The last
    column is the drag of the wheel that drags most at that turn, as built.

    Raises
    ------
    ExportError
        By formula, which has no rows.
    """
    if programme.formula is not None:
        raise ExportError("a formula has no rows to write as CSV; choose the method table, or another format")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(["turn_input", *(output.name for output in programme.chassis.outputs), DRAG_COLUMN])
    table = programme.table
    if table is not None:
        steps, values = _within_segments(table)
        turns = steps / table.turn_one
        drags = largest_drags(programme.chassis.robot, turns)
        for row in np.column_stack([turns, values, drags]).tolist():
            writer.writerow([format(number, ".9g") for number in row])
    return text.getvalue()


def _within_segments(table: LookupTable) -> tuple[Counts, Floats]:
    """Turn steps (N,) and values (N, C) of the rows [units of the outputs], none past its segment's end."""
    steps, values = table.nodes.copy(), np.asarray(table.values * table.scale)
    for segment in table.segments:
        row = segment.row + segment.rows - 1
        past = int(steps[row]) - segment.last
        if past > 0:
            steps[row] = segment.last
            values[row] += (values[row - 1] - values[row]) * (past / segment.step)
    return steps, values
