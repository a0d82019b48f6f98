"""Frames of the stage Drive with all that it can show, and frames of an empty window of the same size.

python -m tests.benchmarks.course_frames     on the screen that there is: two medians [ms]
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace

import numpy as np
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.design.samples import sample_design
from app.drive_session import DriveSession
from app.settings import Settings
from app.simulation.inputs import sides
from app.simulation.run import Run
from app.window.main_window import MainWindow
from geometry.model.design import Design
from geometry.model.packaging import Part

POINTS, PARTS = 10_000, 20
FRAME_US = 16_000
SETTINGS = Settings(welcome_dismissed=True)


def loaded_design() -> Design:
    """Six wheels and four motors, twenty parts, some of them beyond the body."""
    design = sample_design("marsh_scout_motors")
    parts = design.packaging.parts
    more = tuple(
        Part(
            name=f"box {i}",
            x_mm=-150.0 + 30.0 * i,
            y_mm=110.0 if i % 3 == 0 else 20.0,
            length_mm=20.0,
            width_mm=16.0,
            height_mm=12.0,
            turn_deg=9.0 * i,
        )
        for i in range(PARTS - len(parts))
    )
    return design.edited(packaging=design.packaging.edited(parts=(*parts, *more)))


class Drive:
    """A live drive of a window, with a long track behind it, that is stepped frame by frame."""

    def __init__(self, window: MainWindow) -> None:
        window.go_to_stage("drive")
        window.go_to("drag")
        self.session: DriveSession = window.middle.session
        self.view = window.middle.drive
        self.session.choose(course="slalom")
        self.session.start_live()
        while self.session.state != "live":
            QApplication.processEvents()
            time.sleep(0.005)
        self.session.stop()  # it has a clock of its own; here each frame is asked for
        self.session.state = "live"
        assert self.session.run is not None
        self._live = Run(self.session.run.code, self.session.course)
        self._grow_track()
        self.count = 0

    def _grow_track(self) -> None:
        """Zigzags that leave no point out, within sight."""
        frame, random = self._live.frame, np.random.default_rng(5)
        x, y, turn = frame.pose
        places = np.cumsum(random.uniform(-25.0, 25.0, (POINTS + 640, 2)), axis=0) % 300.0
        for n, (a, b) in enumerate(places.tolist()):
            # Long ago: the run itself goes on from its own step.
            pose = (x + a, y + b - 150.0, turn + 0.001 * n)
            self.session.track.add(replace(frame, steps=n + 1, pose=pose, drag=(0.01 * n,) * 6))
        self.first = POINTS + 640
        assert len(self.session.track.points) > POINTS
        self.session.frame = replace(frame, steps=self.first, pose=pose, drag=(0.01 * self.first,) * 6)
        while True:
            self.view.repaint()
            QApplication.processEvents()
            if self.view.drawn:
                return

    def step(self) -> float:
        """One frame, from the clock that wakes to the painted window [s]."""
        self.count += 1
        turn = 0.8 * np.sin(0.01 * self.count)
        begun = time.perf_counter()
        frame = self._live.advance(FRAME_US, sides(0.5 + 0.4 * turn, 0.5 - 0.4 * turn))
        frame = replace(frame, steps=frame.steps + self.first)
        self.session.track.add(frame)
        self.session.frame = frame
        self.session.frame_changed.emit(frame)
        self.view.repaint()
        QApplication.processEvents()
        return time.perf_counter() - begun


class Empty(QWidget):
    """A window that paints its ground alone."""

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor("#ffffff"))
        painter.end()

    def step(self) -> float:
        begun = time.perf_counter()
        self.repaint()
        QApplication.processEvents()
        return time.perf_counter() - begun


def main() -> None:
    """Print the median of our frames and of empty ones, in turn [ms]."""
    from app.document import Document
    from app.window.start import make_application

    make_application()
    window = MainWindow(Document(loaded_design()), SETTINGS)
    window.resize(1280, 800)
    window.show()
    drive = Drive(window)
    empty = Empty()
    empty.resize(drive.view.size())
    empty.show()
    window.raise_()
    window.activateWindow()
    for _ in range(20):
        QApplication.processEvents()
        time.sleep(0.01)
    ours, bare = [], []
    for _ in range(20):
        ours += [drive.step() for _ in range(15)]
        bare += [empty.step() for _ in range(15)]
    print(1000.0 * statistics.median(ours), 1000.0 * statistics.median(bare))
    sys.stdout.flush()
    drive.session.close()


if __name__ == "__main__":
    import os

    main()
    os._exit(0)
