"""Which motor does what, on the plan: words, places of the marks, what lacks a motor, and picking."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QFont, QImage, QPainter
from PySide6.QtTest import QTest

from app.design import edits, motor_edits
from app.design.facts import Facts
from app.design.references import Reference
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.theme import DARK, LIGHT
from app.views.camera import LEAST_SCALE, MOST_SCALE, Camera
from app.views.fit import fitted_camera
from app.views.motor_lines import draw_motor_lines, legend_box, motor_marks, motor_under, motor_words
from app.views.scene import PlanOptions, Scene, wheel_corners
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.strategies import motored_designs
from tests.windows import KEYS

SIX = sample_design(KEYS[0])
SIZE = (830, 650)


def shared_by_side(design=SIX):
    """A steer and a drive motor for each side; the middle wheels have no drive motor."""
    for side in ("left", "right"):
        for kind in ("steer", "drive"):
            design = motor_edits.add_motor(design, kind, [f"front {side}", f"rear {side}"])
    return design


def each_its_own(design):
    for wheel in design.wheels:
        for kind in ("steer", "drive"):
            if wheel.driven if kind == "drive" else wheel.kind == "steered":
                design = motor_edits.add_motor(design, kind, [wheel.name])
    return design


def view_of(design, selection=()):
    return View(Facts(design), Command(0.3), selection)


def camera_of(view):
    return fitted_camera(view, Camera(width=SIZE[0], height=SIZE[1]))


def drawn(view, *, motors=True, theme=LIGHT, camera=None):
    """The marks of motors alone, (height, width, 3)."""
    made = Scene(view, camera or camera_of(view), theme, PlanOptions(motors=motors), QFont())
    image = QImage(*SIZE, QImage.Format.Format_RGB32)
    image.fill(theme.paper)
    painter = QPainter(image)
    painter.setFont(made.font)
    draw_motor_lines(painter, made)
    painter.end()
    return np.frombuffer(image.constBits(), dtype=np.uint8).reshape(SIZE[1], SIZE[0], 4)[..., :3].astype(int)


# Words ------------------------------------------------------------------------------------


def test_each_wheel_says_its_motors_with_their_gearing_or_what_it_lacks(qapp):
    design = motor_edits.set_gearing(shared_by_side(), "drive", "front left", proportion=(12.0, 36.0))
    words = dict(zip([w.name for w in design.wheels], motor_words(view_of(design)), strict=True))
    assert words["front left"] == "S1 × 1, D1 12:36"
    assert words["rear left"] == "S1 × \u22121, D1 × 1"
    assert words["front right"] == "S2 × 1, D2 × 1"
    assert words["middle left"] == words["middle right"] == "no drive motor"


def test_the_teeth_of_a_train_stand_in_the_label_as_they_are_typed():
    design = motor_edits.set_gearing(shared_by_side(), "steer", "front left", train=((12, 20, 36), (10, 40)))
    assert motor_words(view_of(design))[0] == "S1 12-20-36, 10-40, D1 × 1"


def test_without_motors_there_is_nothing_to_say():
    assert motor_words(view_of(SIX)) == ("",) * 6
    assert motor_words(view_of(Design())) == ()


def test_a_steered_wheel_without_a_steer_motor_and_a_free_wheel_say_so_or_nothing():
    design = motor_edits.add_motor(SIX, "steer", ["front left"])
    design = edits.change_wheels(design, [2, 3, 4], driven=False)
    words = motor_words(view_of(design))
    assert words == (
        "S1 × 1, no drive motor",
        "no steer motor, no drive motor",
        "",
        "",
        "no steer motor",
        "no steer motor, no drive motor",
    )


# Places -----------------------------------------------------------------------------------


@pytest.mark.parametrize("key", KEYS)
def test_no_mark_covers_another_or_a_tyre_of_a_sample_in_a_usual_window(key):
    view = view_of(each_its_own(sample_design(key)))
    marks = motor_marks(view, camera_of(view))
    assert len(marks) == len(view.design.steer_motors) + len(view.design.drive_motors)
    for one, other in itertools.combinations(marks, 2):
        assert not one.box.intersects(other.box)
    kingpins = camera_of(view).to_screen(np.stack([view.robot.wheels.x, view.robot.wheels.y], axis=1))
    for mark, (i, (x, y)) in itertools.product(marks, enumerate(kingpins.tolist())):
        reach = 0.5 * view.design.wheels[i].diameter_mm * camera_of(view).scale
        assert max(abs(mark.at[0] - x), abs(mark.at[1] - y)) > reach


def test_lines_run_from_each_wheel_straight_across_and_then_along_the_chassis():
    view = view_of(shared_by_side())
    steer = motor_marks(view, camera_of(view))[0]
    assert (steer.kind, steer.index) == ("steer", 0)
    kingpins = camera_of(view).to_screen(np.stack([view.robot.wheels.x, view.robot.wheels.y], axis=1))
    assert steer.ends == tuple((x, y) for x, y in kingpins[[0, 4]].tolist())
    *across, along = steer.lines
    assert all(line.dy() == 0 and line.x2() == steer.at[0] for line in across)
    assert (along.dx(), along.y1(), along.y2()) == (0, kingpins[0, 1], kingpins[4, 1])


def test_drive_lines_leave_their_wheels_behind_the_steer_lines():
    view = view_of(shared_by_side())
    marks = {(m.kind, m.index): m for m in motor_marks(view, camera_of(view))}
    for (_, steer), (_, drive) in zip(marks["steer", 0].ends, marks["drive", 0].ends, strict=True):
        assert 5.0 <= drive - steer <= 15.0


def test_lines_of_two_motors_never_lie_on_one_another_not_even_end_to_end():
    """The middle wheels hang on one motor with the front, and on another with the rear."""
    groups = [["front left", "front right", "middle left"], ["rear left", "rear right", "middle right"]]
    view = view_of(motor_edits.group_driving(SIX, groups))
    first, second = motor_marks(view, camera_of(view))
    assert abs(first.at[0] - second.at[0]) >= 10


def test_24_wheels_with_a_steer_motor_each_have_marks_that_can_be_told_apart():
    wheels = [
        Wheel(name=f"{side} {i}", x_mm=1100.0 - 200.0 * i, y_mm=y, kind="steered", diameter_mm=120.0)
        for i in range(12)
        for side, y in (("left", 300.0), ("right", -300.0))
    ]
    design = each_its_own(Design(wheels=tuple(wheels)).edited(base_axle_x_mm=0.0))
    design = design.edited(drive_motors=())
    for side in ("left", "right"):
        design = motor_edits.add_motor(design, "drive", [f"{side} {i}" for i in range(8)])
    view = view_of(design)
    marks = motor_marks(view, camera_of(view))
    assert len(marks) == 26
    for one, other in itertools.combinations(marks, 2):
        assert not one.box.intersects(other.box)


def test_a_motor_of_both_sides_stands_between_them():
    design = motor_edits.add_motor(SIX, "steer", ["front left", "front right"])
    view = view_of(design)
    (mark,) = motor_marks(view, camera_of(view))
    (left, _), (right, _) = mark.ends
    assert left + 30 < mark.at[0] < right - 30


@given(motored_designs())
def test_every_motor_has_one_mark_whatever_the_chassis_and_the_scale(design):
    view = view_of(design)
    for camera in (camera_of(view), Camera(scale=LEAST_SCALE), Camera(scale=MOST_SCALE)):
        marks = motor_marks(view, camera)
        assert [(m.kind, m.index) for m in marks] == [
            *(("steer", i) for i in range(len(design.steer_motors))),
            *(("drive", i) for i in range(len(design.drive_motors))),
        ]
        assert all(np.isfinite(m.at).all() for m in marks)
        assert [len(m.ends) for m in marks] == [
            len(motor.wheels) for motor in (*design.steer_motors, *design.drive_motors)
        ]


# Drawing ----------------------------------------------------------------------------------


def test_nothing_is_drawn_unless_it_is_asked_for_or_without_motors(qapp):
    assert not (drawn(view_of(shared_by_side()), motors=False) != drawn(view_of(SIX))).any()
    assert len(np.unique(drawn(view_of(SIX)).reshape(-1, 3), axis=0)) == 1


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_lines_are_drawn_along_the_whole_way(qapp, theme):
    view = view_of(shared_by_side())
    pixels, blank = drawn(view, theme=theme), drawn(view_of(SIX), theme=theme)
    for mark in motor_marks(view, camera_of(view)):
        along = mark.lines[-1]
        x = round(along.x1())
        rows = (pixels != blank)[round(along.y1()) : round(along.y2()), x - 2 : x + 3].any(axis=(1, 2))
        share = rows.mean()
        assert share > 0.95 if mark.kind == "steer" else 0.4 < share < 0.95


@pytest.mark.parametrize(("wheel", "hollow"), [(2, False), (3, True), (0, False)])
def test_a_wheel_that_lacks_a_drive_motor_is_hollow_and_one_with_it_is_left_alone(qapp, wheel, hollow):
    view = view_of(motor_edits.add_motor(shared_by_side(), "drive", ["middle left"]))
    changed = (drawn(view) != drawn(view_of(SIX))).any(axis=2)
    corners = camera_of(view).to_screen(wheel_corners(view))[wheel]
    # Points along the left side of the tyre, from its front to its rear.
    along = [corners[0] + share * (corners[3] - corners[0]) for share in np.linspace(0.05, 0.95, 60)]
    edge = np.mean(
        [changed[round(y) - 1 : round(y) + 2, round(x) - 1 : round(x) + 2].any() for x, y in along]
    )
    assert edge > 0.5 if hollow else edge < 0.2


def test_the_kingpin_of_a_steered_wheel_without_a_steer_motor_is_dashed(qapp):
    """The ring of dots about it, and no ring where a motor steers it."""

    def ring(design):
        view = view_of(design)
        changed = (drawn(view) != drawn(view_of(SIX))).any(axis=2)
        x, y = camera_of(view).to_screen([[view.design.wheels[4].x_mm, view.design.wheels[4].y_mm]])[0]
        turns = np.linspace(0, 2 * np.pi, 60)[:-1]
        return np.mean([changed[round(y + 6 * np.sin(t)), round(x + 6 * np.cos(t))] for t in turns])

    driven = edits.change_wheels(motor_edits.add_motor(SIX, "steer", ["front left"]), [4], driven=False)
    assert 0.3 < ring(driven) < 1.0
    assert ring(motor_edits.add_motor(driven, "steer", ["rear left"])) < ring(driven)


def test_a_selected_motor_is_outlined(qapp):
    design = shared_by_side()
    plain, chosen = (drawn(view_of(design, s)) for s in ((), (Reference("drive motor", 1),)))
    changed = np.argwhere((plain != chosen).any(axis=2))
    mark = motor_marks(view_of(design), camera_of(view_of(design)))[3]
    assert (mark.kind, mark.index) == ("drive", 1)
    box = mark.box.adjusted(-6, -6, 6, 6)
    assert any(box.contains(float(x), float(y)) for y, x in changed.tolist())


def test_the_legend_names_only_what_there_is(qapp):
    def tall(design):
        box = legend_box(Scene(view_of(design), Camera(), LIGHT, PlanOptions(motors=True), QFont()))
        return 0.0 if box is None else box.height()

    one = motor_edits.add_motor(SIX, "steer", ["front left"])
    rows = [tall(design) / 24.0 for design in (SIX, one, shared_by_side(), each_its_own(SIX))]
    assert rows == [0, 2, 3, 2]


def test_the_legend_stands_below_the_tools_that_float_at_the_top_left(qapp):
    def top(*obstacles):
        options = PlanOptions(motors=True, obstacles=obstacles)
        box = legend_box(Scene(view_of(shared_by_side()), Camera(), LIGHT, options, QFont()))
        return 0.0 if box is None else box.top()

    assert top() == top((700.0, 600.0, 820.0, 640.0)) < 20
    assert top((8.0, 8.0, 400.0, 48.0)) > 48


# Picking ----------------------------------------------------------------------------------


def test_the_mark_under_a_pixel_is_found_and_nothing_beside_it():
    view = view_of(shared_by_side())
    camera = camera_of(view)
    for mark in motor_marks(view, camera):
        assert motor_under(view, camera, *mark.at) == mark.reference
        assert motor_under(view, camera, mark.at[0], mark.at[1] + mark.half + 3) != mark.reference


def click_on(canvas, at):
    QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=QPointF(*at).toPoint())


def test_a_click_on_a_mark_selects_the_motor_and_a_drag_of_it_moves_nothing(window):
    document, canvas = window.document, window.canvas
    document.edit("Motors", shared_by_side)
    canvas.set_options(PlanOptions(motors=True))
    mark = motor_marks(document.view, canvas.camera)[1]
    click_on(canvas, mark.at)
    assert document.selection == (Reference("steer motor", 1),)
    before = document.design
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPointF(*mark.at).toPoint())
    QTest.mouseMove(canvas, QPointF(mark.at[0] + 40, mark.at[1] + 40).toPoint())
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPointF(*mark.at).toPoint())
    assert document.design == before
    assert document.selection == (Reference("steer motor", 1),)


def test_where_motors_are_not_drawn_a_click_at_their_place_selects_none(window):
    document, canvas = window.document, window.canvas
    document.edit("Motors", shared_by_side)
    click_on(canvas, motor_marks(document.view, canvas.camera)[1].at)
    assert document.selection == ()


def test_a_selected_motor_is_deleted_alone(window):
    document = window.document
    document.edit("Motors", shared_by_side)
    document.select((Reference("drive motor", 0),))
    window.action["delete"].trigger()
    assert [motor.name for motor in document.design.drive_motors] == ["drive motor 2"]
    assert len(document.design.wheels) == 6
