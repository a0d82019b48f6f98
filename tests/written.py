"""What the writers make, as text."""

from __future__ import annotations

from app.controller.programme import Programme
from app.export.registry import Files, exporter, exporters_of, files_of

CODE_FORMATS = exporters_of("programme")
TABLE_FORMATS = exporters_of("table")


def only_file(files: Files) -> bytes:
    """The one file of an exporter that makes one."""
    (data,) = files.values()
    return data


def code_text(programme: Programme, key: str) -> str:
    """Text of the one file that an exporter of programmes makes."""
    return only_file(files_of(exporter("programme", key), programme)).decode()
