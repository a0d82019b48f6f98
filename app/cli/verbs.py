"""The command line: the verbs that need no screen, and their exit codes.

0: done, and for `check` every wheel is aligned. 1: `check` found one that is not.
2: bad input. 130: stopped by Ctrl-C. 143: stopped by the system (TERM).
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from app.design.disk import FileError, reason_of, write_bytes
from app.design.files import holds_chassis, read_design, schema
from geometry.errors import AxlewrightError, CommandError
from geometry.turn_range.sweep import turns_between

ALIGNED, NOT_ALIGNED, BAD_INPUT, STOPPED = 0, 1, 2, 130
VERBS = ("check", "table", "export", "schema", "samples")
_TABLE_ROWS = 201
_MOST_SHOWN = 1001

_EXPORT_OPTIONS = (
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
_DESCRIPTION = "Lay out a wheeled robot chassis, check its axles and take the steering table away."
_EPILOG = """\
axlewright [FILE] opens the window. The verbs need no screen:
  axlewright check scout.json                      are all axles aligned?
  axlewright check scout.json --turn -0.5,0,0.5    the wheels at these turns
  axlewright table scout.json -o scout.csv         steering table, 201 rows
  axlewright export scout.json --format micropython -o robot.py
                                                   code for the robot's controller
  axlewright samples marsh_scout_six -o scout.json a chassis to start from

