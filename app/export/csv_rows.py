"""The fitted rows as CSV, for a spreadsheet or a program that interpolates by itself.

CSV has no comments, so that a column says how much the chassis drags there.
"""

from __future__ import annotations

import csv
import io

import numpy as np

from app.export.aligned import largest_drags
from app.export.errors import ExportError
from app.export.programme import Programme

DRAG_COLUMN = "largest_drag_mm_per_m"


def render(programme: Programme) -> str:
    """Write one line for each row of the table: the turn input, then each output in its whole numbers.

    Values are as stored, with a fraction where rows are finer than what is returned; straight
    lines between the rows keep to the stated error. The last column is the drag of the wheel that
    drags most at that turn, as built.

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
        values = np.asarray(table.values * table.scale)
        drags = largest_drags(programme.chassis.robot, table.nodes / table.turn_one)
        for node, row, drag in zip(table.nodes.tolist(), values.tolist(), drags.tolist(), strict=True):
            writer.writerow([format(number, ".9g") for number in (node / table.turn_one, *row, drag)])
    return text.getvalue()
