"""The help: each word with one labelled picture, the cautions, what is new, and what this program is."""

from __future__ import annotations

import html
from importlib import resources
from importlib.metadata import PackageNotFoundError, version

from PySide6.QtCore import QByteArray, QSize, QUrl
from PySide6.QtGui import QImage, QPainter, QTextDocument
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QMessageBox, QTextBrowser, QWidget

from app.dialogs.fitting import lay_out
from app.panels import registry

_PICTURE_WIDTH = 660


def help_text() -> str:
    """The help page as HTML; the keys of the panels are those of their rows."""
    rows = [spec for spec in registry.PANELS if spec.shortcut is not None]
    keys = ", ".join(html.escape(str(spec.shortcut)) for spec in rows)
    titles = ", ".join(html.escape(spec.title) for spec in rows)
    row = f"<tr><td>{keys}</td><td>go to a panel: {titles}</td></tr>"
    return _page("words.html").replace("<!-- keys of the panels -->", row)


def news_text() -> str:
    """What is new in each version, newest first, as HTML."""
    return _page("whats_new.html")


def _page(name: str) -> str:
    return resources.files("app.help").joinpath(name).read_text(encoding="utf-8")


def help_picture(ratio: float = 2.0) -> QImage:
    """The labelled picture, on its own light ground so that it reads in dark windows too."""
    data = resources.files("app.help").joinpath("words.svg").read_bytes()
    renderer = QSvgRenderer(QByteArray(data))
    size = renderer.defaultSize()
    wide = int(_PICTURE_WIDTH * ratio)
    image = QImage(wide, wide * size.height() // max(size.width(), 1), QImage.Format.Format_ARGB32)
    image.fill("#fbfaf6")
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    image.setDevicePixelRatio(ratio)
    return image


def help_dialog(parent: QWidget | None) -> QDialog:
    """Make the help window."""
    page = QTextBrowser()
    page.setAccessibleName("Help")
    page.document().addResource(QTextDocument.ResourceType.ImageResource, QUrl("words.svg"), help_picture())
    page.setHtml(help_text())
    return _page_dialog(parent, "Words and cautions", page)


def news_dialog(parent: QWidget | None) -> QDialog:
    """Make the window that tells what is new in each version."""
    page = QTextBrowser()
    page.setAccessibleName("What is new")
    page.setHtml(news_text())
    return _page_dialog(parent, "What is new", page)


def _page_dialog(parent: QWidget | None, title: str, page: QTextBrowser) -> QDialog:
    dialog = QDialog(parent)
    dialog.setWindowTitle(title)
    page.setOpenExternalLinks(False)
    buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
    buttons.rejected.connect(dialog.reject)
    lay_out(dialog, page, buttons, QSize(740, 680))
    return dialog


def show_help(parent: QWidget) -> None:
    """Show the help beside the window, so that both can be used."""
    _show_beside(help_dialog(parent))


def show_news(parent: QWidget) -> None:
    """Show what is new beside the window."""
    _show_beside(news_dialog(parent))


def _show_beside(dialog: QDialog) -> None:
    dialog.finished.connect(dialog.deleteLater)
    dialog.show()


def show_about(parent: QWidget) -> None:
    """Say what this is."""
    try:
        program = f"Axlewright {version('axlewright')}"
    except PackageNotFoundError:
        program = "Axlewright, run from its source folder"
    QMessageBox.about(
        parent,
        "About Axlewright",
        f"{program}\n\nLay out a wheeled robot chassis, watch it turn, check every axle, "
        "and take the steering table away. Open source under the MIT licence.\n\n"
        "For small robots only: not for road vehicles and not for carrying people.",
    )
