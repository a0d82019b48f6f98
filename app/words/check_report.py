"""A check in words for people, and in plain values for machines."""

from __future__ import annotations

import math
from typing import Any

from app.controller.motor_outputs import STEER_SUFFIX, MotorOutputs, drive_unit, outputs_of
from app.design.facts import Facts
from app.units import degrees, show_angle, show_number
from app.words.notices import notices
from app.words.off_course import off_course_words, turning_words
from app.words.remedies import remedy
from geometry.turn_range.range_check import AtTurns, WheelAtTurn
from geometry.turn_range.sweep import JUMPS, Landmark

# What the state does not say already.
_FLAG_WORDS = {"flipped": "flipped", "travel_end": "at end of travel", "no_angle": "no angle suits"}
_HEADINGS = ("wheel", "kind", "angle", "radius mm", "speed", "miss mm", "drag mm/m", "state")

NULL_MEANS = (
    "null stands for an infinite value: turn_radius_mm and turning_radius_mm straight ahead, "
    "true_turn_radius_mm where the chassis runs straight, miss_mm of an axle that is not square to a "
    "straight motion, and faster_side_mm_per_s where no drive motor turns and so none limits the speed"
)


def text_of(facts: Facts, shown: AtTurns) -> str:
    """Write the verdict, what happens on the way, and a table of wheels for each shown turn."""
    lines = [*_verdict_lines(facts), *filter(None, [off_course_words(facts.check)]), *notices(facts), ""]
    events = [mark for mark in facts.check.landmarks if mark.kind in {"travel end", *JUMPS}]
    if events:
        lines += ["On the way:", *(f"  {event_words(facts, mark)}" for mark in events), ""]
    told = _told(facts, shown)
    for row in range(len(shown.turns)):
        lines += [*_turn_lines(facts, shown, row), *_motor_lines(facts, shown, told, row), ""]
    return "\n".join(lines)


def _told(facts: Facts, shown: AtTurns) -> MotorOutputs | None:
    """What the motors are told there; None for a design without motors."""
    return outputs_of(facts.design, shown.response) if facts.robot.motors else None


def values_of(facts: Facts, shown: AtTurns) -> dict[str, Any]:
    """Give the same as plain values for JSON, with the unit in each name and null for infinite."""
    worst, told = facts.check.worst, _told(facts, shown)
    return {
        "chassis": facts.design.name,
        "aligned": facts.check.aligned,
        "turns_as_asked": facts.check.off_course is None,
        "largest_turn": facts.design.largest_turn,
        "turns_checked": len(facts.check.dense.turns),
        "base_axle_x_mm": facts.robot.base.x,
        "half_track_mm": facts.robot.base.half_track,
        "null_means": NULL_MEANS,
        "notices": list(notices(facts)),
        "worst": None if worst is None else _case_values(facts, worst) | {"remedy": remedy(facts, worst)},
        "worst_of_wheels": [_case_values(facts, case) for case in facts.check.worst_of_wheels],
        "landmarks": [_landmark_values(facts, mark) for mark in facts.check.landmarks],
        "turns": [
            _turn_values(facts, shown, row) | _motor_values(facts, shown, told, row)
            for row in range(len(shown.turns))
        ],
    }


def _verdict_lines(facts: Facts) -> list[str]:
    design, reach = facts.design, facts.design.largest_turn
    count = "1 wheel" if len(design.wheels) == 1 else f"{len(design.wheels)} wheels"
    head = (
        f"{design.name}: {count}, base axle at x {show_number(facts.robot.base.x, 2)} mm "
        f"({facts.robot.base.source}), half-track {show_number(facts.robot.base.half_track, 2)} mm."
    )
    if not design.wheels:
        return [head, "There are no wheels to check."]
    if facts.check.worst is None:
        pivoting = ", ".join(design.wheels[n].name for n in facts.check.pivoting)
        within = f", or pivots on it ({pivoting})," if pivoting else ""
        # What shared motors do has no simple roots, so that only the turns looked at are known.
        count = (
            f"each of {len(facts.check.dense.turns)} turns checked" if facts.robot.motors else "every turn"
        )
        turns = f"at {count} from {-reach:g} to {reach:g}"
        # Where it turns otherwise than asked, that is a centre of its own.
        but = "" if facts.check.off_course is None else ", BUT IT DOES NOT TURN AS ASKED"
        return [head, f"ALIGNED{but}. Every axle points at the turn centre{within} {turns}."]
    faulty = [case for case in facts.check.worst_of_wheels if facts.check.first_fault(case.wheel) is not None]
    missing = "1 axle does" if len(faulty) == 1 else f"{len(faulty)} axles do"
    lines = [
        head,
        f"NOT ALIGNED. {missing} not point at the turn centre at some turn from {-reach:g} to {reach:g}.",
        f"Worst: {_case_text(facts, facts.check.worst)}.",
        remedy(facts, facts.check.worst),
    ]
    others = [case for case in faulty if case.wheel != facts.check.worst.wheel]
    return lines + [f"Also: {_case_text(facts, case)}." for case in others]


