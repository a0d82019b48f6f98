"""The verb ``gauge``: protractors at full size for the steered wheels, as PDF."""

from __future__ import annotations

import argparse
import sys

from app.cli.arguments import add_file, length_of
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver
from app.cli.progress_line import shown_progress
from app.cli.streams import complain
from app.design.files import read_design
from app.export.on_paper import gauges_on_paper
from app.export.pdf import pdf_of
from geometry.errors import CommandError

_PAPER, _HOLE = "A4", "3mm"
_LEAST_HOLE_MM, _LARGEST_HOLE_MM = 0.5, 50.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, where to write, the paper, and the hole."""
    parser.description = (
        "Draw a protractor at full size for each steered wheel, one for two wheels that mirror each other, "
        "as PDF. Pin it under the kingpin; its marks show where the wheel stands at the turns that matter, "
        "and what its motor is told there. Print at 100 %, and measure the bars of 100 mm first."
    )
    add_file(parser)
    parser.add_argument("-o", "--output", required=True, metavar="OUT.pdf", help="where to; - prints it")
    parser.add_argument(
        "--paper", metavar="P", default=_PAPER, help=f"such as A4, A3 or Letter (default {_PAPER})"
    )
    parser.add_argument(
        "--hole", metavar="D", default=_HOLE, help=f"diameter of the hole that pins it (default {_HOLE})"
    )


def run(options: argparse.Namespace) -> int:
    """Write the pages, gauge by gauge; what is to be told of them goes where errors go."""
    hole = _hole_of(options.hole)
    design = read_design(options.file).design
    with shown_progress(sys.stderr) as progress:
        laid = gauges_on_paper(design, options.paper, hole_mm=hole, progress=progress)
    deliver(pdf_of(laid.pages, laid.title), options.output, replace=True)
    for line in laid.told:
        complain(f"axlewright: note: {line}")
    return ALIGNED


def _hole_of(word: str) -> float:
    hole = length_of("--hole", word)
    if not _LEAST_HOLE_MM <= hole <= _LARGEST_HOLE_MM:
        raise CommandError(
            f"--hole must be from {_LEAST_HOLE_MM:g} to {_LARGEST_HOLE_MM:g} mm (got {hole:g} mm)"
        )
    return hole
