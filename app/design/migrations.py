"""Old file formats: functions on plain values, each from one version to the next."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Plain = dict[str, Any]

VERSION = 2
"""The version that this program writes, and the newest that it reads."""


def upgrade_from_1(plain: Plain) -> Plain:
    """Version 2 knows motors; a chassis of before has none."""
    return plain


# From version N to N + 1, by N. A function is named upgrade_from_N, gets the design's
# keys without "format" and "version", and may meet any JSON value under them.
UPGRADES: Mapping[int, Callable[[Plain], Plain]] = {1: upgrade_from_1}


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
