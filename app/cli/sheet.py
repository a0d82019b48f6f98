"""The verb ``sheet``: write the build sheet, for a browser or on paper."""

from __future__ import annotations

import argparse
import sys
from pathlib import PurePath

from app.cli.arguments import add_file
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver, note_verdict
from app.cli.progress_line import shown_progress
from app.design.facts import Facts
from app.design.files import read_design
from app.export import html_sheet, parts_csv
from app.export.on_paper import sheet_on_paper
from app.sheet.blocks import Sheet
from app.sheet.build_sheet import sheet_of
from app.sheet.paper_pages import SHEET_PAPERS, Paper
from geometry.errors import CommandError
from geometry.model.frozen import short

_PAPER: Paper = "A4"
_ENDINGS = (".html", ".htm", ".pdf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, and where sheet and parts list go."""
    parser.description = (
        "All that a builder needs: picture, wheels, motors and gears, parts, angles, working, check, "
        "weights, set-up and first run. The ending says what is written: .html is one page whose plan moves, "
        ".pdf is paper."
    )
    add_file(parser)
    parser.add_argument("-o", "--output", metavar="OUT", help=f"OUT{', OUT'.join(_ENDINGS)}; - prints HTML")
    parser.add_argument("--paper", metavar="P", help=f"of PDF: {', '.join(SHEET_PAPERS)} (default {_PAPER})")
    parser.add_argument("--parts", metavar="OUT.csv", help="where the parts list goes as CSV; - prints it")


def run(options: argparse.Namespace) -> int:
    """Write what is asked for; that the chassis drags goes where errors go."""
    if options.output is None and options.parts is None:
        raise CommandError("say where to: axlewright sheet FILE -o OUT.html, or --parts OUT.csv")
    paper = None if options.paper is None else _paper(options.paper)
    ending = "" if options.output is None else _ending(options.output)
    if paper is not None and ending != ".pdf":
        raise CommandError("--paper is for -o OUT.pdf; leave it out")
    design = read_design(options.file).design
    facts = Facts(design)
    if options.output is not None:
        with shown_progress(sys.stderr) as progress:
            sheet = sheet_of(facts, progress)
        data = _pdf(sheet, paper or _PAPER) if ending == ".pdf" else html_sheet.render(sheet).encode()
        deliver(data, options.output, replace=True)
    if options.parts is not None:
        deliver(parts_csv.render(design).encode(), options.parts, replace=True)
    if design.wheels:
        note_verdict(facts)
    return ALIGNED


def _paper(word: str) -> Paper:
    for paper in SHEET_PAPERS:
        if paper.casefold() == word.casefold():
            return paper
    raise CommandError(f"--paper must be {' or '.join(SHEET_PAPERS)} (got {short(word)})")


def _ending(output: str) -> str:
    if output == "-":
        return ".html"
    ending = PurePath(output).suffix.casefold()
    if ending not in _ENDINGS:
        raise CommandError(f"-o must end with {', '.join(_ENDINGS)} (got {short(output)})")
    return ending


def _pdf(sheet: Sheet, paper: Paper) -> bytes:
    from app.export.pdf import pdf_of  # late: a page for a browser needs none of it

    laid = sheet_on_paper(sheet, paper)
    return pdf_of(laid.pages, laid.title)
