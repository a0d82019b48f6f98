"""Runs: the same at any rate of frames, live and replayed, and true to code, motors and chassis."""

from __future__ import annotations

import numpy as np
import pytest

from app.controller.export_error import ExportError
from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from app.design.samples import sample_design
from app.simulation.frame import Block, Frame
from app.simulation.inputs import AT_REST, STEP_S, Input, sides, stick
from app.simulation.robot_code import RobotCode
from app.simulation.run import MOST_TAKEN_US, ROWS, Run
from geometry.errors import DesignError
from geometry.kinematics.motion import from_turn
from geometry.model.design import Design
from geometry.model.driving import Move, Script
from tests.app.scouts import BOTH, DRIVES, LEFT, RIGHT, scout, steer_motor
from tests.app.simulation.driven import (
    HASTY,
    MIXED,
    code_of,
    headless,
    joined,
    same_bits,
    sample_code,
    with_controller,
)

SCOUT = "marsh_scout_motors"
RATES = (7, 30, 60, 144)


def frames_at(run: Run, rate: int) -> tuple[list[Frame], list[Block]]:
    """Frames as a clock of so many a second would ask for them, each in whole microseconds."""
    frames, blocks, shown = [], [], 0
    while not run.frame.ended:
        shown += 1
        due = shown * 1_000_000 // rate - (shown - 1) * 1_000_000 // rate
        frames.append(run.advance(due))
        blocks += frames[-1].blocks
    return frames, blocks


@pytest.mark.parametrize("period", [2, 5, 7, 20, 50])
def test_a_script_is_the_same_to_the_last_bit_at_any_rate_of_frames_and_without_any(period: int) -> None:
    code = sample_code(SCOUT, period)
    alone = headless(code, MIXED)
    poses = joined(alone, "pose")
    assert len(alone) > 3
    for rate in RATES:
        frames, blocks = frames_at(Run(code, script=MIXED), rate)
        assert same_bits(blocks, alone)
        assert frames[-1].steps == len(poses) - 1
        assert all(frame.pose == tuple(poses[frame.steps]) for frame in frames)


@pytest.mark.parametrize("key", ["marsh_scout_six", "creek_tricycle", "dyke_hauler_eight", "misbuilt_scout"])
def test_so_it_is_for_other_chassis(key: str) -> None:
    code = sample_code(key, 20)
    alone = headless(code, MIXED)
    for rate in (7, 60):
        assert same_bits(frames_at(Run(code, script=MIXED), rate)[1], alone)


def test_a_changed_pose_would_be_seen() -> None:
    code = sample_code(SCOUT, 20)
    moves = (*MIXED.moves[:-1], MIXED.moves[-1].edited(speed=0.999))
    assert not same_bits(headless(code, MIXED), headless(code, MIXED.edited(moves=moves)))


def live(code: RobotCode, asked: list[tuple[Input, int]], chunk: int) -> tuple[list[Frame], list[Block]]:
    """Drive live, each input for so many steps, with so many steps to a frame at most."""
    run, frames, blocks = Run(code), [], []
    for one, steps in asked:
        for taken in range(0, steps, chunk):
            frames.append(run.take(min(chunk, steps - taken), one))
            blocks += frames[-1].blocks
    frames.append(run.finish())
    return frames, [*blocks, *frames[-1].blocks]


DRIVEN = [
    (stick(0.8, 0.3), 213),
    (stick(0.5, -0.48), 97),
    (sides(-0.4, 0.9), 301),
    (AT_REST, 40),
    (stick(-1.0, 0.02), 150),
]


@pytest.mark.parametrize("period", [5, 20])
def test_what_was_driven_live_is_replayed_to_the_last_bit(period: int) -> None:
    code = sample_code(SCOUT, period)
    moves = tuple(
        Move(by="stick", throttle=one.a / 1000, turn=one.b / 1000, amount=steps * STEP_S)
        if one.call == "stick"
        else Move(by="speeds", left=one.a / 1000, right=one.b / 1000, amount=steps * STEP_S)
        for one, steps in DRIVEN
    )
    replayed = headless(code, Script(name="recorded", moves=moves))
    for chunk in (1, 4, 29, 256):
        frames, blocks = live(code, DRIVEN, chunk)
        assert [len(block) for block in blocks[:-1]] == [ROWS] * (len(blocks) - 1)
        for name in ("pose", "drag", "targets", "speeds", "heading", "distance"):
            assert np.array_equal(joined(blocks, name), joined(replayed, name))
        # What was shown before a block was solved for good differs by rounding alone.
        poses = joined(blocks, "pose")
        for frame in frames:
            np.testing.assert_allclose(frame.pose, poses[frame.steps], rtol=0, atol=1e-9)


