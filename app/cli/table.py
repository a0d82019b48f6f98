"""The verb ``table``: write the steering table."""

from __future__ import annotations

import argparse

from app.cli.arguments import add_file, add_turns, turns_of
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver_files, note_verdict
from app.controller.steering_table import MOST_ROWS, request_rows, table_of
from app.design.facts import Facts
from app.design.files import read_design
from app.export.registry import exporter, files_of, listed

_ROWS = 201
_FORMAT = "csv"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the turns, the format, and where to write."""
    add_file(parser)
    parser.add_argument("-o", "--output", required=True, metavar="OUT.csv", help="where to; - prints it")
    parser.add_argument(
        "--format", metavar="F", default=_FORMAT, help=f"{listed('table')} (default {_FORMAT})"
    )
    add_turns(parser, f"rows, evenly spaced over the whole range (default {_ROWS})")


def run(options: argparse.Namespace) -> int:
    """Write the table; that the chassis drags goes where errors go."""
    form = exporter("table", options.format)
    design = read_design(options.file).design
    turns = turns_of(options, design.largest_turn, MOST_ROWS)
    table = table_of(design, request_rows(design, _ROWS).turns if turns is None else turns)
    deliver_files(files_of(form, table), options.output)
    note_verdict(Facts(design))
    return ALIGNED
