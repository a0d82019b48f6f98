"""What a drive leaves: no place is missed, none is darker, and bars stand where a wheel drags."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPixmap

from app.design.samples import sample_design
from app.drive_session import session_of
from app.simulation.footprint import footprint_of
from app.simulation.frame import frame_of
from app.simulation.track import Rows, Track
from app.theme import current_theme
from app.views import tracks as module
from app.views.camera import Camera
from app.views.scene import polygon
from app.views.tracks import Shown, Tracks, finer, path_of, swept_colour
from geometry.driving.way import steps_of
from tests.app.simulation.driven import MIXED, headless, joined, sample_code

CODE = sample_code("marsh_scout_motors", 20)
BLOCKS = headless(CODE, MIXED)
CAMERA = Camera(x=150.0, y=120.0, scale=0.45, width=620, height=560)


@pytest.fixture
def session(make_document, qtbot):
    made = session_of(make_document(sample_design("marsh_scout_motors")))
    made.track = track_of_mixed()
    yield made
    made.close()


def footprint():
    return footprint_of(CODE.programme.design, CODE.programme.chassis.robot)


def track_of_mixed(every: int = 4) -> Track:
    track = Track(footprint())
    for block in BLOCKS:
        track.add_block(block, every)
    return track


def frame_at(steps: int):
    block = next(b for b in BLOCKS if steps <= b.first + len(b))
    return frame_of(block, steps - 1 - block.first, ())


LAST = BLOCKS[-1].first + len(BLOCKS[-1])


def caught_up(tracks: Tracks, steps: int, camera: Camera = CAMERA) -> int:
    """Ask until all is there; how many frames that took."""
    for count in range(1, 2_000):
        tracks.catch_up(frame_at(steps), camera, 1.0)
        if tracks.finished:
            return count
    raise AssertionError("never finished")


def picture(tracks: Tracks, camera: Camera = CAMERA, *, lines: bool = False) -> np.ndarray:
    """Pixels (H, W, 3) of the ground or, on paper, of the lines."""
    made = QPixmap(camera.width, camera.height)
    painter = QPainter(made)
    tracks.draw_ground(painter, camera)
    if lines:
        painter.fillRect(made.rect(), QColor(current_theme().paper))
        tracks.draw_lines(painter, camera)
    painter.end()
    return pixels(made)


def pixels(made: QPixmap) -> np.ndarray:
    image = made.toImage().convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).copy()


def is_colour(found: np.ndarray, name: str) -> np.ndarray:
    want = QColor(name)
    return (found == (want.red(), want.green(), want.blue())).all(axis=-1)


def grown(mask: np.ndarray, by: int = 1) -> np.ndarray:
    """Pixels within so many of one of the mask."""
    wide = np.pad(mask, by)
    height, width = mask.shape
    return np.any(
        [wide[i : i + height, j : j + width] for i in range(2 * by + 1) for j in range(2 * by + 1)], axis=0
    )


def by_poses(camera: Camera, steps: int) -> np.ndarray:
    """Where some pose of every step, with wheels as they stand then, covers a pixel: it understates."""
    made = QPixmap(camera.width, camera.height)
    made.fill(Qt.GlobalColor.white)
    painter = QPainter(made)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor("#000000"))
    outlines = footprint().outlines(joined(BLOCKS, "pose")[1 : steps + 1], joined(BLOCKS, "heading")[:steps])
    for outline in outlines:
        for corners in camera.to_screen(outline):
            painter.drawPolygon(polygon(corners))
    painter.end()
    return is_colour(pixels(made), "#000000")


@pytest.mark.parametrize("scale", [0.45, 3.0])
def test_all_that_the_robot_covers_is_swept_and_nothing_beyond(session, scale) -> None:
    camera = replace(CAMERA, scale=scale)
    tracks = Tracks(session)
    caught_up(tracks, LAST, camera)
    ours = is_colour(picture(tracks, camera), swept_colour())
    covered = by_poses(camera, LAST)
    assert covered.mean() > 0.15
    # The error of the track, 0.3 mm beside what 20 ms leave out, and one pixel.
    room = 1 + int(np.ceil(0.6 * scale))
    assert not (covered & ~grown(ours, room)).any()
    assert not (ours & ~grown(covered, room)).any()
    # Beyond that a stray pixel of the edge, but no gap.
    assert (covered & ~ours).sum() < 0.01 * covered.sum()


def test_what_is_swept_twice_is_not_darker(session) -> None:
    tracks = Tracks(session)
    caught_up(tracks, LAST)
    found = picture(tracks)
    assert (is_colour(found, swept_colour()) | is_colour(found, current_theme().paper)).all()


def test_frame_by_frame_the_same_is_covered_as_at_once(session) -> None:
    at_once, by_frame = Tracks(session), Tracks(session)
    caught_up(at_once, LAST)
    for steps in range(1, LAST + 1, 3):
        by_frame.catch_up(frame_at(steps), CAMERA, 1.0)
    caught_up(by_frame, LAST)
    one, other = (is_colour(picture(t), swept_colour()) for t in (at_once, by_frame))
    assert one.sum() > 10_000
    assert not (one & ~grown(other)).any()
    assert not (other & ~grown(one)).any()


def test_it_goes_as_far_as_the_run_was_shown_and_stays_where_time_goes_back(session) -> None:
    tracks = Tracks(session)
    caught_up(tracks, LAST // 3)
    part = picture(tracks)
    caught_up(tracks, LAST)
    whole = picture(tracks)
    assert is_colour(part, swept_colour()).sum() < 0.8 * is_colour(whole, swept_colour()).sum()
    caught_up(tracks, LAST // 3)
    assert (picture(tracks) == whole).all()
    # Made anew for another view, it still holds all that was shown.
    caught_up(tracks, LAST // 3, replace(CAMERA, x=140.0))
    caught_up(tracks, LAST // 3)
    assert (picture(tracks) != whole).any(axis=-1).mean() < 0.01


def test_another_run_clears_it_and_so_does_the_start(session) -> None:
    tracks = Tracks(session)
    caught_up(tracks, LAST)
    session.track = track_of_mixed()
    caught_up(tracks, 1)
    first = is_colour(picture(tracks), swept_colour())
    stands = by_poses(CAMERA, 1)
    assert not (first & ~grown(stands)).any()
    assert not (stands & ~grown(first)).any()
    caught_up(tracks, LAST)
    tracks.catch_up(None, CAMERA, 1.0)
    assert tracks.finished
    assert not is_colour(picture(tracks), swept_colour()).any()


def test_while_a_moved_view_is_made_the_one_of_before_is_shown(session, monkeypatch) -> None:
    tracks = Tracks(session)
    caught_up(tracks, LAST)
    before = picture(tracks)
    monkeypatch.setattr(module, "_PIECE_S", 0.0)
    monkeypatch.setattr(module, "_PIECE", 16)
    moved = CAMERA.panned(30.0, -20.0)
    tracks.catch_up(frame_at(LAST), moved, 1.0)
    assert not tracks.finished
    shown = picture(tracks, moved)
    assert (shown[:-20, 30:] == before[20:, :-30]).all()
    assert is_colour(shown[-20:], current_theme().paper).all()
    assert caught_up(tracks, LAST, moved) > 5
    assert (
        is_colour(picture(tracks, moved), swept_colour()) ^ is_colour(shown, swept_colour())
    ).mean() < 0.02


def toned(found: np.ndarray) -> dict[str, np.ndarray]:
    """Pixels that are a mixture of paper and the tone of a state, a third of it at least."""
    theme = current_theme()
    paper = np.array(QColor(theme.paper).getRgb()[:3])
    names, off, much = ("good", "slight", "bad"), [], []
    for name in names:
        toward = np.array(QColor(getattr(theme, name)).getRgb()[:3]) - paper
        seen = found.astype(float) - paper
        share = seen @ toward / (toward @ toward)
        off.append(np.abs(seen - share[..., None] * toward).max(axis=-1))
        much.append(share > 0.3)
    nearest = np.argmin(off, axis=0)
    return {name: (nearest == i) & (off[i] < 12) & much[i] for i, name in enumerate(names)}


def straight(drag_in_mm: float, *, wheels: int = 6) -> Rows:
    """300 mm ahead in 31 moments; the first wheel drags so much for each mm from 100 to 200 mm."""
    x = np.linspace(0.0, 300.0, 31)
    drag = np.zeros((31, wheels))
    drag[:, 0] = drag_in_mm * (np.clip(x, 100.0, 200.0) - 100.0)
    return Rows(10.0 * np.arange(31), np.column_stack([x, 0 * x, 0 * x]), np.zeros((31, wheels)), drag)


@pytest.mark.parametrize(
    ("drag", "state"), [(0.0, "good"), (0.005, "good"), (0.02, "slight"), (0.2, "bad"), (1.0, "bad")]
)
def test_bars_stand_across_the_track_where_a_wheel_drags_and_are_as_long_as_it_drags(
    session, drag, state
) -> None:
    rows, camera = straight(drag), Camera(x=150.0, y=0.0, scale=1.0, width=500, height=400)
    made = module.TrackPicture(footprint(), session.design, camera, 1.0, Shown(swept=False), ahead=None)
    made.add(rows)
    found = toned(pixels_on_paper(made.lines))
    wheel = camera.to_screen(footprint().contacts(rows.pose[[0]], rows.heading[[0]])[0, 0])
    column = int(wheel[0])
    length = module.BAR_PX + module.BAR_MORE_PX * drag
    for name, mask in found.items():
        if name in ("slight", "bad"):
            assert (mask.sum() > 9) == (name == state)
    if state == "good":
        return
    # Rows of pixels with something beside the track of this wheel: one or two for each bar.
    bars = np.flatnonzero(found[state][:, [column - 2, column + 2]].any(axis=1))
    assert len(bars) > 0
    from_start = wheel[1] - bars
    assert (from_start > 97.0).all()
    assert (from_start < 203.0).all()
    count = len(np.flatnonzero(np.diff(bars, prepend=-9) > 1))
    assert count == pytest.approx(100.0 / module.BAR_GAP_PX, abs=1.5)
    columns = np.flatnonzero(found[state].sum(axis=0) > 2)
    assert columns.max() - columns.min() == pytest.approx(length, abs=2.5)


def pixels_on_paper(sheet: QPixmap) -> np.ndarray:
    made = QPixmap(sheet.size())
    made.fill(QColor(current_theme().paper))
    painter = QPainter(made)
    painter.drawPixmap(0, 0, sheet)
    painter.end()
    return pixels(made)


def test_bars_do_not_depend_on_the_pieces_in_which_a_track_grows(session) -> None:
    rows, camera = straight(0.3), Camera(x=150.0, y=0.0, scale=1.0, width=500, height=400)
    masks = []
    for cuts in ([31], [1, 5, 9, 13, 14, 15, 22, 31], list(range(1, 32))):
        made = module.TrackPicture(footprint(), session.design, camera, 1.0, Shown(swept=False), ahead=None)
        start = 0
        for cut in cuts:
            made.add(rows.part(start, cut))
            start = cut
        masks.append(toned(pixels_on_paper(made.lines))["bad"])
    assert masks[0].any()
    for mask in masks[1:]:
        assert (mask ^ masks[0]).sum() <= 2


def test_without_tracks_of_wheels_the_line_of_the_origin_tells_the_worst(session) -> None:
    rows, camera = straight(0.3), Camera(x=150.0, y=0.0, scale=1.0, width=500, height=400)
    made = module.TrackPicture(footprint(), session.design, camera, 1.0, Shown(tracks=False), ahead=None)
    made.add(rows)
    bad = toned(pixels_on_paper(made.lines))["bad"]
    columns = np.flatnonzero(bad.any(axis=0))
    assert columns.min() >= 250 - 8
    assert columns.max() <= 250 + 8


def test_hidden_things_are_not_drawn(session) -> None:
    tracks = Tracks(session)
    tracks.show(Shown(tracks=False, swept=False))
    caught_up(tracks, LAST)
    assert is_colour(picture(tracks), current_theme().paper).all()
    good = toned(picture(tracks, lines=True))["good"]
    tracks.show(Shown(tracks=True, swept=True))
    caught_up(tracks, LAST)
    assert is_colour(picture(tracks), swept_colour()).any()
    assert toned(picture(tracks, lines=True))["good"].sum() > good.sum() + 500


def test_arcs_are_parted_until_chords_show_them() -> None:
    rows = Rows(
        np.array([0.0, 10.0]),
        np.array([(0.0, 0.0, 0.0), (0.0, 400.0, np.pi)]),
        np.zeros((2, 6)),
        np.array([np.zeros(6), np.ones(6)]),
    )
    fine, of = finer(footprint(), rows, 2.0)
    assert (of == 0).all()
    assert len(fine) > 8
    # All of it lies on the half circle about (0, 200), and the robot points along it.
    np.testing.assert_allclose(np.hypot(fine.pose[:, 0], fine.pose[:, 1] - 200.0), 200.0)
    np.testing.assert_allclose(fine.pose[-1], rows.pose[-1], atol=1e-9)
    places = footprint().witnesses(fine.pose, fine.heading)
    twist = np.diff(fine.pose[:, 2])[:, None] * np.array([[200.0, 0.0, 1.0]])
    half = steps_of(0.5 * twist, 1.0)
    middle = fine.pose[:-1].copy()
    cos, sin = np.cos(middle[:, 2]), np.sin(middle[:, 2])
    middle += np.stack(
        [cos * half[:, 0] - sin * half[:, 1], sin * half[:, 0] + cos * half[:, 1], half[:, 2]], 1
    )
    true = footprint().witnesses(middle, fine.heading[1:])
    off = np.hypot(*np.moveaxis(true - 0.5 * (places[1:] + places[:-1]), -1, 0))
    assert 2.0 * off.max() <= module.WITHIN_PX * 1.2


def test_a_path_of_polygons_is_that_of_qt() -> None:
    polygons = np.array([[(0.5, 1.0), (8.0, 2.0), (3.0, 9.25)], [(4.0, 4.0), (12.0, 4.0), (4.0, 12.0)]])
    path = path_of(polygons)
    assert path.fillRule() == Qt.FillRule.WindingFill
    told = [(path.elementAt(i).x, path.elementAt(i).y) for i in range(path.elementCount())]
    assert told == [tuple(corner) for corner in polygons.reshape(-1, 2).tolist()]
    assert [path.elementAt(i).isMoveTo() for i in range(6)] == [True, False, False] * 2
    assert path_of(np.zeros((0, 3, 2))).isEmpty()
