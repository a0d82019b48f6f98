"""Every mark of the plan, drawn to a picture: nothing raises, nothing is lost, nothing jumps."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QFont, QImage, QPainter

from app.design import edits
from app.design.facts import Facts
from app.design.references import Reference, references_to
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.theme import DARK, LIGHT, fonts_present
from app.views import canvas, ground
from app.views.camera import LEAST_SCALE, MOST_SCALE, Camera
from app.views.ground import draw_ground, draw_scale_bar, nice_step
from app.views.scene import PlanOptions, Scene, wheel_corners
from app.views.turning import arc_paths, draw_arcs, draw_axle_lines, draw_centre
from app.views.wheels import draw_labels, draw_wheels, label_lines
from geometry.model.design import Design
from tests.strategies import designs, turns
from tests.windows import KEYS

SIZE = (500, 400)
# Kingpins and the ring of a selected wheel reach so far beyond its tyre [px].
_AROUND = 60.0


def scene(design, turn, *, speed=1.0, camera=None, theme=LIGHT, options=None, **more):
    view = View(
        Facts(design), Command(turn, speed), references_to("wheel", range(min(2, len(design.wheels))))
    )
    if camera is None:
        points = [(w.x_mm, w.y_mm) for w in design.wheels] or [(-100.0, -100.0), (100.0, 100.0)]
        camera = Camera(width=SIZE[0], height=SIZE[1]).fitted(points, 90)
    return Scene(view, camera, theme, options or PlanOptions(), QFont(), **more)


def picture(made, marks=None):
    """Pixels of some marks, (height, width, 4)."""
    image = QImage(*SIZE, QImage.Format.Format_RGB32)
    image.fill(made.theme.paper)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setFont(made.font)
    for draw in canvas.MARKS if marks is None else marks:
        draw(painter, made)
    painter.end()
    return np.frombuffer(image.constBits(), dtype=np.uint8).reshape(SIZE[1], SIZE[0], 4)[..., :3].astype(int)


def draw_grid(painter, made):
    ground.draw_grid(painter, ground.ground_of(made))


def draw_body(painter, made):
    ground.draw_body(painter, ground.ground_of(made))


def grid_step(made):
    return ground.grid_step(ground.ground_of(made))


def differing(a, b):
    """Share of the pixels that differ at all clearly."""
    return float((np.abs(a - b).max(axis=2) > 24).mean())


EXTREME = (0.0, 1e-9, -1e-9, 5e-324, 1e-305, 1e-300, 0.5, -0.5, 1.0, -1.0, 0.3)


@pytest.mark.parametrize("turn", EXTREME)
@pytest.mark.parametrize("scale", [LEAST_SCALE, 1.0, MOST_SCALE])
@pytest.mark.parametrize("circles", [False, True])
def test_nothing_raises_however_far_the_turn_centre_is(qapp, turn, scale, circles):
    camera = Camera(scale=scale, width=SIZE[0], height=SIZE[1])
    options = PlanOptions(full_circles=circles)
    for key in (KEYS[0], "misbuilt_scout"):
        made = scene(sample_design(key), turn, camera=camera, options=options)
        assert picture(made).any()
        assert np.isfinite(arc_paths(made)).all()


@given(design=designs(), turn=turns(), speed=st.sampled_from([1.0, -1.0, 0.0, 0.3]), circles=st.booleans())
def test_any_chassis_in_any_turn_can_be_drawn(qapp, design, turn, speed, circles):
    turn = max(-design.largest_turn, min(design.largest_turn, turn))
    options = PlanOptions(full_circles=circles, unit="inch" if circles else "mm")
    made = scene(design, turn, speed=speed, options=options, theme=DARK if circles else LIGHT)
    picture(made)
    texts = [line for row in made.view.rows for line in label_lines(row, made)]
    assert not [text for text in texts if "nan" in text.lower() or "inf" in text.lower()]


@given(x=st.floats(-1e7, 1e7), y=st.floats(-1e7, 1e7), scale=st.floats(LEAST_SCALE, MOST_SCALE), turn=turns())
def test_the_plan_can_look_anywhere(qapp, x, y, scale, turn):
    camera = Camera(x, y, scale, *SIZE)
    made = scene(sample_design(KEYS[0]), turn, camera=camera, options=PlanOptions(full_circles=True))
    assert picture(made).shape == (SIZE[1], SIZE[0], 3)
    # The tyres are drawn where the plan looks at them, and nowhere else.
    corners = camera.to_screen(wheel_corners(made.view))
    low, high, end = corners.min(axis=1), corners.max(axis=1), np.array(SIZE)
    drawn = (picture(made, [draw_wheels]) != picture(made, [])).any()
    if ((high < -_AROUND) | (low > end + _AROUND)).any(axis=1).all():
        assert not drawn
    elif ((low > 0) & (high < end)).all(axis=1).any() and scale > 0.1:
        assert drawn


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.0])
def test_an_empty_chassis_is_drawn(qapp, turn):
    assert picture(scene(Design(), turn)).any()


def test_the_smallest_canvas_is_drawn(qapp):
    assert picture(scene(sample_design(KEYS[0]), 0.3, camera=Camera(width=60, height=60))).any()


def test_text_is_really_drawn(qapp):
    assert fonts_present()
    made = scene(sample_design(KEYS[0]), 0.3)
    bare = replace(made, options=PlanOptions(labels=False))
    assert differing(picture(made), picture(bare)) > 0.002
    # Without ink the plates alone differ by no dark pixel.
    dark = (picture(made, [draw_labels]).max(axis=2) < 90).sum()
    assert dark > 200
    assert (picture(bare, [draw_labels]).max(axis=2) < 90).sum() == 0


@pytest.mark.parametrize("theme", [LIGHT, DARK])
@pytest.mark.parametrize(
    "mark", [draw_arcs, draw_axle_lines, draw_wheels, draw_body, draw_scale_bar, draw_centre]
)
def test_each_mark_leaves_its_trace(qapp, theme, mark):
    made = scene(sample_design(KEYS[0]), 0.5, theme=theme)
    assert differing(picture(made, [mark]), picture(made, [])) > 0.0003


def test_the_grid_leaves_its_trace(qapp):
    made = scene(sample_design(KEYS[0]), 0.5)
    assert (picture(made, [draw_grid]) != picture(made, [])).any(axis=2).mean() > 0.02


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("turn", [0.0, 1e-7, 0.2, -0.7, 1.0])
@pytest.mark.parametrize("circles", [False, True])
def test_each_arc_passes_through_its_contact_point(key, turn, circles):
    design = sample_design(key)
    turn = max(-design.largest_turn, min(design.largest_turn, turn))
    made = scene(design, turn, options=PlanOptions(full_circles=circles))
    paths = arc_paths(made)
    middle = paths[len(paths) // 2]
    assert middle == pytest.approx(made.view.contacts, abs=1e-9)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("turn", [0.2, -0.4])
def test_each_arc_keeps_its_distance_from_the_turn_centre(key, turn):
    made = scene(sample_design(key), turn, options=PlanOptions(full_circles=True))
    gap = arc_paths(made) - made.view.centre
    radius = np.hypot(gap[..., 0], gap[..., 1])
    assert radius == pytest.approx(np.broadcast_to(made.view.alignment.radius, radius.shape), rel=1e-9)


def test_a_whole_circle_closes(qapp):
    made = scene(sample_design(KEYS[0]), 0.5, options=PlanOptions(full_circles=True))
    paths = arc_paths(made)
    assert paths[0] == pytest.approx(paths[-1], abs=1e-6)


@pytest.mark.parametrize("marks", [[draw_arcs], [draw_wheels], [draw_labels], [draw_body], [draw_grid]])
@pytest.mark.parametrize("size", [1e-7, 1e-12, 1e-300])
def test_nothing_jumps_when_the_centre_goes_to_infinity(qapp, marks, size):
    design = sample_design(KEYS[0])
    straight = picture(scene(design, 0.0), marks)
    for turn in (size, -size):
        assert differing(picture(scene(design, turn), marks), straight) < 0.0005


def test_an_axle_line_stays_where_it_is_when_the_centre_changes_sides(qapp):
    # The strong part points to the centre and so must change sides; the line itself stays.
    design = sample_design(KEYS[0])

    def ink(turn):
        made = scene(design, turn)
        return (picture(made, [draw_axle_lines]) != picture(made, [])).any(axis=2)

    straight = ink(0.0)
    for turn in (1e-7, -1e-7):
        grown = straight.copy()
        for shift in (-1, 1):
            grown |= np.roll(straight, shift, axis=0)
        assert not (ink(turn) & ~grown).any()
        assert (ink(turn) & straight).sum() > 0.99 * straight.sum()


def test_a_wheel_that_drags_is_marked_by_shape_and_not_by_colour_alone(qapp):
    made = scene(sample_design("misbuilt_scout"), 0.3)
    off = [row for row in made.view.rows if row.state == "drags"]
    assert off
    assert all(label_lines(row, made)[2].startswith("▲ misses") for row in off)


def test_tyre_corners_are_diameter_and_width_apart():
    made = scene(sample_design(KEYS[0]), 0.37)
    for wheel, (a, b, c, d) in zip(made.view.design.wheels, wheel_corners(made.view), strict=True):
        assert math.dist(a, b) == pytest.approx(wheel.width_mm)
        assert math.dist(b, c) == pytest.approx(wheel.diameter_mm)
        assert math.dist(a, c) == pytest.approx(math.dist(b, d))


@given(st.floats(1e-6, 1e9))
def test_grid_steps_are_one_two_or_five(least):
    step = nice_step(least)
    assert least * (1 - 1e-9) <= step <= 2.5 * least * (1 + 1e-9)
    leading = step / 10.0 ** math.floor(math.log10(step) + 1e-12)
    assert min(abs(leading - k) for k in (1, 2, 5, 10)) < 1e-9


@given(st.floats(LEAST_SCALE, MOST_SCALE), st.sampled_from([None, 0.1, 8.0, 1000.0]))
def test_grid_lines_are_never_too_near_to_each_other(scale, pitch):
    design = Design(hole_pitch_mm=pitch)
    made = scene(design, 0.0, camera=Camera(scale=scale, width=SIZE[0], height=SIZE[1]))
    step = grid_step(made)
    assert step * scale >= 9.0 * (1 - 1e-9)
    if pitch is not None:
        assert step / pitch == pytest.approx(round(step / pitch))


def test_the_kept_picture_of_the_ground_is_what_grid_and_body_draw(qapp):
    made = scene(sample_design(KEYS[0]), 0.5)
    assert (picture(made, [draw_ground]) == picture(made, [draw_grid, draw_body])).all()


def test_the_kept_picture_of_the_ground_follows_all_that_it_shows(qapp):
    first = scene(edits.change_chassis(sample_design(KEYS[0]), hole_pitch_mm=None), 0.5)
    changes = (
        {"camera": first.camera.zoomed(1.3, 10, 20)},
        {"theme": DARK},
        {"options": PlanOptions(unit="inch")},
        {"hover": Reference("corner", 1)},
        {"view": replace(first.view, selection=(Reference("corner", 2),))},
        {"view": View(Facts(sample_design(KEYS[3])), Command(0.5))},
    )
    for change in changes:
        made = replace(first, **change)
        before = picture(first, [draw_ground])
        after = picture(made, [draw_ground])
        assert (before != after).any(), change
        assert (after == picture(made, [draw_grid, draw_body])).all()
