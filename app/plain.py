"""Texts that stand on the screen as they are written.

Qt takes a text with tags for rich text, and loads the pictures that it names. Names come from
files of others, and errors tell what stood there: labels, message boxes and tooltips come from here.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import Qt as GuiQt
from PySide6.QtWidgets import QLabel, QMessageBox, QWidget


def plain_label(text: str = "") -> QLabel:
    """Make a label that shows tags as they are written."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def plain_tip(text: str) -> str:
    """Write a tooltip so that Qt shows these very characters.

    A tooltip has no setting for it; one that Qt would take for rich text has its tags escaped.
    """
    return GuiQt.convertFromPlainText(text) if GuiQt.mightBeRichText(text) else text


def plain_box(parent: QWidget | None, icon: QMessageBox.Icon, title: str, text: str) -> QMessageBox:
    """Make a message box that shows tags as they are written; the caller adds buttons and opens it."""
    box = QMessageBox(parent)
    box.setIcon(icon)
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setWindowTitle(title)
    box.setText(text)
    return box
