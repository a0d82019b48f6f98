"""Ten thousand damaged chassis files: each gives a chassis or a clear error, and soon."""

import json
import random
import time

import numpy as np
import pytest

from app.controller.export_error import ExportError
from app.controller.steering_table import table_of
from app.design.files import FileError, read_design
from app.design.samples import sample_text
from app.export import csv_table
from geometry.model.base_axle import base_of
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import landmarks
from sample_chassis import SAMPLES

COUNT = 10_000
TURNS = (-1.0, -0.5, 0.0, 0.3, 1.0)
TEXTS = [sample_text(sample.key) for sample in SAMPLES]
TOKENS = [
    *(
        "NaN",
        "Infinity",
        "-Infinity",
        "1e308",
        "-1e308",
        "1e999",
        "1e-320",
        "-0.0",
        "0",
        "1" * 400,
        "1" * 5000,
    ),
    *("null", "true", "false", "[]", "{}", '""', '"a"', '"\\ud800"', '"\\u0000"', "[[0, 0], [0, 0], [0, 0]]"),
    *(
        "10000",
        "10000.000001",
        "-10000",
        "0.0001",
        '"fixed"',
        '"steered"',
        '"caster"',
        '"front left"',
        "180",
        "-180",
    ),
    *(
        "[" * 5 + "]" * 5,
        "[" * 3000 + "]" * 3000,
        '{"a":' * 600 + "1" + "}" * 600,
        "/* */",
        "'",
        ",",
        ":",
        "}",
        "]",
    ),
]


def damaged_bytes(dice, text):
    data = bytearray(text.encode())
    for _ in range(dice.choice([1, 1, 2, 10, 100])):
        at = dice.randrange(len(data) + 1)
        act = dice.randrange(5)
        if act == 0:
            data[at : at + 1] = bytes([dice.randrange(256)])
        elif act == 1:
            data[at:at] = bytes(dice.randrange(256) for _ in range(dice.randrange(1, 9)))
        elif act == 2:
            del data[at : at + dice.randrange(1, 40)]
        elif act == 3:
            data = data[:at]
        else:
            data[at:at] = data[at : at + dice.randrange(1, 2000)]
    return bytes(data)


def damaged_tokens(dice, text):
    lines = text.splitlines()
    for _ in range(dice.choice([1, 1, 2, 5])):
        at = dice.randrange(len(lines))
        key, colon, _ = lines[at].partition(": ")
        act = dice.randrange(4)
        if act == 0 and colon:
            lines[at] = f"{key}: {dice.choice(TOKENS)},"
        elif act == 1:
            lines.insert(at, lines[dice.randrange(len(lines))])
        elif act == 2:
            del lines[at]
        else:
            lines[at] = lines[at].replace(
                dice.choice("aeiou_:,"), dice.choice(["", "x", "é", "\x1b", "\\u001b"]), 1
            )
        lines = lines or [""]
    return "\n".join(lines).encode("utf-8", "surrogatepass")


def damaged_values(dice, text):
    plain = json.loads(text)
    for _ in range(dice.choice([1, 1, 2, 4])):
        part = dice.choice([plain, *plain["wheels"], *plain["wheels"]]) if plain.get("wheels") else plain
        key = dice.choice(list(part) or ["x"])
        act = dice.randrange(5)
        if act == 0:
            part[key] = other_value(dice, part.get(key))
        elif act == 1:
            part.pop(key, None)
        elif act == 2:
            part[key + dice.choice("_sx")] = part.pop(key, 0)
        elif act == 3 and plain.get("wheels"):
            plain["wheels"] = plain["wheels"] * dice.choice([0, 2, 40]) + [dict(dice.choice(plain["wheels"]))]
        else:
            plain["body_mm"] = [
                [dice.uniform(-300, 300), dice.uniform(-300, 300)] for _ in range(dice.randrange(9))
            ]
        if not isinstance(plain.get("wheels"), list) or not all(isinstance(w, dict) for w in plain["wheels"]):
            break
    return json.dumps(plain).encode()


def other_value(dice, value):
    if isinstance(value, int | float) and not isinstance(value, bool) and dice.random() < 0.7:
        return dice.choice(
            [value * dice.uniform(-2, 2), value + dice.gauss(0, 1), -value, 0, 1e-300, 5e-324, 45, 0.01]
        )
    return dice.choice(
        [None, True, -1, 2.5, "", "x" * 50, "front left", [], [1], {}, {"a": 1}, [[]], 10**30, "steered"]
    )


def judged(path):
    """The numbers of a file at five turns, or the sentence that refuses it."""
    try:
        design = read_design(path).design
    except FileError as error:
        return str(error)
    marks = landmarks(wheel_arrays(design), base_of(design), design.largest_turn)
    assert all(np.isfinite([mark.turn, mark.before, mark.after]).all() for mark in marks)
    try:
        table = table_of(design, TURNS)
    except ExportError as error:  # all of its wheels are lost
        return str(error)
    csv_table.render(table)
    return table


@pytest.mark.slow
def test_ten_thousand_damaged_files_give_a_chassis_or_a_clear_error_within_a_second(tmp_path):
    dice = random.Random(20)  # noqa: S311 - damage, not secrets
    path = tmp_path / "damaged.json"
    chassis = slowest = 0
    for _ in range(COUNT):
        damage = dice.choice([damaged_bytes, damaged_tokens, damaged_values, damaged_values])
        path.write_bytes(damage(dice, dice.choice(TEXTS)))
        start = time.process_time()
        outcome = judged(path)
        slowest = max(slowest, time.process_time() - start)
        if isinstance(outcome, str):
            assert 20 < len(outcome) < 10_000, outcome
            assert outcome.isprintable() or "\n" in outcome, outcome
            assert all(line.isprintable() for line in outcome.splitlines()), repr(outcome)
        else:
            chassis += 1
            assert not np.isnan(outcome.values).any(), path.read_text()
    # Seconds of this process, so that a busy machine does not fail it.
    assert slowest < 1.0
    # The damage was neither all fatal nor all harmless.
    assert COUNT // 20 < chassis < COUNT // 2
