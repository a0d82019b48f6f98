"""The loop that the README shows, run as it stands there: what it prints is what the window shows."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from app.cli.command_line import run
from app.controller.code_outputs import MOST_MS
from app.controller.programme import programme_of
from app.design.facts import Facts
from app.design.files import write_design
from app.design.samples import sample_design
from app.picture.motor_facts import MotorFacts
from app.picture.view import Command, View
from geometry.kinematics.motion import turn_of_sides
from geometry.model.controller import PARTS
from tests.board import micropython, plain_python
from tests.whole.odd_robots import ODD
from tests.whole.replay import stated_bounds
from tests.written import code_text

README = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
MOST_LINES = 15


def section():
    return re.search(r"## Run it on the robot\n(.*?)\n## ", README, re.DOTALL)[1]


def loop():
    return re.search(r"```python\n(.*?)```", section(), re.DOTALL)[1]


def printed(runner, folder, programme):
    """Head and rows of numbers that the loop prints with a chassis's module."""
    (folder / "robot.py").write_text(code_text(programme, "micropython"), encoding="utf-8")
    (folder / "loop.py").write_text('import sys\nsys.path[:0] = ["/", "."]\n' + loop(), encoding="utf-8")
    head, *lines = runner(folder / "loop.py", folder / "robot.py").splitlines()
    return head.split(), [[int(word) for word in line.split()] for line in lines]


def shown(design, throttle, turn):
    """What the window shows for a stick: targets of the steer motors, and rpm of the drive motors."""
    sides = throttle - turn, throttle + turn
    most = max(1000, *map(abs, sides))
    turns, fast = turn_of_sides(*([side / most] for side in sides))
    view = View(Facts(design), Command(turn=float(turns[0]), speed=float(fast[0])))
    facts = MotorFacts(view)
    told = [facts.steer_now(k).command for k in range(len(design.steer_motors))]
    rpm = []
    for d in range(len(design.drive_motors)):
        now = facts.drive_now(d)
        share = min(1.0, abs(view.command.speed) * now.straight / now.here)
        rpm.append(60.0 * now.turns_s * share)
    return told, rpm


def drivers(programme):
    """Whole numbers in an rpm of each drive motor."""
    return [100 if "_crpm" in o.name else 1 for o in programme.drive]


def test_the_loop_is_no_longer_than_it_says():
    assert 8 <= len(loop().rstrip().splitlines()) <= MOST_LINES


@pytest.mark.parametrize("runner", [micropython, plain_python])
@pytest.mark.parametrize("key", ["motors", "flips with motors"])
def test_what_the_loop_prints_is_what_the_window_shows(key, runner, tmp_path):
    programme = programme_of(ODD[key]())
    design, steers = programme.design, len(programme.steer)
    head, rows = printed(runner, tmp_path, programme)
    assert head == ["throttle", "turn", *(o.name for o in (*programme.steer, *programme.drive)), "waited_ms"]
    bound = stated_bounds(programme, code_text(programme, "micropython"))
    sticks = [tuple(row[:2]) for row in rows]
    # Straight, on the spot, about the stopped side's wheel, a wide arc, and reverse are among them.
    assert {(1000, 0), (500, 500), (850, 150)} <= set(sticks)
    assert any(t == 0 and s for t, s in sticks)
    assert any(t < 0 for t, _ in sticks)
    for throttle, turn, *numbers, _ in rows:
        told, rpm = shown(design, throttle, turn)
        for k, target in enumerate(told):
            assert abs(numbers[k] - target) <= bound[k] * (1 + 1e-9)
        for d, per in enumerate(drivers(programme)):
            # A speed is rounded, and slowed by whole thousandths.
            room = bound[steers + d] + 0.5 + abs(rpm[d]) * per * 0.002
            assert abs(numbers[steers + d] - per * rpm[d]) <= room


def test_every_option_that_the_section_shows_is_understood(tmp_path):
    chassis, out = tmp_path / "scout.json", tmp_path / "out"
    write_design(chassis, sample_design("marsh_scout_motors"))
    options = re.findall(r"`(--[a-z-]+ [^`]+)`", section())
    assert len(options) >= 8
    for option in options:
        words = option.split()
        written = [] if words[0] in {"--format", "--vectors"} else ["--format", "c"]
        assert run(["export", str(chassis), *words, *written, "-o", str(out)]) == 0, option


def test_the_section_names_every_part_that_can_be_left_out():
    assert all(f"`{part}`" in section() for part in PARTS)


def test_a_call_counts_as_much_time_as_the_section_says():
    assert f"counts at most {MOST_MS} of them" in section()


THROUGH_THE_FLIP = """
import sys
sys.path[:0] = ["/", "."]
from robot import chassis_controller
controller = chassis_controller()
# Beyond the dead band, just short of the flip and just past it.
for left, right, count in ((60, 1000, 200), (-60, 1000, 200)):
    for _ in range(count):
        steer, speed = controller.drive(left, right, 20)
        print(*steer, *speed, int(controller.holding))
"""


@pytest.mark.parametrize("runner", [micropython, plain_python])
def test_through_the_flip_the_drive_stands_still_until_the_wheels_are_there(runner, tmp_path):
    programme = programme_of(ODD["flips with motors"]())
    (tmp_path / "robot.py").write_text(code_text(programme, "micropython"), encoding="utf-8")
    (tmp_path / "loop.py").write_text(THROUGH_THE_FLIP, encoding="utf-8")
    lines = runner(tmp_path / "loop.py", tmp_path / "robot.py").splitlines()
    rows = [[int(word) for word in line.split()] for line in lines]
    left = [o.name for o in programme.steer].index("left_steering_counts")
    motor = next(m for m in programme.design.steer_motors if m.name == programme.steer[left].label)
    counts_a_call = motor.counts_per_turn / 360 * motor.top_speed_deg_s * 0.02
    before, after = rows[199], rows[-1]
    # The inner wheels stand 80 degrees to one side, and then to the other.
    assert before[left] * after[left] < 0
    assert abs(after[left] - before[left]) >= 159 / 360 * motor.counts_per_turn
    assert not before[-1]
    assert not after[-1]
    assert all(after[2:4])
    assert all(abs(b[left] - a[left]) <= counts_a_call + 1 for a, b in pairwise(rows))
    waits = [row for row in rows[200:] if row[-1]]
    assert len(waits) >= (160 - 10) / (motor.top_speed_deg_s * 0.02) - 2
    assert all(row[2:4] == [0, 0] for row in waits)
