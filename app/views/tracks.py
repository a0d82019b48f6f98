"""What a drive leaves on the ground: the space that the robot swept, and the tracks of its wheels.

Both are pictures of their own that are only added to, so that a long drive costs no more than a short one.
Where the view moves, they are made anew a piece at each frame, and meanwhile those of before are shown.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QByteArray, QDataStream, QLineF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPixmap

from app.drive_session import DriveSession
from app.simulation.footprint import Footprint
from app.simulation.frame import Frame
from app.simulation.track import Rows, Track, rows_of
from app.theme import colour, current_theme, mixed, pen
from app.units import radians
from app.views.camera import Camera
from app.views.scene import polygon
from geometry.axes import Bools, Floats, wrap
from geometry.driving.way import halved_together, steps_of, twists_between
from geometry.model.design import Design

WITHIN_PX = 0.3
"""How far an arc may lie beside the chord that is drawn for it [px]."""
BAR_GAP_PX = 7.0
"""From one bar to the next along a stretch that drags [px]."""
BAR_PX, BAR_MORE_PX = 5.0, 20.0
"""Length of a bar: at least, and more for each mm of drag in a mm of way [px]."""
_PIECE = 32
"""Moments that are added at once."""
_PIECE_S = 0.008
"""How long a frame may add to a picture that is made anew [s]."""
_LEAST_PX = 1.0
"""A robot that moved by less than this since is not drawn again: what is new lies under it."""
_MOST_CHORDS = 128


@dataclass(frozen=True)
class Shown:
    """What the person wants to see."""

    tracks: bool = True
    """A track for each wheel; else the line of the origin tells the drag of the worst of them."""
    swept: bool = True


class Tracks:
    """The tracks and the swept space of a session; they go as far as the run was shown.

    Going back in time leaves them as they are; another run, and putting the robot back to its start, clears
    them.
    """

    def __init__(self, session: DriveSession) -> None:
        self._session = session
        self.shown = Shown()
        self._track: Track = session.track
        self._reached: Rows | None = None
        self._picture: TrackPicture | None = None
        self._behind: TrackPicture | None = None
        self.finished = True
        """Whether all that was driven is in the picture."""

    def show(self, shown: Shown) -> None:
        """Show this from now on."""
        if shown != self.shown:
            self.shown = shown
            self.forget()

    def forget(self) -> None:
        """Draw all of it anew."""
        self._picture = self._behind = None

    def catch_up(self, frame: Frame | None, camera: Camera, ratio: float) -> None:
        """Add what is new, for a few milliseconds at most; `finished` says whether that was all.

        Parameters
        ----------
        frame : Frame or None
            The moment that is shown.
        camera : Camera
            Where the view looks.
        ratio : float
            Device pixels for a pixel.
        """
        track = self._session.track
        if track is not self._track or frame is None:
            self._track, self._reached = track, None
            self.forget()
        if frame is not None and (self._reached is None or frame.steps > self._reached.steps[-1]):
            self._reached = rows_of(frame)
        footprint, reached = track.footprint, self._reached
        self.finished = True
        if footprint is None or reached is None:
            return
        picture = self._picture
        if picture is None or (picture.camera, picture.ratio) != (camera, ratio):
            if picture is not None and picture.through:
                self._behind = picture
            ahead = None if self._session.shown is None else track.points[:, :2]
            design = self._session.design
            picture = self._picture = TrackPicture(footprint, design, camera, ratio, self.shown, ahead)
        end = time.perf_counter() + _PIECE_S
        while not (through := picture.take(track, reached)) and time.perf_counter() < end:
            pass
        self.finished = through
        if through:
            picture.through, self._behind = True, None

    def draw_ground(self, painter: QPainter, camera: Camera) -> None:
        """Draw paper, and on it the swept space."""
        painter.fillRect(QRectF(0, 0, camera.width, camera.height), colour(current_theme().paper))
        shown = self._behind or self._picture
        if shown is not None and shown.ground is not None:
            shown.draw(painter, shown.ground, camera)

    def draw_lines(self, painter: QPainter, camera: Camera) -> None:
        """Draw the tracks."""
        shown = self._behind or self._picture
        if shown is not None:
            shown.draw(painter, shown.lines, camera)


class TrackPicture:
    """Swept space and tracks as one camera sees them."""

    def __init__(
        self,
        footprint: Footprint,
        design: Design,
        camera: Camera,
        ratio: float,
        shown: Shown,
        ahead: Floats | None,
    ) -> None:
        self.camera, self.ratio = camera, ratio
        self.through = False
        """Whether it once held all that was driven."""
        self._footprint, self._shown = footprint, shown
        self._slight = np.sin(radians(design.aligned_within_deg))
        self._drags = np.sin(radians(design.slight_drag_within_deg))
        self.ground = self._sheet(current_theme().paper) if shown.swept else None
        self.lines = self._sheet(None)
        self._last: Rows | None = None
        self._bars = _Bars(len(footprint.robot) if shown.tracks else 1)
        if ahead is not None and len(ahead) > 1:
            self._draw_origin(ahead)
        self._ahead = ahead is not None

    def _sheet(self, ground: str | None) -> QPixmap:
        made = QPixmap(QSize(self.camera.width, self.camera.height) * self.ratio)
        made.setDevicePixelRatio(self.ratio)
        made.fill(Qt.GlobalColor.transparent if ground is None else colour(ground))
        return made

    def draw(self, painter: QPainter, sheet: QPixmap, camera: Camera) -> None:
        """Draw one sheet where another camera sees it."""
        if camera == self.camera:
            painter.drawPixmap(0, 0, sheet)
            return
        corners = [
            self.camera.to_chassis(0, 0),
            self.camera.to_chassis(self.camera.width, self.camera.height),
        ]
        (left, top), (right, bottom) = camera.to_screen(corners).tolist()
        painter.drawPixmap(QRectF(left, top, right - left, bottom - top), sheet, QRectF(sheet.rect()))

    def take(self, track: Track, reached: Rows) -> bool:
        """Add the next piece; True once it holds all."""
        last = self._last
        rows = track.between(-1.0 if last is None else float(last.steps[0]), float(reached.steps[0]))
        rest, rows = len(rows) > _PIECE, rows.part(0, _PIECE)
        if not rest:
            rows = _joined(rows, reached)
        if last is None or len(rows) > 1 or self._moved(_joined(last, rows)) >= _LEAST_PX:
            self.add(rows.chosen(self._coarser(track, rows)))
        return not rest

    def _moved(self, rows: Rows) -> float:
        """How far any part of it has moved at most [px]."""
        places = self._footprint.witnesses(rows.pose, rows.heading)
        return float(np.hypot(*(places[-1] - places[0]).T).max()) * self.camera.scale

    def _coarser(self, track: Track, rows: Rows) -> npt.NDArray[np.int64]:
        """Moments that are worth drawing at this scale; thrice the error of a third."""
        kept = np.arange(len(rows))
        if len(rows) < 16:
            return kept
        lines = track.lines(rows) * self.camera.scale
        for _ in range(3):
            kept = kept[halved_together(lines[kept], WITHIN_PX / 3.0)]
        return kept

    # Drawing ---------------------------------------------------------------------------------

    def add(self, rows: Rows) -> None:
        """Draw what lies between the moment that was drawn last and these."""
        if self._last is None:
            self._cover_first(rows)
        else:
            rows = _joined(self._last, rows)
        self._last = rows.part(len(rows) - 1, len(rows))
        if len(rows) > 1:
            self._draw(rows)

    def _draw(self, rows: Rows) -> None:
        fine, of = finer(self._footprint, rows, self.camera.scale)
        if self.ground is not None:
            outlines = self._footprint.outlines(fine.pose, fine.heading)
            moved = [_between_edges(self.camera.to_screen(outline)) for outline in outlines]
            self._fill(self.ground, np.concatenate(moved) if moved else np.zeros((0, 3, 2)))
        places = self._footprint.contacts(fine.pose, fine.heading)
        way = np.hypot(*np.moveaxis(np.diff(places, axis=0), -1, 0))
        whole = np.zeros((len(rows) - 1, way.shape[1]))
        np.add.at(whole, of, way)
        # A wheel that only rubs where it stands has no stretch to draw it on.
        share = np.diff(rows.drag, axis=0) / np.maximum(whole, 1e-9)
        share = np.where(whole * self.camera.scale > 1e-3, np.clip(share, 0.0, 1.0), 0.0)[of]
        if not self._ahead:
            self._draw_origin(fine.pose[:, :2])
        if not self._shown.tracks:
            places = fine.pose[:, None, :2]
            way = np.hypot(*np.moveaxis(np.diff(places, axis=0), -1, 0))
            share = share.max(axis=1, initial=0.0, keepdims=True)
        self._mark(self.camera.to_screen(places), way, share)

    def _cover_first(self, rows: Rows) -> None:
        if self.ground is None:
            return
        painter = QPainter(self.ground)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour(swept_colour()))
        for outline in self._footprint.outlines(rows.pose[:1], rows.heading[:1]):
            painter.drawPolygon(polygon(self.camera.to_screen(outline[0])))
        painter.end()

    def _fill(self, ground: QPixmap, triangles: Floats) -> None:
        """Cover triangles (T, 3, 2) [px]; without smooth edges, which would show where pieces meet."""
        low, high = triangles.min(axis=1), triangles.max(axis=1)
        size = np.array([self.camera.width, self.camera.height])
        seen = ((high >= 0.0) & (low <= size)).all(axis=1)
        painter = QPainter(ground)
        painter.fillPath(path_of(triangles[seen]), colour(swept_colour()))
        painter.end()

    def _draw_origin(self, line: Floats) -> None:
        theme = current_theme()
        painter = QPainter(self.lines)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(pen(mixed(theme.accent, theme.paper, 0.65), 1.0))
        painter.drawPolyline(polygon(self.camera.to_screen(line)))
        painter.end()

    def _mark(self, places: Floats, way: Floats, share: Floats) -> None:
        """Draw lines (F + 1, L, 2) [px] of ways (F, L) [mm], with bars by drag in a mm of way (F, L)."""
        theme = current_theme()
        state = (share > self._slight).astype(int) + (share > self._drags)
        tones = (mixed(theme.good, theme.paper, 0.75), theme.slight, theme.bad)
        pieces = np.concatenate([places[:-1], places[1:]], axis=-1)
        bars, stretch, line = self._bars.found(pieces, way, share, state > 0, BAR_GAP_PX / self.camera.scale)
        long = np.hypot(*np.moveaxis(np.diff(places, axis=0), -1, 0)) > 1e-3
        painter = QPainter(self.lines)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for number, tone in enumerate(tones):
            those = state == number
            if not self._shown.tracks and not number:
                continue  # it is the line of the origin
            painter.setPen(pen(tone, 1.0))
            painter.drawLines(_lines(pieces[those & long]))
            if number:
                painter.drawLines(_lines(bars[those[stretch, line]]))
        painter.end()


def swept_colour() -> str:
    """Of the swept space: faint, and opaque, so that what is swept twice is not darker."""
    theme = current_theme()
    return mixed(theme.accent, theme.paper, 0.14)


def finer(footprint: Footprint, rows: Rows, scale: float) -> tuple[Rows, npt.NDArray[np.int64]]:
    """Part the arcs between moments so that chords show them within `WITHIN_PX`.

    Parameters
    ----------
    footprint : Footprint
        What the robot covers.
    rows : Rows
        M moments, at least 2.
    scale : float
        Pixels for a millimetre.

    Returns
    -------
    fine : Rows
        The same moments with more between them; steps and drag grow evenly.
    of : ndarray of int
        Between which moments, from 0, each stretch of them lies.
    """
    twist, turned = twists_between(rows.pose), wrap(np.diff(rows.heading, axis=0))
    places = footprint.witnesses(rows.pose, rows.heading)
    far = scale * np.hypot(*np.moveaxis(np.diff(places, axis=0), -1, 0)).max(axis=1)
    bend = np.abs(twist[:, 2]) + np.abs(turned).max(axis=1, initial=0.0)
    # An arc lies an eighth of its length times its turn beside its chord, and is longer than that.
    half = np.clip(0.5 * bend, 1e-9, 0.5 * np.pi)
    far = far * half / np.sin(half)
    count = np.ceil(np.sqrt(far * bend / (8.0 * WITHIN_PX))).astype(np.int64).clip(1, _MOST_CHORDS)
    of = np.repeat(np.arange(len(count)), count)
    if len(of) == len(count):
        return rows, of
    share = ((np.arange(len(of)) - (np.cumsum(count) - count)[of] + 1.0) / count[of])[:, None]
    step, start = steps_of(share * twist[of], 1.0), rows.pose[of]
    cos, sin = np.cos(start[:, 2]), np.sin(start[:, 2])
    pose = start + np.stack(
        [cos * step[:, 0] - sin * step[:, 1], sin * step[:, 0] + cos * step[:, 1], step[:, 2]], axis=1
    )
    between = Rows(
        rows.steps[of] + share[:, 0] * np.diff(rows.steps)[of],
        pose,
        rows.heading[of] + share * turned[of],
        rows.drag[of] + share * np.diff(rows.drag, axis=0)[of],
    )
    return _joined(rows.part(0, 1), between), of


def _joined(one: Rows, other: Rows) -> Rows:
    if not len(one):
        return other
    return Rows(
        np.concatenate([one.steps, other.steps]),
        np.concatenate([one.pose, other.pose]),
        np.concatenate([one.heading, other.heading]),
        np.concatenate([one.drag, other.drag]),
    )


def _between_edges(outline: Floats) -> Floats:
    """What the edges of outlines (F + 1, V, 2) pass over from each to the next, as triangles (T, 3, 2).

    Together with the first outline that is all that an outline covers on its way.
    """
    nxt = np.roll(outline, -1, axis=1)
    first = np.stack([outline[:-1], nxt[:-1], nxt[1:]], axis=2)
    second = np.stack([outline[:-1], nxt[1:], outline[1:]], axis=2)
    found = np.concatenate([first, second]).reshape(-1, 3, 2)
    a, b = found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    # All of them turn the same way, so that those that overlap do not cancel each other.
    found[area < 0] = found[area < 0][:, ::-1]
    return np.asarray(found[area != 0])


_ELEMENT = np.dtype([("kind", ">i4"), ("x", ">f8"), ("y", ">f8")])
_HEAD, _FOOT = np.dtype(">i4"), np.dtype(">i4")


def path_of(polygons: Floats) -> QPainterPath:
    """Turn polygons (T, V, 2) that may overlap into one path, by Qt's own format: a call a point is slow."""
    count, corners = polygons.shape[:2]
    elements = np.zeros((count, corners), dtype=_ELEMENT)
    elements["kind"][:, 1:] = 1  # a line; 0 begins anew
    elements["x"], elements["y"] = polygons[..., 0], polygons[..., 1]
    path = QPainterPath()
    if not count:
        return path
    rule = Qt.FillRule.WindingFill.value
    foot = np.array([count * corners - corners, rule], dtype=_FOOT)
    told = np.array([count * corners], dtype=_HEAD).tobytes() + elements.tobytes() + foot.tobytes()
    stream = QDataStream(QByteArray(told))
    stream.setVersion(QDataStream.Version.Qt_6_0)
    stream >> path
    return path


