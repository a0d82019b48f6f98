"""The help: a first robot in steps, the stages, each word, the cautions; what is new; about."""

from __future__ import annotations

import html
import re
from importlib import resources
from importlib.metadata import PackageNotFoundError, version

from PySide6.QtCore import QByteArray, QSize, Qt, QUrl
from PySide6.QtGui import QImage, QKeyEvent, QKeySequence, QPainter, QShortcut, QTextCursor, QTextDocument
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.fitting import lay_out
from app.help.contents import page, with_anchors
from app.panels import registry
from app.plain import plain_label

_PICTURE_WIDTH = 660
_HELP = "Help"
_NEWS = "What is new"


def help_text() -> str:
    """The help page as HTML; the keys of the panels are those of their rows."""
    rows = [spec for spec in registry.PANELS if spec.shortcut is not None]
    keys = ", ".join(html.escape(str(spec.shortcut)) for spec in rows)
    titles = ", ".join(html.escape(spec.title) for spec in rows)
    row = f"<tr><td>{keys}</td><td>go to a section: {titles}</td></tr>"
    return with_anchors(page("words.html")).replace("<!-- keys of the panels -->", row)


def news_text() -> str:
    """What is new in each version, newest first, as HTML."""
    return page("whats_new.html")


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


def help_dialog(parent: QWidget | None) -> PageDialog:
    """Make the help window."""
    browser = QTextBrowser()
    browser.setAccessibleName("Help")
    browser.document().addResource(
        QTextDocument.ResourceType.ImageResource, QUrl("words.svg"), help_picture()
    )
    text = help_text()
    for name in re.findall(r'src="([\w.-]+\.png)"', text):
        image = QImage.fromData(resources.files("app.help").joinpath(name).read_bytes())
        browser.document().addResource(QTextDocument.ResourceType.ImageResource, QUrl(name), image)
    browser.setHtml(text)
    return PageDialog(parent, _HELP, browser)


def news_dialog(parent: QWidget | None) -> PageDialog:
    """Make the window that tells what is new in each version."""
    browser = QTextBrowser()
    browser.setAccessibleName("What is new")
    browser.setHtml(news_text())
    return PageDialog(parent, _NEWS, browser)


class PageDialog(QDialog):
    """A page with a field above that searches it."""

    def __init__(self, parent: QWidget | None, title: str, page: QTextBrowser) -> None:
        super().__init__(parent)
        self.page = page
        self.setWindowTitle(title)
        self.setObjectName(title)
        page.setOpenExternalLinks(False)
        self.sought = QLineEdit()
        self.sought.setAccessibleName("Search this page")
        self.sought.setToolTip(
            "Enter goes to the next place, Shift+Enter to the one before, Ctrl+F comes here."
        )
        self.sought.setClearButtonEnabled(True)
        self.sought.textEdited.connect(self._seek)
        self.next = QPushButton("Find next")
        self.next.setToolTip("Go to the next place where these words stand (Enter).")
        self.next.clicked.connect(self.find_next)
        self.found = plain_label()
        label = plain_label("&Search")
        label.setBuddy(self.sought)
        QShortcut(QKeySequence.StandardKey.Find, self, self._begin)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        row = QHBoxLayout()
        for part in (label, self.sought, self.next, self.found):
            row.addWidget(part)
        row.setStretch(1, 1)
        content = QWidget()
        layout = QVBoxLayout(content)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        layout.addWidget(page)
        lay_out(self, content, buttons, QSize(740, 680))
        for button in self.findChildren(QPushButton):
            button.setAutoDefault(False)  # Enter searches, and never closes
        page.setFocus()

    def _begin(self) -> None:
        self.sought.setFocus()
        self.sought.selectAll()

    def _seek(self, text: str) -> None:
        """Go to the first place from the top while it is being typed."""
        self.page.moveCursor(QTextCursor.MoveOperation.Start)
        self.found.setText("" if not text or self.page.find(text) else "not found")

    def find_next(self, *, backward: bool = False) -> None:
        """Go to the next place, or the one before; round the end."""
        text = self.sought.text()
        if not text:
            self._begin()
            return
        way = QTextDocument.FindFlag.FindBackward if backward else QTextDocument.FindFlag(0)
        if self.page.find(text, way):
            self.found.setText("")
            return
        before = self.page.textCursor()
        edge = QTextCursor.MoveOperation.End if backward else QTextCursor.MoveOperation.Start
        self.page.moveCursor(edge)
        if self.page.find(text, way):
            self.found.setText("from the end" if backward else "from the top")
        else:
            self.page.setTextCursor(before)
            self.found.setText("not found")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Search by Enter in the field."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.sought.hasFocus():
                self.find_next(backward=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
        else:
            super().keyPressEvent(event)


def show_help(parent: QWidget, anchor: str = "") -> None:
    """Show the help beside the window, so that both can be used; the one that is there comes back.

    Parameters
    ----------
    parent : QWidget
        The window that it belongs to.
    anchor : str
        Where to go to on the page, as `app.help.contents` names it; where it was left if empty.
    """
    dialog = _made(parent, _HELP) or help_dialog(parent)
    _show_beside(dialog)
    if anchor:
        dialog.page.scrollToAnchor(anchor)


def show_news(parent: QWidget) -> None:
    """Show what is new beside the window."""
    _show_beside(_made(parent, _NEWS) or news_dialog(parent))


def _made(parent: QWidget, title: str) -> PageDialog | None:
    """The page of this window that was shown before; a page takes some 10 MB, so it is made once."""
    found = parent.findChild(PageDialog, title, Qt.FindChildOption.FindDirectChildrenOnly)
    return found if isinstance(found, PageDialog) else None


def _show_beside(dialog: QDialog) -> None:
    if dialog.isMinimized():
        dialog.showNormal()
    dialog.show()
    dialog.activateWindow()  # it stands over its parent already


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
