"""The verb ``plan``: the chassis on paper at full size or to scale, as PDF."""

from __future__ import annotations

import argparse
import re

from app.cli.arguments import add_file, length_of
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver
from app.cli.streams import complain
from app.design.files import read_design
from app.drawing.pages import FIT, PAPERS, Scale
from app.export.on_paper import SUBJECTS, plan_on_paper
from app.export.pdf import pdf_of
from geometry.errors import CommandError
from geometry.model.frozen import short

_PAPER, _OVERLAP = "A4", "10mm"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, where to write, the view, and the paper."""
    parser.description = (
        "Draw the chassis on paper, as PDF, at full size: on one sheet where it has room, else on tiles "
        "to be glued together. Print at 100 %, and measure the bars of 100 mm first."
    )
    add_file(parser)
    parser.add_argument("-o", "--output", required=True, metavar="OUT.pdf", help="where to; - prints it")
    parser.add_argument("--view", metavar="V", default="plan", help=f"{', '.join(SUBJECTS)} (default plan)")
    parser.add_argument(
        "--paper",
        metavar="P",
        help=f"{', '.join(PAPERS)}, or {FIT}: as large as the drawing wants (default {_PAPER}; "
        f"{FIT} with --one-sheet)",
    )
    parser.add_argument(
        "--scale", metavar="S", default="1:1", help=f"such as 1:2, or {FIT}: to one page (default 1:1)"
    )
    sheets = parser.add_mutually_exclusive_group()
    sheets.add_argument("--tiles", action="store_true", help="several sheets with an overlap")
    sheets.add_argument("--one-sheet", action="store_true", help="one sheet")
    turned = parser.add_mutually_exclusive_group()
    for name, how in (("portrait", "upright"), ("landscape", "lying")):
        words = f"take the paper {how} (default: as suits the drawing)"
        turned.add_argument(f"--{name}", dest="orientation", action="store_const", const=name, help=words)
    parser.add_argument(
        "--overlap", metavar="W", default=_OVERLAP, help=f"of neighbouring tiles (default {_OVERLAP})"
    )


def run(options: argparse.Namespace) -> int:
    """Write the pages; how many there are, and what is left out, goes where errors go."""
    view = next((known for known in SUBJECTS if known == options.view), None)
    if view is None:
        raise CommandError(f"--view must be {', '.join(SUBJECTS)} (got {short(options.view)})")
    scale, overlap = _scale_of(options.scale), length_of("--overlap", options.overlap)
    design = read_design(options.file).design
    if not (design.wheels or design.body_mm or design.packaging.parts):
        raise CommandError("the chassis has neither wheels, body nor parts to draw; add some first")
    laid = plan_on_paper(
        design,
        view,
        (FIT if options.one_sheet and scale != "fit" else _PAPER) if options.paper is None else options.paper,
        scale=scale,
        tiles=True if options.tiles else False if options.one_sheet else None,
        orientation=options.orientation,
        overlap=overlap,
    )
    deliver(pdf_of(laid.pages, laid.title), options.output, replace=True)
    for line in laid.told:
        complain(f"axlewright: note: {line}")
    return ALIGNED


def _scale_of(word: str) -> Scale:
    if word == "fit":
        return "fit"
    found = re.fullmatch(r"([0-9]{1,4}(?:\.[0-9]{1,3})?):([0-9]{1,4}(?:\.[0-9]{1,3})?)", word)
    paper, full = (float(part) for part in found.groups()) if found else (0.0, 0.0)
    if paper <= 0.0 or full <= 0.0:
        raise CommandError(f"--scale must be paper to full size, such as 1:2, or fit (got {short(word)})")
    return paper / full
