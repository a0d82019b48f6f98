"""Ready courses: they suit every chassis, as it stands and as it should pass."""

from __future__ import annotations

import numpy as np
import pytest

from app.design.samples import sample_design
from geometry.driving.ready_courses import READY, extent_of, reach_of
from geometry.model.design import Design
from sample_chassis import SAMPLES

KEYS = [sample.key for sample in SAMPLES]


@pytest.mark.parametrize("name", READY)
@pytest.mark.parametrize("key", KEYS)
def test_each_is_a_course_of_its_name_with_something_on_it(name: str, key: str) -> None:
    course = READY[name](sample_design(key))
    assert course.name == name
    assert len(course.obstacles) >= 2


@pytest.mark.parametrize("name", READY)
def test_a_chassis_twice_as_large_gets_a_course_twice_as_large(name: str) -> None:
    design = sample_design("marsh_scout_six")
    double = design.edited(
        wheels=tuple(
            w.edited(x_mm=2 * w.x_mm, y_mm=2 * w.y_mm, diameter_mm=2 * w.diameter_mm, width_mm=2 * w.width_mm)
            for w in design.wheels
        ),
        body_mm=tuple((2 * x, 2 * y) for x, y in design.body_mm),
    )
    for one, two in zip(READY[name](design).obstacles, READY[name](double).obstacles, strict=True):
        for key in ("x_mm", "y_mm", "length_mm", "width_mm"):
            small, large = getattr(one, key), getattr(two, key)
            assert (small is None) == (large is None)
            assert large is None or large == pytest.approx(2 * small, abs=0.21)


@pytest.mark.parametrize("name", READY)
def test_a_chassis_with_nothing_on_it_gets_one_too(name: str) -> None:
    assert READY[name](Design()).obstacles


def test_the_extent_covers_body_and_wheels() -> None:
    design = sample_design("marsh_scout_six")
    extent = extent_of(design)
    places = np.array(design.body_mm)
    assert extent.front >= places[:, 0].max()
    assert extent.rear <= min(w.x_mm - 0.5 * w.diameter_mm for w in design.wheels)
    assert reach_of(design) >= np.hypot(*places.T).max()
