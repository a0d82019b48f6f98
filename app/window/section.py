"""A section of the panel: a head that folds it, and a window of its own for a second screen."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QEvent, QRect, QSize, Qt, Signal
from PySide6.QtGui import QCloseEvent, QFontMetrics, QKeyEvent, QKeySequence, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from app.document import Document
from app.icons import SIZE, icon, shared_picture
from app.panels.form import scrolled
from app.panels.panel import Panel
from app.panels.registry import PanelSpec
from app.picture.view import View
from app.plain import plain_tip
from app.theme import colour, current_theme, pen, sized

_HEAD, _MARGIN = 32, 12
_CLOSE = QKeySequence("Ctrl+W")
# Keys of the main window that act on what is selected on the plan.
_OTHERS = (_CLOSE, *map(QKeySequence, ("Del", "Ins", "Ctrl+A", "Ctrl+D")))


class SectionHead(QAbstractButton):
    """Title, summary and chevron; a click folds or unfolds."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.summary = ""
        self.setText(title)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.toggled.connect(lambda _on: self._tell())
        self._tell()

    def show_summary(self, summary: str) -> None:
        """Show what the section holds, in a few words."""
        if summary != self.summary:
            self.summary = summary
            self._tell()

    def _tell(self) -> None:
        self.setAccessibleName(self.text())
        self.setAccessibleDescription(self.summary)
        act = "Fold it away" if self.isChecked() else "Unfold it"
        self.setToolTip(plain_tip(f"{self.text()}: {self.summary}. {act}." if self.summary else f"{act}."))
        self.update()

    def sizeHint(self) -> QSize:
        """One line."""
        return QSize(200, _HEAD)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the line above, the words and the chevron."""
        theme = current_theme()
        painter = QPainter(self)
        if self.underMouse():
            painter.fillRect(self.rect(), colour(theme.soft))
        painter.setPen(pen(theme.line))
        painter.drawLine(0, 0, self.width(), 0)
        strong, small = sized(self.font(), "text", strong=True), sized(self.font(), "small")
        key = "unfolded" if self.isChecked() else "folded"
        chevron = shared_picture(key, theme.faint, theme.panel, self.devicePixelRatioF())
        right = self.width() - SIZE - 4
        painter.drawPixmap(right, (self.height() - SIZE) // 2, chevron)
        room = right - 8 - _MARGIN
        words = QFontMetrics(strong).elidedText(self.text(), Qt.TextElideMode.ElideRight, room)
        taken = QFontMetrics(strong).horizontalAdvance(words) + 16
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.setFont(strong)
        painter.setPen(pen(theme.ink))
        painter.drawText(QRect(_MARGIN, 0, room, self.height()), middle | Qt.AlignmentFlag.AlignLeft, words)
        painter.setFont(small)
        painter.setPen(pen(theme.faint))
        rest = QFontMetrics(small).elidedText(self.summary, Qt.TextElideMode.ElideRight, room - taken)
        if len(rest) > 3:
            where = QRect(_MARGIN + taken, 0, room - taken, self.height())
            painter.drawText(where, middle | Qt.AlignmentFlag.AlignRight, rest)
        painter.end()


class OwnWindow(QWidget):
    """A window that holds one panel; keys of the main window hold in it too."""

    closed = Signal()

    def __init__(self, parent: QWidget, title: str, panel: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.Tool)
        self._panel = panel
        self.setWindowTitle(f"{title} – Axlewright")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scrolled(panel, both_ways=True))
        self.resize(max(panel.sizeHint().width(), 440), max(panel.sizeHint().height(), 320))

    def event(self, event: QEvent) -> bool:
        """Keep keys to itself that would change what is not in sight here, and the keyboard in sight."""
        over = event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent)
        if over and QKeySequence(event.keyCombination()) in _OTHERS:  # type: ignore[attr-defined]
            event.accept()
            return True
        if event.type() == QEvent.Type.WindowActivate:
            focus = self.focusWidget()
            if focus is not None and not focus.isVisible():
                focus.clearFocus()
                self._panel.setFocus(Qt.FocusReason.OtherFocusReason)
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close by the key that closes."""
        if QKeySequence(event.keyCombination()) == _CLOSE:
            self.close()
        else:
            super().keyPressEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Give the panel back."""
        self.closed.emit()
        event.accept()


class Section(QWidget):
    """A head, and below it a panel where it is unfolded and in its place."""

    changed = Signal()
    """It was folded, unfolded, taken out or put back by the person."""

    made = Signal(str, object)
    """Its `Panel` has just been made; the key of its row, and the panel."""

    def __init__(self, spec: PanelSpec, document: Document) -> None:
        super().__init__()
        self.spec = spec
        self._document = document
        self._panel: Panel | None = None
        self._here = False
        self.window_of_own: OwnWindow | None = None
        self.setAccessibleName(f"{spec.title} section")
        self.head = SectionHead(spec.title)
        self.head.clicked.connect(self._clicked)
        self.out = QToolButton()
        self.out.setAutoRaise(True)
        self.out.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.out.setAccessibleName(f"{spec.title} in a window of its own")
        self.out.setToolTip(plain_tip("Show it in a window of its own, for a second screen."))
        self.out.clicked.connect(self.take_out)
        row = QHBoxLayout()
        row.setSpacing(0)
        row.addWidget(self.head, 1)
        row.addWidget(self.out)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(0)
        self._layout.addLayout(row)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.refresh_theme()

    @property
    def panel(self) -> Panel:
        """The panel, made when it is first wanted: the window opens sooner without those of other stages."""
        if self._panel is None:
            panel = self._panel = self.spec.make(self._document)
            panel.setAccessibleName(self.spec.title)
            panel.setVisible(False)
            if self.spec.rests:
                panel.set_seen(seen=False)
            self._layout.addWidget(panel)
            self._keep_tab_order()
            self.made.emit(self.spec.key, panel)
            self._follow()
        return self._panel

    def stops(self) -> list[QWidget]:
        """What the keyboard may stop at in the panel, in the order of Tab."""
        found, start = [], self.out if self.window_of_own is None else self.panel
        stop = start.nextInFocusChain()
        while stop is not None and stop is not start:
            if self.panel.isAncestorOf(stop) and stop.focusPolicy() & Qt.FocusPolicy.TabFocus:
                found.append(stop)
            stop = stop.nextInFocusChain()
        return found

    def _keep_tab_order(self) -> None:
        """Have Tab come to the panel after its head: what is made or put back late would come last."""
        for before, after in pairwise([self.out, *self.stops()]):
            QWidget.setTabOrder(before, after)

    @property
    def panel_so_far(self) -> Panel | None:
        """The panel where it was wanted before."""
        return self._panel

    def make(self) -> None:
        """Make the panel, if it was not wanted so far, and say what it holds."""
        if not self.panel.isVisible():
            self.show_view(self._document.view)

    @property
    def waits(self) -> bool:
        """Whether it is in the stage of now, folded, and its panel was not wanted so far."""
        return self._here and self._panel is None

    @property
    def unfolded(self) -> bool:
        """Whether the panel is to be seen."""
        return self.head.isChecked()

    def _clicked(self) -> None:
        self._follow()
        self.changed.emit()

    def unfold(self, *, on: bool = True) -> None:
        """Show or hide the panel."""
        self.head.setChecked(on)
        self._follow()

    def show_here(self, *, here: bool) -> None:
        """Show the section in the stage of now, or hide it."""
        self._here = here
        self._follow()

    def _follow(self) -> None:
        """Hide what is not to be seen: then it takes no key, and works nothing out where it may rest."""
        out = self.window_of_own is not None
        seen = out or (self._here and self.unfolded)
        self.setVisible(self._here)
        if self._panel is None and not seen:
            return
        if self.spec.rests:
            self.panel.set_seen(seen=seen)
        self.panel.setVisible(seen)
        if seen:
            self.panel.refresh()

    def take_out(self) -> None:
        """Show the panel in a window of its own, or bring that to the front."""
        if self.window_of_own is None:
            self._layout.removeWidget(self.panel)
            self.window_of_own = OwnWindow(self.window(), self.spec.title, self.panel)
            self.window_of_own.closed.connect(self.put_back)
            self._follow()
            self.changed.emit()
        self.window_of_own.show()
        self.window_of_own.raise_()

    def put_back(self) -> None:
        """Show the panel in its place again."""
        own, self.window_of_own = self.window_of_own, None
        if own is None:
            return
        self._layout.addWidget(self.panel)
        self._keep_tab_order()
        own.hide()
        own.deleteLater()
        self._follow()
        self.changed.emit()

    def show_view(self, view: View) -> None:
        """Say in the head what the panel holds, once it is made; at rest only."""
        if self._here and self._panel is not None and not view.previewing:
            self.head.show_summary(self.panel.summary(view))

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.out.setIcon(icon("own window", faint=True))
        if self._panel is not None:
            self._panel.refresh_theme()
        self.update()
