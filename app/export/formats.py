"""The table of formats that menu and command line both read."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from app.export import csv_table
from app.export.table import Table


class Format(NamedTuple):
    """One way to write a table."""

    key: str
    label: str
    suffix: str
    writer: Callable[[Table], str]


FORMATS: tuple[Format, ...] = (Format("csv", "Comma-separated values", ".csv", csv_table.render),)
