"""The command line: it finds the verb, runs it, and turns every error into a sentence and an exit code."""

from __future__ import annotations

import argparse
import itertools
import re
import sys
from collections.abc import Callable, Sequence

from app.cli import registry
from app.cli.exit_codes import ALIGNED, BAD_INPUT, STOPPED
from app.cli.registry import verb_names
from app.cli.streams import complain, leave, ready_streams
from app.design.disk import reason_of
from geometry.errors import AxlewrightError, CommandError

_DESCRIPTION = "Lay out a wheeled robot chassis, check its axles and take the steering table away."
_EPILOG = """\
axlewright [FILE] opens the window. The verbs need no screen:
  axlewright check scout.json                      are all axles aligned?
  axlewright check scout.json --turn -0.5,0,0.5    the wheels at these turns
  axlewright fit scout.json                        do all parts fit?
  axlewright table scout.json -o scout.csv         steering table, 201 rows
  axlewright export scout.json --format micropython -o robot.py
                                                   code for the robot's controller
  axlewright drive scout.json --script round --course doorway -o path.csv
                                                   drive a script without a screen
  axlewright measure scout.json --turn 0.5         the room that it takes to turn
  axlewright plan scout.json -o plan.pdf           full-size plan on paper, to drill by
  axlewright gauge scout.json -o gauge.pdf         protractors for the steered wheels
  axlewright sheet scout.json -o scout.html        build sheet: every number and step
  axlewright samples marsh_scout_six -o scout.json a chassis to start from

A turn input runs from -1 (on the spot to the right) through 0 (straight ahead)
to 1 (on the spot to the left); at 0.5 the left side stands still.
Exit codes: 0 done, aligned, fits; 1 not aligned, collides or touched; 2 bad input.
"""
_RAW = argparse.RawDescriptionHelpFormatter


def run(argv: Sequence[str]) -> int:
    """Run one verb.

    Parameters
    ----------
    argv : sequence of str
        Arguments without the program's name.

    Returns
    -------
    int
        Exit code, one of `exit_codes`.
    """
    ready_streams()
    try:
        code = _verb_done(argv)
        sys.stdout.flush()
    except AxlewrightError as error:
        complain(f"axlewright: {error}")
        return BAD_INPUT
    except BrokenPipeError:
        leave(sys.stdout)
        return ALIGNED  # the reader has what it wanted
    except OSError as error:  # files are told as FileError; this is the output itself
        leave(sys.stdout)
        complain(f"axlewright: cannot print: {reason_of(error)}")
        return BAD_INPUT
    except KeyboardInterrupt:
        return STOPPED
    return code


def _verb_done(argv: Sequence[str]) -> int:
    try:
        words = _joined(argv)
        options = _parser(words).parse_args(words)
        verb: Callable[[argparse.Namespace], int] = options.verb
        return verb(options)
    except SystemExit as ended:  # argparse ends the program for --help and for bad options
        return ended.code if isinstance(ended.code, int) else BAD_INPUT


def _joined(argv: Sequence[str]) -> list[str]:
    """Join ``--turn -0.5`` to one word; argparse would take the minus sign for an option."""
    words = list(argv)
    for i in range(len(words) - 2, -1, -1):
        if words[i] == "--turn":
            words[i : i + 2] = [f"--turn={words[i + 1]}"]
    for word in itertools.takewhile(lambda word: word != "--", words):
        if re.fullmatch(r"--[a-z-]+=--|-o=?--", word):  # argparse would drop the dashes and miss the value
            raise CommandError(f"{word}: two dashes are no value; give another, or leave the option out")
    return words


def _parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        "axlewright", description=_DESCRIPTION, epilog=_EPILOG, formatter_class=_RAW, allow_abbrev=False
    )
    parser.add_argument("--version", action=_Version, help="print the version and stop")
    verbs = parser.add_subparsers(title="verbs", metavar="VERB", required=True)
    # No option before the verb takes a value: the first word that names one is the one.
    chosen = next((word for word in argv if word in verb_names()), None)
    for verb in registry.VERBS:
        words = verbs.add_parser(verb.name, help=verb.help, allow_abbrev=False)
        if verb.name == chosen:
            module = verb.load()
            module.add_arguments(words)
            words.set_defaults(verb=module.run)
    return parser


class _Version(argparse.Action):
    def __init__(self, option_strings: Sequence[str], dest: str, help: str) -> None:  # noqa: A002 - argparse's name
        super().__init__(option_strings, dest, nargs=0, help=help)

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib import metadata  # late: slow, and wanted only here

        try:
            print(f"axlewright {metadata.version('axlewright')}")
        except metadata.PackageNotFoundError:
            print("axlewright, not installed: run from its source folder")
        parser.exit()
