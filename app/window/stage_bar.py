"""The stages in a bar: where the work is, how far each stage has come, and the way to each."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import QAction, QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QToolButton, QWidget

from app.icons import SIZE, icon, shared_picture
from app.panels.registry import Stage
from app.plain import plain_tip
from app.theme import colour, current_theme, pen, sized
from app.window.stages import STAGES, StageSpec, is_shown
from app.words.stage_states import Mark, StageState

HEIGHT, LOW_HEIGHT = 48, 36
_WIDEST, _NARROW_WINDOW = 168, 1180
_LEFT, _WORDS_LEFT, _BAR = 12, 36, 3


class StageButton(QAbstractButton):
    """One stage: its icon and name, and below them its mark and state."""

    def __init__(self, spec: StageSpec) -> None:
        super().__init__()
        self.spec = spec
        self.state = StageState("open", "")
        self.setCheckable(True)
        self.setText(spec.title)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def show_state(self, state: StageState) -> None:
        """Show how far it has come."""
        if state != self.state:
            self.state = state
            self.setAccessibleName(f"{self.spec.title}: {state.words}")
            self.setToolTip(plain_tip(f"{self.spec.tip} Now: {state.words}. ({self.spec.shortcut})"))
            self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the arrow keys to the bar: Qt would go on to what is no stage."""
        if event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        """The bar gives the width."""
        return QSize(_WIDEST, HEIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw ground, icon, name, mark and state."""
        theme = current_theme()
        painter = QPainter(self)
        here = self.isChecked()
        if here:
            painter.fillRect(self.rect(), colour(theme.panel))
            painter.fillRect(QRect(0, 0, self.width(), _BAR), colour(theme.accent))
        elif self.underMouse() and self.isEnabled():
            painter.fillRect(self.rect(), colour(theme.soft))
        ratio, ground = self.devicePixelRatioF(), theme.panel if here else theme.window
        line = self.height() // 2
        top = (line - SIZE) // 2 + 2
        ink = theme.accent if here else theme.ink
        painter.drawPixmap(_LEFT, top, shared_picture(self.spec.key, ink, ground, ratio))
        self._write(painter, self.text(), theme.ink, QRect(0, 2, 0, line), strong=here)
        tint = _tint(self.state.mark)
        low = line + (line - 12) // 2 - 2
        mark = shared_picture(self.state.mark, tint, ground, ratio)
        painter.drawPixmap(QRect(_LEFT + 2, low, 12, 12), mark)
        self._write(painter, self.state.words, tint, QRect(0, line - 2, 0, line), small=True)
        painter.end()

    def _write(
        self,
        painter: QPainter,
        text: str,
        ink: str,
        where: QRect,
        *,
        strong: bool = False,
        small: bool = False,
    ) -> None:
        font = sized(self.font(), "small" if small else "text", strong=strong)
        painter.setFont(font)
        painter.setPen(pen(ink))
        room = self.width() - _WORDS_LEFT - 4
        words = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, room)
        where.setLeft(_WORDS_LEFT)
        where.setWidth(room)
        painter.drawText(where, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, words)


def _tint(mark: Mark) -> str:
    theme = current_theme()
    return {"done": theme.good, "slight": theme.slight, "wrong": theme.bad}.get(mark, theme.faint)


class StageBar(QWidget):
    """A button for each stage, and at the right what is wanted in every one of them."""

    asked = Signal(str)
    """Key of the stage that the person wants."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Stages")
        self.setAutoFillBackground(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.buttons: dict[Stage, StageButton] = {}
        self.tools: list[QToolButton] = []
        self._layout = QHBoxLayout(self)
        self._layout.setContentsMargins(8, 0, 8, 0)
        self._layout.setSpacing(0)
        for spec in filter(lambda row: is_shown(row.key), STAGES):
            button = self.buttons[spec.key] = StageButton(spec)
            button.clicked.connect(lambda _on=False, key=spec.key: self.asked.emit(key))
            self._layout.addWidget(button)
        self._layout.addStretch(1)

    def add_tools(self, actions: Mapping[str, QAction]) -> None:
        """Put actions at the right."""
        for key, action in actions.items():
            button = QToolButton()
            button.setDefaultAction(action)
            button.setObjectName(key)
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            self._layout.addWidget(button)
            QWidget.setTabOrder([*self.buttons.values(), *self.tools][-1], button)
            self.tools.append(button)
        self.refresh_theme()

    def show_stage(self, stage: Stage) -> None:
        """Mark where the work is."""
        for key, button in self.buttons.items():
            button.setChecked(key == stage)

    def show_states(self, states: Mapping[Stage, StageState]) -> None:
        """Show how far each stage has come."""
        for key, button in self.buttons.items():
            button.show_state(states[key])

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        for button in self.tools:
            button.defaultAction().setIcon(icon(button.objectName()))
        self.update()

    def minimumSizeHint(self) -> QSize:
        """Less than the buttons take now: they follow the window, which else could not be made smaller."""
        return QSize(400, LOW_HEIGHT)

    def fit(self, window: QSize, *, low: bool) -> None:
        """Take the height and the widths that suit a window."""
        narrow = window.width() < _NARROW_WINDOW
        self.setFixedHeight(LOW_HEIGHT if low else HEIGHT)
        wide = (window.width() - (132 if narrow else 272)) // max(len(self.buttons), 1)
        for button in self.buttons.values():
            button.setFixedSize(min(wide // 8 * 8, _WIDEST), self.height())
        style = (
            Qt.ToolButtonStyle.ToolButtonIconOnly if narrow else Qt.ToolButtonStyle.ToolButtonTextBesideIcon
        )
        for tool in self.tools:
            tool.setToolButtonStyle(style)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go along the stages by the arrow keys."""
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        here = next((n for n, button in enumerate(self.buttons.values()) if button.hasFocus()), None)
        if step is None or here is None:
            super().keyPressEvent(event)
            return
        list(self.buttons.values())[(here + step) % len(self.buttons)].setFocus(Qt.FocusReason.TabFocusReason)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002
        """Draw the line below, open where the present stage is."""
        painter = QPainter(self)
        painter.setPen(pen(current_theme().line))
        foot = self.height() - 0.5
        painter.drawLine(QPointF(0, foot), QPointF(self.width(), foot))
        painter.end()

    def changeEvent(self, event: QEvent) -> None:
        """Follow another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the heights of the buttons."""
        super().resizeEvent(event)
        for button in self.buttons.values():
            button.setFixedHeight(event.size().height())
