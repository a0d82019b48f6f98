"""Sums as a pocket calculator takes them: written once, then told and worked with any digits.

A sum shows just as many digits of its numbers as it takes for a calculator, given what is
on the page, to arrive at the very digits of the result that is shown. Where nearly equal
numbers cancel, that is more of them. What a later line uses is shown with those digits.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from app.units import degrees, radians

# Digits of a result, and the most that a pocket calculator shows.
FEWEST, MOST = 6, 12
# Below this a speed, a length in mm or an angle in degrees is what rounding leaves of 0.
_NOTHING = 1e-9
# A share may pass 1 by this much through rounding before it has no arcsine.
_BEYOND = 1e-11

_ADDING, _TIMES, _POWER, _WHOLE = 1, 2, 3, 4


def number(value: float, digits: int = FEWEST) -> str:
    """A number with so many significant digits, no exponent where that can be read.

    Examples
    --------
    >>> number(1 / 3), number(-0.0), number(240.0), number(1 / 3, 9)
    ('0.333333', '0', '240', '0.333333333')
    """
    if math.isinf(value):
        return "infinite"
    text = f"{value:.{digits}g}"
    return "0" if text == "-0" else text


def _added(a: float, b: float) -> float:
    """The sum, but 0 where a calculator's decimals leave 0 and binary does not."""
    total = a + b
    return 0.0 if abs(total) <= 1e-14 * max(abs(a), abs(b)) else total


class Expression:
    """Numbers joined by the keys of a calculator; plus, minus, times and so on make larger ones."""

    def told(self, digits: int, *, first: bool = True) -> tuple[str, int]:
        """The text, and how tightly its outermost sign binds; `first` where nothing stands before it."""
        raise NotImplementedError

    def worked(self, digits: int) -> float:
        """The value, each number taken with so many digits."""
        raise NotImplementedError

    def figures(self) -> Iterator[float]:
        """The numbers in it, in full."""
        raise NotImplementedError

    def __add__(self, other: Expression) -> Expression:
        return _Pair(" + ", _ADDING, _added, self, other)

    def __sub__(self, other: Expression) -> Expression:
        return _Pair(" - ", _ADDING, lambda a, b: _added(a, -b), self, other)

    def __mul__(self, other: Expression) -> Expression:
        return _Pair(" * ", _TIMES, operator.mul, self, other)

    def __truediv__(self, other: Expression) -> Expression:
        return _Pair(" / ", _TIMES, operator.truediv, self, other)

    def squared(self) -> Expression:
        """The square of it."""
        return _Pair("^", _POWER, operator.pow, self, Figure(2.0))


@dataclass(frozen=True)
class Figure(Expression):
    """One number."""

    value: float

    def told(self, digits: int, *, first: bool = True) -> tuple[str, int]:
        """The number, in brackets where its minus sign would meet another sign."""
        text = number(self.value, digits)
        return (f"({text})" if text.startswith("-") and not first else text), _WHOLE

    def worked(self, digits: int) -> float:
        """The number as a calculator gets it."""
        return float(f"{self.value:.{digits}g}")

    def figures(self) -> Iterator[float]:
        """Itself."""
        yield self.value


@dataclass(frozen=True)
class _Pair(Expression):
    sign: str
    binds: int
    work: Callable[[float, float], float]
    left: Expression
    right: Expression

    def told(self, digits: int, *, first: bool = True) -> tuple[str, int]:
        left, binds = self.left.told(digits, first=first and self.binds != _POWER)
        if binds < self.binds:
            left = f"({self.left.told(digits)[0]})"
        right, binds = self.right.told(digits, first=False)
        if binds < self.binds or (binds == self.binds and self.sign in (" - ", " / ")):
            right = f"({self.right.told(digits)[0]})"
        return f"{left}{self.sign}{right}", self.binds

    def worked(self, digits: int) -> float:
        return self.work(self.left.worked(digits), self.right.worked(digits))

    def figures(self) -> Iterator[float]:
        yield from self.left.figures()
        yield from self.right.figures()


