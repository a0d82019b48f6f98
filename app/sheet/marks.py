"""The turns that a sheet speaks of, and what they are called."""

from __future__ import annotations

from app.units import show_number

_QUARTERS = (0.25, 0.5, 0.75, 1.0)


def mark_turns(reach: float) -> tuple[float, ...]:
    """Straight ahead, quarter points and the end of the range, in rising order.

    Examples
    --------
    >>> mark_turns(0.6)
    (-0.6, -0.5, -0.25, 0.0, 0.25, 0.5, 0.6)
    """
    sizes = sorted({size for size in _QUARTERS if size <= reach} | {reach})
    return (*(-size for size in reversed(sizes)), 0.0, *sizes)


def example_turn(reach: float) -> float:
    """The turn that the picture shows, and that is worked through.

    Examples
    --------
    >>> example_turn(1.0), example_turn(0.1)
    (0.25, 0.1)
    """
    return min(_QUARTERS[0], reach)


def turn_words(turn: float) -> str:
    """A turn input with what it means where it has a name.

    Examples
    --------
    >>> turn_words(0.5), turn_words(-1.0), turn_words(0.25)
    ('0.5, left side stopped', '-1, on the spot to the right', '0.25')
    """
    side = "left" if turn > 0 else "right"
    named = {0.0: "straight ahead", 0.5: f"{side} side stopped", 1.0: f"on the spot to the {side}"}
    words = named.get(abs(turn), "")
    number = show_number(turn, 4)
    return f"{number}, {words}" if words else number
