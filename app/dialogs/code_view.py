"""What the chosen code looks like: its text, its size, and its errors over the turn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.export.preview import Preview, bound_words, given_up_words, size_words, verdict_words
from app.panels.form import choice
from app.plain import plain_label
from app.theme import current_theme

if TYPE_CHECKING:
    from app.dialogs.error_plot import ErrorPlot

MOST_LINES = 3_000
"""Lines of the text that are shown; copying and saving take all."""
_TEXT_HEIGHT, _PLOT_HEIGHT = 430, 230


class CodeView(QWidget):
    """The preview: what will be saved, or in its place why nothing can be."""

    def __init__(self) -> None:
        super().__init__()
        self.preview: Preview | None = None
        self.chart: ErrorPlot | None = None
        self._make_text()
        self.facts = plain_label("Working …")
        self.facts.setWordWrap(True)
        self.facts.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.busy = QProgressBar()
        self.busy.setAccessibleName("Working")
        self.busy.setRange(0, 0)
        self.busy.setTextVisible(False)
        self.busy.setFixedSize(120, 12)
        self.which = choice("Error of", "Whose error is plotted over the turn input.")
        self.which.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.which.currentIndexChanged.connect(lambda _i: self._show_errors())
        self._which_label = plain_label("Error of")
        self._which_label.setBuddy(self.which)
        self.legend = plain_label()
        self.legend.setWordWrap(True)
        self.legend.setTextFormat(Qt.TextFormat.RichText)
        self.legend.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.below = QWidget()
        self._below = QVBoxLayout(self.below)
        self._below.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        row.addWidget(self._which_label)
        row.addWidget(self.which)
        row.addWidget(self.legend, 1)
        self._below.addLayout(row)
        self._put_together()
        self.show_busy(busy=False)

    def _make_text(self) -> None:
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setTabChangesFocus(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.text.setAccessibleName("Preview of the file")
        self.copy = QPushButton("Copy all")
        self.copy.setToolTip("Copy the whole file as text.")
        self.copy.setAutoDefault(False)
        self.copy.clicked.connect(self._copy)

    def _put_together(self) -> None:
        line = QHBoxLayout()
        line.addWidget(self.facts, 1)
        line.addWidget(self.busy)
        line.addWidget(self.copy)
        above = QWidget()
        upper = QVBoxLayout(above)
        upper.setContentsMargins(0, 0, 0, 0)
        upper.addWidget(self.text, 1)
        upper.addLayout(line)
        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.addWidget(above)
        self.splitter.addWidget(self.below)
        self.splitter.setStretchFactor(0, 3)
        self.splitter.setStretchFactor(1, 2)
        self.splitter.setChildrenCollapsible(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        self.splitter.setSizes([_TEXT_HEIGHT, _PLOT_HEIGHT])
        layout.addWidget(self.splitter)

    def show_busy(self, *, busy: bool) -> None:
        """Say whether the preview is being worked out anew."""
        self.busy.setVisible(busy)
        self.copy.setEnabled(not busy and self.preview is not None)
        self.busy.setRange(0, 0)  # moves to and fro until a share is told

    def show_progress(self, share: float) -> None:
        """Show how much of the work is done, 0 to 1."""
        self.busy.setRange(0, 100)
        self.busy.setValue(round(100 * share))

    def show_preview(self, preview: Preview) -> None:
        """Show a file and its errors."""
        self.preview = preview
        self._show_text(preview.text)
        self.facts.setStyleSheet("")
        words = (size_words(preview), bound_words(preview), given_up_words(preview), verdict_words(preview))
        self.facts.setText("\n".join(filter(None, words)))
        titles = [errors.title for errors in preview.errors]
        if titles != [self.which.itemText(i) for i in range(self.which.count())]:
            with QSignalBlocker(self.which):
                self.which.clear()
                self.which.addItems(titles)
        self._show_errors()

    def show_error(self, why: str) -> None:
        """Say in place of a preview why there is none."""
        self.preview = None
        self.text.setPlainText("")
        self.facts.setStyleSheet(f"color: {current_theme().bad}")
        self.facts.setText(f"✗ {why[:1].upper()}{why[1:]}.".replace("..", "."))
        self._show_errors()

    def _show_text(self, text: str) -> None:
        lines = text.splitlines()
        more = len(lines) - MOST_LINES
        if more > 0:
            text = "\n".join([*lines[:MOST_LINES], f"… and {more:,} more lines"])
        if text == self.text.toPlainText():
            return
        bars = self.text.verticalScrollBar(), self.text.horizontalScrollBar()
        places = [bar.value() for bar in bars]
        self.text.setPlainText(text)
        for bar, place in zip(bars, places, strict=True):
            bar.setValue(place)

    def _show_errors(self) -> None:
        errors = self.preview.errors if self.preview is not None else ()
        several = len(errors) > 1
        self._which_label.setVisible(bool(errors))
        self.which.setVisible(bool(errors))
        self.which.setEnabled(several)
        self.legend.setVisible(bool(errors))
        if errors:
            self._made_chart().show_errors(errors[self.which.currentIndex()])
        if self.chart is not None:
            self.chart.setVisible(bool(errors))

    def _made_chart(self) -> ErrorPlot:
        """The plot; made late, since its library takes long to load."""
        if self.chart is None:
            from app.dialogs.error_plot import ErrorPlot

            self.chart = ErrorPlot(self.legend)
            self._below.addWidget(self.chart, 1)
        return self.chart

    def _copy(self) -> None:
        if self.preview is not None:
            QGuiApplication.clipboard().setText(self.preview.text)
