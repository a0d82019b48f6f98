"""The motors panel with motors in it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.design.references import references_to
from app.panels.motors_panel import MotorsPanel
from app.window.main_window import MainWindow

Key = Qt.Key


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
