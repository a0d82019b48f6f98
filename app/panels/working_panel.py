"""The working: the derivation of the selected wheel, to follow with a pocket calculator."""

from __future__ import annotations

from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QPlainTextEdit, QPushButton, QVBoxLayout, QWidget

from app.document import Document
from app.look import View
from app.working import working_text


class WorkingPanel(QWidget):
    """Read-only text that follows every change; copied whole or in part."""

    def __init__(self, document: Document) -> None:
        super().__init__()
        self._document = document
        self._seen = False
        self.text = QPlainTextEdit()
        self.text.setReadOnly(True)
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
        document.changed.connect(self.show_view)

    def show_view(self, view: View) -> None:
        """Show the derivation of the first selected wheel, while it can be seen."""
        if not self._seen:
            return
        if not view.selection:
            text = "Select a wheel to see how its angle follows from the side speeds."
        else:
            text = working_text(view, min(view.selection))
        if text != self.text.toPlainText():
            place = self.text.verticalScrollBar().value()
            self.text.setPlainText(text)
            self.text.verticalScrollBar().setValue(place)

    def set_seen(self, seen: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Rest while nobody sees it, and then catch up."""
        self._seen = seen
        self.show_view(self._document.view)
