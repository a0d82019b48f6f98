"""A header of C99: constant tables, no heap, by table nothing but <stdint.h>."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple

from app.controller.formula import Formula
from app.controller.programme import Programme
from app.export.c_text import TEXT
from app.export.header import flags_of, head_lines, input_lines, plain_values, speed_names
from app.export.template import filled
from geometry.lookup_table.fixed_point import LookupTable

_NUMBERS_IN_A_LINE = 10


def render(programme: Programme) -> str:
    """Write the header; the same programme gives the same text."""
    p = programme.controller.prefix
    values = {
        "head": "\n".join(f" * {line}".rstrip() for line in head_lines(programme, _calls(programme))),
        "steer_places": _places(f"{p}_STEER_", (o.name for o in programme.steer)),
        "speed_places": _places(f"{p}_SPEED_", (name for name, _ in speed_names(programme))),
        **plain_values(programme, _list),
        **_table_values(programme.table),
        **_formula_values(programme.formula),
    }
    return filled(TEXT, flags_of(programme), values)


def _calls(programme: Programme) -> tuple[str, ...]:
    p, parts = programme.controller.prefix, programme.parts
    measured = ", measured" if "hold" in parts else ""
    lines = [
        "How to call it:",
        f"    {p}_state state;",
        f"    {p}_targets targets;",
        f"    {p}_start(&state);",
        f"    {p}_drive(&state, left, right, ms{measured}, &targets);",
    ]
    if "mixing" in parts:
        lines.append(f"    {p}_stick(&state, throttle, turn, ms{measured}, &targets);")
    lines += [
        *input_lines(programme),
        "Of a float that is handed over C itself cuts the fraction off, and makes anything of one that",
        "is not a number (nan): round it, and see that it is a number, before the call.",
    ]
    if parts & {"limiter", "hold"}:
        lines.append("At the start the steering is taken to stand straight ahead: set it so.")
    if measured:
        lines += [
            "measured points to where the steering stands, or is 0; targets.holding says whether",
            "the drive waits.",
        ]
    return tuple(lines)


def _list(items: Iterable[object]) -> str:
    return ", ".join(str(item) for item in items)


def _places(before: str, names: Iterable[str]) -> str:
    return "\n".join(f"    {before}{name} = {i}," for i, name in enumerate(names))


def _table_values(table: LookupTable | None) -> dict[str, str]:
    if table is None:
        names = ("values", "nodes", "segments", "segment_count", "shift", "rows", "value_bits", "turn_bits")
        return dict.fromkeys(names, "")
    nodes = table.nodes.tolist()
    lines = [nodes[i : i + _NUMBERS_IN_A_LINE] for i in range(0, len(nodes), _NUMBERS_IN_A_LINE)]
    return {
        "values": ",\n".join(f"        {{{_list(row)}}}" for row in table.values.tolist()),
        "nodes": ",\n".join(f"        {_list(line)}" for line in lines),
        "segments": _list(f"{{{s.first}, {s.step}, {s.row}}}" for s in table.segments),
        "segment_count": str(len(table.segments)),
        "shift": _list(table.shift.tolist()),
        "rows": str(len(nodes)),
        "value_bits": str(8 * table.value_bytes),
        "turn_bits": str(8 * table.turn_bytes),
    }


def _formula_values(formula: Formula | None) -> dict[str, str]:
    if formula is None:
        return {}
    pieces = (", ".join(f"{{{_list(piece.numbers)}}}" for piece in row) for row in formula.pieces)
    groups = (", ".join(f"{{{_list(piece.group or (0.0,))}}}" for piece in row) for row in formula.pieces)
    wheels = [(d, *astuple(wheel)) for d, row in enumerate(formula.rollings) for wheel in row]
    return {
        "angles": ",\n".join(f"        {{{_list(astuple(angle))}}}" for angle in formula.angles),
        "starts": _list(formula.starts),
        "stretches": str(len(formula.starts)),
        "pieces": ",\n".join(f"        {{{row}}}" for row in pieces),
        "groups": ",\n".join(f"        {{{row}}}" for row in groups),
        "rolling_count": str(len(wheels)),
        "rollings": ",\n".join(f"        {{{_list(wheel)}}}" for wheel in wheels),
    }