def _case_text(facts: Facts, case: WheelAtTurn) -> str:
    radius = "straight ahead" if math.isinf(case.radius) else f"turn radius {show_number(case.radius, 1)} mm"
    miss = "" if math.isinf(case.miss) else f", misses the turn centre by {show_number(case.miss, 1)} mm"
    first = facts.check.first_fault(case.wheel)
    since = "" if first is None or first == case.turn else f" (starts at turn {show_number(first, 4)})"
    return (
        f"{facts.design.wheels[case.wheel].name} at turn {show_number(case.turn, 4)}, {radius}: "
        f"slip {show_angle(abs(case.slip))}{miss}, drags {show_number(case.drag, 1)} mm per metre{since}"
    )


def event_words(facts: Facts, mark: Landmark) -> str:
    """Say what happens to which wheel on the way, and at which turn, as a sentence without a full stop."""
    name = facts.design.wheels[mark.wheel or 0].name
    where = f"turn {show_number(mark.turn, 4)}: {name}"
    before, after = show_angle(mark.before), show_angle(mark.after)
    match mark.kind:
        case "flip":
            return f"{where} flips from {before} to {after} and rolls the other way"
        case "changes end":
            return f"{where} goes from one end of its travel, {before}, to the other, {after}"
        case "jump":
            return f"{where} jumps from {before} to {after}"
        case _:
            return f"{where} comes to its end of travel, {before}"


def _turn_lines(facts: Facts, shown: AtTurns, row: int) -> list[str]:
    turn, radius = float(shown.turns[row]), float(shown.radius[row])
    where = "straight ahead" if math.isinf(radius) else f"turn radius {show_number(radius, 1)} mm"
    ratio = show_number(1.0 - 2.0 * abs(turn), 4)
    cells = [_HEADINGS, *(_wheel_cells(facts, shown, row, n) for n in range(len(facts.robot)))]
    widths = [max(len(line[k]) for line in cells) for k in range(len(_HEADINGS))]
    lines = [f"turn {show_number(turn, 4)}, speed ratio {ratio}, {where}"]
    for line in cells:
        padded = [
            cell.ljust(width) if k in {0, 1, 7} else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ]
        lines.append(("  " + "  ".join(padded)).rstrip())
    return lines


def _motor_lines(facts: Facts, shown: AtTurns, told: MotorOutputs | None, row: int) -> list[str]:
    """What each motor is told, and where the chassis truly turns."""
    if told is None:
        return []
    lines = []
    if facts.design.steer_motors:
        each = [
            f"{motor.name} {show_number(float(told.positions[row, k]), 2)} {STEER_SUFFIX[motor.unit]}"
            for k, motor in enumerate(facts.design.steer_motors)
        ]
        lines.append(f"  steer: {', '.join(each)}")
    if facts.design.drive_motors:
        each = [
            f"{motor.name} {show_number(float(told.drive[row, d]), 1)} {drive_unit(motor).replace('_', ' ')}"
            for d, motor in enumerate(facts.design.drive_motors)
        ]
        speed = float(told.speed[row])
        faster = f"faster side {show_number(speed, 0)} mm/s" if math.isfinite(speed) else "none turns"
        lines.append(f"  drive: {', '.join(each)}, {faster}")
    turned = shown.centre_error(row)
    if math.isfinite(turned.gap) and abs(turned.true - turned.asked) > 0.05:
        error = show_number(turned.true - turned.asked, 1)
        true = show_number(turned.true, 1)
        lines.append(f"  turns at a radius of {true} mm, {error} mm from the one asked for")
    elif words := turning_words(turned, "mm"):
        lines.append(f"  {words}")
    return lines


