"""The words of SVG for shapes: path data, transforms, lengths, boxes of a view."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from app.design.outline_files.curves import Arc, Cubic, Curve, Floats, Lines
from app.design.outline_files.drawing import MM_PER_UNIT
from app.units import radians

Affine = tuple[Floats, Floats]
"""(2, 2) and (2,): a point p goes to ``matrix @ p + shift``."""
STILL: Affine = (np.eye(2), np.zeros(2))
MOST_COMMANDS = 100_000
_LARGEST = 1e9

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_GAP = re.compile(r"[\s,]*")
_TRANSFORM = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)\s*")
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*([a-zA-Z%]*)\s*")
_PX = MM_PER_UNIT["px"]
MM_PER: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_UNIT["inch"],
    "pt": MM_PER_UNIT["inch"] / 72.0,
    "pc": MM_PER_UNIT["inch"] / 6.0,
    "px": _PX,
}
# How many numbers each command of path data takes.
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}


class SvgError(ValueError):
    """Words that are no path data, transform or length; the text says what is wrong with them."""


def _value(text: str) -> float:
    value = float(text)
    if not abs(value) <= _LARGEST:
        raise SvgError(f"holds a number beyond {_LARGEST:g}")
    return value


def length_of(text: str) -> float:
    """Read a length [user units]; one with a unit of its own is turned, at 96 px an inch.

    Examples
    --------
    >>> length_of("12.5"), round(length_of("25.4mm"), 9)
    (12.5, 96.0)
    """
    found = _LENGTH.fullmatch(text)
    unit = found[2].casefold() if found else ""
    if found is None or (unit and unit not in MM_PER):
        raise SvgError("has a length that depends on something else, or is none")
    return _value(found[1]) * (MM_PER[unit] / _PX if unit else 1.0)


def stated_mm(text: str | None) -> float | None:
    """A length of the whole drawing in millimetres; None where it states none, such as 100%.

    Examples
    --------
    >>> stated_mm("21cm"), stated_mm("100%"), stated_mm(None)
    (210.0, None, None)
    """
    found = _LENGTH.fullmatch(text or "")
    if found is None or (found[2] and found[2].casefold() not in MM_PER):
        return None
    mm = float(found[1]) * MM_PER[found[2].casefold() or "px"]
    return mm if 0 < mm < math.inf else None


def numbers_of(text: str) -> list[float]:
    """Read a list of numbers with commas or spaces between."""
    found, at = [], _GAP.match(text, 0).end()  # type: ignore[union-attr]
    while at < len(text):
        number = _NUMBER.match(text, at)
        if number is None:
            raise SvgError(f"has something that is no number at character {at + 1}")
        found.append(_value(number[0]))
        at = _GAP.match(text, number.end()).end()  # type: ignore[union-attr]
    return found


def after(outer: Affine, inner: Affine) -> Affine:
    """The map that does `inner` first."""
    return outer[0] @ inner[0], outer[0] @ inner[1] + outer[1]


def transform_of(text: str) -> Affine:
    """Read the value of a `transform` attribute.

    Examples
    --------
    >>> matrix, shift = transform_of("translate(10, 5) scale(2)")
    >>> matrix.tolist(), shift.tolist()
    ([[2.0, 0.0], [0.0, 2.0]], [10.0, 5.0])
    """
    made, at = STILL, 0
    while at < len(text.rstrip()):
        found = _TRANSFORM.match(text, at)
        if found is None:
            raise SvgError("has a transform that cannot be read")
        made = after(made, _one_transform(found[1], numbers_of(found[2])))
        at = found.end()
    return made


def _one_transform(name: str, n: list[float]) -> Affine:
    count = len(n)
    if name == "matrix" and count == 6:
        return np.array([[n[0], n[2]], [n[1], n[3]]]), np.array(n[4:])
    if name == "translate" and count in {1, 2}:
        return np.eye(2), np.array([n[0], n[1] if count == 2 else 0.0])
    if name == "scale" and count in {1, 2}:
        return np.diag([n[0], n[-1]]), np.zeros(2)
    if name == "rotate" and count in {1, 3}:
        a = radians(n[0])
        turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
        about = np.array(n[1:]) if count == 3 else np.zeros(2)
        return turn, about - turn @ about
    if name == "skewX" and count == 1:
        return np.array([[1.0, math.tan(radians(n[0]))], [0.0, 1.0]]), np.zeros(2)
    if name == "skewY" and count == 1:
        return np.array([[1.0, 0.0], [math.tan(radians(n[0])), 1.0]]), np.zeros(2)
    raise SvgError("has a transform that cannot be read")


def view_of(box: list[float], width: float, height: float, fit: str) -> Affine:
    """From the axes of a `viewBox` to a place of a width and height at the origin.

    Parameters
    ----------
    box
        Least x, least y, width, height.
    width, height
        Of the place.
    fit
        Value of `preserveAspectRatio`; empty: xMidYMid meet.
    """
    if len(box) != 4 or not box[2] > 0 or not box[3] > 0:
        raise SvgError("has a viewBox that is not four numbers, the last two above 0")
    across, up = width / box[2], height / box[3]
    words = fit.split()
    align = words[0] if words else "xMidYMid"
    if align != "none":
        across = up = max(across, up) if "slice" in words else min(across, up)
    spare = width - across * box[2], height - up * box[3]
    shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    place = (shares.get(align[1:4], 0.5), shares.get(align[5:8], 0.5)) if align != "none" else (0.0, 0.0)
    shift = np.array([place[0] * spare[0] - across * box[0], place[1] * spare[1] - up * box[1]])
    return np.diag([across, up]), shift


def line_through(points: list[float], *, closed: bool) -> list[Curve]:
    """Straight lines through points given as x, y, x, y."""
    made = np.array(points[: len(points) // 2 * 2], dtype=np.float64).reshape(-1, 2)
    if len(made) < 2:
        return []
    return [Lines(np.vstack([made, made[:1]]) if closed else made)]


def ellipse(cx: float, cy: float, rx: float, ry: float) -> list[Curve]:
    """A whole ellipse; nothing where a radius is 0."""
    if not (rx > 0 and ry > 0):
        return []
    return [Arc(np.array([cx, cy]), np.array([rx, 0.0]), np.array([0.0, ry]), 0.0, 2.0 * math.pi)]


def rectangle(x: float, y: float, width: float, height: float, rx: float, ry: float) -> list[Curve]:
    """A rectangle with round corners; nothing where a side is 0."""
    if not (width > 0 and height > 0):
        return []
    rx, ry = min(max(rx, 0.0), 0.5 * width), min(max(ry, 0.0), 0.5 * height)
    right, low = x + width, y + height
    if not (rx > 0 and ry > 0):
        return line_through([x, y, right, y, right, low, x, low], closed=True)
    quarter, u, v = 0.5 * math.pi, np.array([rx, 0.0]), np.array([0.0, ry])
    corners = ((right - rx, y + ry), (right - rx, low - ry), (x + rx, low - ry), (x + rx, y + ry))
    arcs = [Arc(np.array(c), u, v, (i - 1) * quarter, quarter) for i, c in enumerate(corners)]
    curves: list[Curve] = []
    for arc, following in pairwise([*arcs, arcs[0]]):
        curves += [arc, Lines(np.array([_on(arc, arc.start + arc.sweep), _on(following, following.start)]))]
    return curves


def _on(arc: Arc, t: float) -> Floats:
    return np.asarray(arc.centre + arc.u * math.cos(t) + arc.v * math.sin(t))


def paths_of(data: str) -> list[tuple[list[Curve], bool]]:
    """Read path data.

    Parameters
    ----------
    data : str
        Value of a `d` attribute.

    Returns
    -------
    list of (list of Curve, bool)
        Each part that begins with a move, and whether it is closed; parts without a length are dropped.

    Raises
    ------
    SvgError
        At the first character that is wrong.
    """
    pen = _Pen()
    for command, numbers in _commands(data):
        pen.draw(command, numbers)
    pen.lift(closed=False)
    return pen.parts


def _commands(data: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with as many numbers as one of it takes."""
    at, count, command = _GAP.match(data, 0).end(), 0, ""  # type: ignore[union-attr]
    while at < len(data):
        if data[at].isascii() and data[at].isalpha():
            command = data[at]
            at = _GAP.match(data, at + 1).end()  # type: ignore[union-attr]
            first = True
        else:
            first = False
        takes = _TAKES.get(command.lower())
        if takes is None or (not count and command not in "Mm") or (not first and not takes):
            raise SvgError(f"has path data that cannot be read at character {at + 1}")
        numbers = []
        for i in range(takes):
            # The two flags of an arc are one digit each, and may stand close to what follows.
            flag = command in "Aa" and i in {3, 4}
            found = re.compile("[01]").match(data, at) if flag else _NUMBER.match(data, at)
            if found is None:
                raise SvgError(f"has path data that cannot be read at character {at + 1}")
            numbers.append(_value(found[0]))
            at = _GAP.match(data, found.end()).end()  # type: ignore[union-attr]
        count += 1
        if count > MOST_COMMANDS:
            raise SvgError(f"has more than {MOST_COMMANDS:,} commands")
        yield command, numbers
        if command in "Mm":  # more pairs behind a move are lines
            command = "L" if command == "M" else "l"


