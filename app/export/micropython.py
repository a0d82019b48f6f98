"""A module for MicroPython, which works in plain Python as well; by table it imports nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple

from app.controller.formula import Formula, functions_of
from app.controller.programme import Programme
from app.export.header import flags_of, head_lines, input_lines, plain_values, speed_names
from app.export.micropython_text import TEXT
from app.export.template import filled
from geometry.lookup_table.fixed_point import LookupTable

_BYTES_IN_A_LINE = 20

MODULE = "robot"
"""What the file is proposed to be called, and what its head has the caller import."""


def render(programme: Programme) -> str:
    """Write the module; the same programme gives the same text."""
    values = {
        "head": "\n".join(f"# {line}".rstrip() for line in head_lines(programme, _calls(programme))),
        "steer_names": _tuple(repr(o.name).replace("'", '"') for o in programme.steer),
        "speed_names": _tuple(f'"{name}"' for name, _ in speed_names(programme)),
        **plain_values(programme, _tuple),
        **_table_values(programme.table),
        **_formula_values(programme.formula),
    }
    return filled(TEXT, flags_of(programme), values)


def _calls(programme: Programme) -> tuple[str, ...]:
    p, parts = programme.controller.prefix, programme.parts
    measured = ", measured" if "hold" in parts else ""
    lines = [
        f"How to call it, with this file saved as {MODULE}.py:",
        f"    from {MODULE} import {p}_controller",
        f"    controller = {p}_controller()",
        f"    steer, speed = controller.drive(left, right, ms{measured})",
    ]
    if "mixing" in parts:
        lines.append(f"    steer, speed = controller.stick(throttle, turn, ms{measured})")
    lines += [
        *input_lines(programme),
        "An input with a fraction is rounded, halves away from 0; the fraction of ms is cut off.",
        "Where one of the two inputs is not a number (nan), both count as 0: the drive stops, and the",
        "steering stays. Such an ms counts as 0.",
        "Both lists that come back are the same ones each time, with whole numbers in them.",
    ]
    if parts & {"limiter", "hold"}:
        lines.append("At the start the steering is taken to stand straight ahead: set it so.")
    if measured:
        lines += [
            "measured, a list of where the steering stands, may be left out; controller.holding",
            "says whether the drive waits, as it does while one of measured is not a number.",
        ]
    return tuple(lines)


def _tuple(items: Iterable[object]) -> str:
    texts = [str(item) for item in items]
    return f"({', '.join(texts)}{',' if len(texts) == 1 else ''})"


def _table_values(table: LookupTable | None) -> dict[str, str]:
    if table is None:
        return dict.fromkeys(
            ("values", "nodes", "segments", "shift", "rows", "value_bytes", "turn_bytes"), ""
        )
    return {
        "values": _bytes(table.values.ravel().tolist(), table.value_bytes),
        "nodes": _bytes(table.nodes.tolist(), table.turn_bytes),
        "segments": _tuple(_tuple((s.first, s.step, s.row)) for s in table.segments),
        "shift": _tuple(table.shift.tolist()),
        "rows": str(len(table.nodes)),
        "value_bytes": str(table.value_bytes),
        "turn_bytes": str(table.turn_bytes),
    }


def _formula_values(formula: Formula | None) -> dict[str, str]:
    if formula is None:
        return dict.fromkeys(("functions", "angles", "starts", "pieces", "groups", "rollings"), "")
    return {
        "functions": ", ".join(functions_of(formula)),
        "angles": _lines(_tuple(astuple(angle)) for angle in formula.angles),
        "starts": _tuple(formula.starts),
        "pieces": _lines(
            _tuple(_tuple((p.offset, p.follows, p.lead)) for p in row) for row in formula.pieces
        ),
        "groups": _lines(_tuple(_tuple(piece.group) for piece in row) for row in formula.pieces),
        "rollings": _lines(_tuple(_tuple(astuple(wheel)) for wheel in row) for row in formula.rollings),
    }


def _lines(items: Iterable[str]) -> str:
    return "\n".join(f"    {item}," for item in items)


def _bytes(numbers: list[int], size: int) -> str:
    """Numbers as bytes, the lowest first, as lines of a literal."""
    data = b"".join(number.to_bytes(size, "little", signed=True) for number in numbers)
    lines = [data[i : i + _BYTES_IN_A_LINE] for i in range(0, len(data), _BYTES_IN_A_LINE)]
    return "\n".join('    b"' + "".join(f"\\x{byte:02x}" for byte in line) + '"' for line in lines)