@pytest.mark.parametrize("script", [MIXED, HASTY], ids=lambda script: script.name)
@pytest.mark.parametrize("period", [2, 5, 7, 20, 50])
def test_the_code_in_the_loop_answers_as_the_steps_in_whole_numbers_say(period: int, script: Script) -> None:
    code = sample_code(SCOUT, period)
    runtime, due, answer, wrong = Runtime(code.programme), 0, None, []
    for block in headless(code, script):
        for m, asked in enumerate(block.inputs):
            while due <= 5 * (block.first + m):
                call = runtime.stick if asked.call == "stick" else runtime.drive
                answer = call(asked.a, asked.b, period)
                due += period
            assert answer is not None
            if (answer.steer, answer.speed, answer.holding) != (
                block.targets[m],
                block.speeds[m],
                block.holding[m],
            ):
                wrong.append(block.first + m)
    assert wrong == []


def test_time_is_taken_up_in_whole_steps_and_a_pause_is_cut_short() -> None:
    run = Run(sample_code(SCOUT, 20))
    assert run.advance(4_999).steps == 0
    assert run.advance(1).steps == 1
    assert run.advance(12_000).steps == 3
    assert run.advance(3_000).steps == 4
    assert run.advance(60_000_000).steps == 4 + MOST_TAKEN_US // 5_000
    assert run.advance(-50).steps == 4 + MOST_TAKEN_US // 5_000


def test_the_listener_is_told_each_frame_and_frames_do_not_change() -> None:
    told: list[Frame] = []
    run = Run(sample_code(SCOUT, 20), listener=told.append)
    run.take(3, sides(1, 1))
    before = told[0].pose
    run.take(30, sides(1, 1))
    assert [frame.steps for frame in told] == [3, 33]
    assert told[0].pose == before
    with pytest.raises(AttributeError):
        told[0].steps = 4  # type: ignore[misc]


def straight(design: Design, seconds: float = 3.0, speed: float = 1.0, turn: float = 0.0) -> list[Block]:
    return headless(code_of(design), Script(name="s", moves=(Move(turn=turn, speed=speed, amount=seconds),)))


def test_straight_ahead_it_ramps_up_goes_at_full_speed_and_ramps_down() -> None:
    design = sample_design("marsh_scout_six")
    blocks = straight(design)
    twist, pose = joined(blocks, "twist"), joined(blocks, "pose")
    full, ramp = design.driving.full_speed_mm_s, design.driving.ramp_s
    np.testing.assert_allclose(twist[:60, 0], full * STEP_S / ramp * np.arange(1, 61), rtol=1e-12)
    np.testing.assert_allclose(twist[60:600, 0], full, rtol=1e-12)
    assert twist[-1].tolist() == [0.0, 0.0, 0.0]
    # Up and down the ramp it goes as far as a whole ramp at full speed; half a step at each end.
    assert pose[-1, 0] == pytest.approx(3.0 * full, abs=full * STEP_S)
    np.testing.assert_allclose(pose[-1, 1:], 0.0, atol=1e-12)


def test_with_drive_motors_their_own_speed_is_full() -> None:
    design = sample_design(SCOUT)
    blocks = straight(design)
    exact = programme_of(design).chassis.full_speed
    assert joined(blocks, "twist")[300, 0] == pytest.approx(exact, rel=0.01)


def test_at_a_steady_turn_it_goes_round_the_circle_of_the_response() -> None:
    design = sample_design(SCOUT)
    blocks = straight(design, 6.0, 0.9, 0.4)
    robot = programme_of(design).chassis.robot
    due = robot.at(from_turn(0.4, robot.base)).motion.twist[0]
    found = joined(blocks, "twist")[1_000]
    assert found[2] / found[0] == pytest.approx(due[2] / due[0], rel=0.02)


def test_steering_moves_no_faster_than_its_motors() -> None:
    design = with_controller(sample_design(SCOUT), limiter=False, hold=False)
    slow = tuple(motor.edited(top_speed_deg_s=20.0) for motor in design.steer_motors)
    blocks = straight(design.edited(steer_motors=slow), 1.5, 0.9, 0.45)
    steer = joined(blocks, "steer")
    rates = np.abs(np.diff(steer, axis=0, prepend=0.0)) / STEP_S
    ratio = max(abs(g.turns) for motor in design.steer_motors for g in motor.wheels)
    assert rates.max() <= np.radians(20.0) * ratio * (1 + 1e-9)
    assert rates.max() >= np.radians(20.0) * ratio * (1 - 1e-9)


