from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.axes import Floats
from geometry.transmission.steer_law import Gears, SteerLaw, inverse
from tests.bent import BentLaw, straightened

RATIOS = np.array([1.0, -0.5, 2.0])
LAWS = (Gears(RATIOS), BentLaw(RATIOS), BentLaw(RATIOS, bend=-0.9, reach=1.2))
shafts = st.lists(st.floats(-1.1, 1.1), min_size=1, max_size=5).map(np.array)


@pytest.mark.parametrize("law", LAWS, ids=("gears", "bent", "bent short"))
@given(shafts)
def test_the_inverse_of_each_wheel_leads_back_to_the_shaft(law: SteerLaw, shaft: Floats) -> None:
    angles = law.angles(shaft)
    assert angles.shape == (len(shaft), 3)
    for wheel in range(3):
        assert law.shaft_of(wheel, angles[:, wheel]) == pytest.approx(shaft, abs=1e-13)


@pytest.mark.parametrize("law", LAWS, ids=("gears", "bent", "bent short"))
@given(shafts)
def test_slopes_are_the_change_of_the_angles_and_no_slope_is_steeper_than_the_steepest(
    law: SteerLaw, shaft: Floats
) -> None:
    change = (law.angles(shaft + 1e-6) - law.angles(shaft - 1e-6)) / 2e-6
    assert law.slopes(shaft) == pytest.approx(change, abs=1e-8)
    assert (np.abs(law.slopes(shaft)) <= law.steepest + 1e-12).all()


@pytest.mark.parametrize("law", LAWS, ids=("gears", "bent", "bent short"))
def test_straight_ahead_every_wheel_is_straight(law: SteerLaw) -> None:
    assert not law.angles(np.zeros(1)).any()


def test_an_angle_out_of_reach_gives_the_nearer_end() -> None:
    law = BentLaw(RATIOS, reach=1.2)
    assert law.shaft_of(0, np.array([9.0, -9.0])).tolist() == [1.2, -1.2]
    assert inverse(law, 1, np.array([9.0, -9.0]), -1.2, 1.2).tolist() == [-1.2, 1.2]


def test_a_law_and_its_slope_at_0_part_away_from_0() -> None:
    law = LAWS[1]
    there, straight = (one.angles(np.array([0.6]))[0, 0] for one in (law, straightened(law)))
    assert there - straight == pytest.approx(0.4 * (1.0 - np.cos(0.6)), abs=1e-15)
