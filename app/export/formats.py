"""The tables of formats that menu and command line both read."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from app.controller.errors import ExportError
from app.controller.programme import Programme
from app.controller.steering_table import Table
from app.export import c_header, csv_rows, csv_table, json_program, micropython


class Format(NamedTuple):
    """One way to write a table."""

    key: str
    label: str
    suffix: str
    writer: Callable[[Table], str]


class CodeFormat(NamedTuple):
    """One way to write what the controller gets."""

    key: str
    label: str
    suffix: str
    writer: Callable[[Programme], str]


FORMATS: tuple[Format, ...] = (Format("csv", "Comma-separated values", ".csv", csv_table.render),)
"""Writers of the sampled steering table, every wheel at evenly spaced turns."""

CODE_FORMATS: tuple[CodeFormat, ...] = (
    CodeFormat("micropython", "MicroPython module", ".py", micropython.render),
    CodeFormat("c", "C99 header", ".h", c_header.render),
    CodeFormat("json", "JSON, for other languages", ".json", json_program.render),
    CodeFormat("csv", "Comma-separated rows of the table", ".csv", csv_rows.render),
)
"""Writers of what the controller gets."""


def code_text(programme: Programme, key: str) -> str:
    """Write a programme in one of `CODE_FORMATS`; window and command line both take this text.

    Raises
    ------
    ExportError
        If the format is unknown, or cannot hold the programme.
    """
    for form in CODE_FORMATS:
        if form.key == key:
            return form.writer(programme)
    known = ", ".join(form.key for form in CODE_FORMATS)
    raise ExportError(f"the format must be one of {known} (got {key!r})")
