"""The camera: forward up, left left, and back again."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.views.camera import LEAST_SCALE, MOST_SCALE, Camera

places = st.floats(-20_000, 20_000)
scales = st.floats(LEAST_SCALE, MOST_SCALE)
cameras = st.builds(
    Camera,
    x=places,
    y=places,
    scale=scales,
    width=st.integers(1, 4000),
    height=st.integers(1, 4000),
)
pixels = st.floats(-100, 4100)


def test_forward_is_up_and_left_is_left():
    camera = Camera(width=400, height=300)
    middle, ahead, left = camera.to_screen([(0.0, 0.0), (10.0, 0.0), (0.0, 10.0)])
    assert middle.tolist() == [200.0, 150.0]
    assert ahead.tolist() == [200.0, 140.0]
    assert left.tolist() == [190.0, 150.0]


@given(cameras, places, places)
def test_a_point_comes_back_from_the_screen(camera, x, y):
    px, py = camera.to_screen((x, y)).tolist()
    back = camera.to_chassis(px, py)
    assert back == pytest.approx((x, y), abs=1e-6)


@given(cameras, pixels, pixels, st.floats(1e-3, 1e3))
def test_zoom_keeps_the_point_under_the_mouse(camera, px, py, factor):
    before = camera.to_chassis(px, py)
    after = camera.zoomed(factor, px, py)
    assert after.to_screen(before).tolist() == pytest.approx([px, py], abs=1e-3)
    assert LEAST_SCALE <= after.scale <= MOST_SCALE


def test_zoom_stops_at_its_ends_without_moving():
    camera = Camera(x=12.0, y=-7.0, scale=MOST_SCALE)
    assert camera.zoomed(2.0, 10.0, 20.0) == camera
    far = Camera(x=12.0, y=-7.0, scale=LEAST_SCALE)
    assert far.zoomed(0.5, 10.0, 20.0) == far


@given(cameras, pixels, pixels, st.floats(-500, 500), st.floats(-500, 500))
def test_what_is_under_the_mouse_follows_a_pan(camera, px, py, dx, dy):
    point = camera.to_chassis(px, py)
    after = camera.panned(dx, dy).to_screen(point)
    assert after.tolist() == pytest.approx([px + dx, py + dy], abs=1e-3)


@given(cameras, st.lists(st.tuples(places, places), min_size=1, max_size=6))
def test_what_is_fitted_is_in_sight(camera, points):
    camera = camera.resized(600, 400)
    fitted = camera.fitted(points, 40)
    on_screen = fitted.to_screen(points)
    if fitted.scale > LEAST_SCALE:
        assert (on_screen >= 40 - 1e-6).all()
        assert (on_screen <= np.array([560, 360]) + 1e-6).all()


def test_without_points_nothing_is_fitted():
    camera = Camera(x=3.0, scale=2.0)
    assert camera.fitted([], 40) == camera
    assert camera.fitted([(np.inf, 0.0)], 40) == camera


def test_a_canvas_smaller_than_its_margin_can_still_be_fitted():
    camera = Camera(width=10, height=10).fitted([(0, 0), (100, 100)], 60)
    assert camera.scale == LEAST_SCALE
