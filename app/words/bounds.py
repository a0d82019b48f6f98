"""Bounds in few digits that stay bounds."""

from __future__ import annotations

from decimal import ROUND_CEILING, Context


def rounded_up(bound: float, digits: int) -> float:
    """A bound with so many digits that is never below the bound itself.

    Examples
    --------
    >>> rounded_up(0.09802, 3)
    0.0981
    """
    return float(Context(prec=digits, rounding=ROUND_CEILING).create_decimal_from_float(bound))
