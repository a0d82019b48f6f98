"""A machine that lays a course out by hand, undoes and types between, with what must hold after each act."""

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QKeyEvent

from app.design import driving_edits, obstacle_edits
from app.design.samples import sample_design
from app.document import Document
from app.drive_session import DriveSession
from app.views.camera import Camera
from app.views.course_hand import CourseHand
from geometry.model.design import Design
from geometry.model.driving import OBSTACLE_KINDS, Course, Driving

pixels = st.tuples(st.integers(0, 800), st.integers(0, 600)).map(lambda at: QPointF(*at))
pick = st.integers(0, 30)
KEYS = (
    Qt.Key.Key_Up,
    Qt.Key.Key_Left,
    Qt.Key.Key_Delete,
    Qt.Key.Key_Comma,
    Qt.Key.Key_Period,
    Qt.Key.Key_Escape,
)


class Shown:
    """A drawing without a window."""

    camera = Camera(width=800, height=600, scale=0.25)

    def __init__(self, document):
        self.snapping = True
        self._document = document

    @property
    def view(self):
        return self._document.view


class CourseMachine(RuleBasedStateMachine):
    """A person with a mouse, and another one at the panel."""

    def __init__(self):
        super().__init__()
        design = sample_design("marsh_scout_six")
        self.document = Document(design.edited(driving=Driving(courses=(Course(name="c"),))))
        self.session = DriveSession(self.document)
        self.session.choose(course="c")
        self.surface = Shown(self.document)
        self.hand = CourseHand(self.session, self.surface)
        self.document.undo_stack.indexChanged.connect(lambda _index: self.hand.cancel())

    @property
    def course(self):
        return self.document.design.driving.courses[0]

    @rule(kind=st.sampled_from(OBSTACLE_KINDS), at=pixels)
    def add(self, kind, at):
        middle = self.surface.camera.to_chassis(at.x(), at.y())
        one = obstacle_edits.new_obstacle(self.document.design, self.course, kind, middle)
        assert self.document.edit("Add", lambda d: driving_edits.add_obstacle(d, 0, one))
        self.session.pick(len(self.course.obstacles) - 1)
        assert self.session.chosen == len(self.course.obstacles) - 1

    @rule(number=pick)
    def choose(self, number):
        self.session.pick(number)
        assert self.session.chosen == (number if number < len(self.course.obstacles) else None)

    @rule(number=pick, ways=st.lists(pixels, max_size=4), free=st.booleans(), end=st.sampled_from("fcu"))
    def drag_a_grip(self, number, ways, free, end):
        grips = self.hand.grips()
        if grips:
            self._drag(QPointF(*grips[number % len(grips)][1]), ways, free=free, end=end)

    @rule(number=pick, ways=st.lists(pixels, max_size=4), free=st.booleans(), end=st.sampled_from("fcu"))
    def drag_a_thing(self, number, ways, free, end):
        if self.course.obstacles:
            one = self.course.obstacles[number % len(self.course.obstacles)]
            at = QPointF(*self.surface.camera.to_screen((one.x_mm, one.y_mm)).tolist())
            self._drag(at, ways, free=free, end=end)

    @rule(at=pixels, ways=st.lists(pixels, max_size=3))
    def drag_anywhere(self, at, ways):
        self._drag(at, ways, free=False, end="f")

    def _drag(self, at, ways, *, free, end):
        before, count = self.document.design, self.document.undo_stack.index()
        if not self.hand.press(at):
            assert self.hand.under(at) is None
            return
        for way in ways:
            self.hand.move(way, free=free)
            assert self.document.design is before
        shown = self.document.view.design
        if end == "u":  # in the midst of it somebody takes a step back
            self.document.undo()
            assert self.document.view.design == self.document.design
            self.hand.cancel()
            return
        self.hand.finish() if end == "f" else self.hand.cancel()
        assert self.document.design == (shown if end == "f" else before)
        if self.document.design == before:
            assert self.document.undo_stack.index() == count
        else:
            assert self.document.undo_stack.index() == count + 1

    @rule(key=st.sampled_from(KEYS), alt=st.booleans())
    def press_a_key(self, key, alt):
        held = Qt.KeyboardModifier.AltModifier if alt else Qt.KeyboardModifier.NoModifier
        before = self.document.design
        taken = self.hand.key(QKeyEvent(QEvent.Type.KeyPress, key, held))
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Left) and not alt:
            assert not taken  # it drives
            assert self.document.design is before

    @precondition(lambda self: self.session.chosen is not None)
    @rule()
    def duplicate(self):
        self.hand.duplicate()

    @rule()
    def undo(self):
        self.document.undo()

    @rule()
    def redo(self):
        self.document.redo()

    @invariant()
    def what_is_chosen_is_there(self):
        chosen = self.session.chosen
        assert chosen in (None, "start") or 0 <= chosen < len(self.course.obstacles)

    @invariant()
    def nothing_is_left_of_a_drag(self):
        assert not self.hand.dragging
        assert self.document.view.design is self.document.design

    @invariant()
    def the_design_is_valid(self):
        design = self.document.design
        assert Design.model_validate(design.model_dump()) == design

    def teardown(self):
        while self.document.undo_stack.canUndo():
            self.document.undo()
        assert self.course == Course(name="c")
        self.session.close()
        self.document.close()


@pytest.mark.usefixtures("qapp")
class TestCourse(CourseMachine.TestCase):
    settings = settings(stateful_step_count=30)
