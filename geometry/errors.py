"""The error family of the whole program.

AxlewrightError           everything that is told to the person, never a traceback
    DesignError           a chassis breaks one or more rules; carries each as a `Problem`
    CommandError          a turn command that no chassis can follow (not finite, out of range)
    AdviceError           a question about sharing motors that has no answer
    Cancelled             long work that the person has stopped
    TableError            a lookup table that cannot be made as asked; says the best that can
        SteepError        because a curve is too steep for the steps of the turn

The application adds its own members (files, exports) below `AxlewrightError`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class AxlewrightError(Exception):
    """Base of all errors whose text is written for the person at the window."""


@dataclass(frozen=True)
class Problem:
    """One broken rule.

    Parameters
    ----------
    place
        Where, as a path into the design: ``wheels[2].diameter_mm``.
    rule
        What is allowed, as the rest of a sentence: ``must be above 0``.
    value
        The offending value as text; empty where there is none to show.

    Examples
    --------
    >>> str(Problem("wheels[2].diameter_mm", "must be at least 5", "-12"))
    'wheels[2].diameter_mm must be at least 5 (got -12)'
    """

    place: str
    rule: str
    value: str = ""

    def __str__(self) -> str:
        """Place, rule and value as one sentence."""
        got = f" (got {self.value})" if self.value else ""
        return f"{self.place} {self.rule}{got}"


class DesignError(AxlewrightError):
    """A chassis design that breaks rules; `problems` lists every one of them."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class CommandError(AxlewrightError):
    """A turn command that cannot be followed: not a number, infinite, or out of range."""


class AdviceError(AxlewrightError):
    """A question about sharing motors that has no answer: no steered wheel, too many, no motor."""


class Cancelled(AxlewrightError):
    """Long work that the person has stopped; nothing of it is kept."""


class TableError(AxlewrightError):
    """A lookup table that cannot be made as asked.

    Parameters
    ----------
    message
        The sentence for the person, with the remedy.
    times_allowed
        How many times the allowed error the best table within the limits needs; None where
        the refusal is about something else.
    """

    def __init__(self, message: str, times_allowed: float | None = None) -> None:
        super().__init__(message)
        self.times_allowed = times_allowed


class SteepError(TableError):
    """A curve so steep that the rounding of the turn to whole steps costs too much.

    Parameters
    ----------
    message, times_allowed
        As of any table error.
    turn
        Turn input near which it is steepest.
    output
        Index of the output.
    """

    def __init__(self, message: str, times_allowed: float, turn: float, output: int) -> None:
        super().__init__(message, times_allowed)
        self.turn = turn
        self.output = output
