from pathlib import Path

from app.design import migrations
from app.design.files import design_text, read_design


def test_old_formats_go_through_every_step_in_order():
    steps = {
        1: lambda keys: {**keys, "path": [*keys["path"], 1]},
        2: lambda keys: {**keys, "path": [*keys["path"], 2]},
    }
    start = {"path": []}
    assert migrations.upgrade(start, 1, upgrades=steps, newest=3) == {"path": [1, 2]}
    assert migrations.upgrade(start, 2, upgrades=steps, newest=3) == {"path": [2]}
    assert migrations.upgrade(start, 3, upgrades=steps, newest=3) == {"path": []}
    assert start == {"path": []}


def test_there_is_a_step_from_every_old_version():
    assert sorted(migrations.UPGRADES) == list(range(1, migrations.VERSION))


def test_a_file_from_before_there_were_motors_opens_with_none():
    opened = read_design(Path(__file__).parent / "old" / "version_1.json").design
    assert (opened.steer_motors, opened.drive_motors) == ((), ())
    assert [wheel.name for wheel in opened.wheels] == ["left", "right", "front"]
    assert opened.largest_turn == 0.6
    assert '"version": 2' in design_text(opened)
