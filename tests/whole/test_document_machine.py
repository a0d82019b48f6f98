"""A machine of edits, previews, cancels, undos, saves and loads, with what must hold after each."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from app.design import body_edits, edits
from app.design.files import read_design
from app.design.references import existing, references_to
from app.design.samples import sample_design
from app.document import Document
from geometry.model.design import Design
from tests.windows import KEYS

places = st.integers(-300, 300).map(float)
pick = st.integers(0, 63)


class DocumentMachine(RuleBasedStateMachine):
    """A person, a model of what they expect, and the document."""

    def __init__(self):
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.home = Path(self.folder.name)
        self.document = Document(recovery_folder=self.home / "recovery")
        self.saved_to = None
        # What undo should give back: designs before each step, and which of them is on disk.
        self.past, self.future = [], []
        self.on_disk = None

    @initialize(key=st.sampled_from(KEYS))
    def open_a_sample(self, key):
        self.document.start(sample_design(key))
        self.past, self.future, self.saved_to, self.on_disk = [], [], None, self.document.design

    def _step(self, before):
        """Note a step where there was one."""
        if self.document.design != before:
            self.past.append(before)
            self.future.clear()

    def _wheel(self, number):
        return number % len(self.document.design.wheels)

    def _some(self):
        return bool(self.document.design.wheels)

    @rule(x=places, y=places)
    def add(self, x, y):
        before = self.document.design
        self.document.edit("Add", lambda d: edits.add_wheel(d, x, y))
        self._step(before)

    @precondition(_some)
    @rule(number=pick)
    def delete(self, number):
        before, index = self.document.design, self._wheel(number)
        assert self.document.edit("Delete", lambda d: edits.delete_wheels(d, [index]))
        self._step(before)

    @precondition(_some)
    @rule(number=pick, width=st.floats(-5, 60))
    def widen(self, number, width):
        before, index = self.document.design, self._wheel(number)
        done = self.document.edit("Widen", lambda d: edits.change_wheels(d, [index], width_mm=width))
        assert done == (width >= 1)
        self._step(before)

    @precondition(_some)
    @rule(number=pick, ways=st.lists(st.tuples(places, places), min_size=1, max_size=4), mirror=st.booleans())
    def drag(self, number, ways, mirror):
        before, index = self.document.design, self._wheel(number)
        for x, y in ways:
            self.document.preview(lambda d, to=(x, y): edits.move_wheels(d, {index: to}, mirror=mirror))
            assert self.document.design is before
        shown = self.document.view.design
        self.document.commit_preview("Move")
        assert self.document.design == shown
        self._step(before)

    @precondition(_some)
    @rule(number=pick, x=places, y=places)
    def drag_and_give_up(self, number, x, y):
        before, index = self.document.design, self._wheel(number)
        self.document.preview(lambda d: edits.move_wheels(d, {index: (x, y)}))
        self.document.cancel_preview()
        assert self.document.design is before

    @rule(pitch=st.sampled_from([None, 8.0, 12.5]))
    def change_the_chassis(self, pitch):
        before = self.document.design
        self.document.edit("Pitch", lambda d: edits.change_chassis(d, hole_pitch_mm=pitch))
        self._step(before)

    @rule()
    def draw_a_body(self):
        before = self.document.design
        self.document.edit("Outline", body_edits.fit_body)
        self._step(before)

    @rule(numbers=st.lists(pick, max_size=4), turn=st.floats(-1.2, 1.2))
    def look_about(self, numbers, turn):
        self.document.select(references_to("wheel", numbers))
        self.document.set_turn(turn)
        self.document.autosave()

    @rule()
    def undo(self):
        now = self.document.design
        self.document.undo()
        if self.past:
            self.future.append(now)
            assert self.document.design == self.past.pop()

    @rule()
    def redo(self):
        now = self.document.design
        self.document.redo()
        if self.future:
            self.past.append(now)
            assert self.document.design == self.future.pop()

    @rule(name=st.sampled_from(["a.json", "b.json"]))
    def save(self, name):
        path = self.home / name
        self.document.save(path, overwrite=True)
        self.saved_to, self.on_disk = path, self.document.design
        assert not self.document.modified
        assert read_design(path).design == self.document.design

    @precondition(lambda self: self.saved_to is not None)
    @rule()
    def load(self):
        self.document.open(self.saved_to)
        assert self.document.design == self.on_disk
        self.past, self.future = [], []

    @invariant()
    def design_is_valid(self):
        design = self.document.design
        assert Design.model_validate(design.model_dump()) == design

    @invariant()
    def what_is_shown_is_what_is_committed(self):
        view = self.document.view
        assert view.design is self.document.design
        assert not view.previewing
        assert view.selection == self.document.selection
        assert view.selection == existing(view.selection, view.design)
        assert abs(view.command.turn) <= view.design.largest_turn

    @invariant()
    def steps_are_those_that_were_made(self):
        stack = self.document.undo_stack
        assert stack.canUndo() == bool(self.past)
        assert stack.canRedo() == bool(self.future)

    @invariant()
    def nothing_unsaved_is_called_saved(self):
        if not self.document.modified:
            assert self.document.design == self.on_disk

    def teardown(self):
        while self.document.undo_stack.canUndo():
            self.document.undo()
        if self.past:
            assert self.document.design == self.past[0]
        self.document.close()
        assert list((self.home / "recovery").glob("*")) == []
        self.folder.cleanup()


@pytest.mark.usefixtures("qapp")
class TestDocument(DocumentMachine.TestCase):
    settings = settings(stateful_step_count=30)
