"""The start: a chassis from numbers, a file from before, or a sample, on one page over the whole window."""

from __future__ import annotations

import stat
from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetrics, QHideEvent, QKeyEvent, QPainter, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.design.facts import Facts
from app.design.samples import sample_design
from app.dialogs.first_chassis import FirstChassisForm
from app.dialogs.first_chassis_picture import FirstChassisPicture
from app.dialogs.page_parts import Column
from app.icons import SIZE, icon, shared_picture
from app.plain import plain_label, plain_tip
from app.settings import Settings
from app.theme import colour, current_theme, mixed, pen, sized
from app.units import LengthUnit
from app.views.still import small_picture
from geometry.model.design import Design
from sample_chassis import SAMPLES, Sample

_FORM_WIDTH, _SIDE_WIDTH, _NARROW_SIDE = 384, 288, 224
_NARROW, _LOW = 1180, 640
_MOST_FILES = 4
_RADIUS = 4.0


class Card(QFrame):
    """One column: a ground of its own, with a heading."""

    def __init__(self, heading: str) -> None:
        super().__init__()
        self.setObjectName("card")
        self.heading = plain_label(heading)
        self.heading.setContentsMargins(16, 16, 16, 12)
        self.heading.setFont(sized(self.font(), "text", strong=True))
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(1, 1, 1, 1)
        self.column.setSpacing(0)
        if heading:
            self.column.addWidget(self.heading)
        self.paint()

    def paint(self) -> None:
        """Take the colours of now."""
        theme = current_theme()
        wanted = (
            f"QFrame#card {{ background: {theme.panel}; border: 1px solid {theme.line};"
            " border-radius: 6px; }"
        )
        if wanted != self.styleSheet():
            self.setStyleSheet(wanted)

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.paint()


class _Choice(QAbstractButton):
    """Something to begin with, drawn whole; Enter and Space take it."""

    def __init__(self) -> None:
        super().__init__()
        self.known = False
        """Whether it was looked at."""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take it with Enter too."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def look(self) -> None:
        """Read what it stands for."""
        self.known = True

    def draw_frame(self, painter: QPainter) -> None:
        """Draw ground and edge."""
        theme = current_theme()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        lit = self.isEnabled() and (self.underMouse() or self.hasFocus())
        painter.setBrush(colour(mixed(theme.soft, theme.field, 0.5) if lit else theme.field))
        painter.setPen(pen(theme.accent if lit else theme.line))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), _RADIUS, _RADIUS)


class FileChoice(_Choice):
    """A file from before: its name, when it was saved, and its folder."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self.missing = False
        self.remove = QToolButton()
        """Beside it where the file is gone."""
        self.remove.setIcon(icon("remove"))
        self.remove.setAutoRaise(True)
        self.remove.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.remove.setAccessibleName(f"Remove {path.stem} from the list")
        self.remove.setToolTip("Remove it from the list.")
        self.remove.hide()
        self._below = path.parent.name
        self.setText(path.stem)
        self.setAccessibleName(path.stem)
        self.setToolTip(plain_tip(str(path)))

    def look(self) -> None:
        """See whether it is still there, and when it was saved."""
        super().look()
        try:
            found = self.path.stat()
        except (OSError, ValueError):
            self.missing = True
            self._below = f"not found in {self.path.parent.name or self.path.parent}"
        else:
            self.missing = not stat.S_ISREG(found.st_mode)
            when = saved_when(datetime.fromtimestamp(found.st_mtime, tz=UTC).astimezone(), now())
            self._below = f"{when}, {self.path.parent.name or self.path.parent}"
        self._tell()

    def _tell(self) -> None:
        self.setEnabled(not self.missing)
        self.remove.setVisible(self.missing)
        self.setAccessibleName(f"{self.text()}, {self._below}")
        self.update()

    def sizeHint(self) -> QSize:
        """Two lines."""
        return QSize(160, 44)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw a folder, the name, and below it when and where."""
        theme = current_theme()
        painter = QPainter(self)
        self.draw_frame(painter)
        key, ink = ("wrong", theme.slight) if self.missing else ("folder", theme.accent)
        picture = shared_picture(key, ink, theme.field, self.devicePixelRatioF())
        painter.drawPixmap(10, (self.height() - SIZE) // 2, picture)
        left, wide = 36, self.width() - 36 - 8
        for top, size, tint, text in (
            (3, "text", theme.faint if self.missing else theme.ink, self.text()),
            (22, "small", theme.slight if self.missing else theme.faint, self._below),
        ):
            font = sized(self.font(), size)
            painter.setFont(font)
            painter.setPen(pen(tint))
            words = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideMiddle, wide)
            painter.drawText(QRect(left, top, wide, 19), int(Qt.AlignmentFlag.AlignVCenter), words)
        painter.end()


