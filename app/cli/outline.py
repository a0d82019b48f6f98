"""The verb ``outline``: take the body's outline, and holes as openings, from a drawing."""

from __future__ import annotations

import argparse
from typing import TypeVar

from app.cli.arguments import add_file
from app.cli.exit_codes import ALIGNED
from app.cli.output import deliver
from app.cli.streams import complain
from app.design.disk import named_file
from app.design.files import design_text, read_design
from app.design.outline_edits import NO_SHIFT, shift_to_wheels, take_drawing
from app.design.outline_files.drawing import DRAWING_UNITS, FORWARDS, Drawing, DrawingUnit
from app.design.outline_files.reading import drawing_of
from app.units import UnitError, parse_number
from geometry.errors import CommandError
from geometry.model.frozen import short

Word = TypeVar("Word", bound=str)
_PLACES = ("wheels", "drawn")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Take a chassis file, a drawing, how it is to be laid, and where to write."""
    add_file(parser)
    parser.add_argument("drawing", metavar="DRAWING", type=named_file, help="drawing in DXF or SVG")
    parser.add_argument("-o", "--output", required=True, metavar="OUT.json", help="where to; - prints it")
    parser.add_argument(
        "--layer", metavar="L", action="append", help="take this layer alone; may be repeated"
    )
    parser.add_argument(
        "--unit", metavar="U", help=f"{', '.join(DRAWING_UNITS)} or in (default: as the file states)"
    )
    parser.add_argument("--scale", metavar="S", default="1", help="enlarge the drawing (default 1)")
    parser.add_argument(
        "--forward",
        metavar="D",
        default="up",
        help=f"direction of the drawing: {', '.join(FORWARDS)} (default up)",
    )
    parser.add_argument(
        "--place",
        metavar="P",
        default="wheels",
        help="wheels: its middle at that of the wheels (default); drawn: as it is drawn",
    )
    parser.add_argument(
        "--holes", action="store_true", help="take the other circles as openings in the floor"
    )


def run(options: argparse.Namespace) -> int:
    """Write the changed chassis, never over a file; what was left out goes where errors go."""
    forward = _one_of("--forward", options.forward, FORWARDS)
    place = _one_of("--place", options.place, _PLACES)
    unit = None if options.unit is None else _unit_of(options.unit)
    design = read_design(options.file).design
    drawing = drawing_of(options.drawing, unit=unit, scale=_scale_of(options.scale), forward=forward)
    shown = _layers_of(drawing, options.layer)
    shapes = shown.shapes
    if not shapes:
        raise CommandError(
            f"{drawing.name} has no closed outline on {', '.join(options.layer)}; name another layer"
        )
    body = shapes[0]
    holes = [circle for circle in shown.circles if circle is not body] if options.holes else []
    shift = shift_to_wheels(design, body) if place == "wheels" and design.wheels else NO_SHIFT
    changed = take_drawing(design, body, holes, shift)
    deliver(design_text(changed).encode(), options.output, replace=False)
    unsure = (f"The unit is {drawing.unit} with --unit.",) if drawing.unit.startswith("not stated") else ()
    for line in (*unsure, *shown.told()):
        complain(f"axlewright: note: {line}")
    return ALIGNED


def _one_of(option: str, word: str, known: tuple[Word, ...]) -> Word:
    found = next((one for one in known if one == word), None)
    if found is None:
        raise CommandError(f"{option} must be {' or '.join(known)} (got {short(word)})")
    return found


def _unit_of(word: str) -> DrawingUnit:
    found = next((unit for unit in DRAWING_UNITS if unit == {"in": "inch"}.get(word, word)), None)
    if found is None:
        raise CommandError(f"--unit must be {', '.join(DRAWING_UNITS)} or in (got {short(word)})")
    return found


def _scale_of(word: str) -> float:
    try:
        return parse_number(word)
    except UnitError as error:
        raise CommandError(f"--scale {error}") from None


def _layers_of(drawing: Drawing, wanted: list[str] | None) -> Drawing:
    if wanted is None:
        return drawing
    unknown = [name for name in wanted if name not in drawing.layers]
    if unknown:
        there = ", ".join(drawing.layers)
        raise CommandError(f"{drawing.name} has no layer {short(unknown[0])}; it has {there[:400]}")
    return drawing.only(frozenset(wanted))
