"""Poses step by step, against the matrix exponential of SciPy."""

from __future__ import annotations

import numpy as np
from scipy.linalg import expm

from geometry.driving.way import poses_along

STEP = 0.005


def exact(twist: np.ndarray, start: tuple[float, float, float]) -> np.ndarray:
    x, y, a = start
    pose = np.array([[np.cos(a), -np.sin(a), x], [np.sin(a), np.cos(a), y], [0.0, 0.0, 1.0]])
    found = []
    for vx, vy, rate in twist:
        pose = pose @ expm(STEP * np.array([[0.0, -rate, vx], [rate, 0.0, vy], [0.0, 0.0, 0.0]]))
        found.append((*pose[:2, 2], np.arctan2(pose[1, 0], pose[0, 0])))
    return np.array(found)


def test_a_thousand_steps_of_all_kinds_agree_with_the_matrix_exponential() -> None:
    random = np.random.default_rng(5)
    twist = random.uniform((-400, -100, -6), (400, 100, 6), (1_000, 3))
    # Straight, nearly straight, on the spot and at rest among them.
    twist[::10, 2] = 0.0
    twist[1::10, 2] *= 1e-9
    twist[2::10, :2] = 0.0
    twist[3::50] = 0.0
    start = (12.0, -7.0, 0.4)
    ours, theirs = poses_along(twist, STEP, start)[1:], exact(twist, start)
    np.testing.assert_allclose(ours[:, :2], theirs[:, :2], atol=1e-9)
    off = ours[:, 2] - theirs[:, 2]
    np.testing.assert_allclose(off - 2 * np.pi * np.round(off / (2 * np.pi)), 0.0, atol=1e-11)
