"""The chassis from the left side or from the front, wheels straight ahead, standing on the ground at y = 0.

As on the screen: from the side forward is to the left, from the front the left side is to the right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from app.drawing.dimensioning import Reading, Span, number, rows, running
from app.drawing.elements import Box, Circle, Corner, Drawing, Element, Line, Outline, Point, Role, Text
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
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Opening, Part
from geometry.model.part_outline import outline_of, tall, way_of
from geometry.packaging.solids import knows_heights, solids_of

From = Literal["side", "front"]
_END_ON = 0.9998
"""A lying cylinder within a degree of the line of sight is seen as a circle."""
_ROUND, _HALF_ELLIPSE = 0.5, 48
"""Sine of the angle from which on a wheel is seen from its tread; corners of half an outline seen round."""
_BEYOND = 8.0
_MOST_JOINED = 40
"""Names of wheels one behind the other stand together up to so many characters."""
_FACES: dict[From, tuple[str, str]] = {"side": ("left", "right"), "front": ("front", "rear")}


def elevation_of(design: Design, side: From, *, scale: float = 1.0) -> Drawing:
    """Draw a chassis from the left side or from the front, with its heights.

    Parameters
    ----------
    design : Design
        Any design; one with nothing in it becomes a drawing with a sentence.
    side : 'side' or 'front'
        From where.
    scale : float
        Size on paper by real size, 0.001 to 10; texts keep their height, and numbers tell real sizes.

    Raises
    ------
    AxlewrightError
        If the scale is out of its range.
    """
    check_scale(scale)
    if has_nothing(design):
        return Drawing(design.name, (Text("text", (0.0, 0.0), NOTHING, LETTERS),))
    return _Elevation(design, side, scale).drawing()


class _Seen(NamedTuple):
    """Wheels that are seen as one, the nearest first."""

    box: Box
    names: tuple[str, ...]
    shape: Element
    rolls_across: bool
    """Whether it is seen round, not from its tread."""


@dataclass
class _Elevation:
    """One elevation while it is made."""

    design: Design
    side: From
    scale: float
    wheel_keys: Keys = field(default_factory=lambda: Keys("W"))
    part_keys: Keys = field(default_factory=lambda: Keys("P"))

    def drawing(self) -> Drawing:
        """All of it, from the ground up."""
        shapes = [*self._body(), *self._parts(), *(seen.shape for seen in self._wheels), *self._axles()]
        shapes += self._openings()
        low_x, _, high_x, _ = size_of(shapes)
        ground = Line("outline", (low_x - _BEYOND, 0.0), (high_x + _BEYOND, 0.0))
        board = Board([*shapes, ground])
        for reading in self._heights():
            board.add(Line("dimension", reading.at, (low_x, reading.at[1])))
        made = [*shapes, ground, *self._labels(board)]
        box = size_of(made)
        made += running([*self._heights(), Reading(0.0, ground.start)], "left", box[0])
        body = self.design.body_mm
        if body:
            ends = [self._at(f(c[self._axis] for c in body), self._floor) for f in (min, max)]
            made += rows([[Span(*ends)]], "below", min(size_of(made)[1], 0.0), self.scale)
        box = size_of(made)
        made += written_below(box, printable(self.design.name), self._sentences(), self._lists())
        return Drawing(self.design.name, tuple(made), tuple(self._notes()))

    # Where things are ----------------------------------------------------------------------------

    @property
    def _axis(self) -> int:
        return 0 if self.side == "side" else 1

    @property
    def _floor(self) -> float:
        return self.design.packaging.floor_mm

    def _at(self, along_mm: float, height_mm: float) -> Point:
        way = -1.0 if self.side == "side" else 1.0
        return way * self.scale * along_mm, self.scale * height_mm

    def _box(self, role: Role, low: Point, high: Point, *, filled: bool = False) -> Outline:
        """A rectangle between two places, each along and above the ground."""
        places = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
        return Outline(role, tuple(Corner(*self._at(*place)) for place in places), filled=filled)

    # What is drawn -------------------------------------------------------------------------------

    def _body(self) -> list[Element]:
        body, packaging = self.design.body_mm, self.design.packaging
        if not body:
            return []
        ends = [corner[self._axis] for corner in body]
        low, high, wall = min(ends), max(ends), packaging.wall_mm
        made: list[Element] = [self._box("outline", (low, self._floor), (high, packaging.roof_mm))]
        inside = [corner[self._axis] for corner in packaging.inner_mm] or [low + wall, high - wall]
        top = packaging.roof_mm - (wall if packaging.has_roof else 0.0)
        if wall > 0 and max(inside) > min(inside):
            made.append(self._box("frame", (min(inside), self._floor + wall), (max(inside), top)))
        return made

    def _openings(self) -> list[Element]:
        """Holes in the walls that are looked at, those behind the body too; two in line are one."""
        found: dict[tuple[float | None, ...], Element] = {}
        for opening in self.design.packaging.openings:
            if opening.face in _FACES[self.side]:
                key = (*self._middle(opening), opening.length_mm, opening.width_mm, opening.diameter_mm)
                found.setdefault(key, self._opening(opening))
        return list(found.values())

    def _middle(self, opening: Opening) -> Point:
        return (opening.x_mm if self.side == "side" else opening.y_mm), opening.z_mm

    def _opening(self, opening: Opening) -> Element:
        along, height = self._middle(opening)
        if opening.diameter_mm is not None:
            return Circle("opening", self._at(along, height), 0.5 * self.scale * opening.diameter_mm)
        wide, up = 0.5 * (opening.length_mm or 0.0), 0.5 * (opening.width_mm or 0.0)
        return self._box("opening", (along - wide, height - up), (along + wide, height + up))

    def _part(self, part: Part) -> Element:
        ends = [corner[self._axis] for corner in outline_of(part)]
        top = part.bottom_mm + tall(part)
        forward, left = way_of(part)
        if part.shape == "lying cylinder" and abs(left if self.side == "side" else forward) > _END_ON:
            at = part.x_mm if self.side == "side" else part.y_mm
            radius = 0.5 * tall(part)
            return Circle("part", self._at(at, part.bottom_mm + radius), self.scale * radius, filled=True)
        if part.shape == "upright cylinder":  # its outline is a polygon within the circle
            at, radius = (part.x_mm, part.y_mm)[self._axis], 0.5 * (part.diameter_mm or 0.0)
            ends = [at - radius, at + radius]
        return self._box("part", (min(ends), part.bottom_mm), (max(ends), top), filled=True)

    def _far_first(self) -> list[Part]:
        """Parts as they hide each other: from the side the right ones lie behind, from the front the rear."""
        return sorted(self.design.packaging.parts, key=lambda p: p.y_mm if self.side == "side" else p.x_mm)

    def _parts(self) -> list[Element]:
        return [self._part(part) for part in self._far_first()]

    @cached_property
    def _wheels(self) -> list[_Seen]:
        """Wheels as circles where they roll across the sight, else as rectangles; equal ones once."""
        design = self.design
        shape = solids_of(robot_of(design), design).shape
        near = -np.array([w.y_mm if self.side == "side" else w.x_mm for w in design.wheels])
        found: dict[tuple[str, ...], list[int]] = {}
        for i in np.argsort(near, kind="stable").tolist():
            box = self._wheel_box(shape.corners[i], design.wheels[i].diameter_mm)
            found.setdefault(tuple(number(v) for v in box), []).append(i)
        seen = []
        for same in found.values():
            i = same[0]
            wheel, middle = design.wheels[i], complex(shape.middle[i])
            low_along, bottom, high_along, top = self._wheel_box(shape.corners[i], wheel.diameter_mm)
            axle = complex(shape.across[i]) / abs(shape.across[i])
            askew = abs(axle.real if self.side == "side" else axle.imag)
            at = middle.real if self.side == "side" else middle.imag
            drawn: Element = self._box("wheel", (low_along, bottom), (high_along, top))
            if askew <= 1e-9:
                centre = self._at(at, 0.5 * wheel.diameter_mm)
                drawn = Circle("wheel", centre, 0.5 * self.scale * wheel.diameter_mm)
            elif askew < _ROUND:
                drawn = self._askew(at, 0.5 * wheel.diameter_mm, 0.5 * wheel.width_mm, askew)
            names = tuple(design.wheels[k].name for k in same)
            seen.append(_Seen(size_of([drawn]), names, drawn, askew < _ROUND))
        return seen

    def _askew(self, at: float, radius: float, half_width: float, sin: float) -> Outline:
        """A wheel that rolls nearly across the sight: halves of ellipses, as far apart as it is seen wide."""
        corners = []
        for k in range(2 * _HALF_ELLIPSE + 2):
            ahead = k <= _HALF_ELLIPSE
            turn = math.pi * ((k if ahead else k - 1) / _HALF_ELLIPSE - 0.5)
            along = radius * math.sqrt(1.0 - sin * sin) * math.cos(turn)
            along += half_width * sin * (1.0 if ahead else -1.0)
            corners.append(Corner(*self._at(at + along, radius + radius * math.sin(turn))))
        return Outline("wheel", tuple(corners))

    def _wheel_box(self, corners: np.ndarray, diameter: float) -> Box:
        ends = corners.real if self.side == "side" else corners.imag
        return float(ends.min()), 0.0, float(ends.max()), diameter

    def _axles(self) -> list[Element]:
        """A cross where an axle is seen from its end, a line along it else; each once."""
        found: dict[tuple[str, str], list[Element]] = {}
        for seen in self._wheels:
            x, y = 0.5 * (seen.box[0] + seen.box[2]), 0.5 * (seen.box[1] + seen.box[3])
            wide = 0.5 * (seen.box[2] - seen.box[0]) + 2.0
            arms = [Line("axle", (x - wide, y), (x + wide, y))]
            if seen.rolls_across:
                arms = [Line("axle", (x - 3.0, y), (x + 3.0, y)), Line("axle", (x, y - 3.0), (x, y + 3.0))]
            found.setdefault((number(x), number(y)), list(arms))
        return [arm for arms in found.values() for arm in arms]

    # Words and numbers ---------------------------------------------------------------------------

    def _labels(self, board: Board) -> list[Element]:
        made: list[Element] = []
        top = size_of(self._body() + self._parts() + [s.shape for s in self._wheels] + self._openings())
        ahead = "← forward" if self.side == "side" else "← right, left →"
        place = (top[0], top[3] + 4.0) if self.side == "side" else (0.5 * (top[0] + top[2]), top[3] + 4.0)
        found = board.fit("text", ahead, [Spot(place, "left" if self.side == "side" else "middle")], most=9)
        made += [found] if found is not None else board.near("text", ahead, place)
        for seen in self._wheels:
            names = " / ".join(printable(name) for name in seen.names)
            made += self._named(board, names, seen.box, self.wheel_keys, short=len(names) <= _MOST_JOINED)
        for part in self.design.packaging.parts:
            box = size_of([self._part(part)])
            made += self._named(board, printable(part.name), box, self.part_keys)
        return made

    def _named(self, board: Board, name: str, box: Box, keys: Keys, *, short: bool = True) -> list[Element]:
        outward = -1.0 if box[0] + box[2] < 0 else 1.0
        within = spots_within(box, name)
        if keys is self.wheel_keys:  # the corners of the box lie outside of a round one
            within = [spot for spot in within if not spot.turn]
        beside = spots_around(box, outward=outward, gap=0.6)
        found = None
        if short:
            found = (
                board.fit("text", name, within, most=1)
                or board.fit("text", name, beside, most=0)
                or board.fit("text", name, [*within, *beside])
            )
        if found is not None:
            return [found]
        return board.near("text", keys.key(name), (0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])))

    def _heights(self) -> list[Reading]:
        """Heights above the ground of floor, roof, axles and openings in the walls."""
        design, packaging = self.design, self.design.packaging
        found: list[Reading] = []
        if design.body_mm:
            left = min(self._at(c[self._axis], 0.0)[0] for c in design.body_mm)
            heights = {packaging.floor_mm, packaging.roof_mm}
            if knows_heights(design):
                heights.add(packaging.floor_mm + packaging.wall_mm)
            found += [Reading(h, (left, self._at(0.0, h)[1])) for h in heights]
        for seen in self._wheels:
            middle = 0.5 * (seen.box[1] + seen.box[3])
            found.append(Reading(middle / self.scale, (0.5 * (seen.box[0] + seen.box[2]), middle)))
        for opening in packaging.openings:
            if opening.face in _FACES[self.side]:
                found.append(Reading(opening.z_mm, self._at(*self._middle(opening))))
        return found

    def _sentences(self) -> list[str]:
        seen = (
            "Seen from the left side, forward is to the left"
            if self.side == "side"
            else "Seen from the front, the left side is to the right"
        )
        return [
            f"{seen}; wheels straight ahead. Lengths in mm.",
            "Running numbers: heights above the ground.",
        ]

    def _lists(self) -> list[tuple[str, list[tuple[str, str]]]]:
        parts = [
            (f"{number(p.bottom_mm)} to {number(p.bottom_mm + tall(p))}", printable(p.name))
            for p in self.design.packaging.parts
        ]
        return [
            ("Wheels", self.wheel_keys.names),
            ("Parts", self.part_keys.names),
            ("Parts, from lower to upper edge", parts),
        ]

    def _notes(self) -> list[str]:
        design = self.design
        names = [design.name, *(w.name for w in design.wheels), *(p.name for p in design.packaging.parts)]
        notes = notes_of_names(names)
        if design.body_mm and not knows_heights(design):
            notes.append(
                "The heights of the body are those of a new chassis: "
                f"floor {number(self._floor)}, roof {number(design.packaging.roof_mm)} mm."
            )
        return notes