class SampleChoice(_Choice):
    """A sample: its picture, its name, and a mark where it drags."""

    def __init__(self, sample: Sample) -> None:
        super().__init__()
        self.sample = sample
        self.design: Design | None = None
        self.faulty = False
        self.wide = False
        """Whether the words stand beside the picture."""
        name, _, self._more = sample.title.partition(", ")
        self.setText(name)
        self.setToolTip(sample.sentence)
        self.setAccessibleName(sample.title)
        self.setAccessibleDescription(sample.sentence)

    def look(self) -> None:
        """Read the design, and see whether it drags."""
        super().look()
        self.design = sample_design(self.sample.key)
        self.faulty = not Facts(self.design).check.aligned
        if self.faulty:
            self.setToolTip(plain_tip(f"{self.sample.sentence}\nIt drags over part of the range."))
            self.setAccessibleName(f"{self.sample.title}, drags")
        self.update()

    def show_wide(self, *, wide: bool) -> None:
        """Put the words beside the picture, or below it."""
        if wide != self.wide:
            self.wide = wide
            self.updateGeometry()
            self.update()

    def sizeHint(self) -> QSize:
        """A picture with three lines of words."""
        return QSize(160, 60) if self.wide else QSize(96, 112)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw picture, words and mark."""
        theme, ratio = current_theme(), self.devicePixelRatioF()
        painter = QPainter(self)
        self.draw_frame(painter)
        picture = QRect(4, 4, 56, self.height() - 8) if self.wide else QRect(4, 6, self.width() - 8, 54)
        if self.design is not None:
            painter.drawImage(
                picture.topLeft(),
                small_picture(self.design, theme, picture.width(), picture.height(), ratio),
            )
        if self.faulty:
            mark = shared_picture("wrong", theme.bad, theme.field, ratio)
            painter.drawPixmap(self.width() - SIZE - 6, 6, mark)
        side = Qt.AlignmentFlag.AlignLeft if self.wide else Qt.AlignmentFlag.AlignHCenter
        words = QRect(66, 6, self.width() - 66 - 24, 50) if self.wide else QRect(4, 62, self.width() - 8, 48)
        flags = int(side | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap)
        font = sized(self.font(), "small", strong=True)
        painter.setFont(font)
        painter.setPen(pen(theme.ink))
        taken = painter.boundingRect(words, flags, self.text())
        painter.drawText(words, flags, self.text())
        painter.setFont(sized(self.font(), "small"))
        painter.setPen(pen(theme.faint))
        words.setTop(taken.bottom() + 2)
        painter.drawText(words, flags, self._more)
        painter.end()


def now() -> datetime:
    """The time here."""
    return datetime.now(tz=UTC).astimezone()


def saved_when(then: datetime, today: datetime) -> str:
    """When something was saved, in few words: ``today 09:05``, ``Monday``, ``1 February 2026``."""
    days = (today.date() - then.date()).days
    if days in (0, 1):
        return f"{'yesterday' if days else 'today'} {then:%H:%M}"
    return f"{then:%A}" if 0 < days < 7 else f"{then.day} {then:%B %Y}"


class StartPage(QWidget):
    """What a person may begin with: numbers, a file, a sample, or nothing."""

    made = Signal(object)
    """An `app.dialogs.first_chassis.Made`."""
    sample_asked = Signal(str)
    file_asked = Signal(object)
    """A path."""
    file_forgotten = Signal(object)
    """A path that is to leave the list of recent files."""
    open_asked = Signal()
    empty_asked = Signal()
    left = Signal()
    """Back to the chassis that is open."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self._can_leave = False
        self._working = False
        self._small = (False, False)
        self.title = plain_label("What have you got?")
        self.back = QPushButton("&Back to the chassis")
        self.back.setToolTip("Leave this page; Esc does it too.")
        self.back.setAutoDefault(True)
        self.back.clicked.connect(self.left)
        self.form = FirstChassisForm(settings.length_unit)
        self.form.made.connect(self.made)
        self.form.empty_asked.connect(self.empty_asked)
        self.picture = FirstChassisPicture(self.form)
        self.files: list[FileChoice] = []
        self.samples = [SampleChoice(sample) for sample in SAMPLES]
        self._lay_out()
        self._dress()
        self.begin(settings, can_leave=False)

    @property
    def unit(self) -> LengthUnit:
        """The unit that the person chose here."""
        return self.form.unit

    # Parts -----------------------------------------------------------------------------

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.back)
        numbers, shown, self.side = Card("From numbers"), Card("This is what you get"), Card("")
        numbers.column.addWidget(self.form, 1)
        numbers.setFixedWidth(_FORM_WIDTH)
        shown.column.addWidget(self.picture, 1)
        self.side.column.addWidget(Column(self._choices()), 1)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        columns.addWidget(numbers)
        columns.addWidget(shown, 1)
        columns.addWidget(self.side)
        self._page = QVBoxLayout(self)
        self._page.addLayout(head)
        self._page.addLayout(columns, 1)

    def _choices(self) -> QWidget:
        inner = QWidget()
        self.open = QPushButton("&Open a file…")
        self.open.setAutoDefault(True)
        self.open.setMinimumHeight(32)
        self.open.setToolTip("Choose a chassis that was saved.")
        self.open.clicked.connect(self.open_asked)
        self._file_rows = QVBoxLayout()
        self._file_rows.setSpacing(8)
        self._go_on, self._or = plain_label("Go on with"), plain_label("Or start from a sample")
        self._tiles = QGridLayout()
        self._tiles.setSpacing(8)
        for tile in self.samples:
            tile.clicked.connect(lambda _on=False, key=tile.sample.key: self.sample_asked.emit(key))
        column = QVBoxLayout(inner)
        column.setContentsMargins(12, 15, 12, 12)
        column.setSpacing(8)
        column.addWidget(self._go_on)
        column.addLayout(self._file_rows)
        column.addWidget(self.open)
        column.addSpacing(12)
        column.addWidget(self._or)
        column.addLayout(self._tiles)
        column.addStretch(1)
        return inner

    def _list_files(self, settings: Settings) -> None:
        """Make the rows of the recent files anew."""
        for choice in self.files:
            _drop(choice)
        self.files = [FileChoice(Path(text)) for text in settings.recent_files[:_MOST_FILES]]
        before: QWidget = self.picture.notes
        for choice in self.files:
            choice.clicked.connect(lambda _on=False, path=choice.path: self.file_asked.emit(path))
            choice.remove.clicked.connect(lambda _on=False, c=choice: self._forget(c))
            both = QWidget()
            row = QHBoxLayout(both)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(4)
            row.addWidget(choice, 1)
            row.addWidget(choice.remove)
            self._file_rows.addWidget(both)
            for stop in (choice, choice.remove):
                QWidget.setTabOrder(before, stop)
                before = stop
        QWidget.setTabOrder(before, self.open)
        self._go_on.setText("Go on with" if self.files else "Go on with a file")

    def _forget(self, choice: FileChoice) -> None:
        """Take a file that is gone off the list."""
        self.files.remove(choice)
        next((other for other in self.files if other.isEnabled()), self.open).setFocus()
        _drop(choice)
        self.file_forgotten.emit(choice.path)

    # What happens ------------------------------------------------------------------------

    def begin(self, settings: Settings, *, can_leave: bool) -> None:
        """Be shown anew: with the recent files of now, the numbers as they were left, the keys on the name.

        Parameters
        ----------
        settings
            Recent files are taken from them.
        can_leave
            Whether there is a chassis to go back to.
        """
        self._can_leave = can_leave
        self.back.setVisible(can_leave)
        for card in self.findChildren(Card):
            card.paint()  # what is hidden is not told of light and dark
        self._dress()
        self._list_files(settings)
        self.form.begin(settings.length_unit)
        if self.isVisible():
            self._work_later()

    def leave(self) -> None:
        """Leave no search behind, where the page is left or the window closes."""
        self.form.leave()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back with Escape, where there is something to go back to."""
        if event.key() == Qt.Key.Key_Escape and self._can_leave:
            self.leave()
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Look for files and samples after the first picture."""
        super().showEvent(event)
        self._work_later()

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave no search behind; a window that is only made small keeps it."""
        super().hideEvent(event)
        if not event.spontaneous():
            self.leave()

    def _work_later(self) -> None:
        if not self._working:
            self._working = True
            QTimer.singleShot(0, self, self._work)

    def _work(self) -> None:
        """Look at one thing that could wait, then let the window breathe."""
        self._working = False
        waiting = next((one for one in (*self.files, *self.samples) if not one.known), None)
        if waiting is not None and self.isVisible():
            waiting.look()
            self._work_later()

    # Look ----------------------------------------------------------------------------------

    def _dress(self) -> None:
        self.title.setFont(sized(self.font(), "title", strong=True))
        for label in (self._go_on, self._or):
            label.setFont(sized(self.font(), "text", strong=True))
        self.open.setIcon(icon("folder"))
        self.back.setIcon(icon("back"))

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._dress()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make the right column narrow in a narrow window, and the margins small in a low one."""
        super().resizeEvent(event)
        narrow, low = self.width() < _NARROW, self.height() < _LOW
        if event.oldSize().isValid() and (narrow, low) == self._small:
            return
        self._small = (narrow, low)
        self.side.setFixedWidth(_NARROW_SIDE if narrow else _SIDE_WIDTH)
        across = 16 if narrow else 32
        self._page.setContentsMargins(across, 8 if low else 16, across, 8 if low else 16)
        self._page.setSpacing(8 if low else 16)
        self.form.later.setVisible(not low)
        for i, tile in enumerate(self.samples):
            tile.show_wide(wide=narrow)
            self._tiles.addWidget(tile, i if narrow else i // 2, 0 if narrow else i % 2)


def _drop(choice: FileChoice) -> None:
    """Take a row out of its page, and away once nobody is calling it."""
    row = choice.parentWidget()
    if row is not None:
        row.hide()
        row.setParent(None)
        row.deleteLater()
