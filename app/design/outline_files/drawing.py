"""What a file of a drawing holds, as read and as laid on a chassis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from app.design.disk import FileError
from app.design.outline_files.curves import Curve, Floats
from app.units import MM_PER_INCH

Forward = Literal["up", "right", "down", "left"]
FORWARDS: tuple[Forward, ...] = ("up", "right", "down", "left")
DrawingUnit = Literal["mm", "cm", "m", "inch", "px"]
MM_PER_UNIT: dict[DrawingUnit, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "inch": MM_PER_INCH,
    "px": MM_PER_INCH / 96.0,
}
DRAWING_UNITS: tuple[DrawingUnit, ...] = ("mm", "cm", "m", "inch", "px")

CHORD_MM, JOIN_MM = 0.02, 0.1
LEAST_CHORD_MM, MOST_CHORD_MM = 0.001, 5.0
MOST_JOIN_MM = 10.0
SAME_MM = 1e-6
"""Ends nearer than this are one point [mm]."""
MOST_TOLD = 8
"""Sentences of one kind; of more only the number is told."""
_LONGEST_NAME = 80
LEAST_SCALE, MOST_SCALE = 1e-4, 1e4


class DrawingError(FileError):
    """A drawing that cannot be read; the text names the file, the place and what helps."""


def shortened(lines: list[str]) -> tuple[str, ...]:
    """The first of many sentences, and how many more there are."""
    more = len(lines) - MOST_TOLD
    return (*lines[:MOST_TOLD], *((f"And {more} more like that.",) if more > 0 else ()))


def shown_name(text: str) -> str:
    """A name in a file as it can be shown, printed and saved: not endless, and Unicode throughout.

    Examples
    --------
    >>> len(shown_name("deck" * 100))
    80
    """
    # What is no text in the file's encoding comes as half a pair, which nothing can write.
    whole = "".join("\ufffd" if "\ud800" <= c <= "\udfff" else c for c in text[: _LONGEST_NAME + 1])
    return whole if len(whole) <= _LONGEST_NAME else f"{whole[: _LONGEST_NAME - 1]}\u2026"


@dataclass(frozen=True)
class Path:
    """One path of a file, in its own unit; X to the right and Y up as it is looked at."""

    layer: str
    curves: tuple[Curve, ...]
    """Each begins where the one before it ends."""
    closed: bool
    """Whether the file says that its end runs back to its start."""
    what: str = "path"
    """What the file calls it, for what is told."""
    place: str = ""
    """Where it stands in the file, in words."""


@dataclass(frozen=True)
class Sketch:
    """A file as it was read."""

    name: str
    """Of the file, without its folder."""
    paths: tuple[Path, ...]
    left_out: Mapping[str, int]
    """How often each kind of thing was left out, by its name in plain words."""
    unit: str
    """The unit that the file states, in words; empty where it states none."""
    mm_per_unit: float
    """What that unit is; where the file states none, what it is taken for."""
    notes: tuple[str, ...] = ()
    """What else must be known, as sentences."""
    y_down: bool = False
    """Whether Y points down in the file itself."""


@dataclass(frozen=True)
class Outline:
    """A closed outline on the chassis [mm, x forward, y to the left]."""

    layer: str
    points: Floats
    """(K, 2), K of 3 at least; the last is not the first again."""
    gap_mm: float = 0.0
    """The widest gap that was joined in it."""

    @property
    def area_mm2(self) -> float:
        """What it encloses."""
        x, y = (self.points - self.points[0]).T
        return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm]."""
        (low_x, low_y), (high_x, high_y) = self.points.min(axis=0).tolist(), self.points.max(axis=0).tolist()
        return low_x, low_y, high_x, high_y


@dataclass(frozen=True)
class Circle:
    """A whole circle on the chassis [mm, x forward, y to the left]."""

    layer: str
    x: float
    y: float
    diameter: float

    @property
    def area_mm2(self) -> float:
        """What it encloses."""
        return float(0.25 * np.pi * self.diameter**2)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm]."""
        r = 0.5 * self.diameter
        return self.x - r, self.y - r, self.x + r, self.y + r


Shape = Outline | Circle


@dataclass(frozen=True)
class OpenPath:
    """A path whose ends do not meet."""

    layer: str
    points: Floats
    """(K, 2) [mm]."""
    gap_mm: float
    """Between its two ends."""
    start: tuple[float, float]
    """One of its ends, in the unit and the axes of the file."""

    def told(self) -> str:
        """Where it is open, as a sentence."""
        x, y = self.start
        return (
            f"Open path on layer {self.layer}: its ends are {self.gap_mm:.3g} mm apart, "
            f"one at {x:.6g}, {y:.6g} of the drawing; close it there."
        )


@dataclass(frozen=True)
class Drawing:
    """What a file gives for a chassis, in millimetres, x forward and y to the left."""

    name: str
    outlines: tuple[Outline, ...]
    circles: tuple[Circle, ...]
    open_paths: tuple[OpenPath, ...]
    left_out: Mapping[str, int]
    unit: str
    """In words, with who said so."""
    mm_per_unit: float
    """With the scale."""
    chord_mm: float
    join_mm: float
    notes: tuple[str, ...] = field(default=())

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """Outlines and circles, the largest first."""
        found: list[Shape] = [*self.outlines, *self.circles]
        return tuple(sorted(found, key=lambda shape: -shape.area_mm2))

    @property
    def layers(self) -> tuple[str, ...]:
        """Names of the layers that hold anything, sorted."""
        names = {shape.layer for shape in self.shapes} | {path.layer for path in self.open_paths}
        return tuple(sorted(names))

    def only(self, layers: frozenset[str] | set[str]) -> Drawing:
        """What is on these layers alone."""
        return replace(
            self,
            outlines=tuple(part for part in self.outlines if part.layer in layers),
            circles=tuple(part for part in self.circles if part.layer in layers),
            open_paths=tuple(part for part in self.open_paths if part.layer in layers),
        )

    def told(self) -> tuple[str, ...]:
        """What was left out, joined, mended or not stated, one sentence each."""
        left_out = [f"Left out: {count} × {what}." for what, count in sorted(self.left_out.items())]
        said = list(shortened(left_out))
        said += shortened([path.told() for path in self.open_paths])
        joined = [outline.gap_mm for outline in self.outlines if outline.gap_mm > SAME_MM]
        if joined:
            said.append(f"Joined: gaps of up to {max(joined):.3g} mm in {len(joined)} outlines.")
        return (*self.notes, *said)
