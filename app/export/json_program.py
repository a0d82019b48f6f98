"""The fitted table and all settings as JSON, for ports to other languages."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from app.controller.code_outputs import MOST_MS
from app.controller.programme import Programme
from app.controller.runtime import STEPS
from app.export.header import CAUTIONS, speed_names
from app.words.alignment_summary import verdict_sentence
from app.words.bounds import rounded_up

FORMAT = "axlewright-controller"
VERSION = 1
_DIGITS = 6


def render(programme: Programme) -> str:
    """Write the programme as JSON text; the same programme gives the same text."""
    plain = {
        "format": FORMAT,
        "version": VERSION,
        "chassis": programme.design.name,
        "fingerprint_sha256": programme.fingerprint,
        "aligned": programme.chassis.facts.check.aligned,
        "verdict": verdict_sentence(programme.chassis.facts),
        **({"given_up": " ".join(programme.given_up)} if programme.given_up else {}),
        "cautions": " ".join(CAUTIONS),
        "inputs": "whole thousandths from -1000 to 1000; a positive turn is to the left",
        "most_ms": MOST_MS,
        "steps": list(STEPS),
        "turn_steps_for_1": programme.turn_one,
        "first_step": programme.first,
        "last_step": programme.last,
        "parts": _parts(programme),
        "steer": _steer(programme),
        "speed": _speeds(programme),
        "table": _table(programme),
        "formula": _formula(programme),
    }
    lines = [f"  {json.dumps(key)}: {_value(key, value)}" for key, value in plain.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _value(key: str, value: Any) -> str:
    if key in {"steps", "steer", "speed"} and value:
        return "[\n" + ",\n".join(f"    {_text(row)}" for row in value) + "\n  ]"
    if key in {"table", "formula"} and value:
        inner = [f"    {json.dumps(name)}: {_rows(name, part)}" for name, part in value.items()]
        return "{\n" + ",\n".join(inner) + "\n  }"
    return _text(value)


def _rows(name: str, part: Any) -> str:
    if name in {"rows", "angles", "pieces", "rollings"}:
        return "[\n" + ",\n".join(f"      {_text(row)}" for row in part) + "\n    ]"
    return _text(part)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _parts(programme: Programme) -> dict[str, Any]:
    controller, parts = programme.controller, programme.parts
    return {
        "mixing": "mixing" in parts,
        "dead_band_permille": controller.dead_band_permille if "dead_band" in parts else 0,
        "scaling": "scaling" in parts,
        "clamp": "clamp" in parts,
        "limiter": "limiter" in parts,
        "hold": "hold" in parts,
        "creep_permille": controller.creep_permille,
    }


def _steer(programme: Programme) -> list[dict[str, Any]]:
    return [
        {
            "name": output.name,
            "label": output.label,
            "unit": output.unit,
            "low": output.low,
            "high": output.high,
            "per_second": output.per_second,
            "hold_within": output.within,
            "per_degree_at_wheel": _short(output.per_degree),
            "bound_deg_at_wheel": rounded_up(bound / output.per_degree, _DIGITS),
        }
        for output, bound in zip(programme.steer, programme.bound.tolist(), strict=False)
    ]


def _speeds(programme: Programme) -> list[dict[str, Any]]:
    if not programme.drive:
        return [{"name": name, "unit": words} for name, words in speed_names(programme)]
    bounds = programme.bound.tolist()[len(programme.steer) :]
    return [
        {
            "name": output.name,
            "label": output.label,
            "unit": output.unit,
            "top": output.top,
            "bound_permille": rounded_up(1000.0 * bound / output.usable, _DIGITS),
        }
        for output, bound in zip(programme.drive, bounds, strict=True)
    ]


def _short(value: float) -> float:
    """Few digits: the last bits may differ from one machine to the next."""
    return float(f"{value:.{_DIGITS}g}")


def _table(programme: Programme) -> dict[str, Any] | None:
    table = programme.table
    if table is None:
        return None
    return {
        "how": "a turn step belongs to the last of 'segments' whose 'first' is not above it, and only that "
        "segment's rows answer it: as many of all 'rows' as it says, from number 'row' on, counted from 0; "
        "where 'step' is not 0 they stand that far apart, and the last one may stand past 'last' and past "
        "the first rows of the next segment; a row is its turn step and the values of the outputs, steering "
        "first; at its own step a row answers alone; between it and the next one, w steps apart, d steps "
        "past the first, a value is v0 + (v1 - v0) d / w, the division rounded; in the end a value is "
        "divided by 2 to the power of its 'shift', rounded; by a negative one it is multiplied",
        "spacing": table.spacing,
        "bytes": programme.size,
        "shift": table.shift.tolist(),
        "segments": [
            {"first": s.first, "last": s.last, "step": s.step, "row": s.row, "rows": s.rows}
            for s in table.segments
        ],
        "rows": [[node, *row] for node, row in zip(table.nodes.tolist(), table.values.tolist(), strict=True)],
    }


def _formula(programme: Programme) -> dict[str, Any] | None:
    formula = programme.formula
    if formula is None:
        return None
    return {
        "how": "a turn step belongs to the last of 'starts' that is not above it, and the row of 'pieces' of "
        "the same number has a piece for each steering output, as 'angles' has; with s the turn step by "
        "'turn_steps_for_1', vx = 1 - |s| + s ax and vy = s ay, an output's angle is offset, "
        "plus atan2(vy, vx) + lead asin(s ex / |v|) where follows is 1, or plus half of atan2(im, re) where "
        "it is 2, re and im being the first and last three of group by (1 - |s|)^2, (1 - |s|) s and s^2; "
        "that is divided by ratio and held from low to high; told + told_per_rad times it, rounded, is the "
        "output's number; a speed is the sum over its wheels, a row of 'rollings', of "
        "weight (vx cos t + vy sin t - s ey), rounded, with t = built_in + ratio times the angle of the "
        "output that turns the wheel, whose number from 0 is its angle (-1: none)",
        "starts": list(formula.starts),
        "angles": [asdict(angle) for angle in formula.angles],
        "pieces": [[asdict(piece) for piece in row] for row in formula.pieces],
        "rollings": [[asdict(wheel) for wheel in row] for row in formula.rollings],
    }
