"""Marks of the wheels: tyres, rolling direction, labels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter, QPolygonF

from app.design.references import Reference
from app.picture.view import WheelRow
from app.theme import colour, mixed, pen
from app.units import show_angle, show_length
from app.views.ideal import ideal_tag
from app.views.lettering import Lettering, Style, lettering
from app.views.motor_lines import motor_words
from app.views.placing import PLACES, Piece, Placed, Spot, place
from app.views.scene import Scene, polygon, wheel_corners
from app.views.standing import RING_OF_SELECTED_PX, standing_of
from app.views.tags import Line, Tag, draw_leader, draw_lines, piece_of, plate_of, size_of
from app.views.turning import best_fit_tag, centre_tag
from geometry.axes import Floats
from geometry.kinematics.alignment import CALM

_GAP_PX = 5.0
# What a place costs, in pixels of a line below the text: beside the wheel on the side away from the
# chassis, level, higher and lower; the same on the other side; below and above.
_HIGHER = (6.0, 0.0, 4.0), (46.0, 40.0, 44.0), (26.0, 24.0)
_LOWER = (6.0, 4.0, 0.0), (46.0, 44.0, 40.0), (24.0, 26.0)
_COSTS = {
    # Whether the wheel is a left one, and one of the front half.
    (left, front): (*(inside if left else outside), *(outside if left else inside), *upright)
    for front, (outside, inside, upright) in ((True, _HIGHER), (False, _LOWER))
    for left in (True, False)
}


def draw_wheels(painter: QPainter, scene: Scene) -> None:
    """Draw every tyre as it stands, turned, with its kingpin."""
    view, theme = scene.view, scene.theme
    if not view.design.wheels:
        return
    tyres = scene.camera.to_screen(wheel_corners(view))
    kingpins = scene.camera.to_screen(np.stack([view.robot.wheels.x, view.robot.wheels.y], axis=1))
    contacts = scene.contacts
    for i, wheel in enumerate(view.design.wheels):
        chosen = i in view.selected_wheels
        shape = polygon(tyres[i])
        painter.setBrush(colour(theme.wheel(wheel.kind)))
        if chosen or Reference("wheel", i) == scene.hover:
            lit = theme.accent if chosen else mixed(theme.accent, theme.paper, 0.55)
            painter.setPen(pen(lit, 5.0 if chosen else 3.0))
            painter.drawPolygon(shape)
        hit = Reference("wheel", i) in scene.struck
        painter.setPen(pen(theme.bad, 2.8) if hit else pen(theme.tyre_line, 1.2))
        painter.drawPolygon(shape)
        _draw_kind(painter, scene, wheel.kind, kingpins[i], contacts[i])
    _draw_rolling(painter, scene)


def _draw_kind(painter: QPainter, scene: Scene, kind: str, kingpin: Floats, contact: Floats) -> None:
    """Mark the kingpin: a ring where the wheel steers, a dot where it is fixed."""
    at = QPointF(*kingpin.tolist())
    if abs(kingpin - contact).max() > 1.0:
        painter.setPen(pen(scene.theme.tyre_line, 2.0))
        painter.drawLine(at, QPointF(*contact.tolist()))
    painter.setPen(pen(scene.theme.tyre_line, 1.4))
    painter.setBrush(colour(scene.theme.paper))
    if kind == "fixed":
        painter.drawRect(QRectF(at.x() - 2, at.y() - 2, 4, 4))
    else:
        painter.drawEllipse(at, 3.6, 3.6)
        if kind == "caster":
            painter.drawEllipse(at, 1.2, 1.2)


def _draw_rolling(painter: QPainter, scene: Scene) -> None:
    """Draw an arrow before each wheel, the way it rolls, longer where it is faster."""
    starts, tips = scene.arrows
    painter.setPen(pen(scene.theme.ink, 1.6))
    painter.setBrush(colour(scene.theme.ink))
    for start, tip in zip(starts, tips, strict=True):
        if math.isnan(tip[0]):
            continue
        ahead = (tip - start) / math.dist(tip, start)
        neck = tip - ahead * 7.0
        aside = np.array([-ahead[1], ahead[0]]) * 3.5
        painter.drawLine(QLineF(start[0], start[1], neck[0], neck[1]))
        painter.drawPolygon(QPolygonF([QPointF(*tip), QPointF(*(neck + aside)), QPointF(*(neck - aside))]))


def label_lines(row: WheelRow, scene: Scene) -> list[str]:
    """Name, angle, the ideal one beside it, and, where it is not aligned, what is wrong."""
    angle = row.heading if row.kind != "steered" else row.steer
    lines = [row.name, show_angle(angle)]
    if row.ideal is not None and row.index in scene.ghosts:
        lines.append(f"(ideal {show_angle(row.ideal)})")
    if row.state in ("slight drag", "drags"):
        miss = (
            f"misses {show_length(row.miss, scene.options.unit, of_mm=1)}"
            if math.isfinite(row.miss)
            else "askew"
        )
        lines.append(f"{'△' if row.state == 'slight drag' else '▲'} {miss}")
    if "flipped" in row.notes:
        lines.append("⇅ flipped")
    return lines


@dataclass(frozen=True)
class Label:
    """What is written beside a wheel, and where."""

    row: WheelRow
    lines: tuple[Line, ...]
    """Those that have room."""
    spot: Spot

    @property
    def plate(self) -> QRectF:
        """Where it stands [px]."""
        return plate_of(self.spot)

    @property
    def whole_name(self) -> bool:
        """Whether its name is not cut short."""
        return self.lines[0].text == self.row.name


@dataclass(frozen=True)
class Texts:
    """All that is written beside wheels and centres."""

    labels: list[Label]
    tags: list[tuple[Tag, Spot]]
    placed: Placed


def place_texts(scene: Scene) -> Texts:
    """Find where everything is written, so that nothing covers what must stay in sight.

    The labels of selected wheels come first, then the turn centre, then the wheels that drag. Where
    room is short the small lines go first, then what comes last.
    """
    letters = lettering(scene.font, scene.ratio)
    found = {"centre": centre_tag(scene), "ideal": ideal_tag(scene), "best fit": best_fit_tag(scene)}
    tags = {key: tag for key, tag in found.items() if tag is not None}
    marks = [piece_of(key, tag, letters) for key, tag in tags.items()]
    rows = {f"wheel {row.index}": row for row in _rows_in_sight(scene)}
    motors = motor_words(scene.view) if scene.options.motors else ("",) * len(scene.view.rows)
    wordings = {key: _wording(row, scene, letters, motors[row.index]) for key, row in rows.items()}
    pieces = _pieces(rows, wordings, scene)
    chosen = [piece for piece in pieces if piece.first]
    pieces = [*chosen, *marks[:1], *pieces[len(chosen) :], *marks[1:]]
    placed = place(pieces, standing_of(scene), scene.memory)
    labels = [
        Label(rows[spot.piece.key], wordings[spot.piece.key].lines[spot.size], spot)
        for spot in placed.spots
        if spot.piece.key in rows
    ]
    return Texts(labels, [(tags[s.piece.key], s) for s in placed.spots if s.piece.key in tags], placed)


def label_plates(scene: Scene) -> list[Label]:
    """Labels beside the wheels, where they are drawn."""
    return place_texts(scene).labels


def draw_labels(painter: QPainter, scene: Scene, labels: list[Label] | None = None) -> None:
    """Write beside each wheel; the labels of this scene are found unless they are known."""
    for label in label_plates(scene) if labels is None else labels:
        wheel = scene.view.design.wheels[label.row.index]
        draw_leader(painter, label.spot, 0.5 * wheel.width_mm * scene.camera.scale, scene.theme.faint)
        draw_lines(painter, scene, label.lines, label.spot)


class Wording(NamedTuple):
    """What may be written at a wheel."""

    lines: tuple[tuple[Line, ...], ...]
    """All lines, then ever fewer of the small ones, then the name cut short where it is long."""
    sizes: tuple[tuple[float, float], ...]
    """Width and height of each of these [px]."""
    name: int
    """Which of them is the name alone."""


def _wording(row: WheelRow, scene: Scene, letters: Lettering, motors: str) -> Wording:
    theme, (name, *small) = scene.theme, label_lines(row, scene)
    extra = [text for text in small[1:] if text.startswith(("(ideal", "⇅"))]
    off = [text for text in small[1:] if text not in extra]
    lines = [(small[0], theme.faint)]
    if off:
        # The mark of the state leads the line.
        lines = [
            ("  ".join([f"{off[0][0]} {small[0]}", *(text[2:] for text in off)]), theme.state(row.state))
        ]
    if extra:
        lines.append(("  ".join(extra), theme.ghost if extra[0][0] == "(" else theme.faint))
    if motors:
        lines.append((motors, theme.motor))
    style: Style = "bold" if row.index in scene.view.selected_wheels else "name"
    most = max(0.15 * scene.camera.width, 5.0 * letters.heights["name"])
    return _wordings(letters, Line(name, style, theme.ink), tuple(lines), most)


@lru_cache(maxsize=512)
def _wordings(letters: Lettering, name: Line, small: tuple[tuple[str, str], ...], most: float) -> Wording:
    """Made once for each text: a name may be as wide as this where room is short [px]."""
    below = [Line(text, "small", tone) for text, tone in small]
    lines = [(name, *below[:count]) for count in range(len(below), -1, -1)]
    if letters.width(name.text, name.style) > most:
        lines.append((name._replace(text=letters.elided(name.text, name.style, most)),))
    return Wording(tuple(lines), tuple(size_of(some, letters) for some in lines), len(below))


def _rows_in_sight(scene: Scene) -> list[WheelRow]:
    """Wheels of which at least the contact point is in sight, the most important first."""
    rows = scene.view.rows
    if not scene.options.labels or not rows:
        return []
    reach = 0.5 * scene.camera.scale * np.array([w.diameter_mm for w in scene.view.design.wheels])
    end = np.array([scene.camera.width, scene.camera.height])
    seen = np.all(
        (scene.contacts > -reach[:, None]) & (scene.contacts < end + reach[:, None]), axis=1
    ).tolist()
    return sorted((row for row in rows if seen[row.index]), key=lambda row: _label_order(row, scene))


def _label_order(row: WheelRow, scene: Scene) -> tuple[bool, bool, bool, int]:
    calm = row.state in CALM
    chosen = row.index in scene.view.selected_wheels
    return not chosen, Reference("wheel", row.index) != scene.hover, calm, row.index


def _pieces(rows: dict[str, WheelRow], wordings: dict[str, Wording], scene: Scene) -> list[Piece]:
    """The texts of wheels, to be placed: better on the side away from the chassis."""
    base, chosen = scene.view.robot.wheels, scene.view.selected_wheels
    at, costs, reach = scene.contacts.tolist(), _costs(base.x, base.y), _reach(scene).tolist()
    return [
        Piece(
            key=key,
            at=(at[row.index][0], at[row.index][1]),
            reach=reach[row.index],
            sizes=wordings[key].sizes,
            costs=costs[row.index],
            name=wordings[key].name,
            first=row.index in chosen,
        )
        for key, row in rows.items()
    ]


def _costs(x: Floats, y: Floats) -> list[tuple[float, ...]]:
    """What the places of each wheel's label cost, from where the wheels are (N,) [mm]."""
    if not len(x):
        return []
    left, front = (y >= y.mean()).tolist(), (x >= x.mean()).tolist()
    return [_COSTS[key] for key in zip(left, front, strict=True)]


def _reach(scene: Scene) -> Floats:
    """How far from its wheel a label is at each place, past the tyre and its arrow, (N, 8) [px]."""
    view, scale = scene.view, scene.camera.scale
    half = 0.5 * scale * np.array([(w.diameter_mm, w.width_mm) for w in view.design.wheels]).reshape(-1, 2)
    gap = np.full((len(half), 1), _GAP_PX)
    gap[list(view.selected_wheels)] += RING_OF_SELECTED_PX
    sin, cos = np.abs(np.sin(view.heading)), np.abs(np.cos(view.heading))
    across, down = half[:, 0] * sin + half[:, 1] * cos, half[:, 0] * cos + half[:, 1] * sin
    way, tip = np.array(PLACES).T, scene.arrows[1] - scene.contacts
    beside = way[0] != 0
    bare = np.where(beside, across[:, None], down[:, None])
    ahead = np.where(beside, tip[:, :1] * way[0], tip[:, 1:] * way[1])
    # A wheel that does not roll has no arrow; its nan is larger than nothing.
    meant = (tip[:, 1:] * way[1] > 0) & (ahead > bare)
    return np.asarray(np.where(meant, ahead, bare) + gap)
