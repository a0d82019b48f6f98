from __future__ import annotations

import numpy as np
import pytest
import shapely

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from geometry.packaging.boxes import MOST_BOXES, boxes_within, clear_of_wheels, rectangles_of
from tests.geometry.packaging.laden import BODY

ROUND = [(200 * np.cos(t), 120 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 100, endpoint=False)]
OUTLINES = {
    "bay and nose": BODY,
    "triangle": ((0, 0), (300, 20), (10, 200)),
    "round": ROUND,
    "bow tie": ((-100, -80), (0, -5), (100, -80), (100, 80), (0, 5), (-100, 80)),
    "nearly upright edge": ((0, 0), (300, 0), (300.004, 200), (0, 200)),
    "two legs": ((0, 0), (200, 0), (200, 30), (40, 30), (40, 70), (200, 70), (200, 100), (0, 100)),
}


def union(boxes):
    shapes = [shapely.box(rear, right, front, left) for rear, right, front, left in boxes.spans]
    return shapely.union_all(shapes)


@pytest.mark.parametrize("outline", OUTLINES.values(), ids=OUTLINES)
def test_boxes_lie_within_the_outline_and_fill_it_but_for_what_is_said(outline) -> None:
    boxes, body = boxes_within(outline), shapely.Polygon(outline)
    filled = union(boxes)
    assert not boxes.around
    assert len(boxes.spans) <= MOST_BOXES
    assert filled.difference(body).area < 1e-6 * body.area
    assert sum((s[2] - s[0]) * (s[3] - s[1]) for s in boxes.spans) == pytest.approx(filled.area)
    # Every point of the outline is that near to a box along y.
    left_out = body.difference(filled)
    for part in getattr(left_out, "geoms", [left_out]):
        # Strips thinner than a hundredth of a millimetre are left out.
        if part.is_empty or part.bounds[2] - part.bounds[0] < 0.01:
            continue
        for x in np.linspace(part.bounds[0], part.bounds[2], 9)[1:-1]:
            cut = part.intersection(shapely.LineString([(x, -999), (x, 999)]))
            for piece in getattr(cut, "geoms", [cut]):
                assert piece.length <= 2.0 * boxes.short + 0.05
    assert filled.area > 0.9 * body.area


def test_an_outline_of_right_angles_is_filled_exactly() -> None:
    outline = OUTLINES["two legs"]
    boxes = boxes_within(outline)
    assert boxes.short == 0
    assert union(boxes).area == pytest.approx(shapely.Polygon(outline).area)
    assert len(boxes.spans) == 3


def test_an_outline_that_would_take_too_many_boxes_gets_the_one_around_it() -> None:
    teeth = [
        p
        for k in range(49)
        for p in ((1.1 * k, 2.0 * k), (100 + 1.3 * k, 2.0 * k + 0.9), (1.2 * k, 2.0 * k + 1))
    ]
    comb = [*teeth, (-5, 200), (-5, -10)]
    assert shapely.Polygon(comb).is_valid
    boxes = boxes_within(comb)
    assert boxes.around
    rear, right, front, left = boxes.spans[0]
    assert (rear, right, front, left) == shapely.Polygon(comb).bounds


STEERED = Wheel(name="s", x_mm=0, y_mm=0, kind="steered", travel_min_deg=-45, travel_max_deg=45)


@pytest.mark.parametrize(
    ("kind", "x", "low", "clear"),
    [
        # A wheel of 60 by 25: straight ahead its corner is 30 ahead and 12.5 beside; at 45 degrees it
        # comes as far to the side as 30.05, and all round hypot(30, 12.5) = 32.5.
        ("fixed", 14.0, 0.0, True),
        ("fixed", 12.0, 0.0, False),
        ("steered", 14.0, 0.0, False),
        ("steered", 31.0, 0.0, True),
        ("caster", 31.0, 0.0, False),
        ("caster", 33.0, 0.0, True),
        ("caster", 31.0, 60.1, True),
        ("fixed", 12.0, 59.0, False),
    ],
)
def test_a_box_beside_a_wheel_is_clear_where_no_steer_angle_brings_the_wheel_there(
    kind, x, low, clear
) -> None:
    design = Design(wheels=(STEERED.edited(kind=kind),))
    box = rectangles_of([(-200, x, 200, x + 10)])
    found = clear_of_wheels(robot_of(design), design, box, [low], [low + 100.0])
    assert found.tolist() == [clear]


def test_a_wheel_inside_a_box_is_not_clear_of_it() -> None:
    design = Design(wheels=(STEERED,))
    boxes = rectangles_of([(-100, -100, 100, 100), (200, 200, 300, 300)])
    assert clear_of_wheels(robot_of(design), design, boxes, [20, 20], [50, 50]).tolist() == [False, True]


@pytest.mark.parametrize(("low", "clear"), [(30.0, False), (55.0, True)])
def test_a_box_ahead_is_clear_of_a_wheel_that_is_narrow_at_its_height(low, clear) -> None:
    # 25 above the axle a wheel of 60 reaches sqrt(30^2 - 25^2) = 16.6 ahead.
    design = Design(wheels=(STEERED.edited(kind="fixed"),))
    found = clear_of_wheels(robot_of(design), design, rectangles_of([(20, -10, 40, 10)]), [low], [80.0])
    assert found.tolist() == [clear]
