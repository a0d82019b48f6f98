"""The verb ``export``: write code for the robot's controller, or a drawing or a model for other tools."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from app.cli.arguments import add_file
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver, deliver_files, note_verdict
from app.cli.progress_line import shown_progress
from app.cli.streams import complain
from app.controller.export_options import MOST_SEED, whole, with_options
from app.controller.programme import programme_of
from app.design.facts import Facts
from app.design.files import read_design
from app.export.on_paper import SUBJECTS, drawn
from app.export.registry import Choice, Exporter, Source, exporter_of, exporters_of, files_of, listed
from app.export.vectors import MOST_VECTORS, vectors
from geometry.errors import CommandError
from geometry.model.frozen import short

if TYPE_CHECKING:
    pass

_OPTIONS = (
    ("method", "M", "table (whole numbers only) or formula (arctangents on the controller)"),
    ("spacing", "S", "rows of the table: even (found by one division) or free (fewest bytes)"),
    ("error", "E", "largest error: 0.1deg at the wheel, or 5mm of drag per metre"),
    ("speed-error", "E", "largest error of a motor's speed, such as 1%% of its full speed"),
    ("unit", "U", "tell all steer motors in degrees, counts or microseconds"),
    ("prefix", "P", "what every name in the code begins with"),
    ("largest-bytes", "N", "largest size of the table, or none"),
    ("without", "A,B", "leave out mixing, dead_band, scaling (slow down evenly), clamp, limiter, hold"),
    ("with", "A,B", "put such parts in"),
)
_SOURCES: tuple[Source, ...] = ("programme", "drawing", "design")
_VIEWS = tuple(SUBJECTS)
_CHOICES: tuple[Choice, ...] = ("cut", "dpi")
_NOT_GIVEN = (None, False)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the format, where to write, and settings to lay over those of the file."""
    parser.description = (
        "What is not given here is as the chassis file says. Drawings are at full size, in millimetres."
    )
    add_file(parser)
    parser.add_argument(
        "--format",
        metavar="F",
        help=f"{listed('programme')}; as a drawing {listed('drawing')}; for simulators {listed('design')}",
    )
    parser.add_argument("-o", "--output", required=True, metavar="OUT", help="where to; - prints it")
    for name, shown, what in _OPTIONS:
        parser.add_argument(f"--{name}", metavar=shown, help=what)
    parser.add_argument("--vectors", metavar="N", help="instead write N random commands and their answers")
    parser.add_argument("--seed", metavar="N", default="0", help="where their random numbers start (0)")
    parser.add_argument("--view", metavar="V", help=f"of a drawing: {', '.join(_VIEWS)} (plan)")
    parser.add_argument(
        "--cut", action="store_true", help="of the plan, as DXF or SVG, only the closed paths that are cut"
    )
    parser.add_argument("--dpi", metavar="N", help="pixels for an inch of a PNG, 50 to 1200 (200)")


def run(options: argparse.Namespace) -> int:
    """Write the code, commands with their answers, or a drawing; notes go where errors go."""
    if (options.format is None) == (options.vectors is None):
        raise CommandError("give one of --format and --vectors: axlewright export FILE --format c -o OUT")
    row = None if options.format is None else exporter_of(_SOURCES, options.format)
    if row is not None and row.source == "drawing":
        return _run_drawing(options, row)
    for name in ("view", *_CHOICES):
        if getattr(options, name) not in _NOT_GIVEN:
            raise CommandError(f"--{name} is for {_takers(name)}; leave it out, or choose such a format")
    if row is not None and row.source == "design":
        return _run_design(options, row)
    return _run_programme(options, row)


def _run_programme(options: argparse.Namespace, row: Exporter | None) -> int:
    """Write the code, or commands with their answers where there is no exporter."""
    names = [name.replace("-", "_") for name, _, _ in _OPTIONS]
    design = read_design(options.file).design
    chosen = with_options(design, {name: getattr(options, name) for name in names})
    with shown_progress(sys.stderr) as progress:
        programme = programme_of(chosen, progress)
    if row is None:
        count = whole("vectors", options.vectors, 1, MOST_VECTORS)
        text = vectors(programme, count, whole("seed", options.seed, 0, MOST_SEED))
        deliver(text.encode(), options.output, replace=True)
    else:
        deliver_files(files_of(row, programme), options.output)
    for words in programme.given_up:
        complain(f"axlewright: note: {words}")
    note_verdict(programme.chassis.facts)
    return ALIGNED


def _run_drawing(options: argparse.Namespace, row: Exporter) -> int:
    for name, _, _ in _OPTIONS:
        if getattr(options, name.replace("-", "_")) is not None:
            raise CommandError(
                f"--{name} is for the controller's code, and {row.key} is a drawing; leave it out"
            )
    view = _VIEWS[0] if options.view is None else options.view
    if view not in _VIEWS:
        raise CommandError(f"--view must be {', '.join(_VIEWS[:-1])} or {_VIEWS[-1]} (got {short(view)})")
    chosen = _choices(options, row)
    if options.cut and view != _VIEWS[0]:
        raise CommandError(f"--cut is of the plan; leave out --view {view}")
    drawing = drawn(read_design(options.file).design, view)
    if options.cut:
        from app.drawing.cut import cut_of  # late: most files are not cut

        drawing = cut_of(drawing)
    deliver_files(files_of(row, drawing, **chosen), options.output)
    for words in drawing.notes:
        complain(f"axlewright: note: {words}")
    return ALIGNED


def _choices(options: argparse.Namespace, row: Exporter) -> dict[str, Any]:
    """What is given of the choices that a writer may take."""
    given: dict[str, Any] = {
        name: getattr(options, name) for name in _CHOICES if getattr(options, name) not in _NOT_GIVEN
    }
    for name in given:
        if name not in row.choices:
            raise CommandError(f"--{name} is for {_takers(name)} (got --format {row.key}); leave it out")
    if "dpi" in given:
        from app.export.png_drawing import LEAST_DPI, MOST_DPI  # late: other formats do without

        given["dpi"] = whole("dpi", options.dpi, LEAST_DPI, MOST_DPI)
    return given


def _takers(name: str) -> str:
    """The formats that take an option of drawings."""
    rows = exporters_of("drawing")
    return " or ".join(row.key for row in rows if name == "view" or name in row.choices)


def _run_design(options: argparse.Namespace, row: Exporter) -> int:
    """Write the chassis itself, of which the settings for code say nothing."""
    given = [f"--{name}" for name, _, _ in _OPTIONS if getattr(options, name.replace("-", "_")) is not None]
    if given:
        raise CommandError(f"{', '.join(given)}: for code only, not for --format {row.key}; leave it out")
    design = read_design(options.file).design
    deliver_files(files_of(row, design), options.output)
    for words in row.notes(design) if row.notes else ():
        complain(f"axlewright: note: {words}")
    note_verdict(Facts(design))
    return ALIGNED