A turn input runs from -1 (on the spot to the right) through 0 (straight ahead)
to 1 (on the spot to the left); at 0.5 the left side stands still.
Exit codes: 0 done and aligned, 1 not aligned, 2 bad input.
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
        Exit code, as in this module's head.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console that knows no degree sign shows a question mark instead of an error.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        options = _parser().parse_args(_joined(argv))
        verb: Callable[[argparse.Namespace], int] = options.verb
        code = verb(options)
        sys.stdout.flush()
    except SystemExit as ended:  # argparse ends the program for --help and for bad options
        return ended.code if isinstance(ended.code, int) else BAD_INPUT
    except AxlewrightError as error:
        print(f"axlewright: {error}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        _leave_output()
        return ALIGNED  # the reader has what it wanted
    except OSError as error:  # files are told as FileError; this is the output itself
        _leave_output()
        print(f"axlewright: cannot print: {reason_of(error)}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        return STOPPED
    return code


def _leave_output() -> None:
    """Send the rest nowhere, so that the interpreter does not complain at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _joined(argv: Sequence[str]) -> list[str]:
    """Join ``--turn -0.5`` to one word; argparse would take the minus sign for an option."""
    words = list(argv)
    for i in range(len(words) - 2, -1, -1):
        if words[i] == "--turn":
            words[i : i + 2] = [f"--turn={words[i + 1]}"]
    return words


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        "axlewright", description=_DESCRIPTION, epilog=_EPILOG, formatter_class=_RAW, allow_abbrev=False
    )
    parser.add_argument("--version", action=_Version, help="print the version and stop")
    verbs = parser.add_subparsers(title="verbs", metavar="VERB", required=True)

    check = verbs.add_parser(
        "check", help="are all axles aligned, and if not, which is not", allow_abbrev=False
    )
    check.add_argument("file", metavar="FILE", type=Path, help="chassis file")
    _add_turns(check, "rows of wheels to print, evenly spaced over the whole range")
    check.add_argument("--json", action="store_true", help="for machines; null stands for infinite")
    check.set_defaults(verb=_check)

    table = verbs.add_parser("table", help="write the steering table", allow_abbrev=False)
    table.add_argument("file", metavar="FILE", type=Path, help="chassis file")
    table.add_argument("-o", "--output", required=True, metavar="OUT.csv", help="where to; - prints it")
    _add_turns(table, f"rows, evenly spaced over the whole range (default {_TABLE_ROWS})")
    table.set_defaults(verb=_table)

    _add_export(verbs)

    schema_verb = verbs.add_parser(
        "schema", help="print the JSON Schema of chassis files", allow_abbrev=False
    )
    schema_verb.set_defaults(verb=_schema)

    samples = verbs.add_parser("samples", help="list the samples, or copy one", allow_abbrev=False)
    samples.add_argument("name", nargs="?", metavar="NAME", help="sample to copy")
    samples.add_argument("-o", "--output", metavar="FILE", help="where to; - prints it")
    samples.set_defaults(verb=_samples)
    return parser


def _add_export(verbs: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    export = verbs.add_parser(
        "export",
        help="write the table and code for the robot's controller",
        description="What is not given here is as the chassis file says.",
        allow_abbrev=False,
    )
    export.add_argument("file", metavar="FILE", type=Path, help="chassis file")
    export.add_argument("--format", metavar="F", help="micropython, c, json, or csv (the rows of the table)")
    export.add_argument("-o", "--output", required=True, metavar="OUT", help="where to; - prints it")
    for name, shown, what in _EXPORT_OPTIONS:
        export.add_argument(f"--{name}", metavar=shown, help=what)
    export.add_argument("--vectors", metavar="N", help="instead write N random commands and their answers")
    export.add_argument("--seed", metavar="N", default="0", help="where their random numbers start (0)")
    export.set_defaults(verb=_export)


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


def _add_turns(parser: argparse.ArgumentParser, rows_help: str) -> None:
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--rows", metavar="N", help=rows_help)
    which.add_argument(
        "--turn",
        metavar="A,B,C",
        help="turn inputs from -1 to 1, with decimal points; also beyond the largest turn in use",
    )


def _turns_of(options: argparse.Namespace, reach: float, most: int) -> list[float] | None:
    """Turns that the person asked for; None without any wish."""
    if options.turn is not None:
        return [_turn_of(word) for word in options.turn.split(",")]
    if options.rows is None:
        return None
    if not (options.rows.isascii() and options.rows.isdigit() and len(options.rows) < 10):
        raise CommandError(f"--rows must be a whole number from 2 to {most} (got {options.rows!r})")
    rows = int(options.rows)
    if not 2 <= rows <= most:
        raise CommandError(f"--rows must be a whole number from 2 to {most} (got {rows})")
    turns: list[float] = turns_between(-reach, reach, rows).tolist()
    return turns


def _turn_of(word: str) -> float:
    try:
        turn = float(word)
    except ValueError:
        raise CommandError(
            f"--turn must be numbers from -1 to 1 with commas between (got {word!r})"
        ) from None
    if not -1.0 <= turn <= 1.0:
        raise CommandError(f"--turn must be from -1 to 1 (got {word.strip()})")
    return turn


def _check(options: argparse.Namespace) -> int:
    from app.design.facts import Facts
    from app.words.check_report import text_of, values_of  # late: the other verbs start faster
    from geometry.turn_range.range_check import at_turns

    facts = Facts(read_design(options.file).design)
    reach = facts.design.largest_turn
    shown = at_turns(facts.robot, _turns_of(options, reach, _MOST_SHOWN) or _telling_turns(reach))
    if options.json:
        print(json.dumps(values_of(facts, shown), indent=2, ensure_ascii=True, allow_nan=False))
    else:
        print(text_of(facts, shown), end="")
    return ALIGNED if facts.check.aligned else NOT_ALIGNED


def _telling_turns(reach: float) -> list[float]:
    """Straight, quarter points, side stopped, on the spot, and the end of the range."""
    sizes = sorted({size for size in (0.25, 0.5, 0.75, 1.0) if size <= reach} | {reach})
    return [*(-size for size in reversed(sizes)), 0.0, *sizes]


def _table(options: argparse.Namespace) -> int:
    from app.controller.steering_table import MOST_ROWS, request_rows, table_of
    from app.export.formats import FORMATS

    design = read_design(options.file).design
    turns = _turns_of(options, design.largest_turn, MOST_ROWS)
    table = table_of(design, request_rows(design, _TABLE_ROWS).turns if turns is None else turns)
    _deliver(FORMATS[0].writer(table), options.output, replace=True)
    return ALIGNED


def _export(options: argparse.Namespace) -> int:
    from app.cli.progress_line import shown_progress
    from app.controller.options import MOST_SEED, whole, with_options
    from app.controller.programme import programme_of
    from app.export.formats import code_text
    from app.export.vectors import MOST_VECTORS, vectors
    from app.words.alignment_summary import verdict_sentence

    if (options.format is None) == (options.vectors is None):
        raise CommandError("give one of --format and --vectors: axlewright export FILE --format c -o OUT")
    names = [name.replace("-", "_") for name, _, _ in _EXPORT_OPTIONS]
    design = read_design(options.file).design
    chosen = with_options(design, {name: getattr(options, name) for name in names})
    with shown_progress(sys.stderr) as progress:
        programme = programme_of(chosen, progress)
    if options.vectors is not None:
        count = whole("vectors", options.vectors, 1, MOST_VECTORS)
        text = vectors(programme, count, whole("seed", options.seed, 0, MOST_SEED))
    else:
        text = code_text(programme, options.format)
    _deliver(text, options.output, replace=True)
    for words in programme.given_up:
        print(f"axlewright: note: {words}", file=sys.stderr)
    if not programme.chassis.facts.check.aligned:
        print(f"axlewright: note: {verdict_sentence(programme.chassis.facts)}", file=sys.stderr)
    return ALIGNED


def _schema(_: argparse.Namespace) -> int:
    print(json.dumps(schema(), indent=2, allow_nan=False))
    return ALIGNED


def _samples(options: argparse.Namespace) -> int:
    from app.design.samples import sample_text
    from sample_chassis import SAMPLES

    if options.name is None:
        if options.output is not None:
            raise CommandError("name the sample to copy: axlewright samples NAME -o FILE")
        width = max(len(sample.key) for sample in SAMPLES)
        for sample in SAMPLES:
            print(f"{sample.key:<{width}}  {sample.sentence}")
        return ALIGNED
    if options.output is None:
        raise CommandError(f"say where to: axlewright samples {options.name} -o FILE")
    _deliver(sample_text(options.name), options.output, replace=False)
    return ALIGNED


def _deliver(text: str, output: str, *, replace: bool) -> None:
    """Write to a file as a whole, or print for ``-`` without changing line ends."""
    if output == "-":
        sys.stdout.buffer.write(text.encode())
        return
    path = Path(output)
    if holds_chassis(path):
        raise FileError(f"{path} holds a chassis, which is left untouched. Choose another name.")
    if not replace and os.path.lexists(path):
        raise FileError(f"{path} exists already and is left untouched. Choose another name.")
    write_bytes(path, text.encode())
