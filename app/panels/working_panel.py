"""The working: the derivation of the selected wheel, to follow with a pocket calculator."""

from __future__ import annotations

from PySide6.QtGui import QFontDatabase, QGuiApplication, QTextCursor
from PySide6.QtWidgets import QPlainTextEdit, QPushButton, QVBoxLayout

from app.document import Document
from app.panels.panel import Panel
from app.picture.view import View
from app.working.wheel_working import working_text


class WorkingPanel(Panel):
    """Read-only text that follows every change; copied whole or in part."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._lines = [""]
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
        self.text.setUndoRedoEnabled(False)
        self.text.setAccessibleName("Working of the selected wheel")
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.WidgetWidth)
        copy = QPushButton("Copy the working")
        copy.setToolTip("Copy the whole derivation as text.")
        copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(self.text.toPlainText()))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.addWidget(self.text, 1)
        layout.addWidget(copy)

    def show_view(self, view: View) -> None:
        """Show the derivation of the first selected wheel."""
        if not view.selected_wheels:
            text = "Select a wheel to see how its angle follows from the side speeds."
        else:
            text = working_text(view, view.selected_wheels[0])
        self._show_text(text)

    def _show_text(self, text: str) -> None:
        """Write the lines that differ, so that the rest is not laid out again and stays selected."""
        lines = text.split("\n")
        # A line that needs one more row of a narrow panel would move all below it.
        place = self.text.verticalScrollBar().value()
        if len(lines) != len(self._lines):
            self.text.setPlainText(text)
        elif lines != self._lines:
            cursor = QTextCursor(self.text.document())
            cursor.beginEditBlock()
            for number, (line, shown) in enumerate(zip(lines, self._lines, strict=True)):
                if line != shown:
                    cursor.setPosition(self.text.document().findBlockByNumber(number).position())
                    cursor.movePosition(QTextCursor.MoveOperation.EndOfBlock, QTextCursor.MoveMode.KeepAnchor)
                    cursor.insertText(line)
            cursor.endEditBlock()
        self.text.verticalScrollBar().setValue(place)
        self._lines = lines
