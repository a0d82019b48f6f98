"""The sections on parts and on the inside of the body: each field asks, each button is one step."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from app.design import part_edits
from app.design.references import references_to, selected
from app.design.samples import sample_design
from geometry.model.packaging import FACES, PART_KINDS, SHAPES, SIZES, Packaging

FIELDS = {
    "x_mm": ("12.5", 12.5),
    "y_mm": ("-30", -30.0),
    "bottom_mm": ("31", 31.0),
    "turn_deg": ("45", 45.0),
    "length_mm": ("3 in", 76.2),
    "width_mm": ("20", 20.0),
    "height_mm": ("15+2", 17.0),
    "mass_kg": ("0.4", 0.4),
}
ROOM = ("front_mm", "rear_mm", "left_mm", "right_mm", "above_mm", "below_mm")


@pytest.fixture
def loaded(make_window, make_document):
    bare = sample_design("marsh_scout_motors").edited(packaging=Packaging())
    design = part_edits.add_part(bare, "battery", 0.0, 0.0)
    design = part_edits.add_part(design, "motor", 80.0, 30.0)
    window = make_window(make_document(design))
    window.document.select(references_to("part", (0,)))
    return window


def panel(window, key):
    window.go_to(key)
    QApplication.processEvents()
    return window.panels[key]


def enter(field, text):
    field.setFocus()
    field.selectAll()
    field.insert(text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def parts(window):
    return window.document.design.packaging.parts


@pytest.mark.parametrize("key", FIELDS)
def test_each_field_of_a_part_shows_and_asks(loaded, key):
    text, value = FIELDS[key]
    field, before = panel(loaded, "part").fields[key], parts(loaded)[0]
    assert field.value == getattr(before, key)
    enter(field, text)
    assert getattr(parts(loaded)[0], key) == pytest.approx(value)
    assert loaded.document.undo_stack.count() == 1
    loaded.action["undo"].trigger()
    assert parts(loaded)[0] == before
    assert field.value == getattr(before, key)


def test_a_value_out_of_range_stays_typed_with_the_reason_below(loaded):
    field = panel(loaded, "part").fields["length_mm"]
    enter(field, "0")
    assert field.refused
    assert "at least 0.1" in field.reason.text()
    assert field.text() == "0"
    assert loaded.document.undo_stack.count() == 0


@pytest.mark.parametrize("shape", SHAPES)
def test_only_the_sizes_of_the_shape_are_shown(loaded, shape):
    editor = panel(loaded, "part")
    editor.shape.activated.emit(SHAPES.index(shape))
    QApplication.processEvents()
    for key in ("length_mm", "width_mm", "height_mm", "diameter_mm"):
        assert editor.fields[key].isVisibleTo(editor) is (key in SIZES[shape])
    assert parts(loaded)[0].shape == shape


def test_a_motor_is_tied_and_says_what_it_reaches(loaded):
    loaded.document.select(references_to("part", (1,)))
    editor, motor = panel(loaded, "part"), loaded.document.design.steer_motors[0]
    assert editor.motor.isVisibleTo(editor)
    editor.motor.setCurrentIndex(editor.motor.findData(motor.name))
    editor.motor.activated.emit(editor.motor.currentIndex())
    assert parts(loaded)[1].motor == motor.name
    assert editor.reaches.text() == f"It reaches {', '.join(g.wheel for g in motor.wheels)}."
    editor.mounted.setCurrentIndex(editor.mounted.findData("front left"))
    editor.mounted.activated.emit(editor.mounted.currentIndex())
    assert parts(loaded)[1].mounted_on == "front left"
    editor.kind.activated.emit(PART_KINDS.index("battery"))
    assert parts(loaded)[1].motor is None
    assert not editor.motor.isVisibleTo(editor)


@pytest.mark.parametrize("chosen", [(0,), (0, 1)])
def test_a_room_beyond_all_sizes_is_refused_at_its_field_and_nothing_changes(loaded, chosen):
    loaded.document.select(references_to("part", chosen))
    field, before = panel(loaded, "room").fields["front_mm"], loaded.document.design
    enter(field, "1" * 60)
    assert loaded.document.design is before
    assert "room.front_mm" in field.reason.text() or "at most" in field.reason.text()
    assert field.text() == "1" * 60


@pytest.mark.parametrize("key", ROOM)
def test_the_room_of_one_and_of_several_parts_is_set(loaded, key):
    editor = panel(loaded, "room")
    enter(editor.fields[key], "7")
    assert getattr(parts(loaded)[0].room, key) == 7.0
    loaded.document.select(references_to("part", (0, 1)))
    assert editor.fields[key].value is None
    enter(editor.fields[key], "9")
    assert [getattr(part.room, key) for part in parts(loaded)] == [9.0, 9.0]
    assert loaded.document.undo_stack.count() == 2


def test_the_clearance_is_set(loaded):
    enter(panel(loaded, "room").clearance, "2")
    assert parts(loaded)[0].clearance_mm == 2.0


@pytest.mark.parametrize("kind", PART_KINDS)
def test_the_button_adds_a_part_of_each_kind_and_selects_it(loaded, kind):
    table = panel(loaded, "parts")
    acts = {action.text().lower(): action for action in table.add.menu().actions()}
    acts[kind].trigger()
    assert parts(loaded)[2].kind == kind
    assert selected(loaded.document.selection, "part") == (2,)
    assert table.model.rowCount() == 3


def test_a_second_new_part_stands_beside_the_first(loaded):
    table = panel(loaded, "parts")
    for _ in range(3):
        table.add_part("other")
    places = [(part.x_mm, part.y_mm) for part in parts(loaded)]
    assert len(set(places)) == len(places)


def test_the_table_selects_and_is_selected(loaded):
    table = panel(loaded, "parts")
    table.table.selectRow(1)
    assert selected(loaded.document.selection, "part") == (1,)
    loaded.document.select(references_to("part", (0, 1)))
    assert len(table.table.selectionModel().selectedRows()) == 2


def test_copies_mirrors_pairs_and_deletes_are_one_step_each(loaded):
    table = panel(loaded, "parts")
    before = loaded.document.design
    loaded.document.select(references_to("part", (1,)))
    table.mirror.click()
    assert (parts(loaded)[2].x_mm, parts(loaded)[2].y_mm) == (80.0, -30.0)
    table.copy.click()
    assert len(parts(loaded)) == 4
    loaded.document.select(references_to("part", (0, 1)))
    assert table.pair.isEnabled()
    table.pair.click()
    assert loaded.document.design.packaging.may_touch == (("battery", "motor"),)
    assert table.pair.isChecked()
    table.pair.click()
    assert loaded.document.design.packaging.may_touch == ()
    table.remove.click()
    assert [part.name for part in parts(loaded)] == ["motor 2", "motor 3"]
    assert loaded.document.undo_stack.count() == 5
    for _ in range(5):
        loaded.action["undo"].trigger()
    assert loaded.document.design == before


def test_nothing_selected_greys_what_needs_it(loaded):
    table = panel(loaded, "parts")
    loaded.document.select(())
    greyed = [button.text() for button in table.findChildren(QPushButton) if not button.isEnabled()]
    assert sorted(greyed) == ["Delete", "Duplicate", "Line up", "May touch", "Mirror"]


def test_heights_and_mass_of_the_body_are_set(loaded):
    editor = panel(loaded, "inside")
    for key, text, value in (("floor_mm", "25", 25.0), ("roof_mm", "90", 90.0), ("wall_mm", "2", 2.0)):
        enter(editor.heights[key], text)
        assert getattr(loaded.document.design.packaging, key) == value
    enter(editor.heights["body_mass_kg"], "1.2")
    editor.roof.click()
    assert loaded.document.design.packaging.body_mass_kg == 1.2
    assert not loaded.document.design.packaging.has_roof
    enter(editor.heights["roof_mm"], "26")
    assert "more than two walls" in editor.heights["roof_mm"].reason.text()


def test_holes_are_added_edited_and_deleted(loaded):
    editor = panel(loaded, "inside")
    editor.add_round.click()
    editor.add_square.click()
    holes = loaded.document.design.packaging.openings
    assert (holes[0].diameter_mm, holes[1].length_mm) == (8.0, 40.0)
    assert editor.which.currentIndex() == 1
    editor.face.activated.emit(FACES.index("left"))
    enter(editor.opening["z_mm"], "44")
    assert loaded.document.design.packaging.openings[1].z_mm == 44.0
    assert not editor.opening["y_mm"].isVisibleTo(editor)
    editor.remove.click()
    assert loaded.document.design.packaging.openings == holes[:1]


def test_delete_and_nudge_on_the_plan_take_parts(loaded):
    loaded.go_to_stage("lay out")
    before = parts(loaded)[0]
    loaded.canvas.setFocus()
    loaded.action["delete"].trigger()
    assert [part.name for part in parts(loaded)] == ["motor"]
    loaded.action["undo"].trigger()
    assert parts(loaded)[0] == before
