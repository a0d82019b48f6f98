"""Inertias against sums over a fine grid of points, which know no formula."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.packaging.inertia import box_lump, cylinder_lump, joined, prism_lump
from geometry.plane import points_outside

COUNT = 80


def grid(low, high):
    """Middles of COUNT cubed cells that fill a box, (P, 3)."""
    lines = [
        np.linspace(a, b, COUNT, endpoint=False) + 0.5 * (b - a) / COUNT
        for a, b in zip(low, high, strict=True)
    ]
    return np.stack([axis.ravel() for axis in np.meshgrid(*lines)], axis=1)


def summed(points, mass):
    """Centre and tensor of that mass, spread over points: the definition, as a sum."""
    centre = points.mean(axis=0)
    off = points - centre
    square = (off**2).sum()
    return centre, mass / len(points) * (square * np.eye(3) - off.T @ off)


def agree(lump, points, rel):
    centre, tensor = summed(points, lump.mass)
    size = np.abs(tensor).max()
    assert lump.centre == pytest.approx(centre, abs=rel * np.ptp(points, axis=0).max())
    assert np.abs(lump.inertia - tensor).max() < rel * size
    return tensor


def test_a_turned_box_is_the_sum_of_its_points() -> None:
    own = grid((-60, -30, -20), (60, 30, 20))
    turn = np.radians(35)
    c, s = np.cos(turn), np.sin(turn)
    points = own @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + (40, -12, 90)
    tensor = agree(box_lump(0.7, (40, -12, 90), (120, 60, 40), turn), points, 3e-4)
    assert abs(tensor[0, 1]) > 0.3 * tensor[0, 0]


@pytest.mark.parametrize("axis", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (0.6, 0.8, 0), (0.6, 0, -0.8)])
def test_a_cylinder_is_the_sum_of_its_points(axis) -> None:
    own = grid((-15, -15, -35), (15, 15, 35))
    own = own[np.hypot(own[:, 0], own[:, 1]) < 15]
    along = np.array(axis, dtype=float)
    beside = np.cross(along, (0.48, -0.36, 0.8))
    beside /= np.linalg.norm(beside)
    points = own @ np.stack([beside, np.cross(along, beside), along]) + (5, 6, 7)
    agree(cylinder_lump(0.3, (5, 6, 7), 30, 70, axis), points, 2e-3)


L_SHAPE = [(10, 10), (130, 10), (130, 50), (60, 50), (60, 90), (10, 120)]


@pytest.mark.parametrize("outline", [L_SHAPE, L_SHAPE[::-1]])
def test_a_prism_over_an_outline_is_the_sum_of_its_points(outline) -> None:
    points = grid((10, 10, 20), (130, 120, 50))
    points = np.delete(points, points_outside(outline, points[:, :2]), axis=0)
    tensor = agree(prism_lump(0.9, outline, 20, 50), points, 5e-3)
    assert abs(tensor[0, 1]) > 0.05 * tensor[2, 2]


def test_a_small_prism_far_from_the_origin_has_the_inertia_of_one_near_it() -> None:
    small = np.array(L_SHAPE) / 128.0
    near = prism_lump(0.9, small, 20, 50)
    far = prism_lump(0.9, small + np.array((8192, -8192)), 20, 50)
    assert far.inertia == pytest.approx(near.inertia, rel=1e-9, abs=1e-9)
    assert far.centre - near.centre == pytest.approx((8192, -8192, 0))


@pytest.mark.parametrize(
    ("lump", "told"),
    [
        # Moments about the centre, as any handbook's table of solids lists them, with numbers put in:
        # cuboid m (b2 + c2) / 12; cylinder m r2 / 2 along, m (3 r2 + l2) / 12 across; rod m l2 / 12.
        (box_lump(2.0, (0, 0, 0), (30, 40, 50)), (2 * 4100 / 12, 2 * 3400 / 12, 2 * 2500 / 12)),
        (cylinder_lump(2.0, (0, 0, 0), 60, 25, (0, 1, 0)), (2 * 3325 / 12, 900, 2 * 3325 / 12)),
        (cylinder_lump(3.0, (0, 0, 0), 0, 100, (1, 0, 0)), (0, 2500, 2500)),
        # Right triangle a by b about its centroid: m a2 / 18, m b2 / 18, product -m a b / 36.
        (prism_lump(36.0, [(0, 0), (3, 0), (0, 6)], -1e-9, 1e-9), (72, 18, 90)),
    ],
)
def test_moments_are_those_of_the_handbooks(lump, told) -> None:
    assert np.diag(lump.inertia) == pytest.approx(told, abs=1e-9)


def test_the_product_of_inertia_of_a_triangle_is_that_of_the_handbooks() -> None:
    # The integral of x y is -m a b / 36, and the tensor has it with the other sign.
    assert prism_lump(36.0, [(0, 0), (3, 0), (0, 6)], 0, 1).inertia[0, 1] == pytest.approx(18.0)


def test_lumps_that_are_joined_are_the_sum_of_all_their_points() -> None:
    one, other = grid((0, 0, 0), (40, 20, 10)), grid((70, -50, 30), (90, -10, 90))
    lumps = [box_lump(1.0, (20, 10, 5), (40, 20, 10)), box_lump(1.0, (80, -30, 60), (20, 40, 60))]
    agree(joined(lumps), np.concatenate([one, other]), 2e-4)
