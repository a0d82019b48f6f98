"""The panel beside the plan: the verdict at its head, and below it the sections of the stage of now."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from PySide6.QtCore import QCoreApplication, QEvent, Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from app.document import Document
from app.panels import registry
from app.panels.form import ScrolledArea
from app.panels.panel import Panel
from app.panels.registry import Stage
from app.panels.verdict_bar import FirstSteps, VerdictBar
from app.picture.view import View
from app.theme import current_theme, panel_palette
from app.window.section import Section

_BAR = 8
_LEAST = 240
"""As narrow as the line beside it may make it [px]."""
_SOON_MS = 120
"""Until folded sections say in their heads what they hold: what is in sight comes first."""
P = TypeVar("P", bound=Panel)


class SidePanel(QWidget):
    """Verdict, first steps, and a section for each row of the registry; those of one stage are in sight."""

    changed = Signal()
    """The person folded, unfolded or moved a section."""
    panel_made = Signal(str, object)
    """A `Panel` has just been made; the key of its row, and the panel."""

    def __init__(self, document: Document, plan: QWidget) -> None:
        super().__init__()
        self.drawing: Callable[[], QWidget] = lambda: plan
        """Gives the drawing in sight beside it, which takes the keyboard of what is hidden."""
        self._document = document
        self.stage: Stage = "lay out"
        self.verdict = VerdictBar(document)
        self.first_steps = FirstSteps()
        self.sections: dict[str, Section] = {}
        """By the keys of their rows."""
        self.setMinimumWidth(_LEAST)
        self.setAutoFillBackground(True)
        inner = QWidget()
        column = self._column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.first_steps)
        for spec in registry.PANELS:
            section = self.sections[spec.key] = Section(spec, document)
            section.made.connect(self.panel_made)
            section.changed.connect(self.changed)
            column.addWidget(section)
        column.addStretch(1)
        self.area = ScrolledArea()
        self.area.setWidget(inner)
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.verticalScrollBar().rangeChanged.connect(self._grey_the_bar)
        # Words do not wrap anew, and nothing moves, where a section unfolds.
        self.area.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.verdict)
        layout.addWidget(self.area, 1)
        self.unfold_only(self.first_unfolded())
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._make_one)
        document.changed.connect(self._show_view)
        document.closed.connect(self._soon.stop)
        self.show_stage(self.stage)
        self._show_colours()

    def _grey_the_bar(self, _least: int, most: int) -> None:
        self.area.verticalScrollBar().setEnabled(most > 0)

    def _show_colours(self) -> None:
        self.setPalette(panel_palette())
        theme = current_theme()
        self.area.verticalScrollBar().setStyleSheet(
            f"QScrollBar:vertical {{ background: {theme.panel}; width: {_BAR}px; margin: 0; }}"
            f"QScrollBar::handle:vertical {{ background: {theme.edge}; border-radius: 3px;"
            " min-height: 24px; }"
            "QScrollBar::handle:vertical:disabled { background: transparent; }"
            "QScrollBar::add-line, QScrollBar::sub-line { height: 0; }"
        )

    @property
    def panels(self) -> dict[str, Panel]:
        """By the keys of their rows; those that were not wanted yet are made."""
        return {key: section.panel for key, section in self.sections.items()}

    @property
    def panels_so_far(self) -> list[Panel]:
        """Those that were made."""
        return [s.panel_so_far for s in self.sections.values() if s.panel_so_far is not None]

    def panel(self, key: str, kind: type[P]) -> P:
        """The panel of a row, as the kind that it is known to be.

        Raises
        ------
        KeyError
            If no row has the key.
        TypeError
            If the panel of the row is of another kind.
        """
        found = self.sections[key].panel
        if not isinstance(found, kind):
            raise TypeError(f"the panel {key} is a {type(found).__name__} and no {kind.__name__}")
        return found

    # What is in sight --------------------------------------------------------------------

    def show_stage(self, stage: Stage) -> None:
        """Show the sections of a stage; what was typed in another is taken up first."""
        self.stage = stage
        self._leave([s for s in self.sections.values() if s.spec.stage != stage])
        for section in self.sections.values():
            section.show_here(here=section.spec.stage == stage)
            section.show_view(self._document.view)
        self.area.verticalScrollBar().setValue(0)
        self._soon.start(_SOON_MS)

    def _make_one(self) -> None:
        """Make the panel of one folded section, whose head then says what it holds; the rest in a moment."""
        waiting = [section for section in self.sections.values() if section.waits]
        if waiting:
            waiting[0].make()
            self._soon.start(0)

    def _leave(self, hidden: Iterable[Section]) -> None:
        """Move the keyboard away from what is hidden: what is typed next would change it unseen."""
        focus = self.window().focusWidget()
        if focus is not None and any(s.isAncestorOf(focus) for s in hidden):
            self.drawing().setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_view(self, view: View) -> None:
        for section in self.sections.values():
            section.show_view(view)

    @staticmethod
    def first_unfolded() -> tuple[str, ...]:
        """Sections that are unfolded until the person folds them."""
        return tuple(spec.key for spec in registry.PANELS if spec.unfolded)

    @property
    def unfolded(self) -> tuple[str, ...]:
        """Keys of the sections that are unfolded."""
        return tuple(key for key, section in self.sections.items() if section.unfolded)

    @property
    def taken_out(self) -> tuple[str, ...]:
        """Keys of the sections that have a window of their own."""
        return tuple(key for key, section in self.sections.items() if section.window_of_own is not None)

    def unfold_only(self, keys: Iterable[str]) -> None:
        """Unfold these sections and fold all others."""
        wanted = set(keys)
        for key, section in self.sections.items():
            section.unfold(on=key in wanted)

    def show_section(self, key: str) -> None:
        """Unfold a section of the stage of now, and bring it into sight."""
        section = self.sections[key]
        if section.window_of_own is not None:
            section.take_out()
            return
        section.unfold()
        # Where it stands is known once all that waits to be laid out has been: else it stays out of sight.
        QCoreApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        self.area.ensureWidgetVisible(section.panel, 0, 0)
        self.area.ensureWidgetVisible(section.head, 0, 0)

    def go_to(self, key: str) -> None:
        """Bring a section into sight, and the keyboard to its first field."""
        self.show_section(key)
        panel = self.sections[key].panel
        if self.sections[key].window_of_own is not None:
            panel.window().activateWindow()
        panel.setFocus(Qt.FocusReason.ShortcutFocusReason)
        stops = (stop for stop in self.sections[key].stops() if stop.isEnabled() and stop.isVisibleTo(panel))
        first = next(stops, None)
        if first is not None:
            first.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self._show_colours()
        self.verdict.refresh_theme()
        for section in self.sections.values():
            section.refresh_theme()
