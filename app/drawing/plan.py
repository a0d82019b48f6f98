"""The plan of a chassis at full size: seen from above, forward is up, the origin of the chassis at (0, 0).

Beside it, from the drawing outward: at the left how far kingpins and ends of the body are from the base
axle, then the length; below the tracks, then the width; at the right and above where the openings are.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from app.drawing.dimensioning import Reading, Span, number, once, rows, running
from app.drawing.elements import Box, Corner, Drawing, Element, Line, Outline, Text
from app.drawing.from_above import FromAbove, on_paper
from app.drawing.lettering import printable
from app.drawing.placing import (
    LETTERS,
    Board,
    Keys,
    Spot,
    notes_of_names,
    size_of,
    spots_around,
    spots_within,
    written_below,
)
from app.drawing.scale import NOTHING, check_scale, has_nothing
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.model.packaging import Opening

__all__ = ["LARGEST_HOLE_MM", "on_paper", "plan_of"]

LARGEST_HOLE_MM = 50.0
_MOST_CHAINS = 6
"""Axles of more kinds than this are told by running numbers from the centre line."""


def plan_of(design: Design, *, kingpin_hole_mm: float = 3.0, scale: float = 1.0) -> Drawing:
    """Draw a chassis from above, straight ahead, with its dimensions.

    Parameters
    ----------
    design : Design
        Any design; one with nothing in it becomes a drawing with a sentence.
    kingpin_hole_mm : float
        Diameter of the holes of the kingpins of steered wheels and casters, 0 to 50; 0: no hole [mm].
    scale : float
        Size on paper by real size, 0.001 to 10; texts keep their height, and numbers tell real sizes.

    Raises
    ------
    AxlewrightError
        If the hole or the scale is out of its range.
    """
    if not 0.0 <= kingpin_hole_mm <= LARGEST_HOLE_MM:
        raise AxlewrightError(
            f"the kingpin hole must be from 0 to {LARGEST_HOLE_MM:g} mm (got {kingpin_hole_mm:g}); "
            "0 draws no hole"
        )
    check_scale(scale)
    if has_nothing(design):
        return Drawing(design.name, (Text("text", (0.0, 0.0), NOTHING, LETTERS),))
    return _Plan(FromAbove(design, scale), kingpin_hole_mm).drawing()


@dataclass
class _Plan:
    """One plan while it is made."""

    seen: FromAbove
    hole_mm: float
    wheel_keys: Keys = field(default_factory=lambda: Keys("W"))
    part_keys: Keys = field(default_factory=lambda: Keys("P"))

    def __post_init__(self) -> None:
        design = self.seen.design
        base = self.seen.robot.base.x
        self.base_x = base
        packaging = design.packaging
        self.holes = [o for o in packaging.openings if o.face == "floor"]
        self.roof_holes = [o for o in packaging.openings if o.face == "roof"]
        self.shapes = self._shapes()
        self.box = size_of(self.shapes)
        self.board = Board(self.shapes)

    def drawing(self) -> Drawing:
        """All of it, from the ground up."""
        lines = self._lines()
        for line in [*lines, *self._witnesses()]:
            self.board.add(line)
        labels = self._labels()
        made = [*self.shapes, *lines, *labels]
        made += self._beside(size_of(made))
        made += self._above(size_of(made))
        made += rows(self._across(), "below", size_of(made)[1], self.seen.scale)
        made += self._below(size_of(made))
        design = self.seen.design
        return Drawing(design.name, tuple(made), tuple(self._notes()))

    # What is drawn -------------------------------------------------------------------------------

    def _shapes(self) -> list[Element]:
        seen, design = self.seen, self.seen.design
        wheels = range(len(design.wheels))
        made: list[Element] = [seen.wheel(i) for i in wheels]
        made += seen.parts()
        made += seen.sweeps()
        made += seen.body()
        made += [seen.opening(opening) for opening in (*self.roof_holes, *self.holes)]
        made += [seen.axle(i) for i in wheels]
        made += [element for i in wheels for element in seen.kingpin(i, self.hole_mm)]
        return made

    def _lines(self) -> list[Element]:
        """Base axle, centre line, and an arrow that points forward."""
        low_x, low_y, high_x, high_y = self.box
        y = self.seen.at(self.base_x, 0.0)[1]
        low_x, high_x = min(low_x, 0.0) - 5.0, max(high_x, 0.0) + 5.0
        low_y, high_y = min(low_y, y) - 5.0, max(high_y, y) + 12.0
        tip = Outline(
            "dimension",
            (Corner(0.0, high_y), Corner(-1.2, high_y - 4.5), Corner(1.2, high_y - 4.5)),
            filled=True,
        )
        return [
            Line("axle line", (low_x, y), (high_x, y)),
            Line("axle line", (0.0, low_y), (0.0, high_y - 4.5)),
            tip,
        ]

    def _witnesses(self) -> list[Line]:
        """Where lines of dimensions will run, so that names keep off them."""
        low_x, low_y, high_x, high_y = self.box
        found = [Line("dimension", r.at, (low_x, r.at[1])) for r in once(self._forward(), lambda p: -p[0])]
        found += [Line("dimension", r.at, (high_x, r.at[1])) for r in once(self._hole_x(), lambda p: p[0])]
        found += [Line("dimension", r.at, (r.at[0], high_y)) for r in once(self._hole_y(), lambda p: p[1])]
        for chain in self._across():
            ends = {point for span in chain for point in span}
            found += [Line("dimension", point, (point[0], low_y)) for point in ends]
        return found

    # Names ---------------------------------------------------------------------------------------

    def _labels(self) -> list[Element]:
        _low_x, _low_y, high_x, high_y = self.box
        y = self.seen.at(self.base_x, 0.0)[1]
        made: list[Element] = []
        top = max(high_y, y) + 12.0
        made += self._named(
            "text", "forward", [Spot((2.5, top - 3.0), "left"), Spot((-2.5, top - 3.0), "right")]
        )
        right = max(high_x, 0.0)
        spots = [Spot((right + 1.0, y + up), "left") for up in (1.0, -3.2)]
        made += self._named("text", "base axle", spots)
        for opening in (*self.holes, *self.roof_holes):
            made += self._hole_label(opening)
        for i in range(len(self.seen.design.wheels)):
            made += self._wheel_label(i)
        for part in self.seen.design.packaging.parts:
            name = printable(part.name)
            box = size_of(self.seen.part(part))
            within, outward = spots_within(box, name), -1.0 if box[0] + box[2] < 0 else 1.0
            beside = spots_around(box, outward=outward, gap=0.6)
            found = (
                self.board.fit("text", name, within, most=0)
                or self.board.fit("text", name, beside, most=0)
                or self.board.fit("text", name, within)
            )
            if found is None:
                middle = 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])
                made += self.board.near("text", self.part_keys.key(name), middle)
            else:
                made.append(found)
        return made

    def _named(self, role: Literal["text"], text: str, spots: Sequence[Spot]) -> list[Element]:
        found = self.board.fit(role, text, spots, most=4)
        return [found] if found is not None else self.board.near(role, text, spots[0].place)

    def _hole_label(self, opening: Opening) -> list[Element]:
        box = size_of([self.seen.opening(opening)])
        words = size_words(opening)
        if opening.face == "roof":
            words = f"{words} in the roof"
        outward = 1.0 if opening.y_mm <= 0 else -1.0
        spots = [*spots_within(box, words), *spots_around(box, outward=outward, gap=0.8)]
        found = self.board.fit("opening", words, spots, most=1)
        if found is not None:
            return [found]
        middle = 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])
        return self.board.near("opening", words, middle)

    def _wheel_label(self, index: int) -> list[Element]:
        seen = self.seen
        name = printable(seen.design.wheels[index].name)
        box = size_of([seen.wheel(index)])
        middle = 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])
        outward = -1.0 if middle[0] < 0 else 1.0
        found = self.board.fit("text", name, [*spots_within(box, name), *spots_around(box, outward=outward)])
        if found is not None:
            return [found]
        return self.board.near("text", self.wheel_keys.key(name), middle)

    # Dimensions ----------------------------------------------------------------------------------

    def _forward(self) -> list[Reading]:
        """How far kingpins and the ends of the body are ahead of the base axle."""
        seen = self.seen
        found = [Reading(0.0, (min(self.box[0], 0.0) - 5.0, seen.at(self.base_x, 0.0)[1]))]
        found += [Reading(w.x_mm - self.base_x, seen.at(w.x_mm, w.y_mm)) for w in seen.design.wheels]
        body = seen.design.body_mm
        for x in {f(c[0] for c in body) for f in (min, max)} if body else ():
            found += [Reading(x - self.base_x, seen.at(*corner)) for corner in body if corner[0] == x]
        return found

    def _hole_x(self) -> list[Reading]:
        if not self.holes:
            return []
        zero = Reading(0.0, (max(self.box[2], 0.0) + 5.0, self.seen.at(self.base_x, 0.0)[1]))
        return [zero, *(Reading(o.x_mm - self.base_x, self.seen.at(o.x_mm, o.y_mm)) for o in self.holes)]

    def _hole_y(self) -> list[Reading]:
        if not self.holes:
            return []
        y = self.seen.at(self.base_x, 0.0)[1]
        zero = Reading(0.0, (0.0, max(self.box[3], y) + 12.0))
        return [zero, *(Reading(o.y_mm, self.seen.at(o.x_mm, o.y_mm)) for o in self.holes)]

    def _tracks(self) -> list[list[Span]]:
        """The tracks of the axles, each kind once; wheels that have no partner from the centre line."""
        seen = self.seen
        axles: dict[str, tuple[float, dict[str, float]]] = {}
        for wheel in sorted(seen.design.wheels, key=lambda w: w.x_mm):
            axle = axles.setdefault(number(wheel.x_mm), (wheel.x_mm, {}))
            axle[1].setdefault(number(wheel.y_mm), wheel.y_mm)
        paired: dict[frozenset[str], tuple[float, list[float]]] = {}
        alone: dict[frozenset[str], tuple[float, list[float]]] = {}
        for x, across in axles.values():
            key = frozenset(across)
            if key == {number(-y) for y in across.values()}:
                paired.setdefault(key, (x, sorted(across.values(), reverse=True)))
            else:
                places = {number(0.0): 0.0, **across}
                alone.setdefault(key, (x, sorted(places.values(), reverse=True)))
        # Who stands abreast of a pair that is told elsewhere needs no numbers again.
        kinds = [
            *paired.values(),
            *(kind for key, kind in alone.items() if not any(key <= p for p in paired)),
        ]
        kinds.sort(key=lambda kind: (kind[1][0] - kind[1][-1], kind[0]))
        return [
            [Span(seen.at(x, a), seen.at(x, b)) for a, b in itertools.pairwise(places)]
            for x, places in kinds
            if len(places) > 1
        ]

    def _across(self) -> list[list[Span]]:
        """Tracks, then the width of the body."""
        tracks = self._tracks()
        if len(tracks) > _MOST_CHAINS:
            tracks = []
        body = self.seen.design.body_mm
        if body:
            ends = [min(c for c in body if c[1] == f(c[1] for c in body)) for f in (max, min)]
            tracks.append([Span(self.seen.at(*ends[0]), self.seen.at(*ends[1]))])
        return tracks

    def _many_across(self) -> list[Reading]:
        """Where all kingpins are from the centre line, where axles are of too many kinds for spans."""
        if len(self._tracks()) <= _MOST_CHAINS:
            return []
        zero = Reading(0.0, (0.0, min(self.box[1], self.seen.at(self.base_x, 0.0)[1]) - 5.0))
        return [zero, *(Reading(w.y_mm, self.seen.at(w.x_mm, w.y_mm)) for w in self.seen.design.wheels)]

    def _beside(self, box: Box) -> list[Element]:
        made = running(self._forward(), "left", box[0])
        body = self.seen.design.body_mm
        if body:
            # From beside the running numbers, so that no line goes through them.
            edge = size_of(made)[0] - 1.0
            ends = [(edge, self.seen.at(f(x for x, _ in body), 0.0)[1]) for f in (min, max)]
            made += rows([[Span(*ends)]], "left", edge, self.seen.scale)
        return made + running(self._hole_x(), "right", box[2])

    def _above(self, box: Box) -> list[Element]:
        made = running(self._hole_y(), "above", box[3])
        return made + running(self._many_across(), "below", box[1])

    # Words ---------------------------------------------------------------------------------------

    def _below(self, box: Box) -> list[Element]:
        design = self.seen.design
        sentences = ["Seen from above, wheels straight ahead, forward is up. Lengths in mm."]
        told = ["at the left from the base axle, forward positive"]
        if self.holes:
            told.append(
                "at the right the same for the middles of openings, above from the centre line, left positive"
            )
        if self._many_across():
            told.append("below from the centre line, left positive")
        sentences.append(f"Running numbers: {'; '.join(told)}.")
        pins = any(wheel.kind != "fixed" for wheel in design.wheels)
        if pins and self.hole_mm > 0:
            sentences.append(f"Kingpin holes ø{number(self.hole_mm)}.")
        lists = [("Wheels", self.wheel_keys.names), ("Parts", self.part_keys.names)]
        return written_below(box, printable(design.name), sentences, lists)

    def _notes(self) -> list[str]:
        design = self.seen.design
        parts = design.packaging.parts
        notes = notes_of_names([design.name, *(w.name for w in design.wheels), *(p.name for p in parts)])
        for opening in self.roof_holes:
            notes.append(
                f"The opening {size_words(opening)} at x {number(opening.x_mm)}, y {number(opening.y_mm)} mm "
                "is in the roof: it is drawn thin, and is no hole of the floor."
            )
        walls = sum(o.face not in ("floor", "roof") for o in design.packaging.openings)
        if walls:
            notes.append(
                f"{walls} {'opening is' if walls == 1 else 'openings are'} in the walls: "
                "see the side and the front view."
            )
        return notes


def size_words(opening: Opening) -> str:
    """The size of a hole: its diameter, or its length and its width."""
    if opening.diameter_mm is not None:
        return f"ø{number(opening.diameter_mm)}"
    return f"{number(opening.length_mm or 0.0)} × {number(opening.width_mm or 0.0)}"
