"""What a press would grip: tyres as they stand, and a finger's breadth around what is small."""

import math

import pytest

from app.design.facts import Facts
from app.picture.view import Command, View
from app.views.camera import Camera
from app.views.picking import WHEEL_REACH_PX, wheel_under
from geometry.model.design import Design
from geometry.model.wheel import Wheel

# Half a tyre's length, longer than the reach; its width is far less than the reach.
HALF = 40.0
PAIR = tuple(Wheel(name=f"rear {y:g}", x_mm=-200.0, y_mm=y) for y in (150.0, -150.0))


def view_of(turn=0.0, **front):
    values = {"name": "front", "x_mm": 200.0, "y_mm": 0.0, "diameter_mm": 2 * HALF, "width_mm": 5.0, **front}
    return View(Facts(Design(wheels=(Wheel.model_validate(values), *PAIR))), Command(turn))


def under(view, along, across, scale=1.0):
    """What is under a point that lies so far from the front wheel, along it and to its left [px]."""
    camera = Camera(x=180.0, y=15.0, scale=scale, width=600, height=600)
    cos, sin = math.cos(view.heading[0]), math.sin(view.heading[0])
    x, y = view.contacts[0]
    dx, dy = (along * cos - across * sin) / scale, (along * sin + across * cos) / scale
    return wheel_under(view, camera, *camera.to_screen((x + dx, y + dy)).tolist())


@pytest.mark.parametrize("turn", [0.0, 0.4, -0.8])
@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("end", [1.0, -1.0])
def test_a_thin_tyre_is_gripped_along_its_length_and_within_reach_of_its_sides(turn, side, end):
    view = view_of(turn, kind="steered")
    near, off = WHEEL_REACH_PX - 0.5, WHEEL_REACH_PX + 0.5
    assert under(view, end * (HALF - 1), side * near) == 0
    assert under(view, end * (HALF - 1), side * off) is None
    assert under(view, end * (HALF + 1), 0.0) is None


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_broad_tyre_is_gripped_by_all_of_it_and_no_more(side):
    view = view_of(width_mm=60.0)
    assert under(view, 20.0, side * 29.5) == 0
    assert under(view, 20.0, side * 30.5) is None


@pytest.mark.parametrize("angle", range(0, 360, 45))
def test_a_wheel_smaller_than_the_reach_can_still_be_gripped(angle):
    view, scale = view_of(), 0.02
    way = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    assert under(view, *(0.95 * WHEEL_REACH_PX * part for part in way), scale=scale) is not None
    # Far from its two neighbours too, which are 8 pixels behind it.
    assert under(view, 30.0 * way[0], 30.0 * way[1], scale=scale) is None


def test_a_kingpin_beside_its_tyre_is_a_grip_too():
    view = view_of(kind="steered", lateral_offset_mm=100.0)
    assert under(view, 0.0, 0.0) == 0
    assert under(view, 0.0, -100.0 + 9.0) == 0
    assert under(view, 0.0, -50.0) is None


def test_where_tyres_overlap_the_nearer_kingpin_is_gripped():
    wheel = view_of(width_mm=60.0).design.wheels[0]
    wheels = (wheel, wheel.edited(name="over", y_mm=20.0), *PAIR)
    view = View(Facts(Design(wheels=wheels)), Command(0.0))
    assert under(view, 0.0, 9.0) == 0
    assert under(view, 0.0, 11.0) == 1
