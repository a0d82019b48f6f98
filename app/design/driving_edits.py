"""Edits of what is driven: scripts with their moves, courses with their obstacles, recordings.

Functions from design to design, each validated as a whole. Every function raises `DesignError` when a rule is
broken, with places such as ``driving.scripts[1].moves[3].amount``; the design that it was given
is never changed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, Literal, NamedTuple, TypeVar

from geometry.errors import DesignError, Problem
from geometry.model.design import Design
from geometry.model.driving import (
    MOST_STEPS,
    OF_OBSTACLE,
    OF_WAY,
    Course,
    Move,
    Obstacle,
    ObstacleKind,
    Script,
    Way,
)

Item = TypeVar("Item")
ListKey = Literal["scripts", "courses"]

# What a move of another way, and an obstacle of another kind, starts with.
_MOVE_NUMBERS = {"turn": 0.0, "speed": 0.5, "radius_mm": 1_000.0, "left": 0.5, "right": 0.5, "throttle": 0.5}
_SIZES_MM = {"length_mm": 500.0, "width_mm": 50.0}
_FULL = 1_000
_LONGEST_NAME = 40
_NUMBERED = re.compile(r"(.*?) \d+")


class Held(NamedTuple):
    """An input of the driver that was held for a while."""

    call: Literal["drive", "stick"]
    """drive: left and right side; stick: throttle and turn."""
    a: int
    """[thousandths of full]."""
    b: int
    """[thousandths of full]."""
    seconds: float
    """How long [s]."""


def change_driving(design: Design, **changes: Any) -> Design:
    """Change the full speed or the ramp."""
    with _at("driving"):
        return design.edited(driving=design.driving.edited(**changes))


# Scripts and courses -----------------------------------------------------------------------------


def add_script(design: Design, script: Script | None = None) -> Design:
    """Add a script at the end, under a name that is free; None: one with a first move."""
    added = script or Script(name="script", moves=(Move(turn=0.0, speed=0.5, amount=2.0),))
    return _with_list(design, "scripts", (*design.driving.scripts, _free(added, design.driving.scripts)))


def add_course(design: Design, course: Course | None = None) -> Design:
    """Add a course at the end, under a name that is free; None: an empty one."""
    added = course or Course(name="course")
    return _with_list(design, "courses", (*design.driving.courses, _free(added, design.driving.courses)))


def change_script(design: Design, index: int, **changes: Any) -> Design:
    """Change a script, such as its name."""
    return _changed(design, "scripts", index, lambda script: script.edited(**changes))


def change_course(design: Design, index: int, **changes: Any) -> Design:
    """Change a course: its name, or where the robot starts."""
    return _changed(design, "courses", index, lambda course: course.edited(**changes))


def delete_script(design: Design, index: int) -> Design:
    """Remove a script."""
    return _with_list(design, "scripts", _without(design.driving.scripts, [index]))


def delete_course(design: Design, index: int) -> Design:
    """Remove a course."""
    return _with_list(design, "courses", _without(design.driving.courses, [index]))


def move_script(design: Design, index: int, to: int) -> Design:
    """Put a script at another place in the list."""
    return _with_list(design, "scripts", _reordered(design.driving.scripts, index, to))


def move_course(design: Design, index: int, to: int) -> Design:
    """Put a course at another place in the list."""
    return _with_list(design, "courses", _reordered(design.driving.courses, index, to))


def duplicate_script(design: Design, index: int) -> Design:
    """Add a copy of a script at the end, under a name that is free."""
    return add_script(design, design.driving.scripts[index])


def duplicate_course(design: Design, index: int) -> Design:
    """Add a copy of a course at the end, under a name that is free."""
    return add_course(design, design.driving.courses[index])


# Moves -------------------------------------------------------------------------------------------


def add_move(design: Design, script: int, move: Move | None = None, at: int | None = None) -> Design:
    """Add a move to a script before place `at`, at the end with None; None copies the one before it."""
    moves = design.driving.scripts[script].moves
    place = len(moves) if at is None else at
    added = move or (moves[place - 1] if place else Move(turn=0.0, speed=0.5, amount=2.0))
    return change_script(design, script, moves=(*moves[:place], added, *moves[place:]))


def change_move(design: Design, script: int, index: int, **changes: Any) -> Design:
    """Change a move; with another way it keeps the numbers that both ways have, and gets plain ones else."""
    move = design.driving.scripts[script].moves[index]
    way: Way = changes.get("by", move.by)
    if way in OF_WAY and way != move.by:
        changes = _for_kind(move, OF_WAY[way], _MOVE_NUMBERS, changes)
    with _at(f"driving.scripts[{script}].moves[{index}]"):
        changed = move.edited(**changes)
    moves = design.driving.scripts[script].moves
    return change_script(design, script, moves=(*moves[:index], changed, *moves[index + 1 :]))


def delete_moves(design: Design, script: int, indices: Iterable[int]) -> Design:
    """Remove moves of a script."""
    return change_script(design, script, moves=_without(design.driving.scripts[script].moves, indices))


def move_move(design: Design, script: int, index: int, to: int) -> Design:
    """Put a move at another place in its script."""
    return change_script(design, script, moves=_reordered(design.driving.scripts[script].moves, index, to))


# Obstacles ---------------------------------------------------------------------------------------


def add_obstacle(design: Design, course: int, obstacle: Obstacle) -> Design:
    """Add an obstacle to a course."""
    there = design.driving.courses[course].obstacles
    return change_course(design, course, obstacles=(*there, obstacle))


def change_obstacle(design: Design, course: int, index: int, **changes: Any) -> Design:
    """Change an obstacle; of another kind it keeps the sizes that both have, and gets plain ones else."""
    obstacle = design.driving.courses[course].obstacles[index]
    kind: ObstacleKind = changes.get("kind", obstacle.kind)
    if kind in OF_OBSTACLE and kind != obstacle.kind:
        changes = _for_kind(obstacle, OF_OBSTACLE[kind], _SIZES_MM, changes)
    with _at(f"driving.courses[{course}].obstacles[{index}]"):
        changed = obstacle.edited(**changes)
    return _with_obstacles(design, course, {index: changed})


def place_obstacles(design: Design, course: int, places: Mapping[int, tuple[float, float]]) -> Design:
    """Put the middles of obstacles at places in the frame of the course [mm], by their number."""
    there = design.driving.courses[course].obstacles
    moved = {}
    for index, (x, y) in places.items():
        with _at(f"driving.courses[{course}].obstacles[{index}]"):
            moved[index] = there[index].edited(x_mm=x, y_mm=y)
    return _with_obstacles(design, course, moved)


def delete_obstacles(design: Design, course: int, indices: Iterable[int]) -> Design:
    """Remove obstacles of a course."""
    there = design.driving.courses[course].obstacles
    return change_course(design, course, obstacles=_without(there, indices))


# Recordings --------------------------------------------------------------------------------------


def recorded(name: str, held: Iterable[Held]) -> Script:
    """Make a script of what was driven: one move for each input, for as long as it was held.

    A run of it from rest, with the same code on the same course, is the drive itself to the last bit.

    Raises
    ------
    DesignError
        If there are more changes than a script has moves; nothing is left out in silence.
    """
    moves = []
    for one in held:
        first, second = one.a / _FULL, one.b / _FULL
        way = {"by": "stick", "throttle": first, "turn": second}
        if one.call == "drive":
            way = {"by": "speeds", "left": first, "right": second}
        if one.seconds > 0:
            moves.append(Move.model_validate({**way, "amount": one.seconds}))
    if len(moves) > MOST_STEPS:
        rule = f"must have at most {MOST_STEPS} changes of the input; drive for less time, or more steadily"
        raise DesignError([Problem("the recording", rule, f"{len(moves)}")])
    return Script(name=name, moves=tuple(moves))


# -------------------------------------------------------------------------------------------------


def _with_list(design: Design, key: ListKey, items: Sequence[Script | Course]) -> Design:
    with _at("driving"):
        driving = design.driving.edited(**{key: tuple(items)})
    return design.edited(driving=driving)


def _changed(design: Design, key: ListKey, index: int, change: Callable[[Any], Any]) -> Design:
    items: list[Any] = list(getattr(design.driving, key))
    with _at(f"driving.{key}[{index}]"):
        items[index] = change(items[index])
    return _with_list(design, key, items)


def _with_obstacles(design: Design, course: int, changed: Mapping[int, Obstacle]) -> Design:
    there = design.driving.courses[course].obstacles
    return change_course(design, course, obstacles=tuple(changed.get(i, one) for i, one in enumerate(there)))


def _for_kind(
    item: Move | Obstacle, wanted: tuple[str, ...], plain: Mapping[str, float], changes: Mapping[str, Any]
) -> dict[str, Any]:
    """Changes with a number for each field that the new kind has, and none for the others."""
    numbers: dict[str, float | None] = dict.fromkeys(plain)
    for key in wanted:
        old = getattr(item, key)
        numbers[key] = plain[key] if old is None else old
    return {**{key: number for key, number in numbers.items() if hasattr(item, key)}, **changes}


def _without(items: tuple[Item, ...], indices: Iterable[int]) -> tuple[Item, ...]:
    gone = set(indices)
    return tuple(item for i, item in enumerate(items) if i not in gone)


def _reordered(items: tuple[Item, ...], index: int, to: int) -> tuple[Item, ...]:
    rest = [*items[:index], *items[index + 1 :]]
    return (*rest[:to], items[index], *rest[to:])


def _free(added: Any, there: Sequence[Script | Course]) -> Any:
    """The same under its own name, or under the next one with a number that is free."""
    taken = {one.name.casefold() for one in there}
    if added.name.casefold() not in taken:
        return added
    found = _NUMBERED.fullmatch(added.name)
    stem = found[1] if found else added.name
    number = 2
    while (name := f"{stem[: _LONGEST_NAME - len(str(number)) - 1].rstrip()} {number}").casefold() in taken:
        number += 1
    return added.edited(name=name)


@contextmanager
def _at(place: str) -> Iterator[None]:
    """Put a place before those of the problems that are raised within."""
    try:
        yield
    except DesignError as error:
        raise DesignError(
            Problem(f"{place}.{problem.place}", problem.rule, problem.value) for problem in error.problems
        ) from None
