"""What lies over the foot of the plan: a note for the person, and where the mouse is."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFont, QMouseEvent, QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.picture.view import View
from app.plain import plain_label
from app.theme import current_theme

NOTE_MS = 6_000
_WIDEST = 640
_MARGIN = 12
# Below it stay the scale bar and the place of the mouse [px].
_FOOT = 56
# Above it stays the group of tools [px].
_HEAD = 56
EMPTY_ACTIONS = (
    (
        "add",
        "Add wheels",
        "Add the first axle at the origin: a pair, or one wheel where Symmetry is off.",
    ),
    ("new", "New…", "Say how many wheels there are, their places and sizes."),
    ("body", "Body", "Begin with the body: its length and its width."),
)
"""Key of the action, text and tooltip of each button on the empty plan."""


class PlanNote(QFrame):
    """One sentence over the foot of the plan, with a button where undoing may be wanted at once."""

    undo_asked = Signal()
    covered = Signal(object)
    """Boxes of the plan that it covers now: left, top, right and bottom [px]."""

    def __init__(self, plan: QWidget) -> None:
        super().__init__(plan)
        self._refusal = False
        self.setObjectName("note")
        self.label = plain_label()
        self.label.setWordWrap(True)
        self.label.setAccessibleName("Note")
        self.label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.undo = QPushButton("Undo")
        self.undo.setToolTip("Take the last step back.")
        self.undo.clicked.connect(self.undo_asked)
        self.close_button = QPushButton("Close")
        self.close_button.setToolTip("Take this note away.")
        self.close_button.clicked.connect(self.clear)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 4, 6, 4)
        layout.addWidget(self.label, 1)
        layout.addWidget(self.undo)
        layout.addWidget(self.close_button)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(NOTE_MS)
        self._timer.timeout.connect(self.clear)
        self.hide()
        plan.installEventFilter(self)

    @property
    def text(self) -> str:
        """What it says; nothing where it is away."""
        return "" if self.isHidden() else self.label.text()

    def tell(self, text: str, *, undo: bool = False) -> None:
        """Say what was done; it goes away by itself."""
        self._show(text, refusal=False, undo=undo)
        self._timer.start()

    def stand_on(self, plan: QWidget) -> None:
        """Lie over the foot of another drawing from now on, with what it says."""
        before = self.parentWidget()
        if plan is before:
            return
        shown = not self.isHidden()
        if before is not None:
            before.removeEventFilter(self)
        self.covered.emit(())
        self.setParent(plan)
        plan.installEventFilter(self)
        if shown:
            self.show()
            self._place()
            self.raise_()

    def refuse(self, text: str) -> None:
        """Say why something was refused; it stays until it is cleared."""
        self._timer.stop()
        self._show(text, refusal=True, undo=False)

    def _show(self, text: str, *, refusal: bool, undo: bool) -> None:
        self._refusal = refusal
        self.label.setText(text)
        self.undo.setVisible(undo)
        self.refresh_theme()
        self.show()
        self._place()
        self.raise_()

    def clear(self) -> None:
        """Take it away, and leave the keyboard with the plan where a button of it had it."""
        plan = self.parentWidget()
        if self.isAncestorOf(self.window().focusWidget()) and plan is not None:
            plan.setFocus()
        self._timer.stop()
        self.hide()
        self.covered.emit(())

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        edge = theme.bad if self._refusal else theme.good
        self.setStyleSheet(
            f"#note {{ background: {theme.panel}; border: 1px solid {edge}; border-left-width: 6px; }}"
            f"#note QLabel {{ color: {theme.ink}; }}"
        )

    def _place(self) -> None:
        plan = self.parentWidget()
        if plan is None:
            return
        wide = min(_WIDEST, plan.width() - 2 * _MARGIN)
        buttons = [button for button in (self.undo, self.close_button) if not button.isHidden()]
        beside = sum(button.sizeHint().width() + 6 for button in buttons)
        words = self.label.heightForWidth(max(wide - beside - 24, 60))
        high = max(words, self.close_button.sizeHint().height()) + 10
        top = max(plan.height() - _FOOT - high, 0)
        self.setGeometry(_MARGIN, top, wide, high)
        if not self.isHidden():
            self.covered.emit(((_MARGIN, top, _MARGIN + wide, top + high),))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay at the foot of the plan."""
        if event.type() == QEvent.Type.Resize:
            self._place()
        return super().eventFilter(watched, event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Keep a press from the plan below."""
        event.accept()


class MousePlace(QWidget):
    """Where the mouse is, in the corner of the plan.

    Opaque and of fixed size: another text draws nothing of the plan anew.
    """

    def __init__(self, plan: QWidget) -> None:
        super().__init__(plan)
        self.label = plain_label()
        self.label.setParent(self)
        self.label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.label.setAutoFillBackground(True)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._inset = 0
        self.refresh_theme()
        self.hide()
        plan.installEventFilter(self)

    def keep_clear(self, inset: int) -> None:
        """Leave so much of the right foot of the plan to something else [px]."""
        if inset != self._inset:
            self._inset = inset
            self._place()

    @property
    def text(self) -> str:
        """The place as text; nothing while the mouse is elsewhere."""
        return self.label.text()

    def show_place(self, text: str) -> None:
        """Show a place."""
        self.label.setText(text)
        self.setVisible(bool(text))
        if self.label.sizeHint().width() > self.width():
            self._place()

    def sizeHint(self) -> QSize:
        """Room for its text, and for some more."""
        hint = self.label.sizeHint()
        return QSize(hint.width() + 12, hint.height() + 4)

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        # By the palette: a label with a style sheet counts as see-through, and the plan is drawn below it.
        theme, palette = current_theme(), self.label.palette()
        palette.setColor(QPalette.ColorRole.Window, QColor(theme.paper))
        palette.setColor(QPalette.ColorRole.WindowText, QColor(theme.faint))
        self.label.setPalette(palette)

    def _place(self) -> None:
        plan, hint = self.parentWidget(), self.sizeHint()
        if plan is not None:
            self.setGeometry(
                plan.width() - hint.width() - 6 - self._inset,
                plan.height() - hint.height() - 6,
                hint.width(),
                hint.height(),
            )
            self.label.setGeometry(self.rect())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay in the corner of the plan."""
        if event.type() == QEvent.Type.Resize:
            self._place()
        return super().eventFilter(watched, event)


class EmptyPlan(QFrame):
    """What to do on a plan without wheels, with buttons; it keeps off the middle, where one may click."""

    action_asked = Signal(str)
    """Key of the action of the window that a button stands for."""

    def __init__(self, plan: QWidget) -> None:
        super().__init__(plan)
        self.setObjectName("empty")
        self.setAccessibleName("What to do on the empty plan")
        self.title = plain_label("No wheels yet")
        self.label = plain_label("Click where your first axle is, or begin with your numbers.")
        self.label.setWordWrap(True)
        self.buttons: dict[str, QPushButton] = {}
        row = QHBoxLayout()
        row.setSpacing(8)
        for key, text, tip in EMPTY_ACTIONS:
            button = QPushButton(text)
            button.setToolTip(tip)
            button.clicked.connect(lambda _on=False, key=key: self.action_asked.emit(key))
            self.buttons[key] = button
            row.addWidget(button)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 14)
        layout.setSpacing(8)
        for label in (self.title, self.label):
            layout.addWidget(label)
        layout.addLayout(row)
        self.refresh_theme()
        plan.installEventFilter(self)

    def show_view(self, view: View) -> None:
        """Be there as long as there is no wheel."""
        empty = not view.design.wheels
        if empty == self.isHidden():
            if not empty:
                self._leave()
            self.setVisible(empty)
            self._place()

    def _leave(self) -> None:
        """Give the keyboard back to the plan where one of the buttons has it."""
        plan = self.parentWidget()
        if plan is not None and self.isAncestorOf(self.window().focusWidget()):
            plan.setFocus()

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        theme = current_theme()
        self.setStyleSheet(
            f"#empty {{ background: {theme.panel}; border: 1px solid {theme.line}; border-radius: 6px; }}"
            f"#empty QLabel {{ color: {theme.ink}; }}"
        )
        font = self.font()
        font.setWeight(QFont.Weight.DemiBold)
        self.title.setFont(font)

    def _place(self) -> None:
        plan = self.parentWidget()
        if plan is None:
            return
        wide = min(self.sizeHint().width(), plan.width() - 2 * _MARGIN)
        high = max(self.heightForWidth(wide), self.minimumSizeHint().height())
        # In the upper half, below what floats at the top; lower where the plan is too low for that.
        top = min(max(_HEAD, plan.height() // 4 - high // 2), max(plan.height() - high - _MARGIN, 0))
        self.setGeometry((plan.width() - wide) // 2, top, wide, high)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay in the upper half of the plan."""
        if event.type() == QEvent.Type.Resize:
            self._place()
        return super().eventFilter(watched, event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Keep a press from the plan below."""
        event.accept()