def test_play_keeps_the_wheels_back_when_the_steering_turns_round() -> None:
    design = sample_design(SCOUT)
    none, loose = (
        design.edited(steer_motors=tuple(m.edited(backlash_deg=play) for m in design.steer_motors))
        for play in (0.0, 8.0)
    )
    moves = tuple(Move(turn=turn, speed=0.6, amount=1.5) for turn in (0.3, 0.1, 0.3))
    tight, play = (
        joined(headless(code_of(d), Script(name="s", moves=moves)), "steer") for d in (none, loose)
    )
    off = np.degrees(np.abs(tight - play)).max(axis=0)
    wheels = {g.wheel: abs(g.turns) for motor in design.steer_motors for g in motor.wheels}
    held = [n for n, wheel in enumerate(design.wheels) if wheel.name in wheels]
    np.testing.assert_allclose(off[held], [4.0 * wheels[design.wheels[n].name] for n in held], atol=0.05)
    assert np.delete(off, held).max(initial=0.0) == 0.0


def test_a_chassis_whose_sharing_is_not_exact_does_not_follow_the_ideal_path() -> None:
    pair = steer_motor("front", {"front left": 1.0, "front right": 1.0})
    rear = steer_motor("rear", {"rear left": 1.0, "rear right": 1.0})
    wrong, exact = scout(pair, rear, *DRIVES), scout(LEFT, RIGHT, *DRIVES)
    ends, drags = [], []
    for design in (wrong, exact):
        blocks = straight(design, 5.0, 0.8, 0.35)
        ideal = ideal_path(design, blocks)
        ends.append(np.hypot(*(joined(blocks, "pose")[-1] - ideal[-1])[:2]))
        drags.append(joined(blocks, "drag")[-1].max())
    assert ends[0] > 5.0
    assert drags[0] > 5.0 * drags[1]


@pytest.mark.parametrize("shared", [False, True])
def test_at_a_steady_turn_the_path_bends_as_built_and_not_as_wanted(shared: bool) -> None:
    pair = (
        steer_motor("front", {"front left": 1.0, "front right": 1.0}),
        steer_motor("rear", {"rear left": 1.0, "rear right": 1.0}),
    )
    design = scout(*(pair if shared else (LEFT, RIGHT)), *DRIVES)
    blocks = straight(design, 5.0, 0.8, 0.35)
    robot = programme_of(design).chassis.robot
    built, ideal = (
        response.twist[0]
        for response in (robot.at(from_turn(0.35, robot.base)).motion, from_turn(0.35, robot.base))
    )
    pose, way = joined(blocks, "pose"), joined(blocks, "distance")
    bend = (pose[950, 2] - pose[750, 2]) / (way[950] - way[750])
    due, wanted = (twist[2] / np.hypot(twist[0], twist[1]) for twist in (built, ideal))
    assert bend == pytest.approx(due, rel=0.02)
    assert (abs(bend / wanted - 1.0) > 0.05) == shared


def ideal_path(design: Design, blocks: list[Block]) -> np.ndarray:
    """Poses by the turn that the sides ask for, at the speed at which the middle of the base axle went."""
    from geometry.driving.way import poses_along

    robot = programme_of(design).chassis.robot
    unit = from_turn(0.35, robot.base).twist[0]
    speed = np.diff(joined(blocks, "distance")) / STEP_S
    return poses_along(speed[:, None] * unit / np.hypot(unit[0], unit[1]), STEP_S, (0.0, 0.0, 0.0))


def test_without_the_hold_the_robot_drives_on_while_it_steers_and_drags_more() -> None:
    programme = programme_of(with_controller(sample_design(SCOUT), limiter=True, hold=True))
    moves = (Move(turn=0.0, speed=0.8, amount=1.0), Move(turn=0.9, speed=0.8, amount=1.5))
    script = Script(name="s", moves=moves)
    held, free = (
        joined(headless(RobotCode(programme, frozenset(off)), script), "drag")[-1].sum()
        for off in ((), ("hold",))
    )
    assert free > 1.5 * held


