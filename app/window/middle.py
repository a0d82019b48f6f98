"""The window below its menus: the stages, one plan beside one panel, the turn bar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from app.document import Document
from app.panels.registry import Stage
from app.panels.turn_panel import TurnPanel
from app.settings import Settings
from app.views.canvas import PlanCanvas
from app.views.elevation import ElevationView
from app.views.scene import PlanOptions
from app.window.plan_area import PlanArea
from app.window.side_panel import SidePanel
from app.window.stage_bar import StageBar
from app.window.stages import STAGES, StageSpec

if TYPE_CHECKING:
    from app.drive_session import DriveSession
    from app.views.drive_view import DriveView
    from app.views.time_line import TimeLine

LOW = 640
"""Under this height of the window bars are low, and the groups on the plan go [px]."""
_WIDTHS = ((1000, 288, 352), (1180, 304, 384), (1500, 320, 448))
_WIDEST = (400, 560)
_TALL, _TALL_ELEVATION, _ELEVATION = 1000, 208, 120
"""Height of a window from which on the second view is tall; its heights [px]."""
_SOME_LINES, _LINES, _FEW_LINES = 760, 120, 96
"""Height of a window from which on the time line is tall; its heights [px]."""
ZOOM = ("measure", "fit", "zoom_out", "zoom_in")


def panel_width(window: int, *, wide: bool) -> int:
    """Width of the panel that suits a window [px]: the plan keeps half of the window."""
    for below, narrow, broad in _WIDTHS:
        if window < below:
            return broad if wide else narrow
    return _WIDEST[1] if wide else _WIDEST[0]


class _Course(NamedTuple):
    session: DriveSession
    view: DriveView
    line: TimeLine


class Middle(QWidget):
    """What is in sight in each stage, and how the window's size is shared out."""

    stage_asked = Signal(str)
    course_made = Signal()
    """The course stands in the place of the plan for the first time."""
    widths_changed = Signal()
    """The person moved the line between plan and panel."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.bar = StageBar()
        self.plan = PlanArea(document)
        self.canvas, self.note, self.where = self.plan.canvas, self.plan.note, self.plan.where
        self.side = SidePanel(document, self.canvas)
        self.side.drawing = lambda: self.drawing
        self.verdict, self.first_steps = self.side.verdict, self.side.first_steps
        self.turn = TurnPanel(document)
        self.widths: dict[Stage, int] = {}
        """Widths of the panel that the person chose [px]."""
        self._actions: Mapping[str, QAction] = {}
        self._options = PlanOptions()
        self.elevation = ElevationView(document)
        self.elevation.hide()
        self.canvas.measure_taken.connect(self.elevation.end_measuring)
        self.elevation.measure_taken.connect(self.canvas.end_measuring)
        self._document = document
        self._course: _Course | None = None
        self._looks_from: Literal["", "side", "front"] = ""
        drawings = QWidget()
        below = self._below = QVBoxLayout(drawings)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(0)
        below.addWidget(self.plan, 1)
        below.addWidget(self.elevation)
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.addWidget(drawings)
        self.splitter.addWidget(self.side)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setStretchFactor(0, 1)
        self.splitter.setStretchFactor(1, 0)
        self.splitter.setHandleWidth(5)
        self.splitter.splitterMoved.connect(self._keep_width)
        self.splitter.handle(1).setToolTip(
            "Drag to share the room; a double click gives the first share back."
        )
        self.splitter.handle(1).installEventFilter(self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.bar)
        layout.addWidget(self.splitter, 1)
        layout.addWidget(self.turn)
        self.bar.asked.connect(self.stage_asked)
        self.plan.floating_moved.connect(self._keep_clear)

    @property
    def stage(self) -> StageSpec:
        """The stage that is shown."""
        return next(spec for spec in STAGES if spec.key == self.side.stage)

    @property
    def driving(self) -> bool:
        """Whether the course stands in the place of the plan."""
        return self.side.stage == "drive"

    @property
    def course_so_far(self) -> _Course | None:
        """What stands in the place of the plan while driving, where it was wanted before."""
        return self._course

    def _made_course(self) -> _Course:
        """The course with its time line; made late, since the robot's code takes long to load."""
        if self._course is None:
            from app.drive_session import session_of
            from app.views.drive_view import DriveView
            from app.views.time_line import TimeLine

            session = session_of(self._document)
            view, line = DriveView(session, self._document.view), TimeLine(session)
            self._course = _Course(session, view, line)
            self._document.changed.connect(view.show_view)
            line.drive.clicked.connect(self._take_sticks)
            for place, widget in enumerate((view, line), 1):
                widget.hide()
                self._below.insertWidget(place, widget, 2 - place)
            view.snapping = self.canvas.snapping
            view.set_unit(self._options.unit)
            view.show_left(tracks=self._options.tracks, swept=self._options.swept)
            line.set_unit(self._options.unit)
            stops = (line.rewind, line.play, line.drive, line.keep, line.earlier, line.curves)
            for before, after in pairwise((self.canvas, view, *stops)):
                QWidget.setTabOrder(before, after)
            self._fit_line(self.window().size())
            self.course_made.emit()
        return self._course

    @property
    def session(self) -> DriveSession:
        """The drive that is shown."""
        return self._made_course().session

    @property
    def drive(self) -> DriveView:
        """The course from above."""
        return self._made_course().view

    @property
    def time_line(self) -> TimeLine:
        """What stands below the course."""
        return self._made_course().line

    @property
    def drawing(self) -> PlanCanvas | DriveView:
        """The large drawing that is in sight: the plan, or the course."""
        return self.drive if self.driving else self.canvas

    def measure(self) -> None:
        """Let the next drag measure, on the plan or in the view below it."""
        below = self.elevation.hasFocus()
        self.canvas.measure()
        if self.elevation.isVisible():
            self.elevation.measure()
        if below:
            self.elevation.setFocus()

    def offer(self, actions: Mapping[str, QAction]) -> None:
        """Take the actions that bars and tool groups offer."""
        self._actions = actions
        self.bar.add_tools({key: actions[key] for key in ("undo", "redo", "save")})
        self.show_stage(self.side.stage)

    def show_stage(self, stage: Stage) -> None:
        """Go to a stage."""
        self._show_drive(driving=stage == "drive")  # first: what is hidden hands the keyboard to the drawing
        self.side.show_stage(stage)
        self.bar.show_stage(stage)
        spec = self.stage
        self.show_tools()
        self._show_options(faint_lines=spec.faint_lines, motors=spec.key == "motors", parts=spec.parts)
        self._show_elevation()
        self._share()

    def show_tools(self) -> None:
        """Show the tools of this stage; some come and go with the chassis."""
        if self._actions:
            parts = [[self._actions[key] for key in part] for part in self.stage.tools]
            self.plan.show_tools(parts, [self._actions[key] for key in ZOOM])

    # Sizes -------------------------------------------------------------------------------

    def _share(self) -> None:
        whole = self.splitter.width()
        wanted = self.widths.get(self.side.stage, panel_width(self.width(), wide=self.stage.wide))
        panel = max(min(wanted, whole - self.plan.minimumWidth()), 0)
        self.splitter.setSizes([whole - panel, panel])

    def _keep_width(self) -> None:
        self.widths[self.side.stage] = self.side.width()
        self.widths_changed.emit()

    def reset_widths(self) -> None:
        """Give the first shares back."""
        self.widths.clear()
        self._share()
        self.widths_changed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Give the first share back on a double click on the line."""
        if event.type() == QEvent.Type.MouseButtonDblClick:
            self.widths.pop(self.side.stage, None)
            self._share()
            self.widths_changed.emit()
            return True
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the room anew."""
        super().resizeEvent(event)
        self.fit(self.window().size())
        self._share()

    def fit(self, window: QSize) -> None:
        """Take the heights that suit a window."""
        low = window.height() < LOW
        self.bar.fit(window, low=low)
        self.turn.fit(window, low=low)
        self.plan.fit(low=low)
        self._fit_line(window)
        self.elevation.setFixedHeight(_TALL_ELEVATION if window.height() >= _TALL else _ELEVATION)

    def _fit_line(self, window: QSize) -> None:
        if self._course is not None:
            self._course.line.setFixedHeight(_LINES if window.height() >= _SOME_LINES else _FEW_LINES)

    def stop_driving(self) -> None:
        """Let go of the sticks."""
        if self._course is not None:
            self._course.session.stop()

    def _show_drive(self, *, driving: bool) -> None:
        """Show the course in place of the plan; who leaves it lets go of the sticks."""
        if not driving and self._course is None:
            return
        if not driving:
            self.session.stop()
        kept = self.drive.hasFocus() or (driving and self.canvas.hasFocus())
        drawing = self.drive if driving else self.canvas
        self.note.stand_on(drawing)
        self.plan.setVisible(not driving)
        self.plan.setEnabled(not driving)  # what is hidden takes no key, whoever hands it the keyboard
        self.drive.setVisible(driving)
        self.time_line.setVisible(driving)
        if kept:
            drawing.setFocus()

    def _take_sticks(self) -> None:
        """Give the keyboard to the course once a drive begins: on the button, arrows would only leave it."""
        if self.session.moving:
            self.drive.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_elevation(self) -> None:
        seen = bool(self._looks_from) and self.stage.parts
        if self._looks_from:
            self.elevation.look_from(self._looks_from)
        if not seen and self.elevation.hasFocus():
            self.canvas.setFocus()
        self.elevation.setVisible(seen)

    def _keep_clear(self) -> None:
        self._show_options(obstacles=self.plan.floating())

    def _show_options(self, **changes: Any) -> None:
        self._options = replace(self._options, **changes)
        self.canvas.set_options(self._options)

    # Preferences -------------------------------------------------------------------------

    def apply_settings(self, settings: Settings) -> None:
        """Show what the person prefers."""
        for drawing in (self.canvas, self.elevation):
            drawing.symmetric, drawing.snapping = settings.symmetry, settings.snap
        self.elevation.set_unit(settings.length_unit)
        if self._course is not None:
            self._course.view.snapping = settings.snap
            self._course.view.set_unit(settings.length_unit)
            self._course.view.show_left(tracks=settings.show_tracks, swept=settings.show_swept)
            self._course.line.set_unit(settings.length_unit)
        self._looks_from = settings.elevation
        self._show_elevation()
        self._show_options(
            full_circles=settings.full_circles,
            labels=settings.show_labels,
            ideal=settings.show_ideal,
            tracks=settings.show_tracks,
            swept=settings.show_swept,
            unit=settings.length_unit,
        )
        self.turn.set_unit(settings.length_unit)
        self.verdict.set_unit(settings.length_unit)
        self.first_steps.setVisible(not settings.welcome_dismissed)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.bar.refresh_theme()
        self.plan.refresh_theme()
        self.elevation.refresh_theme()
        if self._course is not None:
            self._course.view.refresh_theme()
            self._course.line.refresh_theme()
        self.side.refresh_theme()
        self.turn.slider.update()
