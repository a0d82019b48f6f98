"""Calls to written code, what they should answer by `geometry`, and by the steps in whole numbers.

A call is (kind, a, b, ms, measured). Kinds are drive and stick; ``at`` sets the turn step to a
and drives with both sides at rest, so that every row of a table can be asked; ``new`` drives
with a controller that was just started.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from random import Random

import numpy as np
from hypothesis import HealthCheck, Phase, settings

from app.controller.code_outputs import SteerOutput
from app.controller.programme import Programme, programme_of
from app.controller.runtime import Answer, Runtime
from app.design.samples import sample_design
from app.export.vectors import vectors
from geometry.errors import AxlewrightError
from geometry.kinematics.as_built import as_built, motor_arrays
from geometry.kinematics.drive_speeds import speed_limit
from geometry.kinematics.motion import from_turn
from geometry.model.base_axle import base_of
from geometry.model.controller import PARTS
from geometry.model.design import Design
from geometry.model.motors import command_of_reading, reading_of_shaft
from geometry.model.wheel_arrays import wheel_arrays
from geometry.turn_range.sweep import JUMPS
from sample_chassis import SAMPLES
from tests.effort import effort
from tests.whole.odd_robots import MORE, ODD

Call = tuple[str, int, int, int, tuple[int, ...] | None]

MODES = (("table", "free"), ("table", "even"), ("formula", "free"))
KEYS = tuple(sample.key for sample in SAMPLES)
COUNT = effort(1_500, 10_000)
# Each example starts a process: to shrink a failing one would take many minutes.
RANDOM = settings(
    max_examples=effort(4, 8),
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
_MOST_32 = 2**31 - 1
_TIMES = (0, 1, 5, 20, 100, 1_000, 4_000, -3)


def programmes(design: Design, *modes: tuple[str, str], **changes: object) -> list[Programme]:
    """One programme a mode, each with a prefix of its own: all parts, then without limiter and hold."""
    found: list[Programme] = []
    for method, spacing in modes:
        for open_ in (False, True):
            parts = {"limiter": not open_, "hold": not open_}
            chosen = {"method": method, "spacing": spacing, "prefix": f"p{len(found)}", **parts, **changes}
            found.append(programme_of(design.edited(controller=design.controller.edited(**chosen))))
    return found


@dataclass(frozen=True)
class Play:
    """Programmes, the calls to each, and what each call should answer by the described steps."""

    programmes: list[Programme]
    calls: list[list[Call]]
    answers: list[list[list[int]]]

    def misses(self, texts: Sequence[str]) -> list[str]:
        """Where the answers are farther from `geometry` than the texts state."""
        return [
            miss
            for programme, calls, answers, text in zip(
                self.programmes, self.calls, self.answers, texts, strict=True
            )
            if not programme.parts & {"limiter", "hold"}
            for miss in misses(programme, calls, answers, text)
        ]


@lru_cache(maxsize=2)
def sample_play(key: str) -> Play:
    """All modes of a sample, with all vectors, landmarks, rows and measurements."""
    return play(programmes(sample_design(key), *MODES), COUNT)


@lru_cache(maxsize=1)
def odd_play(key: str) -> Play:
    """All modes of an odd chassis, with fewer vectors."""
    return play(programmes((ODD | MORE)[key](), *MODES), COUNT // 10)


@lru_cache(maxsize=1)
def parts_play() -> Play:
    """Every choice of parts, by table and by formula in turn, on motors that flip."""
    found = []
    for i, chosen in enumerate(product((False, True), repeat=len(PARTS))):
        method, spacing = MODES[i % len(MODES)]
        changes = dict(zip(PARTS, chosen, strict=True), creep_permille=250 * (i % 2), prefix=f"p{i}")
        design = ODD["flips with motors"]()
        controller = design.controller.edited(method=method, spacing=spacing, **changes)
        found.append(programme_of(design.edited(controller=controller)))
    return play(found, COUNT // 60)


def random_play(designs: Sequence[Design], error: float) -> Play:
    """Random chassis, each in one of the modes; those that are refused with a sentence are left out."""
    found: list[Programme] = []
    for i, design in enumerate(designs):
        method, spacing = MODES[i % len(MODES)]
        parts = {"limiter": i % 2 == 0, "hold": i % 2 == 0}
        changes = {"method": method, "spacing": spacing, "error": error, "prefix": f"p{len(found)}"}
        changes |= parts
        # A chassis may be refused, by a sentence; any other error fails the test.
        with suppress(AxlewrightError):
            found.append(programme_of(design.edited(controller=design.controller.edited(**changes))))
    return play(found, 300)


def play(found: list[Programme], count: int) -> Play:
    """So many vectors for each programme, then landmarks, rows and measurements."""
    calls, answers = [], []
    for programme in found:
        vectors, due = vector_calls(programme, count, seed=7)
        more = first_calls() + landmark_calls(programme) + edge_calls(programme)
        more += measured_calls(programme, min(500, count), seed=8)
        calls.append(vectors + more)
        answers.append(due + emulated(programme, more))
    return Play(found, calls, answers)


def vector_calls(programme: Programme, count: int, seed: int) -> tuple[list[Call], list[list[int]]]:
    """The written vectors: calls, and the numbers that each should answer."""
    rows = list(csv.reader(io.StringIO(vectors(programme, count, seed))))[1:]
    calls: list[Call] = [(r[0], int(r[1]), int(r[2]), int(r[3]), None) for r in rows]
    return calls, [[int(word) for word in r[4:]] for r in rows]


def landmark_steps(programme: Programme) -> list[int]:
    """Turn steps at and beside every landmark and every row, and both ends."""
    places = [round(mark.turn * programme.turn_one) for mark in programme.chassis.marks]
    places += programme.table.nodes.tolist() if programme.table else []
    around = {place + by for place in places for by in (-2, -1, 0, 1, 2)}
    return sorted(q for q in around | {programme.first, programme.last, 0} if abs(q) <= programme.last)


def landmark_calls(programme: Programme) -> list[Call]:
    """Side speeds at and beside every landmark, forward and in reverse, then every row and landmark."""
    calls: list[Call] = []
    for mark in programme.chassis.marks:
        slow = round(1000 * (1 - 2 * abs(mark.turn)))
        for side in (slow - 1, slow, slow + 1):
            for sense in (1, -1):
                left, right = (side, 1000) if mark.turn > 0 else (1000, side)
                calls.append(("drive", sense * left, sense * right, 500, None))
    return calls + [("at", q, 0, 1000, None) for q in landmark_steps(programme)]


def first_calls() -> list[Call]:
    """What a controller answers first: at rest, while its steering sets out, and beside the dead band."""
    rest: list[Call] = [("new", 0, 0, 0, None), ("new", 0, 0, 1000, None)]
    again = [call for ms in (1, 3, 7) for call in (("new", -800, 900, ms, None), ("at", 0, 0, ms, None))]
    # Thousandths of a step that are left over must not outlast a new start.
    left: list[Call] = [("drive", -1000, 1000, 1, None)] * 17
    edges: list[Call] = [("drive", a, b, 5, None) for n in (49, 50, 51) for a, b in ((n, 900), (900, -n))]
    return rest + again + 2 * [("new", -1000, 1000, 1, None), *left] + edges


def edge_calls(programme: Programme) -> list[Call]:
    """Measured places that are just near enough, and just not, one output at a time."""
    calls: list[Call] = []
    for q in (programme.first, 0, programme.last // 3) if "hold" in programme.parts else ():
        wanted = Runtime(programme)._values(q)[: len(programme.steer)]
        for k, output in enumerate(programme.steer):
            for off in (output.within, output.within + 1, -output.within, -output.within - 1):
                places = tuple(place + off * (i == k) for i, place in enumerate(wanted))
                calls.append(("at", q, 0, 10, places))
    return calls


def measured_calls(programme: Programme, count: int, seed: int) -> list[Call]:
    """Random calls, with a motor measured at, near and far from anything; some without."""
    random = Random(seed)  # noqa: S311 - commands, not secrets
    calls: list[Call] = []
    for _ in range(count):
        kind = random.choice(("drive", "stick") if "mixing" in programme.parts else ("drive",))
        a, b = (random.choice((0, 1000, -1000, random.randint(-1100, 1100))) for _ in range(2))
        measured = None
        if "hold" in programme.parts and random.random() < 0.7:
            measured = tuple(
                random.choice((0, random.randint(o.low, o.high), o.high + 10**6, -_MOST_32 - 1, _MOST_32))
                for o in programme.steer
            )
        calls.append((kind, a, b, random.choice(_TIMES), measured))
    return calls


def numbers(answer: Answer) -> list[int]:
    """An answer as the vectors list it."""
    return [*answer.steer, *answer.speed, int(answer.holding)]


def emulated(programme: Programme, calls: Iterable[Call]) -> list[list[int]]:
    """What the description of the steps answers."""
    runtime, found = Runtime(programme), []
    for kind, a, b, ms, measured in calls:
        if kind == "new":
            runtime = Runtime(programme)
        if kind == "at":
            runtime.step = a
            found.append(numbers(runtime.drive(0, 0, ms, measured)))
        else:
            call = runtime.stick if kind == "stick" else runtime.drive
            found.append(numbers(call(a, b, ms, measured)))
    return found


def read_answers(text: str) -> list[list[int]]:
    """Answers as the runners print them, one a line."""
    return [[int(word) for word in line.split()] for line in text.splitlines()]


def altered_rows(programme: Programme) -> list[tuple[int, int]]:
    """Rows and columns of a table to alter: first, middle and last row, a column each."""
    assert programme.table is not None
    rows, columns = programme.table.values.shape
    return [(row, i % columns) for i, row in enumerate((0, rows // 3, rows // 2, rows - 2))]


def all_steps(programme: Programme) -> list[Call]:
    """Every turn step that there is."""
    return [("at", q, 0, 0, None) for q in range(programme.first, programme.last + 1)]


def told(calls: Sequence[Call]) -> str:
    """Calls as the runners read them, one a line."""
    kinds = {"drive": 0, "stick": 1, "at": 2, "new": 3}
    lines = []
    for kind, a, b, ms, measured in calls:
        places = (0,) if measured is None else (1, *measured)
        lines.append(" ".join(map(str, (kinds[kind], a, b, ms, *places))))
    return "\n".join(lines) + "\n"


# ------------------------------------------------- what geometry says, worked out anew


@dataclass(frozen=True)
class Wanted:
    """What calls ask for, (M,): turn within the range in use, and signed share of full speed."""

    turn: np.ndarray
    share: np.ndarray


def wanted(programme: Programme, calls: Sequence[Call]) -> Wanted:
    """Turn and speed of each call, by the rules that the person is told."""
    reach, turn = programme.design.largest_turn, 0.0
    turns, shares = [], []
    for kind, a, b, _, _ in calls:
        left, right = sides(programme, kind, a, b)
        fast = max(abs(left), abs(right))
        sense = -1.0 if left + right < 0 else 1.0
        if kind == "new":
            turn = 0.0
        if kind == "at":
            turn = a / programme.turn_one
        elif fast:
            turn = min(reach, max(-reach, sense * (right - left) / (2 * fast)))
        turns.append(turn)
        shares.append(sense * fast / 1000)
    return Wanted(np.array(turns), np.array(shares))


def sides(programme: Programme, kind: str, a: int, b: int) -> tuple[float, float]:
    """Side speeds [thousandths]."""
    if kind == "at":
        return 0, 0
    dead = programme.controller.dead_band_permille if "dead_band" in programme.parts else 0
    a, b = (0 if abs(held) <= dead else held for held in (max(-1000, min(1000, v)) for v in (a, b)))
    if kind != "stick":
        return a, b
    left, right = a - b, a + b
    most = max(abs(left), abs(right), 1000)
    # Sides are whole thousandths, halves away from 0.
    whole = [float(np.copysign((abs(v) * 1000 + most // 2) // most, v)) for v in (left, right)]
    return whole[0], whole[1]


def due(design: Design, names: Sequence[str], turn: np.ndarray) -> np.ndarray:
    """Targets and full speeds in the units that their names tell, (M, C), from `geometry` alone."""
    wheels, base = wheel_arrays(design), base_of(design)
    motors = motor_arrays(design, wheels)
    built = as_built(wheels, motors, from_turn(turn, base))
    full = speed_limit(motors, as_built(wheels, motors, from_turn(0.0, base)).drive)[0]
    columns: list[np.ndarray] = []
    for k, motor in enumerate(design.steer_motors):
        shaft = np.degrees(built.shaft[:, k])
        columns.append(
            np.array([command_of_reading(motor, reading_of_shaft(motor, s)) for s in shaft.tolist()])
        )
    held = {gearing.wheel for motor in design.steer_motors for gearing in motor.wheels}
    for n, wheel in enumerate(design.wheels):
        if wheel.kind == "steered" and wheel.name not in held:
            columns.append(np.degrees(built.solution.steer[:, n]))
    for d, drive in enumerate(design.drive_motors):
        turns_s = full * built.drive[:, d]
        columns.append(turns_s * (60.0 if drive.units_per_turn is None else drive.units_per_turn))
    assert len(columns) == len(names)
    finer = [_fineness(name) for name in names]
    targets: np.ndarray = np.array(columns).reshape(len(names), len(turn)).T * np.array(finer)
    return targets


def _fineness(name: str) -> int:
    if name.endswith("_e4"):
        return 10_000
    return 100 if re.search(r"_c(deg|rpm|units_per_s)$", name) else 1


def stated_bounds(programme: Programme, text: str) -> np.ndarray:
    """Bounds as the written file's head states them, in each output's whole numbers, (C,)."""
    bounds = []
    if programme.steer:
        degrees = _stated(r"steering angle at any turn: (\S+) degrees", text)
        bounds += [degrees * _per_degree(programme, o) for o in programme.steer]
    if programme.drive:
        share = _stated(r"motor's speed: (\S+) thousandths", text) / 1000
        for motor, o in zip(programme.design.drive_motors, programme.drive, strict=True):
            per = 1.0 if motor.units_per_turn is None else motor.units_per_turn / 60
            bounds.append(share * motor.usable_rpm * per * _fineness(o.name))
    return np.array(bounds)


def _stated(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found is not None
    return float(found[1])


def _per_degree(programme: Programme, output: SteerOutput) -> float:
    """Whole numbers for a degree at the wheel that turns furthest."""
    for motor in programme.design.steer_motors:
        if motor.name == output.label:
            per = command_of_reading(motor, 1.0) - command_of_reading(motor, 0.0)
            return per * _fineness(output.name) / max(abs(g.turns) for g in motor.wheels)
    return 100.0


def misses(
    programme: Programme, calls: Sequence[Call], answers: Sequence[Sequence[int]], text: str
) -> list[str]:
    """Answers that are farther from `geometry` than the text states; of code without limiter and hold."""
    found, bound = np.array(answers), stated_bounds(programme, text)
    asked, count = wanted(programme, calls), len(programme.steer)
    names = [o.name for o in programme.steer] + [o.name for o in programme.drive]
    step = np.round(asked.turn * programme.turn_one)
    # Beside a jump the code answers for the turn step; for the very step of a jump either side will do.
    jumps = [m.turn * programme.turn_one for m in programme.chassis.marks if m.kind in JUMPS]
    near = (np.abs(step[:, None] - np.array([jumps]).reshape(1, -1)) <= 1).any(axis=1)
    wrong = np.ones(len(calls), dtype=bool)
    for by in (-0.5, 0.5, 0.0):
        turn = np.clip((step + by) / programme.turn_one, -1.0, 1.0)
        exact = due(programme.design, names, np.where(near, turn, asked.turn))
        off = np.abs(found[:, :count] - exact[:, :count]) - bound[:count]
        far = (off > 1e-6 * bound[:count]).any(axis=1)
        wrong &= far | _wrong_speeds(programme, asked, exact, found, bound)
        if not near.any():
            break
    where = np.flatnonzero(wrong)[:5].tolist()
    return [f"{calls[m]} answered {answers[m]}, not {exact[m]} within {bound}" for m in where]


def _wrong_speeds(
    programme: Programme, asked: Wanted, exact: np.ndarray, found: np.ndarray, bound: np.ndarray
) -> np.ndarray:
    count, share = len(programme.steer), asked.share
    speed = found[:, count:-1]
    if not programme.drive:
        slow = share * (1 - 2 * np.abs(asked.turn))
        left, right = np.where(asked.turn > 0, slow, share), np.where(asked.turn > 0, share, slow)
        most_off = 0.5 + 1000 / programme.turn_one
        return np.asarray((np.abs(speed - 1000 * np.stack([left, right], axis=1)) > most_off).any(axis=1))
    full, most = exact[:, count:], np.array([o.usable for o in programme.drive])
    room = bound[count:]
    slowed = np.abs(share)
    unsure = np.zeros(len(share))
    if "scaling" in programme.parts:
        # One motor's error slows them all alike, and thousandths of the speed are rounded down.
        limit = np.divide(most, np.abs(full), out=np.full(full.shape, np.inf), where=full != 0).min(axis=1)
        unsure = np.where(slowed > 0.98 * limit, (room / most).max() + 0.002 + 1 / most.min(), 0.0)
        slowed = np.minimum(slowed, limit)
        over = (np.abs(speed) > most).any(axis=1)
    else:
        over = np.zeros(len(share), dtype=bool)
    target = np.sign(share)[:, None] * slowed[:, None] * full
    allowed = room * np.abs(share)[:, None] + 0.5 + np.abs(full) * unsure[:, None]
    return np.asarray(over | (np.abs(speed - target) > allowed * (1 + 1e-9)).any(axis=1))