def test_each_part_of_the_code_can_be_switched_off() -> None:
    programme = programme_of(sample_design(SCOUT))
    for part in sorted(programme.parts):
        code = RobotCode(programme, frozenset({part}))
        assert code.programme.parts == programme.parts - {part}
        assert code.text != RobotCode(programme).text


def test_casters_stay_as_they_swung_when_the_robot_stops() -> None:
    code = sample_code("creek_tricycle", 5)
    wheels = code.programme.chassis.robot.wheels
    if not wheels.caster.any():
        pytest.skip("this sample has no caster")
    blocks = headless(code, Script(name="s", moves=(Move(turn=0.5, speed=0.8, amount=2.0),)))
    heading = joined(blocks, "heading")[:, wheels.caster]
    twist = joined(blocks, "twist")
    last = int(np.flatnonzero((twist != 0).any(axis=1))[-1])
    assert np.abs(heading[last]).max() > 0.1
    assert (heading[last:] == heading[last]).all()


def test_an_empty_script_ends_where_it_starts() -> None:
    run = Run(sample_code(SCOUT, 20), script=Script(name="nothing"))
    frame = run.finish()
    assert (frame.steps, frame.ended, frame.pose) == (0, True, (0.0, 0.0, 0.0))
    assert list(Run(sample_code(SCOUT, 20), script=Script(name="nothing")).blocks()) == []


def test_a_live_run_that_was_never_driven_can_be_finished() -> None:
    assert Run(sample_code(SCOUT, 20)).finish().steps == 0


def test_a_chassis_without_wheels_is_refused_with_a_sentence() -> None:
    with pytest.raises(ExportError, match="wheels"):
        programme_of(Design())


@pytest.mark.parametrize(
    ("move", "words"),
    [
        (Move(turn=0.3, speed=0.0, until="distance", amount=10), "would never end.*does not get on"),
        (Move(turn=0.0, speed=0.5, until="heading", amount=10), "would never end.*does not turn"),
        (Move(turn=1.0, speed=0.5, until="distance", amount=10), "would never end.*does not get on"),
        # Both within the dead band.
        (Move(by="speeds", left=0.03, right=-0.03, until="heading", amount=10), "would never end"),
        (Move(turn=0.3, speed=0.1, until="distance", amount=1e6), "more than the 3600"),
    ],
)
def test_a_move_that_never_ends_is_named_before_the_start(move: Move, words: str) -> None:
    script = Script(name="s", moves=(Move(turn=0.0, speed=0.5, amount=1.0), move))
    with pytest.raises(DesignError, match=words) as caught:
        Run(sample_code(SCOUT, 20), script=script, place="driving.scripts[3]")
    assert caught.value.problems[0].place.startswith("driving.scripts[3].moves[1].")


def test_moves_that_take_too_long_together_are_named() -> None:
    script = Script(name="s", moves=(Move(turn=0.0, speed=0.5, amount=1_900.0),) * 2)
    with pytest.raises(DesignError, match="3600 s in all"):
        Run(sample_code(SCOUT, 20), script=script)


def test_a_stick_is_refused_where_the_code_does_not_mix() -> None:
    script = Script(name="s", moves=(Move(by="stick", throttle=0.5, turn=0.0, amount=1.0),))
    code = code_of(with_controller(sample_design(SCOUT), mixing=False))
    with pytest.raises(DesignError, match="without mixing"):
        Run(code, script=script)


def test_moves_end_at_their_distance_and_heading_to_within_a_step() -> None:
    code = sample_code(SCOUT, 5)
    blocks = headless(code, MIXED)
    moves, way, pose = joined(blocks, "moves"), joined(blocks, "distance"), joined(blocks, "pose")
    full = code.programme.chassis.full_speed
    for index, move in enumerate(MIXED.moves):
        rows = np.flatnonzero(moves == index)
        gone = way[rows[-1] + 1] - way[rows[0]]
        turned = np.degrees(abs(pose[rows[-1] + 1, 2] - pose[rows[0], 2]))
        match move.until:
            case "time":
                assert len(rows) == round(move.amount / STEP_S)
            case "distance":
                assert move.amount - 1e-6 <= gone < move.amount + full * STEP_S
            case _:
                assert move.amount - 1e-6 <= turned < move.amount + 3.0


def test_one_drive_motor_for_both_sides_is_driven_too() -> None:
    blocks = straight(scout(LEFT, RIGHT, BOTH), 1.0, 0.5)
    assert joined(blocks, "pose")[-1, 0] > 50.0
