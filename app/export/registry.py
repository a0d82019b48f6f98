"""The table of exporters. Command line, window and tests read it; a writer is imported once it writes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeAlias

from app.controller.export_error import ExportError

if TYPE_CHECKING:
    from app.controller.programme import Programme
    from app.controller.steering_table import SteeringTable
    from app.drawing.elements import Drawing
    from geometry.model.design import Design

Source: TypeAlias = Literal["table", "programme", "drawing", "design"]
"""What is written: a `SteeringTable`, every wheel at chosen turns; a `Programme` for the controller; a
`Drawing`, of any view; or the `Design` itself, for simulators."""
Choice: TypeAlias = Literal["cut", "dpi"]
"""What a writer may take beside its value: whether it is for a cutter, and then of what `app.drawing.cut`
leaves; pixels for an inch."""
Files: TypeAlias = Mapping[str, bytes]
"""Whole files by their plain names, at least one. The name of a single one is a proposal."""


class Exporter(NamedTuple):
    """One way to write something."""

    key: str
    """What ``--format`` takes; unique among the exporters of a source."""
    label: str
    suffix: str
    """Of the file, or of the first one, with its dot."""
    source: Source
    write: Callable[..., Files]
    """Takes what `source` says, and by their names its `choices`; raises `ExportError` where the format
    cannot hold it."""
    needs_qt: bool = False
    """Whether `write` imports Qt, as what draws does."""
    remark: str = ""
    """What the help of ``--format`` adds to the key."""
    holds_code: bool = False
    """Whether parts of the controller's code that are left out make the file shorter."""
    choices: tuple[Choice, ...] = ()
    notes: Callable[[Any], Sequence[str]] | None = None
    """Takes the same, and gives sentences that the person should read beside the file."""


def _csv_table(table: SteeringTable) -> Files:
    from app.export import csv_table

    return {"steering_table.csv": csv_table.render(table).encode()}


def _micropython(programme: Programme) -> Files:
    from app.export import micropython

    return {f"{micropython.MODULE}.py": micropython.render(programme).encode()}


def _c_header(programme: Programme) -> Files:
    from app.export import c_header

    return {f"{programme.controller.prefix}.h": c_header.render(programme).encode()}


# The two below have an ending that sets them apart from the chassis and its table of the same suffix.


def _json_program(programme: Programme) -> Files:
    from app.export import json_program

    return {f"{programme.controller.prefix}_code.json": json_program.render(programme).encode()}


def _csv_rows(programme: Programme) -> Files:
    from app.export import csv_rows

    return {f"{programme.controller.prefix}_rows.csv": csv_rows.render(programme).encode()}


def _svg(drawing: Drawing, *, cut: bool = False) -> Files:
    from app.export import svg_drawing

    return {"drawing.svg": svg_drawing.render(drawing, cut=cut).encode()}


def _dxf(drawing: Drawing, *, cut: bool = False) -> Files:
    from app.export import dxf_drawing

    return {"drawing.dxf": dxf_drawing.render(drawing, cut=cut).encode()}


def _png(drawing: Drawing, *, dpi: int | None = None) -> Files:
    from app.export import png_drawing

    return {"drawing.png": png_drawing.render(drawing, dpi)}


def _urdf(design: Design) -> Files:
    from app.export import urdf

    return {"chassis.urdf": urdf.render(design).encode()}


def _urdf_notes(design: Design) -> Sequence[str]:
    from app.export import urdf

    return urdf.notes_of(design)


EXPORTERS: tuple[Exporter, ...] = (
    Exporter("csv", "Comma-separated values", ".csv", "table", _csv_table),
    Exporter("micropython", "MicroPython module", ".py", "programme", _micropython, holds_code=True),
    Exporter("c", "C99 header", ".h", "programme", _c_header, holds_code=True),
    Exporter("json", "JSON, for other languages", ".json", "programme", _json_program),
    Exporter(
        "csv",
        "Comma-separated rows of the table",
        ".csv",
        "programme",
        _csv_rows,
        remark="the rows of the table",
    ),
    Exporter("dxf", "DXF drawing", ".dxf", "drawing", _dxf, choices=("cut",)),
    Exporter("svg", "SVG drawing", ".svg", "drawing", _svg, choices=("cut",)),
    Exporter("png", "PNG picture", ".png", "drawing", _png, needs_qt=True, choices=("dpi",)),
    Exporter("urdf", "URDF, for simulators", ".urdf", "design", _urdf, notes=_urdf_notes),
)
"""In the order in which lists show them; the first of a source is proposed."""


def exporters_of(source: Source) -> tuple[Exporter, ...]:
    """All exporters of a source."""
    return tuple(row for row in EXPORTERS if row.source == source)


def exporter(source: Source, key: str) -> Exporter:
    """One exporter of a source.

    Raises
    ------
    ExportError
        If there is none of that key; with the keys that there are.
    """
    return exporter_of((source,), key)


def exporter_of(sources: Sequence[Source], key: str) -> Exporter:
    """One exporter of any of some sources, among which its key must be unique.

    Raises
    ------
    ExportError
        If there is none of that key; with the keys that there are.
    """
    rows = [row for source in sources for row in exporters_of(source)]
    for row in rows:
        if row.key == key:
            return row
    known = ", ".join(row.key for row in rows)
    raise ExportError(f"the format must be one of {known} (got {key!r})")


def files_of(row: Exporter, value: SteeringTable | Programme | Drawing | Design, **chosen: Any) -> Files:
    """Write a value with an exporter of its source; window and command line both take these bytes.

    Parameters
    ----------
    row : Exporter
        Of the source that the value is.
    value
        What is written.
    **chosen
        Of the row's `choices`, by their names.

    Raises
    ------
    ExportError
        If the format cannot hold the value, or needs Qt, which does not load here.
    """
    try:
        return row.write(value, **chosen)
    except ImportError as error:
        if not row.needs_qt:
            raise
        raise ExportError(
            f"{row.label} is drawn with Qt (PySide6), which does not load here ({error}); "
            "install the program anew, or choose another format"
        ) from error


def listed(source: Source) -> str:
    """The keys of a source with their remarks, for the help.

    Examples
    --------
    >>> listed("programme")
    'micropython, c, json, or csv (the rows of the table)'
    """
    *others, last = [f"{row.key} ({row.remark})" if row.remark else row.key for row in exporters_of(source)]
    joint = ", or " if len(others) > 1 else " or "
    return f"{', '.join(others)}{joint}{last}" if others else last
