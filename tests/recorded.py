"""Record what leaves the program, to see that a change of its structure changes nothing.

``python -m tests.recorded write FILE`` writes a SHA-256 for each answer: check, table, every
code of every sample and of a few dozen seeded odd designs, and the numbers that the picture
shows. ``python -m tests.recorded compare FILE`` works all out anew and names what differs.
A record holds on one machine with one set of libraries: last bits differ between processors.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import math
import sys
import tempfile
import warnings
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import numpy as np

from app.cli.command_line import run
from app.design.facts import Facts
from app.design.files import FORMAT, design_from_text, design_text
from app.design.migrations import VERSION
from app.design.samples import sample_design
from app.picture.view import Command, View
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from sample_chassis import SAMPLES
from tests.whole.odd_robots import ODD

SEED = 20_261_125
SEEDED = 36
_SHOWN_TURNS = (-1.0, -0.62, -0.5, -0.1, 0.0, 1e-9, 0.25, 0.5, 0.51, 0.9, 1.0)
_CODES = (
    ("--format", "micropython"),
    ("--format", "micropython", "--spacing", "even"),
    ("--format", "micropython", "--method", "formula"),
    ("--format", "c"),
    ("--format", "c", "--method", "formula"),
    ("--format", "json"),
    ("--format", "json", "--spacing", "even", "--error", "1deg"),
    ("--format", "csv"),
    ("--format", "csv", "--spacing", "even"),
    ("--vectors", "200"),
)


def seeded_design(number: int) -> Design:
    """One of the odd but valid designs; the same number gives the same one."""
    rng = np.random.default_rng([SEED, number])
    while True:
        with contextlib.suppress(AxlewrightError):
            return design_from_text(json.dumps({"format": FORMAT, "version": VERSION, **_drawn(rng)}))


def _drawn(rng: np.random.Generator) -> dict[str, object]:
    """A chassis file's keys, drawn at random; it need not be valid."""
    count = int(rng.integers(1, 9))
    wheels = [_drawn_wheel(rng, n) for n in range(count)]
    steered = [str(w["name"]) for w in wheels if w["kind"] == "steered"]
    driven = [str(w["name"]) for w in wheels if w["driven"] and w["kind"] != "caster"]
    return {
        "name": "seeded",
        "wheels": wheels,
        "base_axle_x_mm": float(rng.integers(-80, 80)) if rng.random() < 0.3 else None,
        "largest_turn": float(rng.choice([1.0, 1.0, 0.8, 0.45])),
        "steer_motors": _drawn_motors(rng, steered, "steer") if rng.random() < 0.6 else [],
        "drive_motors": _drawn_motors(rng, driven, "drive") if rng.random() < 0.6 else [],
    }


def _drawn_wheel(rng: np.random.Generator, n: int) -> dict[str, object]:
    kind = str(rng.choice(["fixed", "steered", "steered", "caster"], p=[0.35, 0.3, 0.2, 0.15]))
    travel = float(rng.choice([180.0, 120.0, 80.0, 35.0]))
    bent = rng.random() < 0.35
    return {
        "name": f"wheel {n}",
        "kind": kind,
        "x_mm": float(rng.integers(-20, 20) * 10),
        "y_mm": float(rng.integers(-15, 16) * 10),
        "diameter_mm": float(rng.integers(30, 120)),
        "trail_mm": float(rng.integers(-20, 30)) if bent else 0.0,
        "lateral_offset_mm": float(rng.integers(-15, 15)) if bent else 0.0,
        "toe_deg": float(rng.integers(-3, 4)) if rng.random() < 0.25 else 0.0,
        "travel_min_deg": -travel,
        "travel_max_deg": travel,
        "driven": bool(rng.random() < 0.5),
        "load_share": float(rng.choice([1.0, 1.0, 0.5, 2.0])),
    }


def _drawn_motors(rng: np.random.Generator, names: list[str], kind: str) -> list[dict[str, object]]:
    motors: list[dict[str, object]] = []
    left = list(rng.permutation(names))
    while left:
        size = int(rng.integers(1, 1 + min(3, len(left))))
        held, left = left[:size], left[size:]
        gears = [_drawn_gearing(rng, str(wheel)) for wheel in held]
        motor: dict[str, object] = {
            "name": f"{kind} {len(motors)}",
            "wheels": gears,
            "reversed": bool(rng.random() < 0.3),
        }
        if kind == "steer":
            motor["unit"] = str(rng.choice(["degrees", "counts", "microseconds"]))
            motor["zero_deg"] = float(rng.integers(-5, 6))
        else:
            motor["units_per_turn"] = None if rng.random() < 0.5 else float(rng.integers(12, 2000))
        motors.append(motor)
        if rng.random() < 0.15:
            break
    return motors


