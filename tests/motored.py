"""Fixtures and helpers for tests of the motors panel; a conftest imports the fixtures by name."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.design.references import references_to
from app.panels.motors_panel import MotorsPanel
from app.window.main_window import MainWindow

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


@pytest.fixture
def panel(window: MainWindow) -> MotorsPanel:
    QTest.keyClick(window.windowHandle(), Key.Key_6, Qt.KeyboardModifier.AltModifier)
    QApplication.processEvents()
    assert window.panels["motors"].isVisible()
    return window.panel("motors", MotorsPanel)


@pytest.fixture
def steered(window: MainWindow, panel: MotorsPanel) -> MotorsPanel:
    """One motor on each side turns its front and rear wheel."""
    for chosen in ({0, 4}, {1, 5}):
        window.document.select(references_to("wheel", chosen))
        panel.add_steer.click()
    panel.choose("steer", 0)
    return panel


@pytest.fixture
def driving(window: MainWindow, panel: MotorsPanel) -> MotorsPanel:
    """One motor drives the left side."""
    window.document.select(references_to("wheel", {0, 2, 4}))
    panel.add_drive.click()
    return panel
