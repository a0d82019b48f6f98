"""The track: what is left out lies near what remains, for each wheel and its drag, and memory stays flat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from app.simulation.footprint import Footprint, footprint_of
from app.simulation.frame import Block, frame_of
from app.simulation.inputs import sides
from app.simulation.run import Run
from app.simulation.track import WITHIN_MM, Rows, Track
from tests.app.simulation.driven import MIXED, headless, joined, sample_code

CODE = "marsh_scout_motors"


def footprint() -> Footprint:
    chassis = sample_code(CODE, 20).programme
    return footprint_of(chassis.design, chassis.chassis.robot)


def all_of(blocks: Sequence[Block]) -> Rows:
    """Every step."""
    pose, drag = joined(blocks, "pose")[1:], joined(blocks, "drag")[1:]
    return Rows(np.arange(1.0, len(pose) + 1), pose, joined(blocks, "heading"), drag)


def lines_of(rows: Rows) -> np.ndarray:
    """Contacts with their drag, and the origin, (M, N + 1, 3) [mm]."""
    places = footprint().contacts(rows.pose, rows.heading)
    contacts = np.concatenate([places, rows.drag[..., None]], axis=2)
    origin = np.column_stack([rows.pose[:, :2], np.zeros(len(rows))])
    return np.concatenate([contacts, origin[:, None]], axis=1)


def worst(track: Track, whole: Rows) -> float:
    """How far any line of any step lies from the piece between the moments kept around it [mm]."""
    kept = track.between(-1, np.inf)
    lines, seen = lines_of(kept), lines_of(whole)
    of = np.clip(np.searchsorted(kept.steps, whole.steps) - 1, 0, len(kept) - 2)
    a, b = lines[of], lines[of + 1]
    square = np.maximum(((b - a) ** 2).sum(-1), 1e-30)
    share = np.clip(((seen - a) * (b - a)).sum(-1) / square, 0, 1)[..., None]
    return float(np.linalg.norm(seen - a - share * (b - a), axis=-1).max())


def test_each_contact_and_its_drag_stay_within_the_stated_error() -> None:
    blocks, track = headless(sample_code(CODE, 20), MIXED), Track(footprint())
    for block in blocks:
        track.add_block(block, 1)
    whole = all_of(blocks)
    assert len(track.points) < len(whole) / 3
    assert 0.05 < worst(track, whole) <= WITHIN_MM * (1 + 1e-9)
    assert whole.drag.max() > 3.0
    np.testing.assert_array_equal(track.between(-1, np.inf).drag[-1], whole.drag[-1])


def test_frames_leave_the_same_error_and_every_fourth_step_little_more() -> None:
    blocks = headless(sample_code(CODE, 20), MIXED)
    by_frame, coarse = Track(footprint()), Track(footprint())
    for block in blocks:
        coarse.add_block(block, 4)
        for row in range(len(block)):
            by_frame.add(frame_of(block, row, ()))
    whole = all_of(blocks)
    assert worst(by_frame, whole) <= WITHIN_MM * (1 + 1e-9)
    # Within 20 ms the robot goes 6 mm, and wheels begin and end to turn.
    assert worst(coarse, whole) < 2 * WITHIN_MM


def test_moments_are_found_between_two_times_the_latest_too() -> None:
    run, track = Run(sample_code(CODE, 20)), Track(footprint())
    for _ in range(200):
        track.add(run.take(3, sides(0.9, 0.3)))
    rows = track.between(100, 400)
    assert rows.steps[0] > 100
    assert rows.steps[-1] < 400
    assert (np.diff(rows.steps) > 0).all()
    assert track.between(-1, np.inf).steps[-1] == 600
    assert track.between(597, 600).steps.size == 0
    assert track.between(596, np.inf).steps.tolist() == [597, 600]


def test_a_track_without_anything_has_no_moment() -> None:
    assert len(Track().points) == 0
    assert len(Track(footprint()).between(-1, np.inf)) == 0


def test_a_track_that_grows_too_long_is_thinned_anew_within_the_error_that_it_states(monkeypatch) -> None:
    monkeypatch.setattr("app.simulation.track.MOST_POINTS", 60)
    blocks, track = headless(sample_code(CODE, 20), MIXED), Track(footprint())
    for block in blocks:
        track.add_block(block, 4)
    assert track.renewed >= 1
    assert track.within_mm == WITHIN_MM * 2**track.renewed
    assert len(track.points) <= 60
    assert WITHIN_MM < worst(track, all_of(blocks)) <= track.within_mm


def test_a_stretch_that_drags_on_a_straight_way_is_kept_apart() -> None:
    track, frame = Track(footprint()), Run(sample_code(CODE, 20)).frame
    for x in range(65):
        drag = (max(0.0, min(x, 40.0) - 30.0),) * 6
        track.add(replace(frame, steps=x, pose=(float(x), 0.0, 0.0), drag=drag))
    assert track.between(-1, 64).steps.tolist() == [0, 30, 40, 63]