class _Pen:
    """Follows the commands of path data."""

    def __init__(self) -> None:
        self.parts: list[tuple[list[Curve], bool]] = []
        self._curves: list[Curve] = []
        self._at = np.zeros(2)
        self._start = np.zeros(2)
        self._last = ""
        self._handle = np.zeros(2)

    def lift(self, *, closed: bool) -> None:
        """End a part."""
        if self._curves:
            self.parts.append((self._curves, closed))
        self._curves = []

    def draw(self, command: str, n: list[float]) -> None:
        """Do one command."""
        kind = command.lower()
        base = self._at if command.islower() else np.zeros(2)
        if kind == "z":
            if self._curves and np.abs(self._at - self._start).max() > 0:
                self._curves.append(Lines(np.array([self._at, self._start])))
            self.lift(closed=True)
            self._at = self._start
        elif kind == "m":
            self.lift(closed=False)
            self._at = self._start = base + n
        elif kind in "hv":
            axis, end = "hv".index(kind), self._at.copy()
            end[axis] = base[axis] + n[0]
            self._to(Lines(np.array([self._at, end])), end)
        elif kind == "l":
            self._to(Lines(np.array([self._at, base + n])), base + n)
        elif kind == "a":
            self._arc(n[:5], base + n[5:])
        else:
            self._bend(kind, [base + n[i : i + 2] for i in range(0, len(n), 2)])
        self._last = kind

    def _to(self, curve: Curve, end: Floats) -> None:
        self._curves.append(curve)
        self._at = end

    def _bend(self, kind: str, points: list[Floats]) -> None:
        """Béziers; s and t mirror the handle of the curve before, where it is of their kind."""
        if kind in "st":
            smooth = self._last in ("cs" if kind == "s" else "qt")
            points = [2.0 * self._at - self._handle if smooth else self._at, *points]
        if kind in "cs":
            one, other, end = points
            self._handle = other
        else:
            middle, end = points
            one, other = (self._at + 2.0 * middle) / 3.0, (end + 2.0 * middle) / 3.0
            self._handle = middle
        self._to(Cubic(np.array([self._at, one, other, end])), end)

    def _arc(self, n: list[float], end: Floats) -> None:
        """An elliptical arc from its two ends; the appendix of the standard finds its centre in this way."""
        rx, ry, angle = abs(n[0]), abs(n[1]), radians(n[2])
        if not (rx > 0 and ry > 0):
            self._to(Lines(np.array([self._at, end])), end)
            return
        if (self._at == end).all():
            return
        turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        x, y = turn.T @ (0.5 * (self._at - end)) / (rx, ry)
        far = math.hypot(x, y)
        if far > 1.0:  # too small to reach: enlarged until they do
            rx, ry, x, y = rx * far, ry * far, x / far, y / far
        beside = math.sqrt(max(1.0 / (x * x + y * y) - 1.0, 0.0)) * (
            -1.0 if bool(n[3]) == bool(n[4]) else 1.0
        )
        cx, cy = beside * y, -beside * x
        start = math.atan2(y - cy, x - cx)
        sweep = (math.atan2(-y - cy, -x - cx) - start) % (2.0 * math.pi)
        if not n[4]:
            sweep -= 2.0 * math.pi
        u, v = turn @ np.array([rx, 0.0]), turn @ np.array([0.0, ry])
        centre = turn @ np.array([rx * cx, ry * cy]) + 0.5 * (self._at + end)
        self._to(Arc(centre, u, v, start, sweep), end)
