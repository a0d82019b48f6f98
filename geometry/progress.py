"""Long work tells how far it is, and stops where it is asked to."""

from __future__ import annotations

from collections.abc import Callable

from geometry.errors import Cancelled

Progress = Callable[[float], bool]
"""Told the share that is done, 0 to 1; answers False where the work shall stop."""


def unwatched(_share: float) -> bool:
    """Let the work go on: nobody watches it."""
    return True


def tell(progress: Progress, share: float) -> None:
    """Tell the share that is done, 0 to 1.

    Raises
    ------
    Cancelled
        If the work shall stop.
    """
    if not progress(share):
        raise Cancelled("the work was stopped")


def part_of(progress: Progress, start: float, end: float) -> Progress:
    """Progress of a part of the work, which fills the shares from start to end.

    Examples
    --------
    >>> told = []
    >>> half = part_of(lambda share: not told.append(share), 0.5, 1.0)
    >>> half(0.0), half(0.5), told
    (True, True, [0.5, 0.75])
    """
    return lambda share: progress(start + (end - start) * share)
