"""The parts of the window, and what an action may ask of it; what joins them is in `main_window`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMainWindow, QStackedWidget, QWidget

from app.document import Document
from app.panels.panel import Panel
from app.panels.registry import Stage
from app.settings import Settings
from app.window.edit_actions import Acts
from app.window.file_actions import Filing
from app.window.middle import Middle
from app.window.section import Section
from app.window.side_panel import P
from app.window.stages import is_shown
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.dialogs.first_chassis import Made
    from app.window.paper_actions import PaperWork
    from app.window.start_page import StartPage


class Frame(QMainWindow):
    """Stages, plan, panel and turn bar, and the acts on the document."""

    preferences_changed = Signal()
    stage_changed = Signal(str)
    page_changed = Signal()
    """The start page came or went."""

    def __init__(self, document: Document, settings: Settings) -> None:
        super().__init__()
        self.document = document
        self.filing = Filing(document, self, settings)
        self._paper: PaperWork | None = None
        self.setObjectName("axlewright")
        self.middle = Middle(document)
        self.canvas = self.middle.canvas
        self.pages = QStackedWidget()
        self.pages.addWidget(self.middle)
        self.setCentralWidget(self.pages)
        self._start_page: StartPage | None = None
        self.sections: dict[str, Section] = self.middle.side.sections
        """By the keys of their rows."""
        self.acts = Acts(document, self.canvas)
        self.action: dict[str, QAction] = {}
        """By the keys of their rows."""
        self.work_actions: list[QAction] = []
        """Others that need a chassis in sight."""

    @property
    def panels(self) -> dict[str, Panel]:
        """By the keys of their rows; those that were not wanted yet are made."""
        return self.middle.side.panels

    @property
    def paper(self) -> PaperWork:
        """What makes paper and files for other tools; made when it is first wanted."""
        if self._paper is None:
            from app.window.paper_actions import PaperWork

            self._paper = PaperWork(self.document, self, self.filing)
        return self._paper

    # Pages -----------------------------------------------------------------------------

    @property
    def at_start(self) -> bool:
        """Whether the start page is shown, and the chassis is not."""
        return self.pages.currentWidget() is not self.middle

    def start_page(self) -> StartPage:
        """The page to begin from; made when it is first wanted."""
        if self._start_page is None:
            from app.window.start_page import StartPage

            page = self._start_page = StartPage(self.filing.settings)
            self.pages.addWidget(page)
            page.made.connect(self._take_made)
            page.sample_asked.connect(self.filing.open_sample)
            page.file_asked.connect(self._take_file)
            page.file_forgotten.connect(self._forget_file)
            page.open_asked.connect(self.filing.open)
            page.empty_asked.connect(self._take_empty)
            page.left.connect(self.show_work)
        return self._start_page

    def show_start(self) -> None:
        """Show the page to begin from; the chassis stays open behind it."""
        document = self.document
        document.cancel_preview()
        self.middle.stop_driving()
        some = (
            document.design != Design()
            or document.path is not None
            or document.modified
            or document.undo_stack.count() > 0
        )
        page = self.start_page()
        page.begin(self.filing.settings, can_leave=some)
        self.pages.setCurrentWidget(page)
        self._show_own_windows(shown=False)
        self.page_changed.emit()

    def _show_own_windows(self, *, shown: bool) -> None:
        """Show or hide the windows of sections: behind the start page there is nothing to edit."""
        for section in self.sections.values():
            if section.window_of_own is not None:
                section.window_of_own.setVisible(shown)

    def show_work(self) -> None:
        """Show the chassis."""
        if self.at_start:
            self.pages.setCurrentWidget(self.middle)
            self._show_own_windows(shown=True)
            self.middle.drawing.setFocus()
            self.page_changed.emit()

    # Whatever is opened brings the chassis into sight: `document.opened` is joined to `show_work`.

    def _take_made(self, made: Made) -> None:
        if self.filing.start_made(made.design):
            self.prefer(length_unit=made.unit)

    def _take_file(self, path: Path) -> None:
        if not self.filing.open_path(path):
            self.show_start()  # the file may be gone from the list

    def _take_empty(self) -> None:
        if self.filing.new():
            self.prefer(length_unit=self.start_page().unit)

    def _forget_file(self, path: Path) -> None:
        self.filing.keep(self.filing.settings.without_recent(path))

    # Stages and panels -------------------------------------------------------------------

    def panel(self, key: str, kind: type[P]) -> P:
        """The panel of a row of the registry, as the kind that it is known to be."""
        return self.middle.side.panel(key, kind)

    def go_to_stage(self, stage: Stage) -> None:
        """Go to a stage of the work."""
        if is_shown(stage) and stage != self.middle.side.stage:
            self.middle.show_stage(stage)
            self.stage_changed.emit(stage)

    def show_panel(self, key: str) -> None:
        """Bring a panel into sight, in its stage."""
        self.show_work()
        self.go_to_stage(self.sections[key].spec.stage)
        self.middle.side.show_section(key)

    def go_to(self, key: str) -> None:
        """Bring a panel into sight, and the keyboard to its first field."""
        self.show_panel(key)
        self.middle.side.go_to(key)

    def go_round(self) -> None:
        """Bring the keyboard to the next part of the window: plan, panel, turn, stages."""
        parts = self._parts()
        focus = self.focusWidget()
        inside = [n for n, (area, _) in enumerate(parts) if focus is not None and area.isAncestorOf(focus)]
        here = inside[0] if inside else -1
        parts[(here + 1) % len(parts)][1].setFocus()

    def _parts(self) -> list[tuple[QWidget, QWidget]]:
        """Each part of the window with the widget that takes the keyboard there."""
        middle = self.middle
        open_head = next((s.head for s in self.sections.values() if s.isVisible()), middle.side.verdict.worst)
        return [
            (middle.drive if middle.driving else middle.plan, middle.drawing),
            (middle.side, open_head),
            (middle.turn, middle.turn.slider),
            (middle.bar, middle.bar.buttons[middle.side.stage]),
        ]

    def prefer(self, **changes: object) -> None:
        """Change preferences, keep them, and show them."""
        self.filing.change_settings(**changes)
        self.preferences_changed.emit()

    def reset_layout(self) -> None:
        """Put every section back, folded or not as at first, and share the room as at first."""
        for section in self.sections.values():
            section.put_back()
        self.middle.side.unfold_only(self.middle.side.first_unfolded())
        self.middle.reset_widths()
