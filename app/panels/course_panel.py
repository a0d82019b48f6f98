"""The course of the chassis that is driven: where the robot starts, and what stands in its way."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QComboBox, QFormLayout, QGridLayout, QPushButton, QVBoxLayout, QWidget

from app.design import driving_edits, obstacle_edits
from app.document import Document
from app.drive_session import session_of
from app.panels.form import (
    ANGLE,
    LENGTH,
    FieldMaker,
    add_row,
    add_with_reason,
    choice,
    list_entries,
    name_field,
    set_choice,
    show_field,
)
from app.panels.panel import Panel
from app.picture.view import View
from app.plain import plain_label, plain_tip
from app.units import LengthUnit
from geometry.model.driving import OBSTACLE_KINDS, OF_OBSTACLE, Course, ObstacleKind

_START = (
    (LENGTH, "start_x_mm", "Start x", "Origin of the chassis at the start. -100 000 to 100 000 mm."),
    (
        LENGTH,
        "start_y_mm",
        "Start y",
        "Origin of the chassis at the start, left positive. -100 000 to 100 000 mm.",
    ),
    (
        ANGLE,
        "start_heading_deg",
        "Start heading",
        "Heading at the start, left positive. -180 to 180 degrees.",
    ),
)
_OBSTACLE = (
    (LENGTH, "x_mm", "Obstacle x", "Its middle, in the frame of the course. -100 000 to 100 000 mm."),
    (LENGTH, "y_mm", "Obstacle y", "Its middle, left positive. -100 000 to 100 000 mm."),
    (ANGLE, "turn_deg", "Obstacle turned by", "Turned about its middle. -180 to 180 degrees."),
    (
        LENGTH,
        "length_mm",
        "Obstacle length",
        "Along its own x; of a gate between its posts. 0.1 to 100 000 mm.",
    ),
    (LENGTH, "width_mm", "Obstacle width", "Across; diameter of posts. 0.1 to 100 000 mm."),
)


class CoursePanel(Panel):
    """Start and obstacles of the course that is driven; ready ones are kept first, then changed."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._session = session_of(document)
        self._maker = FieldMaker(document)
        self.why = plain_label()
        self.why.setWordWrap(True)
        self.new = QPushButton("New course")
        self.new.setToolTip("Add an empty course to the chassis, and drive there.")
        self.new.clicked.connect(self._new)
        self.remove = QPushButton("Delete course")
        self.remove.setToolTip("Delete this course from the chassis.")
        self.remove.clicked.connect(self._remove)
        self.name = name_field(
            document, "Course's name", "Name, unique among the courses; up to 40 characters.", self._rename
        )
        self.start = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask(k, v))  # type: ignore[misc]
            for measure, key, name, tip in _START
        }
        self.which = choice(
            "Obstacle", "The obstacle that is chosen on the course, whose numbers are shown below."
        )
        self.which.setPlaceholderText("none chosen")
        self.which.activated.connect(self._session.pick)
        self.kind = choice("Obstacle's kind", "A wall, a post, a box, or a gate of two posts.")
        for kind in OBSTACLE_KINDS:
            self.kind.addItem(kind.capitalize(), kind)
        self.kind.activated.connect(lambda i: self._ask_obstacle("kind", OBSTACLE_KINDS[i]))
        for box in (self.which, self.kind):
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.fields = {
            key: self._maker.make(measure, name, tip, lambda v, k=key: self._ask_obstacle(k, v))  # type: ignore[misc]
            for measure, key, name, tip in _OBSTACLE
        }
        self._lay_out()
        self._session.state_changed.connect(self.refresh)
        self._session.chosen_changed.connect(self.refresh)
        self.show_view(document.view)

    def _lay_out(self) -> None:
        top, adding = QGridLayout(), QGridLayout()
        top.addWidget(self.new, 0, 0)
        top.addWidget(self.remove, 0, 1)
        self.adds = {}
        for n, kind in enumerate(OBSTACLE_KINDS):
            button = self.adds[kind] = QPushButton(f"Add {kind}")
            tip = f"Add a {kind} in the middle of what is seen of the course; the mouse then drags it there."
            button.setToolTip(plain_tip(tip))
            button.clicked.connect(lambda _on=False, k=kind: self._add(k))
            adding.addWidget(button, 0, n)
        self.delete = QPushButton("Delete obstacle")
        self.delete.setToolTip("Delete the obstacle that is shown.")
        self.delete.clicked.connect(self._delete)
        self.body = QWidget()
        inner = QVBoxLayout(self.body)
        inner.setContentsMargins(0, 0, 0, 0)
        self.form = QFormLayout()
        add_with_reason(self.form, "Course's name", self.name)
        for box in self.start.values():
            add_row(self.form, box)
        self.form.addRow("Obstacle", self.which)
        self.form.addRow("Obstacle's kind", self.kind)
        for box in self.fields.values():
            add_row(self.form, box)
        inner.addLayout(self.form)
        inner.addLayout(adding)
        inner.addWidget(self.delete)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 4, 12, 12)
        column.addWidget(self.why)
        column.addLayout(top)
        column.addWidget(self.body)

    def set_unit(self, unit: LengthUnit) -> None:
        """Show lengths in another unit."""
        self._maker.set_unit(unit)
        self.refresh()

    def summary(self, view: View) -> str:
        """How many obstacles there are."""
        index = self._index(view)
        if index < 0:
            return "ready one" if self._session.course_name else "none"
        count = len(view.design.driving.courses[index].obstacles)
        return "1 obstacle" if count == 1 else f"{count} obstacles"

    def _index(self, view: View) -> int:
        """Number of the course of the chassis that is driven; -1 for a ready one or none."""
        number = self._session.own_course(view.design)
        return -1 if number is None else number

    def show_view(self, view: View) -> None:
        """Show the course of this design."""
        index = self._index(view)
        self.body.setVisible(index >= 0)
        self.remove.setEnabled(index >= 0)
        self.why.setVisible(index < 0)
        ready = bool(self._session.course_name)
        self.why.setText(
            'A ready course is changed once it is kept: press "Keep with the chassis" above.'
            if ready
            else "Choose a course above, or make a new one."
        )
        if index >= 0:
            self._show_course(view.design.driving.courses[index], index)

    def _show_course(self, course: Course, index: int) -> None:
        self.name.show_value(course.name, index)
        for key, box in self.start.items():
            box.show_value(getattr(course, key), index)
        list_entries(self.which, [f"{n}: {obstacle.kind}" for n, obstacle in enumerate(course.obstacles, 1)])
        now = self._chosen(course)
        set_choice(self.which, -1 if now is None else now)
        found = None if now is None else course.obstacles[now]
        self.form.setRowVisible(self.which, bool(course.obstacles))
        self.form.setRowVisible(self.kind, found is not None)
        self.delete.setVisible(found is not None)
        for key, box in self.fields.items():
            there = found is not None and (
                key not in ("length_mm", "width_mm") or key in OF_OBSTACLE[found.kind]
            )
            value = getattr(found, key) if found is not None else None
            show_field(self.form, box, value, (index, now), there=there)
        if found is not None:
            set_choice(self.kind, OBSTACLE_KINDS.index(found.kind))

    def _chosen(self, course: Course) -> int | None:
        """Number of the obstacle that is chosen."""
        now = self._session.chosen
        return now if isinstance(now, int) and now < len(course.obstacles) else None

    # What is asked ---------------------------------------------------------------------------

    def _edit(self, label: str, edit: Any, merge_key: str | None = None) -> bool:
        index = self._index(self._document.view)
        return index >= 0 and self._document.edit(label, lambda d: edit(d, index), merge_key=merge_key)

    def _new(self) -> None:
        count = len(self._document.design.driving.courses)
        if self._document.edit("Add course", driving_edits.add_course):
            self._session.choose(course=self._document.design.driving.courses[count].name)

    def _remove(self) -> None:
        if self._edit("Delete course", driving_edits.delete_course):
            self._session.choose(course="")

    def _rename(self, name: str) -> bool:
        before, self._session.course_name = self._session.course_name, name
        index = [course.name for course in self._document.design.driving.courses].index(before)
        done = self._document.edit(
            "Rename course",
            lambda d: driving_edits.change_course(d, index, name=name),
            merge_key=f"course {index}",
        )
        if not done:
            self._session.course_name = before
        return done

    def _ask(self, key: str, value: Any) -> bool:
        return self._edit(
            "Change the start",
            lambda d, i: driving_edits.change_course(d, i, **{key: value}),
            f"course {key}",
        )

    def _ask_obstacle(self, key: str, value: Any) -> bool:
        now = self._session.chosen
        return isinstance(now, int) and self._edit(
            "Change obstacle",
            lambda d, i: driving_edits.change_obstacle(d, i, now, **{key: value}),
            f"obstacle {now} {key}",
        )

    def _add(self, kind: ObstacleKind) -> None:
        index = self._index(self._document.view)
        if index < 0:
            return
        course = self._document.design.driving.courses[index]
        added = obstacle_edits.new_obstacle(self._document.design, course, kind, self._session.middle)
        if self._edit(f"Add {kind}", lambda d, i: driving_edits.add_obstacle(d, i, added)):
            self._session.pick(len(course.obstacles))

    def _delete(self) -> None:
        now = self._session.chosen
        if isinstance(now, int):
            self._edit("Delete obstacle", lambda d, i: driving_edits.delete_obstacles(d, i, [now]))