@dataclass(frozen=True)
class _Key(Expression):
    name: str
    work: Callable[..., float]
    parts: tuple[Expression, ...]

    def told(self, digits: int, *, first: bool = True) -> tuple[str, int]:  # noqa: ARG002 - a name leads
        return f"{self.name}({', '.join(part.told(digits)[0] for part in self.parts)})", _WHOLE

    def worked(self, digits: int) -> float:
        return self.work(*(part.worked(digits) for part in self.parts))

    def figures(self) -> Iterator[float]:
        for part in self.parts:
            yield from part.figures()


def _arcsine(share: float) -> float:
    return degrees(math.asin(max(-1.0, min(1.0, share)) if abs(share) < 1.0 + _BEYOND else share))


def root(of: Expression) -> Expression:
    """Square root."""
    return _Key("sqrt", math.sqrt, (of,))


def sine(of: Expression) -> Expression:
    """Sine of an angle in degrees."""
    return _Key("sin", lambda angle: math.sin(radians(angle)), (of,))


def cosine(of: Expression) -> Expression:
    """Cosine of an angle in degrees."""
    return _Key("cos", lambda angle: math.cos(radians(angle)), (of,))


def arcsine(of: Expression) -> Expression:
    """Angle in degrees of a sine."""
    return _Key("asin", _arcsine, (of,))


def arctangent(up: Expression, along: Expression) -> Expression:
    """Direction in degrees of a pair of components."""
    return _Key("atan2", lambda y, x: degrees(math.atan2(y, x)), (up, along))


@dataclass(frozen=True)
class Step:
    """One line: what, the formula in symbols, the sum in numbers, the result."""

    what: str
    formula: str
    sums: Expression | None
    value: float
    unit: str = ""
    digits: int = FEWEST
    """Digits of the result."""
    taken: int = FEWEST
    """Digits of the numbers in the sum."""

    @property
    def sum(self) -> str:
        """The sum in numbers; empty where the value is given."""
        return "" if self.sums is None else self.sums.told(self.taken)[0]

    @property
    def shown(self) -> str:
        """The result as it stands on the line; 0 where the sum leaves less than any digit of it."""
        return number(self.value, self.digits) if self.digits else "0"

    def __str__(self) -> str:
        """The step as two lines of text."""
        unit = f" {self.unit}" if self.unit not in ("", "°") else self.unit
        result = self.shown + (unit if math.isfinite(self.value) else "")
        parts = [part for part in (self.formula, self.sum, result) if part]
        return f"{self.what}\n    {' = '.join(parts)}"

    def settled(self, wanted: int) -> Step:
        """The step with so many digits of its result, or as many as its sum can give."""
        if self.sums is None:
            return replace(self, digits=wanted)
        # One digit more decides where a rounding is a toss-up; only then are there fewer.
        for digits in (wanted, wanted + 1, *range(wanted - 1, 0, -1)):
            for taken in range(FEWEST, MOST + 1):
                if _gives(self.sums, taken, self.value, digits):
                    return replace(self, digits=digits, taken=taken)
        return replace(self, digits=0 if abs(self.value) < _NOTHING else 1, taken=MOST)


def _gives(sums: Expression, taken: int, value: float, digits: int) -> bool:
    try:
        found = sums.worked(taken)
    except (ValueError, ArithmeticError):  # out of reach by rounding: more digits bring it back
        return False
    return number(found, digits) == number(value, digits) or (value == 0 and abs(found) < _NOTHING)


def settled(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Choose the digits of all lines, from the last to the first: what is used is shown."""
    wanted = [FEWEST] * len(steps)
    found: list[Step] = []
    for i in range(len(steps) - 1, -1, -1):
        step = steps[i].settled(wanted[i])
        found.append(step)
        if step.sums is None or step.taken == FEWEST:
            continue
        used = {abs(value): _length(value, step.taken) for value in step.sums.figures()}
        for j in range(i):
            wanted[j] = max(wanted[j], used.get(abs(steps[j].value), 0))
    return tuple(reversed(found))


def _length(value: float, digits: int) -> int:
    """How many significant digits are left of so many, without the zeros at the end."""
    return len(f"{value:.{digits - 1}e}".lstrip("-").split("e")[0].replace(".", "").rstrip("0"))