def _lines(pieces: Floats) -> list[QLineF]:
    return [QLineF(*piece) for piece in pieces.tolist()]


class _Bars:
    """Where bars stand across lines, whichever pieces these are drawn in.

    The first stands where a stretch begins to drag, the others a gap apart from there on.
    """

    def __init__(self, lines: int) -> None:
        self._dragging = np.zeros(lines, dtype=bool)
        self._since = np.zeros(lines)

    def found(
        self, pieces: Floats, way: Floats, share: Floats, dragging: Bools, gap: float
    ) -> tuple[Floats, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
        """Bars of the next pieces (F, L, 4) [px] of ways (F, L) [mm], a gap [mm] apart.

        Returns
        -------
        bars : ndarray, (B, 4)
            [px].
        stretch, line : ndarray of int, (B,)
            On which piece each stands.
        """
        total = np.cumsum(way, axis=0)
        begins = dragging & ~np.concatenate([self._dragging[None], dragging[:-1]])
        base = np.where(begins, total - way, -np.inf)
        base[0] = np.where(begins[0], 0.0, -self._since)
        end = total - np.maximum.accumulate(base, axis=0)
        self._dragging, self._since = dragging[-1], end[-1]
        start = end - way
        first = np.ceil(start / gap)
        count = np.where(dragging, np.ceil(end / gap) - first, 0).astype(np.int64)
        stretch, line = (np.repeat(index, count.ravel()) for index in np.indices(count.shape).reshape(2, -1))
        of_piece = np.arange(len(stretch)) - np.repeat(np.cumsum(count) - count.ravel(), count.ravel())
        at = (first[stretch, line] + of_piece) * gap - start[stretch, line]
        part = (at / np.maximum(way[stretch, line], 1e-12))[:, None]
        piece = pieces[stretch, line]
        along = piece[:, 2:] - piece[:, :2]
        size = np.maximum(np.hypot(*along.T), 1e-12)[:, None]
        across = np.stack([-along[:, 1], along[:, 0]], axis=1) / size
        half = 0.5 * (BAR_PX + BAR_MORE_PX * share[stretch, line])[:, None]
        middle = piece[:, :2] + part * along
        return np.concatenate([middle - half * across, middle + half * across], axis=1), stretch, line
