"""What the gauges of the cases should show, worked out by other ways than they are drawn."""

from __future__ import annotations

import math
from functools import cache

from app.controller.programme import Programme, programme_of
from app.controller.steering_table import slugs_of, table_of
from app.design.facts import Facts
from app.drawing.elements import Drawing, Line, Text
from app.drawing.gauge import gauges_of
from app.drawing.gauge_marks import radii_for
from app.drawing.lettering import printable
from geometry.kinematics.motion import radius_of_turn, turn_of_radius
from tests.app.drawing.gauge_cases import CASES
from tests.app.drawing.gauge_read import FILLED, OPEN, number, scale_ticks, texts

JUMPS = {"flip": "its flip", "changes end": "it changes ends", "jump": "its jump"}
TRAVEL_END = "reaches its end"


@cache
def gauges(key: str) -> tuple[Drawing, ...]:
    return gauges_of(CASES[key])


@cache
def facts_of(key: str) -> Facts:
    return Facts(CASES[key])


@cache
def code_of(key: str) -> Programme:
    return programme_of(CASES[key])


def served(key: str, gauge: Drawing) -> list[tuple[str, int]]:
    """The wheels of a sheet, by its title: the sign of their marks, and their index."""
    names = gauge.name.removeprefix("Gauge: ").split("; mirrored: ")
    index = {printable(w.name): n for n, w in enumerate(CASES[key].wheels)}
    signs = (FILLED, OPEN) if len(names) == 2 else ("",)
    return [(sign, index[name]) for sign, name in zip(signs, names, strict=True)]


def way(turn: float) -> str:
    return "left" if turn > 0 else "right"


def expected(key: str, n: int) -> dict[str, list[tuple[float, float | None]]]:
    """Names with steer angle [rad] and turn; by the steering table, landmarks and ends of travel."""
    facts = facts_of(key)
    base, design = facts.robot.base, CASES[key]
    named: list[tuple[str, float]] = []
    for mark in facts.landmarks:
        if mark.wheel is None:
            side = way(mark.turn)
            words = {
                "straight": "straight ahead",
                "side stopped": f"{side} side stopped",
                "on the spot": f"on the spot, {side}",
                "largest turn": f"tightest turn, {side}",
            }
            named.append((words[mark.kind], mark.turn))
    for radius in radii_for(base.half_track):
        for sign in (1.0, -1.0):
            turn = float(turn_of_radius([sign * radius], base)[0])
            if abs(turn) <= design.largest_turn:
                named.append((f"radius {radius:g} mm, {way(sign)}", turn))
    table = table_of(design, [turn for _, turn in named])
    column = table.columns.index(slugs_of([w.name for w in design.wheels])[n] + "_steer_deg")
    found: dict[str, list[tuple[float, float | None]]] = {
        "zero": [(0.0, None)],
        "end of travel, left": [(float(facts.robot.motor_travel.high[n]), None)],
        "end of travel, right": [(float(facts.robot.motor_travel.low[n]), None)],
    }
    for (name, turn), deg in zip(named, table.values[:, column].tolist(), strict=True):
        found.setdefault(name, []).append((math.radians(deg), turn))
    for mark in facts.landmarks:
        if mark.wheel == n:
            radius = abs(float(radius_of_turn(mark.turn, base)[0]))
            where = "straight ahead"
            if math.isfinite(radius):
                where = f"radius {f'{radius:.1f}'.removesuffix('.0')} mm, {way(mark.turn)}"
            if mark.kind in JUMPS:
                for word, angle in (("before", mark.before), ("after", mark.after)):
                    name = f"{word} {JUMPS[mark.kind]}, {where}"
                    found.setdefault(name, []).append((angle, mark.turn))
            else:
                found.setdefault(f"{TRAVEL_END}, {where}", []).append((mark.before, mark.turn))
    return found


def numbered_ticks(key: str, gauge: Drawing) -> list[tuple[float, Line]]:
    """Each long tick with the number that stands next to its inner end."""
    numbers = [text for text in texts(gauge) if abs(text.height - 2.1) < 1e-9]
    found = []
    for tick in scale_ticks(gauge):
        if math.dist(tick.start, tick.end) > 3.0:
            nearest = min(numbers, key=lambda text: math.dist(tick.start, text_end(text)), default=None)
            # The zero line takes the place of its number.
            if nearest is not None and math.dist(tick.start, text_end(nearest)) < 2.0:
                found.append((number(nearest.text), tick))
    return found


def text_end(text: Text) -> tuple[float, float]:
    """Where a number along the scale begins or ends, at half the height of its digits: its outer end."""
    lift = 0.5 * 0.73 * text.height
    x, y = text.place
    return x - lift * math.sin(text.turn), y + lift * math.cos(text.turn)
