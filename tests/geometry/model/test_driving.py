"""Moves, obstacles and courses: which numbers each kind has."""

import pytest

from geometry.errors import DesignError
from geometry.model.driving import (
    OBSTACLE_KINDS,
    OF_OBSTACLE,
    OF_WAY,
    WAYS,
    Course,
    Driving,
    Move,
    Obstacle,
    Script,
)
from geometry.model.frozen import built

OF_MOVE = {"turn": 0.3, "radius_mm": 400.0, "speed": 0.5, "left": 0.2, "right": -0.2, "throttle": 0.4}
OF_THING = {"length_mm": 500.0, "width_mm": 40.0}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("key", OF_MOVE)
def test_a_move_has_the_numbers_of_its_way_and_no_others(way, key):
    good = Move(by=way, **{k: OF_MOVE[k] for k in OF_WAY[way]})
    wanted = key in OF_WAY[way]
    with pytest.raises(DesignError, match=f"^{key} must be {'given' if wanted else 'null'} for {way}"):
        good.edited(**{key: None if wanted else OF_MOVE[key]})


@pytest.mark.parametrize("kind", OBSTACLE_KINDS)
@pytest.mark.parametrize("key", OF_THING)
def test_an_obstacle_has_its_own_sizes_and_no_others(kind, key):
    good = Obstacle(kind=kind, **{k: OF_THING[k] for k in OF_OBSTACLE[kind]})
    wanted = key in OF_OBSTACLE[kind]
    with pytest.raises(DesignError, match=f"^{key} must be {'given' if wanted else 'null'} for {kind}"):
        good.edited(**{key: None if wanted else OF_THING[key]})


def test_a_move_ends():
    good = Move(turn=0.0, speed=0.5)
    with pytest.raises(DesignError, match="amount must be above 0"):
        good.edited(amount=0.0)
    with pytest.raises(DesignError, match="amount must be at most 3600 where it counts seconds"):
        good.edited(amount=4_000.0)
    assert good.edited(until="distance", amount=4_000.0).amount == 4_000.0


def test_names_of_scripts_and_courses_differ():
    with pytest.raises(DesignError, match=r"scripts\[1\]\.name must differ from scripts\[0\]\.name"):
        built(Driving, {"scripts": (Script(name="lane"), Script(name="Lane"))})
    with pytest.raises(DesignError, match=r"courses\[1\]\.name must differ from courses\[0\]\.name"):
        built(Driving, {"courses": (Course(name="lane"), Course(name="Lane"))})
    Driving(scripts=(Script(name="lane"),), courses=(Course(name="lane"),))
