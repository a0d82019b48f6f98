"""Versions of the file format: which one brought which key, and how older ones are read.

A file is written with the lowest version that can hold it. A key that a later version brought is
left out where it is at its default, so that older programs still open what they can hold.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from geometry.model.controller import Controller
from geometry.model.driving import Driving
from geometry.model.packaging import Packaging
from geometry.model.wheel import Wheel

Plain = dict[str, Any]

VERSION = 4
"""The newest version that this program writes and reads."""
LOWEST_WRITTEN = 2
"""The version of a file that holds nothing which a later one brought."""


class Since(NamedTuple):
    """When a key came, and the value at which it is left out of a file of before."""

    version: int
    default: Any


SINCE: Mapping[str, Since] = {
    "steer_motors": Since(2, []),
    "drive_motors": Since(2, []),
    "controller": Since(2, None),
    "steer_motors[].wheels[].proportion": Since(3, None),
    "drive_motors[].wheels[].proportion": Since(3, None),
    "wheels[].mass_kg": Since(4, Wheel.model_fields["mass_kg"].default),
    "controller.period_ms": Since(4, Controller().period_ms),
    "packaging": Since(4, Packaging().model_dump(mode="json")),
    "driving": Since(4, Driving().model_dump(mode="json")),
}
"""Keys that came after version 1, by their path; ``steer_motors[].name`` is a key of each motor."""


def upgrade_from_1(plain: Plain) -> Plain:
    """Version 2 knows motors; a chassis of before has none."""
    return plain


def upgrade_from_2(plain: Plain) -> Plain:
    """Version 3 keeps a ratio that was typed as two numbers; before, it was one number."""
    return plain


def upgrade_from_3(plain: Plain) -> Plain:
    """Version 4 knows what must fit, masses, and how the robot is driven; before, there was none of it."""
    return plain


# From version N to N + 1, by N. A function is named upgrade_from_N, gets the design's
# keys without "format" and "version", and may meet any JSON value under them.
UPGRADES: Mapping[int, Callable[[Plain], Plain]] = {
    1: upgrade_from_1,
    2: upgrade_from_2,
    3: upgrade_from_3,
}


def lowest(plain: Plain) -> tuple[Plain, int]:
    """Leave out what is at its default and came late; find the lowest version that holds the rest.

    Parameters
    ----------
    plain : dict
        The design's keys as they would all be written; left as it is.

    Returns
    -------
    (keys, version) : dict and int
    """
    version = LOWEST_WRITTEN
    for path, since in SINCE.items():
        if since.version > LOWEST_WRITTEN:
            plain, kept = _without(plain, path.split("."), since.default)
            version = max(version, since.version) if kept else version
    return plain, version


def _without(plain: Plain, path: list[str], default: Any) -> tuple[Plain, bool]:
    """Leave a key out wherever it is at its default; whether it is still there somewhere."""
    head, rest = path[0], path[1:]
    key = head.removesuffix("[]")
    if key not in plain:
        return plain, False
    if not rest:
        if plain[key] != default:
            return plain, True
        return {k: value for k, value in plain.items() if k != key}, False
    if head == key:
        inner, kept = _without(plain[key], rest, default)
        return {**plain, key: inner}, kept
    pairs = [_without(one, rest, default) for one in plain[key]]
    return {**plain, key: [one for one, _ in pairs]}, any(kept for _, kept in pairs)


def upgrade(
    plain: Plain,
    version: int,
    *,
    upgrades: Mapping[int, Callable[[Plain], Plain]],
    newest: int,
) -> Plain:
    """Bring the keys of an old file to the newest version, one step at a time.

    Parameters
    ----------
    plain : dict
        The design's keys as read; left as it is.
    version : int
        Version of the file, from 1 to `newest`.
    upgrades, newest
        The table of steps and the version that they lead to: `UPGRADES` and `VERSION`.

    Returns
    -------
    dict
        Keys of the newest version, not validated yet.
    """
    for step in range(version, newest):
        plain = upgrades[step](dict(plain))
    return plain
