"""What can be made from the design: each with what was made last, and a button to make it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QFrame, QGridLayout, QPushButton, QVBoxLayout

from app.design.made import MadeFile, What, latest
from app.document import Document
from app.icons import SIZE, icon, shared_picture
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.theme import current_theme, sized
from app.words.stage_states import Mark
from geometry.model.design import Design

_PAPER = "PDF on A4, or on Letter where you measure in inches."
_ITEMS: tuple[tuple[What, str, str, str, str, str], ...] = (
    (
        "table",
        "Steering table",
        "Every wheel's angle and speed at chosen turns, as comma-separated values.",
        "export",
        "Steering &table…",
        "",
    ),
    (
        "code",
        "Code for the controller",
        "Targets for motors and wheels: a MicroPython module, a C header, or data for other languages.",
        "export_code",
        "&Code…",
        "",
    ),
    (
        "plan",
        "Full-size plan",
        "To drill and cut by, over several sheets where one has no room.",
        "make_plan",
        "&Plan…",
        _PAPER,
    ),
    (
        "gauge",
        "Gauges",
        "A protractor for each steered wheel, to set it by.",
        "make_gauges",
        "&Gauges…",
        _PAPER,
    ),
    (
        "sheet",
        "Build sheet",
        "Every number and step for the builder, for a browser or on paper.",
        "make_sheet",
        "&Build sheet…",
        f"HTML, or {_PAPER}",
    ),
    (
        "drawing",
        "Drawing for other tools",
        "The plan as DXF, SVG or PNG, or the robot as URDF for simulators.",
        "make_drawing",
        "&Drawing…",
        "",
    ),
)
_CAUTION = (
    "First run with the wheels off the ground, fingers clear of the steering, a fused battery and a low "
    "speed. Not for road vehicles and not for carrying people."
)


class _Item(QFrame):
    """One thing that can be made."""

    def __init__(self, what: What, title: str, about: str, action: str, button: str, form: str) -> None:
        super().__init__()
        self.what: What = what
        self.action = action
        self.picture, self.mark = plain_label(), plain_label()
        self.title, self.about, self.state = plain_label(title), plain_label(about), plain_label()
        for label in (self.about, self.state):
            label.setWordWrap(True)
        self.button = QPushButton(button)
        self.button.setToolTip(plain_tip(f"{about} {form}".rstrip()))
        grid = QGridLayout(self)
        grid.setContentsMargins(12, 8, 12, 8)
        grid.setHorizontalSpacing(10)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(self.picture, 0, 0, top)
        grid.addWidget(self.title, 0, 1)
        grid.addWidget(self.button, 0, 2, 2, 1, top)
        grid.addWidget(self.about, 1, 1)
        grid.addWidget(self.mark, 2, 0, top)
        grid.addWidget(self.state, 2, 1, 1, 2)
        grid.setColumnStretch(1, 1)

    def show_made(self, made: MadeFile | None, *, fresh: bool) -> None:
        """Tell what was made last."""
        mark: Mark = "open"
        text = "not made yet"
        if made is not None:
            mark = "done" if fresh else "slight"
            changed = "" if fresh else "; the chassis has changed since"
            text = f"made {_when(made.at)}{changed}: {made.place}"
        self.state.setText(text)
        self.state.setToolTip(plain_tip(text))
        self._show_mark(mark)

    def _show_mark(self, mark: Mark) -> None:
        theme = current_theme()
        tint = {"done": theme.good, "slight": theme.slight}.get(mark, theme.faint)
        ratio = self.devicePixelRatioF()
        self.mark.setPixmap(shared_picture(mark, tint, theme.panel, ratio))
        made: QIcon = icon(self.action)
        self.picture.setPixmap(made.pixmap(SIZE, SIZE))
        self.title.setFont(sized(self.font(), "text", strong=True))
        for label in (self.about, self.state):
            label.setFont(sized(self.font(), "small"))
            label.setStyleSheet(f"color: {theme.faint};")


class BuildPanel(Panel):
    """The list of what can be made."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._made: Sequence[MadeFile] = ()
        self._found: dict[What, tuple[MadeFile | None, bool]] = {}
        self._found_for: Design | None = None
        self.items = {row[0]: _Item(*row) for row in _ITEMS}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 8)
        layout.setSpacing(0)
        self.caution = plain_label(_CAUTION)
        self.caution.setWordWrap(True)
        self.caution.setContentsMargins(12, 4, 12, 4)
        layout.addWidget(self.caution)
        for item in self.items.values():
            item.button.clicked.connect(lambda _on=False, key=item.action: self.action_asked.emit(key))
            layout.addWidget(item)
        self.show_view(document.view)

    def show_made(self, made: Sequence[MadeFile]) -> None:
        """Show what was made, the newest first."""
        self._made, self._found_for = made, None
        self.refresh()

    def summary(self, view: View) -> str:
        """How many of them are of this design."""
        fresh = sum(is_fresh for _, is_fresh in self._look_up(view.design).values())
        return f"{fresh} of {len(self.items)} made"

    def show_view(self, view: View) -> None:
        """Show what was made from this design."""
        if view.previewing:
            return
        for what, (made, fresh) in self._look_up(view.design).items():
            item = self.items[what]
            item.show_made(made, fresh=fresh)
            item.button.setEnabled(bool(view.design.wheels))

    def _look_up(self, design: Design) -> dict[What, tuple[MadeFile | None, bool]]:
        """What was made last, and whether from this design; looked up once for each design."""
        if self._found_for is not design:
            self._found_for = design
            self._found = {what: latest(self._made, what, design) for what in self.items}
        return self._found

    def refresh_theme(self) -> None:
        """Follow a change from light to dark or back."""
        self.refresh()


def _when(text: str) -> str:
    try:
        return f"{datetime.fromisoformat(text).astimezone():%d %B %Y at %H:%M}"
    except ValueError:
        return "before"
