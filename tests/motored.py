"""Helpers for tests of the motors panel."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app.panels.motors_panel import MotorsPanel

Key = Qt.Key


def enter(field: QLineEdit, text: str) -> None:
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Key.Key_Return)


def shown(panel: MotorsPanel) -> list[list[str]]:
    table = panel.list
    items = [[table.item(r, c) for c in range(3)] for r in range(table.rowCount())]
    return [[item.text() if item else "" for item in row] for row in items]


def row_of(panel: MotorsPanel, wheel: str) -> Any:
    return next(r for r in panel.editor.wheels.rows if r.box.text() == wheel and not r.box.isHidden())


def wheels_of(panel: MotorsPanel) -> list[str]:
    return [row.box.text() for row in panel.editor.wheels.rows if not row.box.isHidden()]


def results(panel: MotorsPanel, wheel: str) -> list[str]:
    return [label.text() for label in row_of(panel, wheel).results if label.text()]
