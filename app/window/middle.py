"""The middle of the window: the verdict above the plan, the turn control below it."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.document import Document
from app.panels.turn_panel import TurnPanel
from app.panels.verdict_bar import FirstSteps, VerdictBar
from app.settings import Settings
from app.views.canvas import PlanCanvas
from app.views.note import MousePlace, PlanNote
from app.views.scene import PlanOptions


class Middle(QWidget):
    """What is in sight whatever panel is in front."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self.canvas = PlanCanvas(document)
        self.turn = TurnPanel(document)
        self.verdict = VerdictBar(document)
        self.first_steps = FirstSteps()
        self.note = PlanNote(self.canvas)
        self.note.undo_asked.connect(document.undo)
        self.where = MousePlace(self.canvas)
        self.canvas.pointed.connect(self.where.show_place)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.verdict)
        layout.addWidget(self.first_steps)
        layout.addWidget(self.canvas, 1)
        layout.addWidget(self.turn)

    def apply_settings(self, settings: Settings) -> None:
        """Show what the person prefers."""
        self.canvas.symmetric, self.canvas.snapping = settings.symmetry, settings.snap
        self.canvas.set_options(
            PlanOptions(
                full_circles=settings.full_circles,
                labels=settings.show_labels,
                ideal=settings.show_ideal,
                unit=settings.length_unit,
            )
        )
        self.turn.set_unit(settings.length_unit)
        self.verdict.set_unit(settings.length_unit)
        self.first_steps.setVisible(not settings.welcome_dismissed)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.canvas.refresh_theme()
        self.note.refresh_theme()
        self.where.refresh_theme()
        self.verdict.refresh_theme()
