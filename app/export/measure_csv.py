"""Curves of the room to turn over a range of turns, as comma-separated values after RFC 4180."""

from __future__ import annotations

import csv
import io

from app.controller.steering_table import slugs_of
from app.words.space_words import MEASURES
from geometry.model.design import Design
from geometry.turning_space.measures import Measures


def render(design: Design, found: Measures) -> str:
    """Write one line for each turn: the turn input, every measure in mm, the off-tracking of each wheel.

    A measure that there is not, such as any circle straight ahead, is ``inf``. At most
    six decimals.
    """
    slugs = slugs_of([wheel.name for wheel in design.wheels], [measure.key for measure in MEASURES])
    columns = [found.turns, *(measure.values(found) for measure in MEASURES), *found.off_tracking.T]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    names = [measure.key for measure in MEASURES] + [f"{slug}_off_tracking_mm" for slug in slugs]
    writer.writerow(["turn_input", *names])
    for row in zip(*(column.tolist() for column in columns), strict=True):
        writer.writerow([format(round(value, 6) + 0.0, ".12g") for value in row])
    return text.getvalue()
