"""The path of a run with its commands, as comma-separated values after RFC 4180."""

from __future__ import annotations

import csv
import io

import numpy as np

from app.controller.programme import Programme
from app.controller.steering_table import slugs_of
from app.export.header import speed_names
from app.simulation.frame import Block
from app.simulation.inputs import STEP_S
from app.units import degrees


class PathCsv:
    """Rows as the run goes, one for each step; the same run gives the same text.

    A row holds what was asked for and what the code told the motors during a step, and where all is after it.
    """

    def __init__(self, programme: Programme) -> None:
        self._text = io.StringIO()
        self._writer = csv.writer(self._text, lineterminator="\r\n")
        self._writer.writerow(columns_of(programme))

    def add(self, block: Block) -> None:
        """Write the rows of a block."""
        rows, turn = len(block), degrees(1.0)
        time = STEP_S * (block.first + 1 + np.arange(rows))
        pose, twist = block.pose[1:], block.twist
        told = [f"{seconds:.3f}" for seconds in time.tolist()]
        moves = [move + 1 or "" for move in block.moves]
        numbers = np.column_stack(
            [
                pose[:, :2],
                turn * pose[:, 2],
                block.distance[1:],
                twist[:, :2],
                turn * twist[:, 2],
                turn * block.heading,
                block.roll,
                block.drag[1:],
            ]
        )
        for m, values in enumerate((numbers + 0.0).tolist()):
            asked = block.inputs[m]
            self._writer.writerow(
                [
                    told[m],
                    moves[m],
                    asked.call,
                    asked.a,
                    asked.b,
                    *block.targets[m],
                    *block.speeds[m],
                    int(block.holding[m]),
                    *(format(value, ".9g") for value in values),
                ]
            )

    @property
    def text(self) -> str:
        """All rows so far."""
        return self._text.getvalue()


def columns_of(programme: Programme) -> list[str]:
    """Names of the columns, each with its unit; the moves of a script count from 1, none is empty."""
    wheels = slugs_of([wheel.name for wheel in programme.design.wheels])
    return [
        "time_s",
        "move",
        "call",
        "input_a_permille",
        "input_b_permille",
        *(output.name for output in programme.steer),
        *(name for name, _ in speed_names(programme)),
        "holding",
        "x_mm",
        "y_mm",
        "heading_deg",
        "distance_mm",
        "vx_mm_per_s",
        "vy_mm_per_s",
        "yaw_rate_deg_per_s",
        *(f"{wheel}_heading_deg" for wheel in wheels),
        *(f"{wheel}_speed_mm_per_s" for wheel in wheels),
        *(f"{wheel}_drag_mm" for wheel in wheels),
    ]
