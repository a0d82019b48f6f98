"""The document: previews, undo steps, merged runs, selection, what is told."""

import math

import pytest

from app.design import body_edits, edits
from app.design.references import Reference, references_to, selected_wheels
from app.design.samples import sample_design
from app.document import RANGE_MS
from geometry.model.design import Design
from tests.windows import KEYS


def moved(x, y, index=0):
    return lambda d: edits.move_wheels(d, {index: (x, y)})


def widened(by, index=0):
    return lambda d: edits.change_wheels(d, [index], width_mm=d.wheels[index].width_mm + by)


@pytest.fixture
def views(document):
    """Every picture that was sent."""
    seen = []
    document.changed.connect(seen.append)
    return seen


def test_a_preview_is_shown_and_not_committed(document, views):
    before = document.design
    assert document.preview(moved(200.0, 90.0))
    assert document.view.previewing
    assert (document.view.design.wheels[0].x_mm, document.view.design.wheels[0].y_mm) == (200.0, 90.0)
    assert document.design is before
    assert document.undo_stack.count() == 0
    assert len(views) == 1


def test_each_preview_starts_from_the_committed_design(document):
    start = document.design.wheels[0].width_mm
    for _ in range(5):
        document.preview(widened(1.0))
    assert document.view.design.wheels[0].width_mm == start + 1.0


def test_a_cancelled_preview_leaves_no_trace(document, views):
    before, shown = document.design, document.view.solution.steer.tolist()
    document.preview(moved(200.0, 90.0))
    document.cancel_preview()
    assert document.design is before
    assert document.view.design is before
    assert not document.view.previewing
    assert document.view.solution.steer.tolist() == shown
    assert document.undo_stack.count() == 0
    assert not document.modified


def test_a_preview_that_ends_where_it_began_leaves_no_step(document):
    wheel = document.design.wheels[0]
    document.preview(moved(200.0, 90.0))
    document.preview(moved(wheel.x_mm, wheel.y_mm))
    document.commit_preview("Move")
    assert document.undo_stack.count() == 0
    assert not document.view.previewing


def test_a_drag_has_the_range_judged_less_often_than_it_is_drawn_and_never_late_at_its_end(
    document, views, qtbot
):
    ranges = []
    document.range_changed.connect(ranges.append)
    for n in range(40):
        document.preview(moved(150.0 + n, 90.0))
    assert len(views) == 40
    assert ranges[0] is views[0]
    assert len(ranges) == 1  # all of it took less than the pace, and no timer has run
    qtbot.waitUntil(lambda: len(ranges) == 2, timeout=20 * RANGE_MS)
    assert ranges[1] is document.view
    qtbot.wait(3 * RANGE_MS)
    assert len(ranges) == 2, "what was told is not told again"
    document.preview(moved(300.0, 90.0))
    document.preview(moved(310.0, 90.0))
    document.commit_preview("Move front left")
    assert ranges[-1] is document.view
    assert not ranges[-1].previewing


def test_any_change_but_a_step_of_a_drag_has_the_range_judged_at_once(document):
    ranges = []
    document.range_changed.connect(ranges.append)
    document.preview(moved(200.0, 90.0))
    document.preview(moved(210.0, 90.0))
    document.cancel_preview()
    assert ranges[-1] is document.view
    document.set_turn(0.123)
    assert ranges[-1] is document.view
    document.undo()
    assert ranges[-1] is document.view


def test_a_committed_preview_is_one_step(document):
    before = document.design
    for n in range(20):
        document.preview(moved(150.0 + n, 90.0))
    document.commit_preview("Move front left")
    assert document.undo_stack.count() == 1
    assert document.undo_stack.undoText() == "Move front left"
    document.undo()
    assert document.design == before
    document.redo()
    assert document.design.wheels[0].x_mm == 169.0


def test_a_refused_preview_tells_why_and_shows_the_last_good_one(document, told):
    other = document.design.wheels[1]
    document.preview(moved(200.0, 90.0))
    assert not document.preview(moved(other.x_mm, other.y_mm))
    assert document.view.design.wheels[0].x_mm == 200.0
    assert len(told) == 1
    assert "front right, x must not stand on front left" in told[0]
    assert document.design.wheels[0].name in told[0]


def test_a_refused_edit_tells_why_and_changes_nothing(document, told, views):
    before = document.design
    assert not document.edit("Widen", lambda d: edits.change_wheels(d, [0], width_mm=-12.0))
    assert document.design is before
    assert document.undo_stack.count() == 0
    assert "front left, width must be" in told[0]
    assert "-12" in told[0]
    assert views == []


def test_an_edit_that_changes_nothing_leaves_no_step(document):
    assert document.edit("Nothing", widened(0.0))
    assert document.undo_stack.count() == 0
    assert not document.modified


