"""The steering table: every wheel over a set of turns, with the unit in each column's name."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from app.controller.export_error import NO_WHEELS, ExportError
from app.controller.motor_outputs import STEER_SUFFIX, MotorOutputs, drive_unit, outputs_of
from app.units import degrees, radians
from geometry.axes import Floats, frozen_array
from geometry.kinematics.alignment import STATES
from geometry.kinematics.ideal import FLIPPED
from geometry.kinematics.motion import sides_of_turn
from geometry.kinematics.robot import Response, Robot, robot_of
from geometry.model.design import Design
from geometry.turn_range.range_check import at_turns
from geometry.turn_range.sweep import turns_between

MOST_ROWS = 100_001
# A steer angle that changes by more from one row to the next is flagged: nothing between suits.
LARGEST_STEP_DEG = 45.0
_MOTION_COLUMNS = ("turn_input", "speed_ratio", "left_speed", "right_speed", "turn_radius_mm")
FLAGS = "flags"
"""Head of the column of words."""
# A wheel of this name would repeat the column left_speed or right_speed.
_TAKEN_SLUGS = {"left", "right"}


@dataclass(frozen=True)
class TableRequest:
    """Which rows a table shall have."""

    turns: tuple[float, ...]
    """Turn inputs, one a row."""


@dataclass(frozen=True)
class SteeringTable:
    """Columns of numbers, and one column of words at the end."""

    columns: tuple[str, ...]
    """Names of the K columns of numbers."""
    values: Floats
    """(M, K); infinite where a name of the motion is (radius, miss straight ahead), and
    ``faster_side_mm_per_s`` where no drive motor turns."""
    flags: tuple[str, ...]
    """M entries, empty or such as ``front_left:flipped;rear_left:travel_end``.

    ``flipped``, ``travel_end``, ``no_angle`` (the centre is nearer than the trail), ``swings``
    (a caster there), ``pivots`` (on the centre) and ``drags`` speak of the row. ``jumps``
    stands on a row whose steer angle is more than 45 degrees from that of the row before.
    """
    with_flags: bool = True
    """Whether the column of words is written."""

    def only(self, columns: Collection[str]) -> SteeringTable:
        """The same table with these columns alone, in its own order; `FLAGS` names the column of words."""
        kept = [k for k, name in enumerate(self.columns) if name in columns]
        values = frozen_array(self.values[:, kept])
        return replace(
            self,
            columns=tuple(self.columns[k] for k in kept),
            values=values,
            with_flags=self.with_flags and FLAGS in columns,
        )


def request_rows(design: Design, rows: int) -> TableRequest:
    """Ask for evenly spaced turns over the design's whole range, both ends included.

    Raises
    ------
    CommandError
        If the number of rows is out of range.
    """
    return TableRequest(tuple(turns_between(-design.largest_turn, design.largest_turn, rows).tolist()))


def table_of(design: Design, turns: npt.ArrayLike, robot: Robot | None = None) -> SteeringTable:
    """Work out the steering table of a design.

    Parameters
    ----------
    design : Design
        The chassis.
    turns : array_like, (M,)
        Turn inputs; speeds are relative to the faster side, driving forward.
    robot : Robot, optional
        Numbers to use in place of the design's own.

    Returns
    -------
    SteeringTable
        Motion columns, then four columns a wheel. A steered wheel has ``_steer_deg``,
        what its steering is set to; fixed wheels and casters have ``_heading_deg``,
        where they point. With motors the wheels are as built; the radius that results,
        the ideal angles and what each motor is told follow.

    Raises
    ------
    CommandError
        If a turn input is not a number or out of range.
    ExportError
        If the chassis has no wheels.
    """
    if not design.wheels:
        raise ExportError(NO_WHEELS)
    robot = robot_of(design) if robot is None else robot
    asked = at_turns(robot, turns)
    s, wheels, response = asked.turns, robot.wheels, asked.response
    solution, found = response.solution, response.alignment
    slugs = slugs_of([wheel.name for wheel in design.wheels])
    left, right = sides_of_turn(s)
    columns = dict(
        zip(
            _MOTION_COLUMNS,
            (s, 1.0 - 2.0 * np.abs(s), left, right, asked.radius),
            strict=True,
        )
    )
    for n, slug in enumerate(slugs):
        angle, of = ("steer_deg", solution.steer) if wheels.steered[n] else ("heading_deg", solution.heading)
        columns[f"{slug}_{angle}"] = degrees(1.0) * of[:, n]
        columns[f"{slug}_speed"] = solution.roll[:, n]
        columns[f"{slug}_miss_mm"] = found.miss[:, n]
        columns[f"{slug}_drag_mm_per_m"] = found.drag[:, n]
    if robot.motors:
        columns |= _built_columns(design, slugs, response)
        columns |= _motor_columns(design, outputs_of(design, response), slugs)
    values = frozen_array(np.stack(list(columns.values()), axis=1))
    return SteeringTable(tuple(columns), values, _flags(slugs, response))


def _built_columns(design: Design, slugs: list[str], response: Response) -> dict[str, Floats]:
    """The turn radius that results, the ideal angles, and what the driven wheels slip along."""
    columns = {"true_turn_radius_mm": np.asarray(response.centre[:, 1])}
    for n in np.flatnonzero(response.robot.wheels.steered).tolist():
        columns[f"{slugs[n]}_ideal_steer_deg"] = degrees(1.0) * response.ideal.steer[:, n]
    slip = response.lengthwise_slip
    for n, wheel in enumerate(design.wheels):
        if wheel.driven and design.drive_motors:
            columns[f"{slugs[n]}_slip_mm_per_m"] = slip[:, n]
    return columns


def _motor_columns(design: Design, told: MotorOutputs, taken: list[str]) -> dict[str, Floats]:
    """Position of each steer motor and speed of each drive motor, in their own units."""
    names = [motor.name for motor in design.steer_motors] + [motor.name for motor in design.drive_motors]
    slugs = slugs_of(names, taken, "motor")
    columns = {
        f"{slugs[k]}_{STEER_SUFFIX[motor.unit]}": told.positions[:, k]
        for k, motor in enumerate(design.steer_motors)
    }
    if design.drive_motors:
        columns["faster_side_mm_per_s"] = told.speed
    for d, motor in enumerate(design.drive_motors):
        columns[f"{slugs[len(design.steer_motors) + d]}_{drive_unit(motor)}"] = told.drive[:, d]
    return columns


def slugs_of(names: Sequence[str], taken: Sequence[str] = (), word: str = "wheel") -> list[str]:
    """Short unique names of ASCII letters, digits and underscores for column headings.

    A name that ASCII cannot tell, such as one in Greek letters, gives its number in the list:
    `named_by_number` says which names these are.

    Parameters
    ----------
    names : sequence of str
    taken : sequence of str
        Short names that are in use already.
    word : str
        What a number is the number of.

    Examples
    --------
    >>> slugs_of(["Front left", "front-left", "Hinten rechts ü", "左"])
    ['front_left', 'front_left_2', 'hinten_rechts_u', 'wheel_4']
    """
    slugs: dict[int, str] = {}
    # What has a name of its own comes first: it keeps the heading that it would have alone.
    for n in sorted(range(len(names)), key=lambda n: not _slug(names[n])):
        slug = _slug(names[n]) or f"{word}_{n + 1}"
        unique, number = slug, 2
        while unique in slugs.values() or unique in taken:
            unique, number = f"{slug}_{number}", number + 1
        slugs[n] = unique
    return [slugs[n] for n in range(len(names))]


def named_by_number(design: Design) -> dict[str, str]:
    """Short names that do not tell the name of their wheel or motor, with that name.

    Examples
    --------
    >>> from app.design.samples import sample_design
    >>> named_by_number(sample_design("marsh_scout_six"))
    {}
    """
    wheels = [wheel.name for wheel in design.wheels]
    motors = [motor.name for motor in design.steer_motors] + [motor.name for motor in design.drive_motors]
    slugs = slugs_of(wheels)
    slugs += slugs_of(motors, slugs, "motor")
    return {slug: name for slug, name in zip(slugs, wheels + motors, strict=True) if not _slug(name)}


def _slug(name: str) -> str:
    """A name in ASCII; empty where that would lose letters, or leave nothing."""
    if any(letter.isalpha() and "LATIN" not in unicodedata.name(letter, "") for letter in name):
        return ""
    ascii_name = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "_", ascii_name.casefold()).strip("_")
    return f"wheel_{slug}" if slug and (slug[0].isdigit() or slug in _TAKEN_SLUGS) else slug


def _flags(slugs: list[str], response: Response) -> tuple[str, ...]:
    solution, found, kinds = response.solution, response.alignment, response.states
    words: list[list[str]] = [[] for _ in range(len(response))]
    jumps = np.zeros(solution.steer.shape, dtype=bool)
    jumps[1:] = np.abs(np.diff(solution.steer, axis=0)) > radians(LARGEST_STEP_DEG)
    jumps[:, ~response.robot.wheels.steered] = False
    marks = (
        ("flipped", solution.branch == FLIPPED),
        ("jumps", jumps),
        ("travel_end", solution.limited),
        ("no_angle", solution.unreachable & ~found.swings),
        ("swings", found.swings),
        ("pivots", kinds == STATES.index("pivots")),
        ("drags", kinds == STATES.index("drags")),
    )
    for n, slug in enumerate(slugs):
        for word, where in marks:
            for m in np.flatnonzero(where[:, n]):
                words[m].append(f"{slug}:{word}")
    return tuple(";".join(row) for row in words)
