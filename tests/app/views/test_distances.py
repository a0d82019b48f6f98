"""What is written beside a wheel or a body corner while it is dragged."""

import numpy as np
import pytest

from app.design import edits
from app.design.facts import Facts
from app.design.references import Reference
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.views import distances
from app.views.distances import lines_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests import mouse
from tests.windows import KEYS

SIX = sample_design(KEYS[0])


def view_of(design, turn=0.0):
    return View(Facts(design), Command(turn))


def wheels(*places, **values):
    return tuple(
        Wheel(name=f"w{n}", x_mm=x, y_mm=y, diameter_mm=60.0, width_mm=20.0, **values)
        for n, (x, y) in enumerate(places)
    )


def test_a_wheel_says_place_track_axles_and_what_is_next_to_it():
    body = ((200.0, 80.0), (-200.0, 80.0), (-200.0, -80.0), (200.0, -80.0))
    design = Design(wheels=wheels((0, 120), (0, -120), (100, 120), (-150.5, 120)), body_mm=body)
    assert lines_of(view_of(design), Reference("wheel", 0), 1, "mm") == [
        "x 0 mm, y 120 mm",
        "track 240 mm",
        "axle ahead 100 mm",
        "axle behind 150.5 mm",
        "40 mm to w2",
        "30 mm to the body's edge",
    ]


def test_lengths_are_told_in_inches():
    lines = lines_of(view_of(Design(wheels=wheels((0, 127), (0, -127)))), Reference("wheel", 0), 1, "inch")
    assert lines == ["x 0 in, y 5 in", "track 10 in", "9.213 in to w1"]


def test_a_partner_that_is_left_behind_makes_no_track():
    lines = lines_of(view_of(Design(wheels=wheels((20, 120), (0, -120)))), Reference("wheel", 0), 1, "mm")
    assert not [line for line in lines if line.startswith("track")]
    alone = lines_of(view_of(Design(wheels=wheels((20, 120)))), Reference("wheel", 0), None, "mm")
    assert alone == ["x 20 mm, y 120 mm"]


def test_tyres_and_edges_that_meet_are_told_as_such():
    body = ((200.0, 120.0), (-200.0, 120.0), (-200.0, -120.0), (200.0, -120.0))
    design = Design(wheels=wheels((0, 120), (50, 120)), body_mm=body)
    lines = lines_of(view_of(design), Reference("wheel", 0), None, "mm")
    assert lines[-2:] == ["meets w1", "on the body's edge"]


def test_the_gap_is_that_of_the_tyres_as_they_stand():
    turned = view_of(SIX, 1.0)
    straight = lines_of(view_of(SIX), Reference("wheel", 0), 1, "mm")
    assert straight[3].split(" to ")[1] == "middle left"
    assert lines_of(turned, Reference("wheel", 0), 1, "mm")[3] != straight[3]
    assert lines_of(turned, Reference("wheel", 0), 1, "mm")[:3] == straight[:3]


def test_a_corner_says_place_and_the_size_of_the_body():
    lines = lines_of(view_of(SIX), Reference("corner", 0), None, "mm")
    assert lines == ["x 180 mm, y 60 mm", "body length 360 mm", "body width 168 mm"]


@pytest.fixture
def drawn(monkeypatch):
    """What a drag wrote, step by step."""
    seen = []
    monkeypatch.setattr(
        "app.views.gestures.draw_lines", lambda _painter, _scene, thing, lines: seen.append((thing, lines))
    )
    return seen


def test_a_drag_writes_where_the_wheel_is_and_a_click_nothing(make_window, make_document, drawn):
    document = make_document(SIX.edited(hole_pitch_mm=None))
    window = make_window(document)
    canvas = window.canvas
    x, y = document.design.wheels[0].x_mm, document.design.wheels[0].y_mm
    mouse.press(canvas, x, y)
    canvas.grab()
    assert drawn == []
    mouse.move(canvas, x + 20.0, y)
    canvas.grab()
    thing, lines = drawn[-1]
    assert thing == Reference("wheel", 0)
    assert lines[:2] == [f"x {x + 20.0:g} mm, y {y:g} mm", f"track {2 * y:g} mm"]
    mouse.release(canvas, x + 20.0, y)
    drawn.clear()
    canvas.grab()
    assert drawn == []


@pytest.mark.parametrize("index", range(6))
@pytest.mark.parametrize("turn", [0.0, 0.3, -1.0])
def test_the_lines_keep_off_tyres_and_within_the_canvas(make_window, make_document, index, turn):
    document = make_document(SIX)
    canvas = make_window(document).canvas
    document.set_turn(turn)
    canvas.fit()
    scene = canvas.scene()
    wide, tall = 150.0, 80.0
    left, top = distances._place_of_block(scene, Reference("wheel", index), wide, tall)
    assert 0 <= left <= canvas.width() - wide
    assert 0 <= top <= canvas.height() - tall
    tyres = scene.camera.to_screen(distances.wheel_corners(document.view))
    low, high = tyres.min(axis=1), tyres.max(axis=1)
    shared = np.minimum([left + wide, top + tall], high) - np.maximum([left, top], low)
    assert (shared.clip(0.0).prod(axis=1) == 0.0).all()


def test_the_lines_of_a_moved_pair_follow_both(make_document):
    document = make_document(SIX)
    document.preview(lambda d: edits.move_wheels(d, {0: (140.0, 100.0)}, mirror=True))
    assert "track 200 mm" in lines_of(document.view, Reference("wheel", 0), 1, "mm")
