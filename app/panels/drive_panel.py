"""How the robot is driven on the screen: its course, its speed, and the parts of its code that act."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QLabel, QPushButton, QVBoxLayout

from app.design import driving_edits
from app.document import Document
from app.drive_session import DriveSession, Hand, session_of
from app.panels.form import LENGTH, NUMBER, FieldMaker, add_row, add_unseen_label, choice, set_choice
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.simulation.frame import Frame
from app.simulation.game_pad import MISSING, installed
from app.units import LengthUnit, show_length, show_number
from geometry.model.controller import PARTS, Part

_ABOUT = (
    "Arrow keys or W, A, S and D drive while they are held, Shift drives faster, Space stops. "
    "A drag of the mouse on the ground is one stick. On a course of the chassis, drag an obstacle to move it."
)
_PART_WORDS: dict[Part, tuple[str, str]] = {
    "mixing": ("Mix one stick", "One stick, throttle and turn, steers; without it each side has its own."),
    "dead_band": ("Dead band", "Small inputs count as none."),
    "scaling": ("Slow down evenly", "All drives slow down where one would pass its usable speed."),
    "clamp": ("Stay within the travel", "Steering targets are held within the travel."),
    "limiter": ("Limit the steering's speed", "Steering targets move no faster than their motors can."),
    "hold": ("Hold the drive while it steers", "The drive waits until every wheel is near its angle."),
}
_HANDS: dict[Hand, str] = {
    "keys": "keys and mouse",
    "one stick": "game pad, one stick",
    "two sticks": "game pad, a stick for each side",
}
_HAND_TIP = "A game pad drives beside keys and mouse. Pushing a stick begins a drive, any button stops."
_NO_MIXING = "The code does not mix one stick, so each side has a stick of its own."


class DrivePanel(Panel):
    """Course, speeds, parts of the code, and what was touched."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._session = session_of(document)
        self._maker = FieldMaker(document)
        self._unit: LengthUnit = "mm"
        self.course = choice(
            "Course", "What stands in the way; ready ones are as large as the chassis needs them."
        )
        self.course.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.course.activated.connect(self._choose_course)
        self.keep = QPushButton("Keep with the chassis")
        self.keep.setToolTip("Save this ready course with the chassis, where it can be changed.")
        self.keep.clicked.connect(self._keep_course)
        self.hand = choice("Drive by", _HAND_TIP)
        self.hand.addItems(list(_HANDS.values()))
        self.hand.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.hand.activated.connect(lambda i: self._session.drive_by(list(_HANDS)[i]))
        if not installed():
            self.hand.setEnabled(False)
            self.hand.setToolTip(plain_tip(MISSING))
        self.pad = plain_label()
        self.pad.setWordWrap(True)
        self.speed = self._maker.make(
            LENGTH,
            "Full speed, a second",
            "Rolling speed of the faster side at full command, in a second. 0.1 to 20 000 mm.",
            lambda v: self._ask("full_speed_mm_s", v),
        )
        self.ramp = self._maker.make(
            NUMBER,
            "Ramp, s",
            "Time in which a drive motor goes from rest to full. 0 to 60 s.",
            lambda v: self._ask("ramp_s", v),
        )
        self.period = self._maker.make(
            NUMBER,
            "Controller's period, ms",
            "Time from one step of the robot's controller to the next. A whole number from 2 to 50 ms.",
            self._ask_period,
        )
        self.parts: dict[Part, QCheckBox] = {}
        self.told: QLabel = plain_label()
        self.told.setWordWrap(True)
        self._lay_out()
        self._session.state_changed.connect(self.refresh)
        self._session.frame_changed.connect(self._show_frame)
        self._session.refused.connect(document.message)
        self.show_view(document.view)

    def _lay_out(self) -> None:
        about = plain_label(_ABOUT)
        about.setWordWrap(True)
        form = QFormLayout()
        form.addRow("Course", self.course)
        form.addRow(self.keep)
        add_row(form, self.speed)
        add_row(form, self.ramp)
        add_row(form, self.period)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 4, 12, 8)
        column.addWidget(self.hand)
        add_unseen_label(self.hand)
        column.addWidget(about)
        column.addWidget(self.pad)
        column.addLayout(form)
        head = plain_label("What the robot's code does; untick a part to see what it is good for:")
        head.setWordWrap(True)
        column.addWidget(head)
        for part in PARTS:
            words, tip = _PART_WORDS[part]
            box = self.parts[part] = QCheckBox(words)
            box.setToolTip(plain_tip(tip))
            box.clicked.connect(self._leave_out)
            column.addWidget(box)
        column.addWidget(self.told)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._unit = unit
        self._maker.set_unit(unit)
        self._show_frame(self._session.frame)

    def summary(self, view: View) -> str:  # noqa: ARG002 - the panel's way
        """Which course it is."""
        return self._session.course_name or "empty plane"

    def show_view(self, view: View) -> None:
        """Show the settings of this design."""
        self._show_hand()
        names = ["empty plane", *self._session.course_names()]
        if [self.course.itemText(i) for i in range(self.course.count())] != names:
            self.course.clear()
            self.course.addItems(names)
        now = self._session.course_name
        set_choice(self.course, names.index(now) if now in names else 0)
        own = {course.name for course in view.design.driving.courses}
        self.keep.setEnabled(bool(now) and now not in own)
        self.speed.show_value(view.design.driving.full_speed_mm_s)
        self.ramp.show_value(view.design.driving.ramp_s)
        controller = view.design.controller
        self.period.show_value(controller.period_ms)
        for part, box in self.parts.items():
            has = bool(getattr(controller, part))
            box.setEnabled(has)
            box.setChecked(has and part not in self._session.without)
            tip = _PART_WORDS[part][1]
            box.setToolTip(plain_tip(tip if has else f"{tip} The code of this chassis leaves it out."))

    def _show_hand(self) -> None:
        session = self._session
        one = list(_HANDS).index("one stick")
        item = self.hand.model().item(one)  # type: ignore[attr-defined]  # that of a list of texts
        item.setEnabled(session.mixes)
        item.setToolTip(plain_tip("" if session.mixes else _NO_MIXING))
        set_choice(self.hand, list(_HANDS).index(_hand_of(session)))
        self.pad.setText(_pad_words(session))
        self.pad.setVisible(bool(self.pad.text()))

    def _show_frame(self, frame: Frame | None) -> None:
        if frame is None or not frame.contacts:
            self.told.setText("" if frame is None else "Nothing was touched so far.")
            return
        lines = []
        for one in frame.contacts[:8]:
            x, y = (show_length(v, self._unit, of_mm=0) for v in (one.x_mm, one.y_mm))
            place = f"x {x}, y {y}"
            lines.append(f"▲ {one.name} touches a {one.kind} at {show_number(one.time_s, 1)} s, {place}.")
        self.told.setText("\n".join(lines))

    def _ask(self, key: str, value: float) -> bool:
        return self._document.edit(
            "Change how it drives",
            lambda d: driving_edits.change_driving(d, **{key: value}),
            merge_key=f"driving {key}",
        )

    def _ask_period(self, value: float) -> bool:
        whole = int(value) if value == int(value) else value
        return self._document.edit(
            "Change the controller's period",
            lambda d: d.edited(controller=d.controller.edited(period_ms=whole)),
            merge_key="period",
        )

    def _choose_course(self, index: int) -> None:
        self._session.choose(course="" if index == 0 else self.course.itemText(index))

    def _keep_course(self) -> None:
        course = self._session.course
        if course is not None:
            self._document.edit("Keep the course", lambda d: driving_edits.add_course(d, course))

    def _leave_out(self) -> None:
        out = [part for part, box in self.parts.items() if box.isEnabled() and not box.isChecked()]
        self._session.leave_out(out)


def _hand_of(session: DriveSession) -> Hand:
    """By what is driven: one stick wants code that mixes it."""
    return "two sticks" if session.hand == "one stick" and not session.mixes else session.hand


def _pad_words(session: DriveSession) -> str:
    """Which pads there are and what they do, for the person."""
    if session.hand == "keys" or session.pads is None:
        return ""
    if not session.pads:
        return "No game pad is plugged in yet."
    does = "its left stick drives" if _hand_of(session) == "one stick" else "each stick drives its side"
    why = f" {_NO_MIXING}" if not session.mixes else ""
    return f"{', '.join(session.pads)}: {does}, any button stops.{why}"
