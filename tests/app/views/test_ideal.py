"""What would suit beside what the motors do: drawn where they differ, and only where it is wanted."""

import math

import numpy as np
import pytest

from app.theme import DARK, LIGHT
from app.views.ideal import draw_ghosts, draw_ideal_centre
from app.views.scene import PlanOptions
from app.views.wheels import label_lines
from tests.app.scouts import DRIVES, FRONT, LEFT, REAR, RIGHT, drive_motor, scout, steer_motor
from tests.app.views.test_marks import SIZE, picture, scene

ROUGH = scout(FRONT, REAR)
HIDDEN = PlanOptions(ideal=False)
NEARLY = scout(steer_motor("right", {"front right": 1.0, "rear right": -1.0001}), LEFT)
LAME = scout(drive_motor("both", {"middle left": 1.0, "middle right": 0.5}))


def traces(made, mark):
    """Pixels (y, x) that a mark changes."""
    return np.argwhere((picture(made, [mark]) != picture(made, [])).any(axis=2))


@pytest.mark.parametrize("theme", [LIGHT, DARK])
@pytest.mark.parametrize("mark", [draw_ghosts, draw_ideal_centre])
def test_each_mark_leaves_its_trace_where_the_motors_do_not_suit(qapp, theme, mark):
    assert len(traces(scene(ROUGH, 0.6, theme=theme), mark)) > 100


@pytest.mark.parametrize("mark", [draw_ghosts, draw_ideal_centre])
@pytest.mark.parametrize("design", [scout(), scout(RIGHT, LEFT), scout(*DRIVES)])
@pytest.mark.parametrize("turn", [0.0, 0.6, -1.0])
def test_nothing_is_drawn_where_nothing_differs(qapp, design, turn, mark):
    assert len(traces(scene(design, turn), mark)) == 0


@pytest.mark.parametrize("mark", [draw_ghosts, draw_ideal_centre])
def test_nothing_is_drawn_where_it_is_not_wanted(qapp, mark):
    assert len(traces(scene(ROUGH, 0.6, options=HIDDEN), mark)) == 0


def test_a_difference_that_no_label_would_show_has_no_ghost(qapp):
    made = scene(NEARLY, 0.6)
    off = max(abs(row.steer - row.ideal) for row in made.view.rows if row.ideal is not None)
    assert 0 < math.degrees(off) < 0.05
    assert made.ghosts == ()
    assert scene(ROUGH, 0.6).ghosts == (0, 1, 4, 5)


def test_ghosts_stand_around_the_kingpins_of_their_wheels(qapp):
    made = scene(ROUGH, 0.6)
    found = traces(made, draw_ghosts)[:, ::-1]
    places = made.contacts[list(made.ghosts)]
    away = np.hypot(*(found[:, None, :] - places[None, :, :]).T).min(axis=0)
    assert away.max() < 0.5 * math.hypot(60.0, 25.0) * made.camera.scale + 4
    assert all((np.hypot(*(found - place).T) < 60.0).any() for place in places)


def test_the_ring_stands_at_the_centre_that_is_asked_for(qapp):
    made = scene(ROUGH, 0.6)
    ring = made.camera.to_screen(made.view.asked_centre)
    found = traces(made, draw_ideal_centre)[:, ::-1]
    assert (
        np.hypot(*(found - ring).T).min() == pytest.approx(8.0, abs=2.5)
        or (np.hypot(*(found - ring).T) < 14).sum() > 60
    )
    # The line runs from there to the centre as built.
    middle = 0.5 * (ring + made.centre)
    assert np.hypot(*(found - middle).T).min() < 2


def test_a_centre_that_cannot_be_seen_or_is_none_leaves_no_ring(qapp):
    far = scene(ROUGH, 0.001)
    assert far.view.gap > 0.05
    assert not (0 <= far.camera.to_screen(far.view.asked_centre)[0] <= SIZE[0])
    assert len(traces(far, draw_ideal_centre)) == 0
    straight = scene(LAME, 0.0)
    assert math.isinf(straight.view.gap)
    assert len(traces(straight, draw_ideal_centre)) == 0


def test_labels_tell_the_ideal_angle_where_it_differs():
    made = scene(ROUGH, 0.3)
    row = made.view.rows[0]
    lines = label_lines(row, made)
    assert lines[1] == f"{math.degrees(row.steer):.1f}°"
    assert lines[2] == f"(ideal {math.degrees(row.ideal):.1f}°)"
    assert not any("ideal" in line for line in label_lines(made.view.rows[2], made))
    assert not any("ideal" in line for line in label_lines(row, scene(ROUGH, 0.3, options=HIDDEN)))
    exact = scene(scout(RIGHT, LEFT), 0.3)
    assert not any("ideal" in line for row in exact.view.rows for line in label_lines(row, exact))
