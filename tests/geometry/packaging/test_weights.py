"""Weights by equal springs that never pull, centre of mass, tipping, and load shares."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.model.packaging import Packaging
from geometry.packaging.weights import GRAVITY, load_shares, spring_loads, tipping_of
from tests.effort import effort
from tests.geometry.packaging.chassis import BODY, box, chassis, fit, rod, wheel

SIX = ([200, 200, 0, 0, -200, -200], [150, -150, 160, -160, 150, -150])


def least_squares_of_all_sets(x, y, centre):
    """The best loads among all sets of wheels that carry; None where no set holds the weight."""
    best = None
    rows = np.stack([np.ones(len(x)), np.subtract(x, centre[0]), np.subtract(y, centre[1])])
    for size in range(1, len(x) + 1):
        for some in itertools.combinations(range(len(x)), size):
            loads = np.zeros(len(x))
            loads[list(some)] = np.linalg.pinv(rows[:, some]) @ [1.0, 0.0, 0.0]
            holds = np.abs(rows @ loads - [1.0, 0.0, 0.0]).max() < 1e-7 and loads.min() > -1e-10
            if holds and (best is None or loads @ loads < best @ best - 1e-14):
                best = loads
    return best


def test_the_loads_are_the_best_of_all_sets_of_wheels_that_can_carry():
    random = np.random.default_rng(51)
    stands = lifted = 0
    for _ in range(effort(250, 3_000)):
        count = int(random.integers(3, 8))
        x, y = np.round(random.uniform(-200, 200, (2, count)), -1)
        centre = random.uniform(-120, 120, 2)
        best, found = least_squares_of_all_sets(x, y, centre), spring_loads(x, y, centre, 1.0)
        assert (best is None) == (found is None)
        if found is not None:
            assert found == pytest.approx(best, abs=1e-8)
            stands, lifted = stands + 1, lifted + bool((found < 1e-9).any())
    assert stands > 60
    assert lifted > 20


def test_a_centre_among_few_of_many_wheels_still_has_loads():
    # Plain Newton steps go round in circles in 4 of 1,000 of these.
    random = np.random.default_rng(52)
    for _ in range(effort(2_000, 20_000)):
        x, y = random.uniform(-200, 200, (2, int(random.integers(3, 12))))
        share = random.dirichlet(np.full(len(x), 0.25))
        loads = spring_loads(x, y, (share @ x, share @ y), 1.0)
        assert loads is not None
        assert loads @ loads <= share @ share + 1e-9


@given(
    st.lists(st.tuples(st.integers(-300, 300), st.integers(-300, 300)), min_size=3, max_size=64), st.data()
)
def test_loads_hold_weight_and_moments_and_none_pulls(points, data):
    x, y = np.array(points, dtype=float).T
    share = np.array(data.draw(st.lists(st.floats(0, 1), min_size=len(x), max_size=len(x))))
    assume(share.sum() > 0.1)
    centre = np.array([share @ x, share @ y]) / share.sum()
    loads = spring_loads(x, y, centre, 50.0)
    assert loads is not None
    assert loads.min() >= 0
    assert (loads.sum(), loads @ x, loads @ y) == pytest.approx(
        (50.0, 50.0 * centre[0], 50.0 * centre[1]), abs=1e-3
    )
    # Never worse than the loads from which the centre was made.
    assert loads @ loads <= (50.0 * share / share.sum()) @ (50.0 * share / share.sum()) + 1e-4


@pytest.mark.parametrize("centre", [(250.0, 0.0), (0.0, 161.0), (-201.0, 150.0)])
def test_a_centre_that_is_not_above_the_wheels_has_no_loads(centre):
    assert spring_loads(*SIX, centre, 1.0) is None


def test_on_an_edge_and_on_a_corner_only_the_wheels_there_carry():
    assert spring_loads(*SIX, (200.0, 0.0), 2.0) == pytest.approx([1, 1, 0, 0, 0, 0], abs=1e-6)
    assert spring_loads(*SIX, (200.0, 150.0), 2.0) == pytest.approx([2, 0, 0, 0, 0, 0], abs=1e-6)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_wheels_carry_only_what_is_right_above(count):
    x, y = [0.0, 100.0][:count], [0.0, 0.0][:count]
    assert spring_loads(x, y, (25.0, 1.0), 4.0) is None
    loads = spring_loads(x, y, (25.0, 0.0), 4.0)
    assert loads is None if count < 2 else loads == pytest.approx([3.0, 1.0])


def test_the_centre_of_mass_is_of_body_parts_and_wheels_with_heights():
    wheels = [
        wheel(f"w{i}", x, y, kind="fixed", mass_kg=0.5)
        for i, (x, y) in enumerate(((100, 120), (100, -120), (-100, 120)))
    ]
    battery = box("battery", x=-50.0, y=20.0, bottom=30.0, size=(60.0, 40.0, 20.0), mass_kg=2.0)
    axle = rod("axle", x=10.0, bottom=50.0, size=(40.0, 10.0), mass_kg=1.0)
    found = fit(chassis(battery, axle, wheels=wheels, body_mass_kg=1.5)).balance
    total = 2.0 + 1.0 + 1.5 + 1.5
    assert found.mass == pytest.approx(total)
    assert found.centre == pytest.approx(
        [
            (-100.0 + 10.0 + 0.5 * 100.0) / total,
            (40.0 + 0.5 * 120.0) / total,
            (2.0 * 40.0 + 55.0 + 1.5 * 70.0 + 1.5 * 30.0) / total,
        ]
    )
    assert found.loads.sum() == pytest.approx(total * GRAVITY)
    assert not found.loads.flags.writeable


def test_the_bodys_middle_is_that_of_its_area():
    hollow = ((100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 200.0), (-100.0, 200.0), (-100.0, 0.0))
    found = fit(chassis(body=hollow, body_mass_kg=1.0)).balance
    # Squares of 100 at (50, 50), (-50, 50) and (-50, 150).
    assert found.centre[:2] == pytest.approx([-50.0 / 3.0, 250.0 / 3.0])
    assert fit(chassis(body=hollow[::-1], body_mass_kg=1.0)).balance.centre == pytest.approx(found.centre)


def test_a_part_on_a_kingpin_takes_its_mass_along():
    servo = box("servo", x=20.0, y=0.0, mounted_on="wheel", mass_kg=1.0)
    design = chassis(servo, wheels=[wheel()], body=())
    assert fit(design, degrees=90.0).balance.centre[:2] == pytest.approx([0.0, 20.0])


def test_a_lifted_wheel_is_named():
    wheels = [wheel(f"w{i}", x, y, kind="fixed") for i, (x, y) in enumerate(zip(*SIX, strict=True))]
    found = fit(chassis(box(x=150.0, mass_kg=2.3), wheels=wheels, body=())).balance
    assert found.lifted == (4, 5)
    assert fit(chassis(box(x=250.0, mass_kg=2.3), wheels=wheels, body=())).balance.loads is None


def test_it_tips_over_the_nearest_side_of_the_polygon_of_all_contacts():
    sides = tipping_of(*SIX, (150.0, 0.0, 60.0))
    assert len(sides) == 6
    least = min(sides, key=lambda side: side.angle)
    assert {least.first, least.second} == {0, 1}
    assert (least.margin, np.degrees(least.angle)) == pytest.approx((50.0, np.degrees(np.arctan2(50, 60))))
    outside = min(tipping_of(*SIX, (210.0, 0.0, 60.0)), key=lambda side: side.angle)
    assert outside.angle < 0
    assert tipping_of([0, 1, 2], [0, 0, 0], (1, 0, 5)) == ()


def test_load_shares_have_the_mean_1_and_never_fall_below_what_a_wheel_may_have():
    wheels = [wheel(f"w{i}", x, y, kind="fixed") for i, (x, y) in enumerate(zip(*SIX, strict=True))]
    design = chassis(box(x=150.0, mass_kg=2.3), wheels=wheels, body=BODY)
    shares = load_shares(design)
    assert shares[4:] == (0.001, 0.001)
    assert shares[0] / shares[2] == pytest.approx(8.4611 / 2.8204, rel=1e-4)
    assert np.mean(shares) == pytest.approx(1.0, abs=1e-3)
    design.edited(wheels=tuple(w.edited(load_share=s) for w, s in zip(wheels, shares, strict=True)))
    assert load_shares(design.edited(packaging=Packaging())) is None
    assert load_shares(chassis(box(x=250.0, mass_kg=2.3), wheels=wheels)) is None
