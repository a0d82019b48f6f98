"""The verb ``check``: are all axles aligned, and if not, which is not."""

from __future__ import annotations

import argparse
import json

from app.cli.arguments import add_file, add_turns, turns_of
from app.cli.exit_codes import ALIGNED, NOT_ALIGNED
from app.design.facts import Facts
from app.design.files import read_design
from app.words.check_report import text_of, values_of
from geometry.turn_range.range_check import at_turns

_MOST_SHOWN = 1001


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the turns to show, and the form of the answer."""
    add_file(parser)
    add_turns(parser, "rows of wheels to print, evenly spaced over the whole range")
    parser.add_argument("--json", action="store_true", help="for machines; null stands for infinite")


def run(options: argparse.Namespace) -> int:
    """Print the verdict and the wheels at some turns; the exit code tells the verdict too."""
    facts = Facts(read_design(options.file).design)
    reach = facts.design.largest_turn
    shown = at_turns(facts.robot, turns_of(options, reach, _MOST_SHOWN) or _telling_turns(reach))
    if options.json:
        print(json.dumps(values_of(facts, shown), indent=2, ensure_ascii=True, allow_nan=False))
    else:
        print(text_of(facts, shown), end="")
    return ALIGNED if facts.check.aligned else NOT_ALIGNED


def _telling_turns(reach: float) -> list[float]:
    """Straight, quarter points, side stopped, on the spot, and the end of the range."""
    sizes = sorted({size for size in (0.25, 0.5, 0.75, 1.0) if size <= reach} | {reach})
    return [*(-size for size in reversed(sizes)), 0.0, *sizes]
