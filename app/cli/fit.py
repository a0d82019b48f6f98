"""The verb ``fit``: what collides, what each wheel carries, and when it tips."""

from __future__ import annotations

import argparse
import json

from app.cli.arguments import add_file, turn_of
from app.cli.exit_codes import COLLIDES, FITS
from app.design.facts import Facts
from app.design.files import read_design
from app.words.fit_words import text_of, values_of
from geometry.packaging.fit import fit_of
from geometry.turn_range.range_check import at_turns


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the turn to look at beside the whole travel, and the form of the answer."""
    add_file(parser)
    parser.add_argument("--json", action="store_true", help="for machines, with the unit in each name")
    parser.add_argument(
        "--turn",
        metavar="S",
        default="0",
        help="turn input from -1 to 1 at which it stands; not given: straight ahead. "
        "The whole travel of every wheel is looked at besides",
    )


def run(options: argparse.Namespace) -> int:
    """Print what collides and how it stands; the exit code tells whether all fits."""
    turn = turn_of(options.turn, "--turn must be one number from -1 to 1")
    facts = Facts(read_design(options.file).design)
    heading = at_turns(facts.robot, [turn]).response.solution.heading[0]
    fit = fit_of(facts.robot, facts.design, heading)
    if options.json:
        values = values_of(facts.design, fit, turn)
        print(json.dumps(values, indent=2, ensure_ascii=True, allow_nan=False))
    else:
        print(text_of(facts.design, fit, turn), end="")
    return FITS if fit.fits else COLLIDES