def _wheel_cells(facts: Facts, shown: AtTurns, row: int, n: int) -> tuple[str, ...]:
    wheel, case = facts.design.wheels[n], shown.wheel_at(row, n)
    words = [case.state, *(_FLAG_WORDS[flag] for flag in shown.flags(row, n) if flag in _FLAG_WORDS)]
    # A fixed wheel has no steering to set; what is shown there is where it points.
    angle = shown.response.solution.steer if wheel.kind == "steered" else shown.response.solution.heading
    return (
        wheel.name,
        wheel.kind,
        show_angle(float(angle[row, n])),
        show_number(float(shown.response.alignment.radius[row, n]), 1),
        show_number(float(shown.response.solution.roll[row, n]), 3),
        show_number(case.miss, 1),
        "-" if case.state in {"pivots", "swings round"} else show_number(case.drag, 1),
        ", ".join(words),
    )


def _case_values(facts: Facts, case: WheelAtTurn) -> dict[str, Any]:
    first = facts.check.first_fault(case.wheel)
    return {
        "wheel": facts.design.wheels[case.wheel].name,
        "state": case.state,
        "turn_input": case.turn,
        "turn_radius_mm": _finite(case.radius),
        "slip_deg": _rounded(degrees(case.slip)),
        "miss_mm": _finite(case.miss),
        "drag_mm_per_m": _rounded(case.drag),
        "first_fault_turn_input": first,
    }


def _landmark_values(facts: Facts, mark: Landmark) -> dict[str, Any]:
    values: dict[str, Any] = {"turn_input": mark.turn, "kind": mark.kind}
    if mark.wheel is not None:
        values |= {
            "wheel": facts.design.wheels[mark.wheel].name,
            "before_deg": _rounded(degrees(mark.before)),
            "after_deg": _rounded(degrees(mark.after)),
        }
    return values


def _turn_values(facts: Facts, shown: AtTurns, row: int) -> dict[str, Any]:
    turn = float(shown.turns[row])
    wheels = [_wheel_values(facts, shown, row, n) for n in range(len(facts.robot))]
    return {
        "turn_input": turn,
        "speed_ratio": 1.0 - 2.0 * abs(turn),
        "turn_radius_mm": _finite(float(shown.radius[row])),
        "wheels": wheels,
    }


def _motor_values(facts: Facts, shown: AtTurns, told: MotorOutputs | None, row: int) -> dict[str, Any]:
    if told is None:
        return {}
    design = facts.design
    steer = [
        {
            "motor": motor.name,
            "unit": STEER_SUFFIX[motor.unit],
            "position": _rounded(float(told.positions[row, k])),
        }
        for k, motor in enumerate(design.steer_motors)
    ]
    drive = [
        {"motor": motor.name, "unit": drive_unit(motor), "speed": _rounded(float(told.drive[row, d]))}
        for d, motor in enumerate(design.drive_motors)
    ]
    speed = {"faster_side_mm_per_s": _finite(float(told.speed[row]))} if drive else {}
    true = _finite(float(shown.true_radius[row]))
    return {"true_turn_radius_mm": true, "steer_motors": steer, "drive_motors": drive, **speed}


def _wheel_values(facts: Facts, shown: AtTurns, row: int, n: int) -> dict[str, Any]:
    case = shown.wheel_at(row, n)
    wheel = facts.design.wheels[n]
    steer = {"steer_deg": _rounded(degrees(float(shown.response.solution.steer[row, n])))}
    return {
        "wheel": wheel.name,
        "kind": wheel.kind,
        **(steer if wheel.kind == "steered" else {}),
        "heading_deg": _rounded(degrees(float(shown.response.solution.heading[row, n]))),
        "speed": _rounded(float(shown.response.solution.roll[row, n])),
        "turning_radius_mm": _finite(float(shown.response.alignment.radius[row, n])),
        "slip_deg": _rounded(degrees(case.slip)),
        "miss_mm": _finite(case.miss),
        "drag_mm_per_m": _rounded(case.drag),
        "state": case.state,
        "flags": list(shown.flags(row, n)),
    }


def _rounded(value: float) -> float:
    return round(value, 9) + 0.0


def _finite(value: float) -> float | None:
    return _rounded(value) if math.isfinite(value) else None
