"""The verb ``drive``: drive a script without a screen."""

from __future__ import annotations

import argparse
import difflib
import json
import sys

from app.cli.arguments import add_file
from app.cli.exit_codes import ALIGNED, TOUCHED
from app.cli.output import deliver
from app.cli.progress_line import shown_progress
from app.cli.streams import complain
from app.controller.export_options import with_options
from app.controller.programme import programme_of
from app.design.files import read_design
from app.simulation.path_csv import PathCsv
from app.simulation.report import text_of, values_of
from app.simulation.robot_code import RobotCode
from app.simulation.run import Run
from geometry.driving.ready_courses import READY
from geometry.errors import CommandError
from geometry.model.design import Design
from geometry.model.driving import Course
from geometry.model.frozen import short
from geometry.progress import part_of, tell


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, the script, the course, and the form of the answer."""
    parser.description = (
        "The very code that export writes is run at its own period; motors take their time, and the chassis "
        "moves as built. Ready courses, as large as the chassis needs them: "
        f"{', '.join(READY)}. Exit code 1 where something is touched."
    )
    add_file(parser)
    parser.add_argument("--script", metavar="NAME", required=True, help="which of the chassis' scripts")
    parser.add_argument(
        "--course", metavar="NAME", help="which of its courses, or a ready one; else an empty plane"
    )
    parser.add_argument("--without", metavar="A,B", help="leave out parts of the code, such as hold,limiter")
    parser.add_argument("--with", metavar="A,B", help="put such parts in")
    parser.add_argument("-o", "--output", metavar="OUT.csv", help="where the path goes to; - prints it")
    parser.add_argument("--json", action="store_true", help="for machines")


def run(options: argparse.Namespace) -> int:
    """Drive it, write the path, and say what it came to; the exit code tells whether it touched."""
    words = {name: getattr(options, name) for name in ("without", "with")}
    design = with_options(read_design(options.file).design, words)
    scripts = design.driving.scripts
    number = _named(options.script, [script.name for script in scripts], "script")
    course = None if options.course is None else course_named(design, options.course)
    with shown_progress(sys.stderr) as progress:
        code = RobotCode(programme_of(design, part_of(progress, 0.0, 0.3)))
        driven = Run(code, course, scripts[number], place=f"driving.scripts[{number}]")
        path = PathCsv(code.programme)
        driving = part_of(progress, 0.3, 1.0)
        for block in driven.blocks():
            if options.output is not None:
                path.add(block)
            tell(driving, driven.share)
    frame = driven.finish()
    if options.output is not None:
        deliver(path.text.encode(), options.output, replace=True)
    name = None if course is None else course.name
    if options.json:
        values = values_of(design, scripts[number].name, name, frame)
        print(json.dumps(values, indent=2, ensure_ascii=True, allow_nan=False))
    elif options.output != "-":
        print(text_of(design, scripts[number].name, name, frame), end="")
    if driven.capped:
        complain(f"axlewright: note: the run was stopped in move {frame.move + 1}, which did not end")
    return TOUCHED if frame.contacts else ALIGNED


def course_named(design: Design, name: str) -> Course:
    """Find a course of the chassis, or else a ready one.

    Raises
    ------
    CommandError
        If there is none of that name.
    """
    courses = design.driving.courses
    own = [course.name for course in courses]
    number = _named(name, [*own, *READY], "course")
    return courses[number] if number < len(own) else READY[[*own, *READY][number]](design)


def _named(name: str, names: list[str], what: str) -> int:
    """Number of a name in a list, capitals aside.

    Raises
    ------
    CommandError
        If it is not there; names those that are.
    """
    known = [one.casefold() for one in names]
    if name.casefold() in known:
        return known.index(name.casefold())
    if not names:
        raise CommandError(
            f"--{what}: the chassis has no {what}s; make one in the stage Drive, or in the file"
        )
    near = difflib.get_close_matches(name.casefold(), known, n=1)
    guess = f"; did you mean {names[known.index(near[0])]}?" if near else ""
    raise CommandError(f"--{what} must be one of {', '.join(names)} (got {short(name)}){guess}")
