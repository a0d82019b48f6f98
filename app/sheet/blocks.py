"""What a sheet is made of: blocks in the order in which they are read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from app.drawing.elements import Drawing
from app.sheet.live_plan import LivePlan
from geometry.model.design import Design

Side = Literal["left", "right"]


@dataclass(frozen=True)
class Heading:
    """Begins a section, which the contents list."""

    text: str
    key: str
    """Letters and hyphens; unique within a sheet."""


@dataclass(frozen=True)
class Paragraph:
    """Sentences."""

    text: str


@dataclass(frozen=True)
class Caution:
    """What must be read before anything is switched on, one sentence a line."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Steps:
    """What is to be done, in order, each with a box to tick."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    """Rows of cells under one head."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """Each as long as the head."""
    sides: tuple[Side, ...]
    """Where the cells of each column stand: numbers right."""
    caption: str = ""


@dataclass(frozen=True)
class Figure:
    """A drawing as wide as `MOST_WIDE`, at most as high as `MOST_HIGH`, at the size in which it is read."""

    drawing: Drawing
    """Its origin at the lower left corner."""
    caption: str
    high: float
    """[mm]."""
    live: LivePlan | None = None
    """Where it can move: what a page with a script needs for it."""


def sides_of(letters: str) -> tuple[Side, ...]:
    """Where the cells of columns stand, a letter each.

    Examples
    --------
    >>> sides_of("lr")
    ('left', 'right')
    """
    return tuple("right" if letter == "r" else "left" for letter in letters)


MOST_WIDE, MOST_HIGH = 170.0, 125.0
"""[mm]: fits A4 and Letter with their margins."""

Block: TypeAlias = Heading | Paragraph | Caution | Steps | Table | Figure


@dataclass(frozen=True)
class Sheet:
    """A build sheet."""

    design: Design
    title: str
    fingerprint: str
    """SHA-256 of what moves the robot."""
    blocks: tuple[Block, ...]

    @property
    def headings(self) -> tuple[Heading, ...]:
        """What the contents list."""
        return tuple(block for block in self.blocks if isinstance(block, Heading))

    @property
    def live(self) -> LivePlan | None:
        """The plan that can move; None without wheels."""
        found = (block.live for block in self.blocks if isinstance(block, Figure) and block.live)
        return next(found, None)
