"""Windows that fit the screen: none larger than what the screen has free, none partly off it."""

from __future__ import annotations

from PySide6.QtCore import QMargins, QPoint, QRect, QSize
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from app.panels.form import scrolled

FRAME = QMargins(6, 34, 6, 6)
"""What title bar and border take at most [logical pixels]; the system tells it once they are drawn."""


def fitted(place: QRect, free: QRect) -> QRect:
    """Move a rectangle into another, and shrink it where it is larger.

    Parameters
    ----------
    place : QRect
        Where a window would be [logical pixels].
    free : QRect
        What it may cover [logical pixels].
    """
    size = place.size().boundedTo(free.size())
    last = QPoint(free.x() + free.width() - size.width(), free.y() + free.height() - size.height())
    return QRect(
        QPoint(
            max(free.x(), min(place.x(), last.x())),
            max(free.y(), min(place.y(), last.y())),
        ),
        size,
    )


def fit_window(window: QWidget) -> None:
    """Bring a window that is not shown yet wholly onto the screen on which most of it would be."""
    if window.isMaximized() or window.isFullScreen():
        return  # the system gives it the screen's size
    place = window.geometry()
    screen = QGuiApplication.screenAt(place.center()) or QGuiApplication.primaryScreen()
    window.setGeometry(fitted(place, screen.availableGeometry().marginsRemoved(FRAME)))


def lay_out(
    dialog: QDialog,
    content: QWidget,
    buttons: QDialogButtonBox,
    size: QSize,
    *,
    above: QWidget | None = None,
) -> None:
    """Put content above the buttons of a dialog, so that the buttons stay in sight on any screen.

    Parameters
    ----------
    dialog : QDialog
        Has no layout yet.
    content : QWidget
        Scrolls where the dialog is too small for it.
    buttons : QDialogButtonBox
        Never scroll.
    size : QSize
        Wanted size [logical pixels]; a smaller screen gives less.
    above : QWidget, optional
        Stands between both and never scrolls either, such as what a press of a button came to.
    """
    layout = QVBoxLayout(dialog)
    layout.addWidget(scrolled(content, both_ways=True), 1)
    if above is not None:
        layout.addWidget(above)
    layout.addWidget(buttons)
    parent = dialog.parentWidget()
    screen = (parent.window() if parent is not None else dialog).screen()
    dialog.resize(size.boundedTo(screen.availableGeometry().marginsRemoved(FRAME).size()))
