"""Comma-separated values after RFC 4180: a point for decimals, CR LF at the end of lines."""

from __future__ import annotations

import csv
import io

import numpy as np

from app.controller.steering_table import FLAGS, SteeringTable
from geometry.axes import Floats

_DIGITS = 9
# Far finer than any servo or ruler, and coarse enough to hide rounding noise.
_DECIMALS_OF_UNITS = 6
_DECIMALS_OF_RATIOS = 9
_UNITS = ("_deg", "_mm", "_mm_per_m")


def render(table: SteeringTable) -> str:
    """Write a table as CSV text; the same table gives the same bytes on every machine.

    Numbers have up to nine significant digits, angles and lengths at most six decimals;
    infinite values are ``inf``.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    columns = [_texts(name, table.values[:, k]) for k, name in enumerate(table.columns)]
    words = [list(table.flags)] if table.with_flags else []
    writer.writerow([*table.columns, *([FLAGS] if words else [])])
    writer.writerows(zip(*columns, *words, strict=True))
    return text.getvalue()


def _texts(name: str, values: Floats) -> list[str]:
    decimals = _DECIMALS_OF_UNITS if name.endswith(_UNITS) else _DECIMALS_OF_RATIOS
    # From here on nine digits are no finer than the decimals: to round to these first would round
    # twice, and the largest numbers would overflow.
    fine = np.abs(values) < 10.0 ** (_DIGITS - decimals)
    once = values.copy()
    # Adding zero turns -0.0 into 0.0.
    once[fine] = np.round(values[fine], decimals) + 0.0
    return [format(value, f".{_DIGITS}g") for value in once.tolist()]