def test_an_edit_gives_up_the_preview_before_it(document):
    x = document.design.wheels[0].x_mm
    document.preview(moved(200.0, 90.0))
    document.edit("Widen", widened(1.0))
    assert document.design.wheels[0].x_mm == x
    assert not document.view.previewing


def test_a_run_of_edits_with_one_key_is_one_step(document):
    before = document.design
    for _ in range(6):
        document.edit("Widen", widened(1.0), merge_key="width")
    assert document.undo_stack.count() == 1
    document.undo()
    assert document.design == before


def test_runs_with_different_keys_do_not_merge(document):
    document.edit("Widen", widened(1.0), merge_key="width 0")
    document.edit("Widen", widened(1.0, index=1), merge_key="width 1")
    document.edit("Widen", widened(1.0), merge_key="width 0")
    assert document.undo_stack.count() == 3


def test_another_selection_ends_a_run(document):
    document.edit("Widen", widened(1.0), merge_key="width")
    document.select(references_to("wheel", {2}))
    document.edit("Widen", widened(1.0), merge_key="width")
    assert document.undo_stack.count() == 2


def test_a_merge_never_crosses_a_save(document, tmp_path):
    path = tmp_path / "chassis.json"
    document.edit("Widen", widened(1.0), merge_key="width")
    document.save(path)
    saved = document.design
    document.edit("Widen", widened(1.0), merge_key="width")
    assert document.undo_stack.count() == 2
    assert document.modified
    document.undo()
    assert document.design == saved
    assert not document.modified


def test_a_run_that_comes_back_to_its_start_leaves_no_step(document):
    document.edit("Widen", widened(1.0), merge_key="width")
    document.edit("Narrow", widened(-1.0), merge_key="width")
    assert document.undo_stack.count() == 0
    assert not document.modified


def test_undo_to_the_start_gives_the_start(document):
    start = document.design
    document.edit("Move", moved(150.0, 99.0))
    document.edit("Delete", lambda d: edits.delete_wheels(d, [1, 2]))
    document.edit("Name", lambda d: edits.rename_wheel(d, 0, "scout"))
    document.edit("Widen", widened(3.0), merge_key="width")
    document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.2))
    while document.undo_stack.canUndo():
        document.undo()
    assert document.design == start
    assert not document.modified


def test_undo_during_a_preview_gives_the_preview_up(document):
    start = document.design
    document.edit("Widen", widened(1.0))
    document.preview(moved(200.0, 90.0))
    document.undo()
    assert document.design == start
    assert document.view.design == start


def test_the_selection_follows_the_wheel_and_not_its_number(document):
    chosen = document.design.wheels[3].name
    document.select(references_to("wheel", {3}))
    document.edit("Delete", lambda d: edits.delete_wheels(d, [1]))
    assert [document.design.wheels[i].name for i in selected_wheels(document.selection)] == [chosen]
    document.undo()
    assert document.selection == references_to("wheel", {3})


def test_a_deleted_wheel_is_no_longer_selected(document):
    document.select(references_to("wheel", {0, 1}))
    document.edit("Delete", lambda d: edits.delete_wheels(d, [0]))
    assert document.selection == references_to("wheel", {0})
    document.edit("Delete all", lambda d: edits.delete_wheels(d, range(5)))
    assert document.selection == ()


def test_only_wheels_that_exist_can_be_selected(document):
    document.select(references_to("wheel", {-1, 0, 99}))
    assert document.selection == references_to("wheel", {0})


def test_selecting_the_same_again_sends_no_picture(document, views):
    document.select(references_to("wheel", {0}))
    document.select(references_to("wheel", {0}))
    assert len(views) == 1


@pytest.mark.parametrize("turn", [0.0, 0.25, -0.6, 1.0, -1.0])
def test_every_name_of_the_motion_leads_to_the_same_turn(document, turn):
    document.set_turn(turn)
    left, right = document.command.sides
    ratio, radius = document.command.ratio, document.view.radius
    for ask in (
        lambda: document.ask_turn(turn),
        lambda: document.ask_sides(left, right),
        lambda: document.ask_ratio(ratio),
        lambda: document.ask_radius(radius),
    ):
        document.set_turn(math.copysign(0.1, turn))
        assert ask()
        # On the spot the radius is 0 both ways, and a radius alone is taken as to the left.
        assert abs(document.command.turn) == pytest.approx(abs(turn), abs=1e-12)
        assert document.command.speed == pytest.approx(1.0)


