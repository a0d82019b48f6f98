"""The verb ``export``: write code for the robot's controller, or the chassis for other tools."""

from __future__ import annotations

import argparse
import sys

from app.cli.arguments import add_file
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver, deliver_files, note_verdict
from app.cli.progress_line import shown_progress
from app.cli.streams import complain
from app.controller.export_options import MOST_SEED, whole, with_options
from app.controller.programme import programme_of
from app.design.facts import Facts
from app.design.files import read_design
from app.export.registry import Exporter, Source, exporter_of, files_of, listed
from app.export.vectors import MOST_VECTORS, vectors
from geometry.errors import CommandError

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
_SOURCES: tuple[Source, ...] = ("programme", "design")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the format, where to write, and settings to lay over those of the file."""
    parser.description = "What is not given here is as the chassis file says."
    add_file(parser)
    parser.add_argument(
        "--format", metavar="F", help=f"{listed('programme')}; for other tools {listed('design')}"
    )
    parser.add_argument("-o", "--output", required=True, metavar="OUT", help="where to; - prints it")
    for name, shown, what in _OPTIONS:
        parser.add_argument(f"--{name}", metavar=shown, help=what)
    parser.add_argument("--vectors", metavar="N", help="instead write N random commands and their answers")
    parser.add_argument("--seed", metavar="N", default="0", help="where their random numbers start (0)")


def run(options: argparse.Namespace) -> int:
    """Write the code, or commands with their answers; notes go where errors go."""
    if (options.format is None) == (options.vectors is None):
        raise CommandError("give one of --format and --vectors: axlewright export FILE --format c -o OUT")
    row = None if options.format is None else exporter_of(_SOURCES, options.format)
    if row is not None and row.source == "design":
        return _run_design(options, row)
    names = [name.replace("-", "_") for name, _, _ in _OPTIONS]
    design = read_design(options.file).design
    chosen = with_options(design, {name: getattr(options, name) for name in names})
    with shown_progress(sys.stderr) as progress:
        programme = programme_of(chosen, progress)
    if options.vectors is not None:
        count = whole("vectors", options.vectors, 1, MOST_VECTORS)
        text = vectors(programme, count, whole("seed", options.seed, 0, MOST_SEED))
        deliver(text.encode(), options.output, replace=True)
    if row is not None:
        deliver_files(files_of(row, programme), options.output)
    for words in programme.given_up:
        complain(f"axlewright: note: {words}")
    note_verdict(programme.chassis.facts)
    return ALIGNED


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
