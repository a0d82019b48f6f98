"""A build sheet as one file for a browser: real text, a plan that moves, nothing fetched.

The page states what may run and be drawn (a content security policy with the checksums of its own style and
script), so that no name in it can be more than a text. Without a script the plan stays a picture.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Iterator
from itertools import groupby

from app.drawing.layers import LAYERS
from app.export.html_svg import element, number, opened, picture
from app.export.html_text import SCRIPT, STYLE
from app.sheet.blocks import (
    MOST_WIDE,
    Block,
    Caution,
    Figure,
    Heading,
    Paragraph,
    Sheet,
    Steps,
    Table,
)
from app.sheet.live_plan import LivePlan
from app.sheet.marks import mark_turns, turn_words
from app.units import show_number
from app.words.bounds import rounded_up
from geometry.model.design import Design

# What errors are stated larger than found, for turns that were not looked at; and what rounding adds.
_CAREFUL = 1.5
_ROUNDING_DEG, _ROUNDING_DRAG, _ROUNDING_ROLL = 0.001, 0.05, 0.0001
_SAID = "Build sheet, written by Axlewright. Chassis fingerprint"
_WIDE_CELL, _MIDDLING_CELL = 24, 9
"""Cells with more letters than that keep some width on a phone."""


def render(sheet: Sheet) -> str:
    """Write the whole page.

    Parameters
    ----------
    sheet : Sheet
        Of `app.sheet.build_sheet.sheet_of`.

    Returns
    -------
    str
        The same for the same sheet, everywhere.
    """
    sections = [
        (key, list(blocks)) for key, blocks in groupby(_keyed(sheet.blocks), key=lambda pair: pair[0])
    ]
    first, *rest = (_section([block for _, block in blocks], sheet) for _, blocks in sections)
    title, style = html.escape(sheet.title), STYLE + _role_style()
    scripts = _scripts(sheet.live) if sheet.live else ""
    policy = f"default-src 'none'; style-src {_checksum(style)}; script-src {_checksum(SCRIPT)}"
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{title}: build sheet</title>",
            f"<style>{style}</style>",
            "</head>",
            "<body>",
            f'<header><h1 dir="auto">{title}</h1>',
            f'<p class="note">{_SAID} <code>{sheet.fingerprint[:16]}</code></p></header>',
            "<main>",
            first,
            _contents(sheet),
            *rest,
            "</main>",
            f"{scripts}</body>",
            "</html>",
            "",
        ]
    )


def _checksum(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _role_style() -> str:
    lines = []
    for layer in LAYERS.values():
        dash = f" stroke-dasharray: {' '.join(map(number, layer.dash))};" if layer.dash else ""
        look = f"stroke: {layer.ink}; stroke-width: {number(layer.width)};{dash}"
        lines.append(f".r-{layer.key} {{ {look} }}")
        lines.append(f".r-{layer.key}.filled {{ fill: {layer.ground}; }}")
        lines.append(f"text.r-{layer.key} {{ fill: {layer.ink}; stroke: none; }}")
    return "\n".join([*lines, ""])


def _keyed(blocks: tuple[Block, ...]) -> Iterator[tuple[str, Block]]:
    key = ""
    for block in blocks:
        key = block.key if isinstance(block, Heading) else key
        yield key, block


def _contents(sheet: Sheet) -> str:
    items = "\n".join(f'<li><a href="#{h.key}">{html.escape(h.text)}</a></li>' for h in sheet.headings)
    return f'<nav aria-label="Contents"><h2>Contents</h2>\n<ol>\n{items}\n</ol></nav>'


def _section(blocks: list[Block], sheet: Sheet) -> str:
    key = next(block.key for block in blocks if isinstance(block, Heading))
    body = "\n".join(_block(block, sheet) for block in blocks)
    return f'<section id="{key}">\n{body}\n</section>'


def _block(block: Block, sheet: Sheet) -> str:
    match block:
        case Heading():
            return f"<h2>{html.escape(block.text)}</h2>"
        case Paragraph():
            lines = "<br>\n".join(html.escape(line) for line in block.text.splitlines())
            return f'<p dir="auto">{lines}</p>'
        case Caution():
            items = "\n".join(f"<li>{html.escape(line)}</li>" for line in block.lines)
            return f'<div class="care"><ul>\n{items}\n</ul></div>'
        case Steps():
            items = "\n".join(
                f'<li><label><input type="checkbox"><span>{html.escape(item)}</span></label></li>'
                for item in block.items
            )
            return f'<ol class="steps">\n{items}\n</ol>'
        case Table():
            return _table(block)
        case Figure():
            return _live_figure(block, block.live, sheet.design) if block.live else _figure(block)


def _table(table: Table) -> str:
    head = "".join(
        f'<th scope="col"{_class(side)}>{html.escape(cell)}</th>'
        for cell, side in zip(table.head, table.sides, strict=True)
    )
    rows = "\n".join(
        "<tr>"
        + "".join(
            f"<td{_class(side, len(cell))}>{html.escape(cell)}</td>"
            for cell, side in zip(row, table.sides, strict=True)
        )
        + "</tr>"
        for row in table.rows
    )
    caption = f"<caption>{html.escape(table.caption)}</caption>" if table.caption else ""
    label = html.escape(table.caption or " ".join(table.head))
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{label}"><table>{caption}\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody></table></div>"
    )


def _class(side: str, letters: int = 0) -> str:
    if side == "right":
        return ' class="right"'
    if letters > _WIDE_CELL:
        return ' class="wide"'
    return ' class="mid"' if letters > _MIDDLING_CELL else ""


def _figure(figure: Figure) -> str:
    caption = html.escape(figure.caption)
    high = figure.high
    drawn = picture(figure.drawing, MOST_WIDE, high, label=figure.drawing.name)
    return f'<figure><div class="scroll">{drawn}</div>\n<figcaption>{caption}</figcaption></figure>'


# The plan that moves ----------------------------------------------------------------------------


def _live_figure(figure: Figure, live: LivePlan, design: Design) -> str:
    high = live.high
    ground = [e for e in live.ground.elements if e.role != "kingpin"]
    pins = [e for e in live.ground.elements if e.role == "kingpin"]
    start = opened(live.wide, high, f"Plan of {design.name}").replace("<svg ", '<svg class="live" ')
    parts = [
        start,
        *(element(e, high) for e in ground),
        *(_wheel(live, n) for n in range(len(live.kingpins))),
        *(element(e, high) for e in pins),
        _centre(live),
        *(element(e, high) for e in live.numbers),
        "</svg>",
    ]
    caption = html.escape(figure.caption)
    return "\n".join(
        [
            "<figure>",
            *parts,
            f"<figcaption>{caption}</figcaption></figure>",
            _controls(live),
            _figures_table(live, design),
        ]
    )


def _wheel(live: LivePlan, n: int) -> str:
    heading = float(live.rows.at(live.rows.heading, live.turn)[n])
    (x, y), (dx, dy), (wide, diameter) = live.kingpins[n], live.offsets[n], live.sizes[n]
    turned = f"translate({number(x)} {number(live.high - y)}) rotate({number(-heading)})"
    far = number(live.reach)
    line = f'<line class="r-axle_line" x1="-{far}" y1="{number(-dy)}" x2="{far}" y2="{number(-dy)}"/>'
    box = f'x="{number(dx - wide / 2)}" y="{number(-dy - diameter / 2)}"'
    size = f'width="{number(wide)}" height="{number(diameter)}" rx="{number(0.15 * wide)}"'
    return f'<g id="wheel-{n}" transform="{turned}"><rect class="r-wheel filled" {box} {size}/>{line}</g>'


def _centre(live: LivePlan) -> str:
    at = live.centre_at(live.turn)
    x, y = at if at is not None else (0.0, 0.0)
    seen = "visible" if at is not None else "hidden"
    place = f'transform="translate({number(x)} {number(live.high - y)})"'
    cross = '<circle class="r-centre" r="1.2"/><path class="r-centre" d="M-2 0H2M0 -2V2"/>'
    return f'<g id="centre" visibility="{seen}" {place}>{cross}</g>'


def _controls(live: LivePlan) -> str:
    reach = live.rows.turns[-1]
    buttons = "\n".join(
        f'<button type="button" id="mark-{n}">{html.escape(turn_words(turn))}</button>'
        for n, turn in enumerate(reversed(_marks(live)))
    )
    return (
        '<div class="controls" id="controls" hidden><label for="turn">Turn input '
        f'<output id="turn-shown" for="turn">{show_number(live.turn, 3)}</output>, '
        '<span id="radius"></span></label>\n'
        f'<input type="range" id="turn" dir="rtl" min="{-reach:g}" max="{reach:g}" step="any" '
        f'value="{live.turn:g}">\n{buttons}</div>'
    )


def _marks(live: LivePlan) -> tuple[float, ...]:
    return mark_turns(float(live.rows.turns[-1]))


def _figures_table(live: LivePlan, design: Design) -> str:
    rows, turn = live.rows, live.turn
    heading, roll, drag = (rows.at(column, turn).tolist() for column in (rows.heading, rows.roll, rows.drag))
    cells = "\n".join(
        f"<tr><td>{n + 1}</td><td>{html.escape(wheel.name)}</td>"
        f'<td class="right" id="angle-{n}">{_fixed(heading[n] - live.built_in[n], 2)}°</td>'
        f'<td class="right" id="speed-{n}">{_fixed(roll[n], 3)}</td>'
        f'<td class="right" id="drag-{n}">{_fixed(drag[n], 1)}</td></tr>'
        for n, wheel in enumerate(design.wheels)
    )
    head = "".join(
        f'<th scope="col"{_class(side)}>{word}</th>'
        for word, side in (
            ("No.", ""),
            ("Wheel", ""),
            ("Angle", "right"),
            ("Speed", "right"),
            ("Drag mm/m", "right"),
        )
    )
    return (
        '<div class="scroll" tabindex="0" role="region" aria-label="Wheels at this turn"><table>'
        f"<caption>{html.escape(error_words(live))}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{cells}\n</tbody></table></div>"
    )


def _fixed(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return f"{0:.{digits}f}" if float(text) == 0 else text


def stated_error(live: LivePlan) -> tuple[float, float, float]:
    """What the page says of its straight lines between rows: degrees, shares of speed, mm per metre."""
    error = live.rows.error
    return (
        rounded_up(_CAREFUL * error.heading_deg + _ROUNDING_DEG, 2),
        rounded_up(_CAREFUL * error.roll + _ROUNDING_ROLL, 2),
        rounded_up(_CAREFUL * error.drag + _ROUNDING_DRAG, 2),
    )


def error_words(live: LivePlan) -> str:
    """The same as sentences."""
    heading, roll, drag = stated_error(live)
    jumps = " Where a wheel jumps it has both sides, and nothing between." if live.rows.breaks else ""
    return (
        f"Angle, speed as a share of the faster side's, and drag at the turn that is shown. The page has "
        f"{len(live.rows.turns)} turns, with straight lines between them, which are off by at most "
        f"{heading:g}°, {roll:g} of speed and {drag:g} mm/m.{jumps}"
    )


def _scripts(live: LivePlan) -> str:
    # No tag can end within the data.
    data = json.dumps(_data(live), separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")
    return f'<script type="application/json" id="turn-rows">{data}</script>\n<script>{SCRIPT}</script>\n'


def _data(live: LivePlan) -> dict[str, object]:
    rows, high = live.rows, live.high
    forward, leftward, yaw = (column.round(8).tolist() for column in rows.twist.T)
    return {
        "turn": rows.turns.round(12).tolist(),
        "breaks": list(rows.breaks),
        "forward": forward,
        "leftward": leftward,
        "yaw": yaw,
        "half_track": live.half_track,
        "scale": round(live.scale, 9),
        "origin": [round(live.origin[0], 3), round(high - live.origin[1], 3)],
        "far": round(3.0 * live.reach, 3),
        "marks": list(reversed(_marks(live))),
        "wheels": [
            {
                "kingpin": [round(x, 3), round(high - y, 3)],
                "built_in": round(live.built_in[n], 6),
                "heading": (rows.heading[:, n].round(3) + 0.0).tolist(),
                "roll": (rows.roll[:, n].round(4) + 0.0).tolist(),
                "drag": (rows.drag[:, n].round(1) + 0.0).tolist(),
            }
            for n, (x, y) in enumerate(live.kingpins)
        ],
    }
