"""The verb ``measure``: how much room the robot takes to turn."""

from __future__ import annotations

import argparse
import json

from app.cli.arguments import add_file, add_turns, length_of, turns_of
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver, note_verdict
from app.design.facts import Facts
from app.design.files import read_design
from app.export.measure_csv import render
from app.units import LENGTH_UNITS
from app.words.space_words import text_of, values_of
from geometry.errors import CommandError
from geometry.turn_range.sweep import turns_between
from geometry.turning_space.measures import Measures, measures_of

_RANGE_ROWS, _MOST_ROWS, _MOST_CURVE_ROWS, _MOST_SWEPT = 201, 1001, 20_001, 101
_WIDEST_MM = 10_000.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the turns, what stands at the kerb, and the form of the answer."""
    parser.description = "Circles, lanes and kerb gaps as built, in mm; circles are diameters."
    add_file(parser)
    add_turns(parser, "so many turns, evenly spaced over the whole range")
    parser.add_argument(
        "--neighbour", metavar="W", help="width of the neighbour at the kerb (the robot's own)"
    )
    parser.add_argument("--swept", action="store_true", help="measure pose by pose as well, as a proof; slow")
    parser.add_argument(
        "--unit", choices=LENGTH_UNITS, default="mm", help="of the text and of --neighbour (mm)"
    )
    parser.add_argument("--json", action="store_true", help="for machines; null stands for what there is not")
    parser.add_argument("--curves", action="store_true", help="instead write a CSV file of all turns to -o")
    parser.add_argument("-o", "--output", metavar="OUT.csv", help="where the curves go; - prints them")


def run(options: argparse.Namespace) -> int:
    """Print the measures, or write them over the range; that the chassis drags goes where errors go."""
    _refuse_odd_choices(options)
    facts = Facts(read_design(options.file).design)
    reach = facts.design.largest_turn
    neighbour = _neighbour(options)
    most = _MOST_CURVE_ROWS if options.curves else _MOST_ROWS
    turns = turns_of(options, reach, most)
    over = _measured(facts, turns_between(-reach, reach, _RANGE_ROWS).tolist(), neighbour)
    if options.curves:
        curves = over if turns is None else _measured(facts, turns, neighbour)
        deliver(render(facts.design, curves).encode(), options.output, replace=True)
    else:
        found = _measured(facts, turns or _telling_turns(reach), neighbour)
        if options.swept and len(found) > _MOST_SWEPT:
            raise CommandError(f"--swept takes at most {_MOST_SWEPT} turns (got {len(found)}); choose fewer")
        swept = [found.swept(row) for row in range(len(found))] if options.swept else []
        if options.json:
            values = values_of(facts.design, found, over, swept)
            print(json.dumps(values, indent=2, ensure_ascii=True, allow_nan=False))
        else:
            print(text_of(facts.design, found, over, options.unit, swept), end="")
    if facts.design.wheels:
        note_verdict(facts)
    return ALIGNED


def _measured(facts: Facts, turns: list[float], neighbour: float | None) -> Measures:
    return measures_of(facts.robot, facts.design, turns, neighbour)


def _refuse_odd_choices(options: argparse.Namespace) -> None:
    if options.curves and options.output is None:
        raise CommandError("--curves needs a place: add -o OUT.csv, or -o - to print them")
    if options.output is not None and not options.curves:
        raise CommandError("-o is where the curves go; add --curves, or leave -o out")
    if options.curves and (options.json or options.swept):
        raise CommandError("--curves writes CSV alone; leave --json and --swept out")


def _neighbour(options: argparse.Namespace) -> float | None:
    if options.neighbour is None:
        return None
    width = length_of("--neighbour", options.neighbour, options.unit)
    if not 0.0 <= width <= _WIDEST_MM:
        raise CommandError(f"--neighbour must be from 0 to {_WIDEST_MM:g} mm (got {width:g} mm)")
    return width


def _telling_turns(reach: float) -> list[float]:
    """Half, and the end of the range, to both sides, and straight ahead."""
    sizes = sorted({0.5 * reach, reach} | ({0.5} if reach > 0.5 else set()))
    return [*(-size for size in reversed(sizes)), 0.0, *sizes]
