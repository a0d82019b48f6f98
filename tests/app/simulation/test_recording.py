"""What was driven live as a script, and the line that it leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from app.design.driving_edits import recorded
from app.simulation.inputs import AT_REST, sides, stick
from app.simulation.recording import Recording
from app.simulation.run import Run
from app.simulation.track import MOST_POINTS, WITHIN_MM, Track
from tests.app.simulation.driven import headless, joined, sample_code


def test_a_drive_is_recorded_and_replayed_without_a_screen_to_the_last_bit() -> None:
    code = sample_code("marsh_scout_motors", 20)
    recording, track, random = Recording(), Track(), np.random.default_rng(3)
    run = Run(code, listener=recording.add)
    blocks = []
    asked = AT_REST
    for i in range(400):
        if i % 17 == 0:
            a, b = random.uniform(-1, 1, 2)
            asked = stick(a, b) if i % 2 else sides(a, b)
        # Frames of any length, from 0 to 8 steps.
        frame = run.take(int(random.integers(0, 9)), asked)
        track.add(frame)
        blocks += frame.blocks
    assert len(recording) <= 24
    script = recorded("drive", recording.held)
    run.listener = None
    blocks += run.finish().blocks
    replayed = headless(code, script)
    for name in ("pose", "drag", "targets", "speeds", "holding", "heading", "twist"):
        assert np.array_equal(joined(blocks, name), joined(replayed, name))
    assert np.abs(joined(blocks, "pose")[-1]).max() > 10.0


def test_a_frame_without_a_step_is_no_input() -> None:
    recording, run = Recording(), Run(sample_code("marsh_scout_motors", 20))
    for steps in (0, 3, 0, 2):
        recording.add(run.take(steps, sides(1, 1)))
    recording.add(run.take(1))
    assert [(one.a, one.seconds) for one in recording.held] == [(1000, 0.025), (0, 0.005)]


def test_the_track_is_thinned_and_stays_near_all_points() -> None:
    run, track, seen = Run(sample_code("marsh_scout_motors", 20)), Track(), []
    for i in range(3_000):
        frame = run.take(3, sides(0.9, 0.9 - 0.4 * (i // 700)))
        track.add(frame)
        seen.append(frame.pose[:2])
    line = track.points[:, :2]
    assert len(line) < 400
    assert tuple(line[-1]) == seen[-1]
    a, b = line[:-1], line[1:]
    for point in np.array(seen)[::7]:
        along = b - a
        share = np.clip(((point - a) * along).sum(1) / np.maximum((along**2).sum(1), 1e-12), 0, 1)
        assert np.hypot(*(point - a - share[:, None] * along).T).min() <= WITHIN_MM * (1 + 1e-9)


def test_a_track_without_end_keeps_a_bounded_number_of_points() -> None:
    run, track = Run(sample_code("marsh_scout_motors", 20)), Track()
    frame = run.take(1)
    # As if it ran on a curve that bends all the time, far from the origin in the end.
    for i in range(60_000):
        angle = 0.11 * i
        track.add(replace(frame, pose=(40.0 * np.cos(angle) + 0.01 * i, 40.0 * np.sin(angle), 0.0)))
    assert len(track.points) <= MOST_POINTS + 64
    assert track.renewed >= 1
    assert track.within_mm == WITHIN_MM * 2**track.renewed