def _drawn_gearing(rng: np.random.Generator, wheel: str) -> dict[str, object]:
    if rng.random() < 0.3:
        return {"wheel": wheel, "train": [[int(rng.integers(10, 40)), int(rng.integers(10, 40))]]}
    return {"wheel": wheel, "ratio": float(rng.choice([1.0, 1.0, -1.0, 0.5, -0.8]))}


def designs() -> Iterator[tuple[str, Design]]:
    """All designs that are recorded, with a name each."""
    for sample in SAMPLES:
        yield f"sample {sample.key}", sample_design(sample.key)
    for name, made in ODD.items():
        yield f"odd {name}", made()
    for number in range(SEEDED):
        yield f"seeded {number}", seeded_design(number)


def answers(name: str, design: Design, folder: Path) -> Iterator[tuple[str, bytes]]:
    """All that leaves the process for one design, each with its name."""
    path = folder / "design.json"
    path.write_text(design_text(design), encoding="utf-8")
    yield f"{name}: file", path.read_bytes()
    for words in (["check", str(path)], ["check", str(path), "--json", "--rows", "41"]):
        yield f"{name}: {' '.join(words[:1] + words[2:])}", _said(words, path)
    for rows in ("201", "1001"):
        yield f"{name}: table {rows}", _said(["table", str(path), "--rows", rows, "-o", "-"], path)
    for options in _CODES:
        words = ["export", str(path), *options, "-o", "-"]
        yield f"{name}: export {' '.join(options)}", _said(words, path)
    yield f"{name}: picture", _picture(design).encode()


def _said(words: list[str], path: Path) -> bytes:
    """Exit code, output and errors of one command, without the folder's own name."""
    out, err = io.BytesIO(), io.StringIO()
    printed = io.TextIOWrapper(out, encoding="utf-8", newline="")
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(err):
        code = run(words)
        printed.flush()
    text = f"{code}\n".encode() + out.getvalue() + err.getvalue().encode()
    return text.replace(str(path).encode(), b"FILE")


def _picture(design: Design) -> str:
    """The numbers that the window shows at some turns, as exact text."""
    facts, told = Facts(design), []
    for turn in _SHOWN_TURNS:
        if abs(turn) > design.largest_turn:
            continue
        for speed in (1.0, -0.5):
            view = View(facts, Command(turn, speed))
            told.append(
                [
                    turn,
                    speed,
                    _plain(view.rows),
                    _plain(view.verdict),
                    [
                        _plain(getattr(view, name))
                        for name in ("centre", "asked_centre", "best_fit", "contacts")
                    ],
                    [_plain(getattr(view, name)) for name in ("rank", "gap", "radius", "true_radius")],
                ]
            )
    told.append([_plain(mark) for mark in facts.landmarks])
    return json.dumps(told)


def _plain(value: object) -> object:
    """Numbers as exact hexadecimal text, all else as it is."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, np.ndarray | tuple | list):
        return [_plain(each) for each in np.asarray(value, dtype=object).ravel()]
    if isinstance(value, float | np.floating):
        return float(value).hex() if math.isfinite(value) else str(float(value))
    return value if isinstance(value, str | int | bool | None) else str(value)


def record() -> dict[str, str]:
    """SHA-256 of every answer by its name."""
    found = {}
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("error")
        for name, design in designs():
            print(name, file=sys.stderr, flush=True)
            for label, data in answers(name, design, Path(folder)):
                found[label] = hashlib.sha256(data).hexdigest()
    return found


def differing(before: dict[str, str], after: dict[str, str]) -> list[str]:
    """Names of answers that changed, came or went."""
    return [name for name in {**before, **after} if before.get(name) != after.get(name)]


def main(argv: list[str] | None = None) -> int:
    """Write or compare a record; 1 where something differs."""
    parser = argparse.ArgumentParser("python -m tests.recorded", description=__doc__)
    parser.add_argument("what", choices=("write", "compare"))
    parser.add_argument("file", type=Path)
    options = parser.parse_args(argv)
    found = record()
    if options.what == "write":
        options.file.write_text(json.dumps(found, indent=1), encoding="utf-8")
        print(f"{len(found)} answers recorded")
        return 0
    changed = differing(json.loads(options.file.read_text(encoding="utf-8")), found)
    for name in changed:
        print(name)
    print(f"{len(changed)} of {len(found)} answers differ")
    return 1 if changed else 0


if __name__ == "__main__":
    sys.exit(main())