def test_a_turn_beyond_the_largest_is_refused_with_the_remedy(make_document, told):
    document = make_document(sample_design(KEYS[0]).edited(largest_turn=0.4))
    heard = []
    document.message.connect(heard.append)
    before = document.command
    assert not document.ask_turn(0.5)
    assert not document.ask_sides(0.0, 1.0)
    assert not document.ask_ratio(-1.0)
    assert not document.ask_radius(10.0)
    assert document.command == before
    assert len(heard) == 4
    assert all("0.4" in sentence and "Chassis" in sentence for sentence in heard)


def test_the_slider_stops_at_the_largest_turn(make_document):
    document = make_document(sample_design(KEYS[0]).edited(largest_turn=0.4))
    document.set_turn(0.9)
    assert document.command.turn == 0.4
    document.set_turn(-7.0)
    assert document.command.turn == -0.4


def test_a_smaller_largest_turn_takes_the_command_along(document):
    document.set_turn(-0.8)
    document.edit("Reach", lambda d: edits.change_chassis(d, largest_turn=0.25))
    assert document.command.turn == -0.25


@pytest.mark.parametrize("ratio", [1.01, -1.01, 2.0])
def test_a_ratio_that_no_two_sides_have_is_refused(document, told, ratio):
    before = document.command
    assert not document.ask_ratio(ratio)
    assert document.command == before
    assert len(told) == 1


def test_a_ratio_keeps_the_direction_of_the_turn(document):
    document.set_turn(-0.2)
    document.ask_ratio(0.0)
    assert document.command.turn == -0.5
    document.set_turn(0.2)
    document.ask_ratio(0.0)
    assert document.command.turn == 0.5


def test_both_sides_at_rest_keep_the_steering(document):
    document.set_turn(0.3)
    steer = document.view.solution.steer.tolist()
    assert document.ask_sides(0.0, 0.0)
    assert document.command.speed == 0.0
    assert document.view.solution.steer.tolist() == steer


def test_reverse_changes_speeds_and_no_angle(document):
    document.set_turn(0.3)
    steer, roll = document.view.solution.steer.copy(), document.view.alignment.roll.copy()
    document.set_speed(-1.0)
    assert document.view.solution.steer.tolist() == pytest.approx(steer)
    assert document.view.alignment.roll[0].tolist() == pytest.approx((-roll[0]).tolist())


@pytest.mark.parametrize(
    ("asked", "taken"), [(-1.0, -1.0), (-1.001, -1.0), (-7.0, -1.0), (1.0, 1.0), (7.0, 1.0), (-0.4, -0.4)]
)
def test_no_speed_goes_beyond_full_ahead_or_in_reverse(document, asked, taken):
    document.set_speed(asked)
    assert document.command.speed == taken
    assert document.ask_sides(asked, 0.5 * asked)
    assert document.command.speed == taken
    assert document.command.turn == -0.25


def test_a_new_document_is_empty_and_unmodified(make_document):
    document = make_document()
    assert document.design == Design()
    assert not document.modified
    assert document.view.rows == ()


def test_taking_up_another_design_forgets_steps_and_selection(document, qtbot):
    document.edit("Widen", widened(1.0))
    document.select(references_to("wheel", {2}))
    with qtbot.waitSignals([document.opened, document.file_changed]):
        document.start(sample_design(KEYS[3]))
    assert document.design == sample_design(KEYS[3])
    assert not document.undo_stack.canUndo()
    assert document.selection == ()
    assert not document.modified


def test_a_selected_corner_stays_the_same_corner_through_edits_undo_and_redo(document):
    place = document.design.body_mm[3]
    document.select(references_to("corner", {3}))
    document.edit("Remove", lambda d: body_edits.delete_corner(d, 0))
    for there in (2, 3, 2):
        assert document.selection == references_to("corner", {there})
        assert document.design.body_mm[there] == place
        (document.undo if there == 2 else document.redo)()


def test_a_deleted_corner_is_no_longer_selected(document):
    document.select((Reference("wheel", 1), Reference("corner", 3)))
    document.edit("Remove", lambda d: body_edits.delete_corner(d, 3))
    assert document.selection == references_to("wheel", {1})
    document.undo()
    assert document.selection == references_to("wheel", {1})


def test_a_renamed_wheel_stays_selected_through_undo(document):
    document.select(references_to("wheel", {2}))
    document.edit("Rename", lambda d: edits.rename_wheel(d, 2, "pathfinder"))
    assert document.selection == references_to("wheel", {2})
    document.undo()
    assert document.selection == references_to("wheel", {2})


def test_a_selection_does_not_depend_on_the_order_in_which_it_was_made(document, views):
    document.select((Reference("corner", 1), Reference("wheel", 4), Reference("wheel", 0)))
    document.select((Reference("wheel", 0), Reference("wheel", 4), Reference("corner", 1)))
    assert len(views) == 1
