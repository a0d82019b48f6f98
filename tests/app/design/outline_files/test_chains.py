"""Ends that meet are joined, the nearest first, and no point moves far."""

import itertools

import numpy as np
import pytest
import shapely
from shapely.ops import linemerge

from app.design.outline_files.chains import chained


def line(*points):
    return np.array(points, dtype=float)


@pytest.mark.parametrize("seed", range(20))
def test_a_ring_cut_into_pieces_and_turned_about_is_one_ring_again(seed):
    dice = np.random.default_rng(seed)
    t = np.sort(dice.uniform(0, 2 * np.pi, 40))
    ring = np.column_stack([np.cos(t), np.sin(t)]) * dice.uniform(50, 80)
    cuts = np.sort(dice.choice(39, 6, replace=False)) + 1
    whole = np.vstack([ring, ring[:1]])
    bounds = [0, *cuts.tolist(), 40]
    pieces = [whole[a : b + 1] for a, b in itertools.pairwise(bounds)]
    pieces = [piece[::-1] if dice.random() < 0.5 else piece for piece in pieces]
    dice.shuffle(order := list(range(len(pieces))))
    (found,) = chained([pieces[i] for i in order], 0.01)
    assert found.closed
    assert found.gap == 0
    assert shapely.Polygon(found.points).equals(shapely.Polygon(ring))


def test_gaps_up_to_the_tolerance_are_joined_at_their_middle_and_told():
    pieces = [line((0, 0), (10, 0)), line((10.08, 0), (10, 10)), line((10, 10), (0, 0))]
    (found,) = chained(pieces, 0.1)
    assert found.closed
    assert found.gap == pytest.approx(0.08)
    assert [10.04, 0.0] in found.points.round(9).tolist()
    apart = chained(pieces, 0.079)
    assert [chain.closed for chain in apart] == [False]
    assert apart[0].gap == pytest.approx(0.08)


def test_the_nearer_of_two_ends_is_taken():
    near, far = line((10.01, 0), (20, 0)), line((10.05, 0), (20, 9))
    found = chained([line((0, 0), (10, 0)), far, near], 0.1)
    assert sorted(len(chain.points) for chain in found) == [2, 3]
    joined = max(found, key=lambda chain: len(chain.points))
    assert joined.points[[0, -1]].tolist() == [[0, 0], [20, 0]]


def test_open_chains_are_those_of_an_independent_merge():
    dice = np.random.default_rng(5)
    pieces = []
    for _ in range(12):
        walk = np.cumsum(dice.normal(0, 5, (8, 2)), axis=0) + dice.uniform(-400, 400, 2)
        pieces += [walk[:4], walk[5:2:-1], walk[5:]]
    found = chained(pieces, 1e-6)
    merged = linemerge([shapely.LineString(piece) for piece in pieces])
    assert len(found) == len(merged.geoms) == 12
    lengths = sorted(shapely.LineString(chain.points).length for chain in found)
    assert lengths == pytest.approx(sorted(merged_one.length for merged_one in merged.geoms))


def test_a_path_whose_own_ends_meet_is_closed():
    (found,) = chained([line((0, 0), (5, 0), (5, 5), (0.05, 0))], 0.1)
    assert found.closed
    assert len(found.points) == 3


def test_nothing_is_joined_of_nothing():
    assert chained([], 0.1) == []
