"""A frame of the stage Drive with all that it can show, and that an hour of it leaves memory flat.

Run with ``pytest tests/benchmarks --benchmark-enable``. The work of a frame is judged by the processor's
time, as a drag step is; the frame on a real screen by the clock, beside empty frames in the same run.
"""

from __future__ import annotations

import gc
import statistics
import subprocess
import sys
import time

import psutil
import pytest
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QApplication

from app.drive_session import session_of
from app.simulation.footprint import footprint_of
from app.simulation.inputs import sides
from app.simulation.run import Run
from app.simulation.track import MOST_POINTS, Track
from app.views.camera import Camera
from app.views.tracks import Tracks
from tests.app.simulation.driven import sample_code
from tests.benchmarks.course_frames import SETTINGS, Drive, loaded_design
from tests.benchmarks.test_drag_benchmark import ITEMS_A_WHEEL, ROOM, USUAL_PLAIN_MS, Plain
from tests.whole.driver_screen import ROOT, own_screen, why_not
from tests.windows import collect_garbage

MOST_MS, MOST_ON_SCREEN_MS = 6.0, 16.0
# Of an empty frame on the machine for which the second limit is.
USUAL_EMPTY_MS = 0.19
STEPS, ROUNDS = 15, 20


@pytest.fixture
def _only_on_request(request: pytest.FixtureRequest) -> None:
    if not request.config.getoption("--benchmark-enable"):
        pytest.skip("runs with --benchmark-enable")


@pytest.mark.usefixtures("_only_on_request")
def test_a_frame_with_a_long_track_is_worked_out_and_painted_in_time(make_window, make_document, capsys):
    window = make_window(make_document(loaded_design()), SETTINGS)
    window.resize(1280, 800)
    drive = Drive(window)
    plain = Plain(6 * ITEMS_A_WHEEL, drive.view.size())
    window.activateWindow()
    QApplication.processEvents()
    points = len(drive.session.track.points)
    ours, clock, bare = [], [], []
    for _ in range(ROUNDS):
        begun = time.process_time()
        clock.append(statistics.median(drive.step() for _ in range(STEPS)))
        ours.append((time.process_time() - begun) / STEPS)
        bare.append(statistics.median(plain.step() for _ in range(STEPS)))
    way = drive.session.frame.distance
    finished = drive.view.drawn
    drive.session.close()
    plain.view.close()
    mine, base = 1000 * min(ours), 1000 * min(bare)
    with capsys.disabled():
        print(
            f"\n  a frame, {points} points: {mine:.2f} ms, by the clock {1000 * min(clock):.2f} ms; "
            f"plain items {base:.2f} ms"
        )
    assert points > 10_000
    assert way > 100.0
    assert finished, "the tracks were not drawn"
    assert mine <= ROOM * MOST_MS * max(base / USUAL_PLAIN_MS[6], 1.0)


@pytest.mark.usefixtures("_only_on_request")
def test_a_frame_on_a_real_screen_takes_less_than_one_of_sixty_in_a_second(tmp_path, capsys):
    if why_not():
        pytest.skip(why_not())
    with own_screen((1600, 1000), tmp_path) as environment:
        words = [sys.executable, "-m", "tests.benchmarks.course_frames"]
        done = subprocess.run(words, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr[-2_000:]
    ours, empty = (float(word) for word in done.stdout.split()[-2:])
    with capsys.disabled():
        print(f"\n  a frame on the screen: median {ours:.2f} ms; an empty one {empty:.2f} ms")
    assert ours <= MOST_ON_SCREEN_MS * max(empty / USUAL_EMPTY_MS, 1.0)


@pytest.mark.slow
def test_an_hour_of_driving_with_its_tracks_drawn_leaves_memory_flat(make_document):
    code, process = sample_code("marsh_scout_motors", 20), psutil.Process()
    session = session_of(make_document(code.programme.design))
    session.track = Track(footprint_of(code.programme.design, code.programme.chassis.robot))
    run, tracks, screen = Run(code), Tracks(session), QPixmap(960, 600)
    camera = Camera(scale=0.3, width=960, height=600)

    def drive(frames: int) -> None:
        for i in range(frames):
            frame = run.take(80, sides(0.9, 0.2 + 0.6 * (i % 62 > 25)))
            session.track.add(frame)
            # The view moves now and then, and all of it is drawn anew.
            seen = camera.panned(float(i // 500 % 7), 0.0)
            tracks.catch_up(frame, seen, 1.0)
            painter = QPainter(screen)
            tracks.draw_ground(painter, seen)
            tracks.draw_lines(painter, seen)
            painter.end()

    # Ten minutes until all that is kept is there.
    drive(1_500)
    collect_garbage()
    before, objects = process.memory_info().rss, len(gc.get_objects())
    drive(7_500)
    collect_garbage()
    after = process.memory_info().rss
    session.close()
    points = len(session.track.points)
    print(f"{points} points; {(after - before) / 1e6:.1f} MB more, {len(gc.get_objects()) - objects} objects")
    assert run.frame.steps == 720_000
    assert points <= MOST_POINTS + 64
    # The track may yet grow up to its bound, with 16 numbers of 8 bytes a point.
    assert after - before < 16 * 8 * MOST_POINTS + 3_000_000
    assert abs(len(gc.get_objects()) - objects) < 200
