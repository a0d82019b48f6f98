"""What a build sheet says, and in which order."""

import numpy as np
import pytest

from app.controller.fingerprint import fingerprint_of
from app.controller.programme import programme_of
from app.design.facts import Facts
from app.design.samples import sample_design
from app.sheet.blocks import MOST_HIGH, MOST_WIDE, Caution, Figure, Heading, Paragraph, Steps, Table
from app.sheet.build_sheet import sheet_of
from app.sheet.marks import mark_turns
from geometry.errors import Cancelled
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.turn_range.range_check import at_turns
from tests.app.sheet_designs import DESIGNS

ORDER = ["care", "picture", "wheels", "motors", "parts", "angles", "working", "check", "room", "collisions"]
ORDER += ["weights", "code", "set-up", "first-run"]


def table(sheet, *head):
    """The table whose head begins so."""
    return next(b for b in sheet.blocks if isinstance(b, Table) and b.head[: len(head)] == head)


def section(sheet, key):
    """The blocks of a section."""
    found, inside = [], False
    for block in sheet.blocks:
        if isinstance(block, Heading):
            inside = block.key == key
        elif inside:
            found.append(block)
    return found


@pytest.mark.parametrize("key", DESIGNS)
def test_cautions_come_first_and_the_sections_in_their_order(key):
    sheet = sheet_of(Facts(DESIGNS[key]()))
    assert isinstance(sheet.blocks[1], Caution)
    keys = [heading.key for heading in sheet.headings]
    assert keys == [k for k in ORDER if k in keys]
    assert set(ORDER) - set(keys) == (
        {"angles", "working", "check", "code", "first-run"} if key == "empty" else set()
    )


@pytest.mark.parametrize("key", DESIGNS)
def test_every_row_is_as_long_as_its_head_and_figures_keep_to_their_size(key):
    for block in sheet_of(Facts(DESIGNS[key]())).blocks:
        if isinstance(block, Table):
            assert {len(block.head), len(block.sides)} | {len(row) for row in block.rows} == {len(block.head)}
        if isinstance(block, Figure):
            assert block.high <= MOST_HIGH + 1e-9
            assert block.live is None or block.live.wide == MOST_WIDE


def test_the_cautions_name_what_can_hurt():
    text = " ".join(sheet_of(Facts(Design())).blocks[1].lines).casefold()
    for words in ("wheels off the ground", "fingers", "fuse the battery", "low speed", "road vehicles"):
        assert words in text
    assert "carrying people" in text
    assert "licensed" in text


@pytest.mark.parametrize("key", ["marsh_scout_motors", "reed_cart_four", "flips", "trailing"])
def test_each_wheels_angle_at_each_mark_is_the_robots_own(key):
    design = DESIGNS[key]()
    found = table(
        sheet_of(Facts(design)), "No.", "Wheel", "-1" if design.largest_turn == 1 else found_head(design)
    )
    turns = mark_turns(design.largest_turn)
    solution = at_turns(robot_of(design), turns).response.solution
    for n, row in enumerate(found.rows):
        steered = design.wheels[n].kind == "steered"
        due = np.degrees((solution.steer if steered else solution.heading)[:, n])
        assert [float(cell.removesuffix("°")) for cell in row[2:]] == pytest.approx(due.tolist(), abs=0.0051)


def found_head(design):
    return f"{-design.largest_turn:g}"


def test_trains_are_told_by_their_teeth_and_motors_by_their_sense():
    sheet = sheet_of(Facts(sample_design("marsh_scout_motors")))
    gears = table(sheet, "Motor", "Wheel", "Gears")
    assert ("right steering", "front right", "12 teeth, 20 teeth, 24 teeth", "0.5") in gears.rows
    motors = {row[0]: row for row in table(sheet, "Motor", "Does").rows}
    assert "counter-clockwise" in motors["right steering"][3]
    assert motors["left steering"][3] == "reading grows clockwise"
    assert "4096" in motors["left steering"][4]


def test_the_parts_list_holds_every_part_wheel_and_the_whole_mass():
    design = sample_design("marsh_scout_motors")
    parts = table(sheet_of(Facts(design)), "Part").rows
    names = [part.name for part in design.packaging.parts] + [wheel.name for wheel in design.wheels]
    assert [row[0] for row in parts] == [*names, "Body", "All together"]
    assert sum(float(row[-1]) for row in parts[:-1]) == pytest.approx(float(parts[-1][-1]), abs=0.002)


def test_the_summary_of_the_code_is_that_of_the_written_code():
    design = sample_design("marsh_scout_six")
    blocks, programme = section(sheet_of(Facts(design)), "code"), programme_of(design)
    told = dict(next(b for b in blocks if isinstance(b, Table)).rows)
    assert told["Rows"] == str(len(programme.table.nodes))
    assert told["Bytes"] == str(programme.size)
    bound = float(told["Largest error of a steering angle at any turn"].split("°")[0])
    assert programme.bound_deg <= bound <= 1.02 * programme.bound_deg
    assert fingerprint_of(design) in blocks[0].text


def test_code_that_cannot_be_written_is_told_and_the_rest_of_the_sheet_stays():
    design = sample_design("marsh_scout_six")
    design = design.edited(controller=design.controller.edited(largest_bytes=16))
    sheet = sheet_of(Facts(design))
    assert "No code can be written" in section(sheet, "code")[1].text
    assert section(sheet, "first-run")


def test_a_collision_and_a_drag_are_told():
    crowded = section(sheet_of(Facts(sample_design("crowded_scout"))), "collisions")
    assert "1 collision" in crowded[0].head[0]
    assert "battery" in crowded[0].rows[0][0]
    dragging = section(sheet_of(Facts(sample_design("dyke_hauler_eight"))), "check")
    assert "Drags" in dragging[0].text
    assert [b.drawing.name for b in dragging if isinstance(b, Figure)] == ["Steer angle", "Drag"]
    aligned = section(sheet_of(Facts(sample_design("marsh_scout_six"))), "check")
    assert [b.drawing.name for b in aligned if isinstance(b, Figure)] == ["Steer angle"]
    assert "No wheel drags" in aligned[-1].text


def test_the_first_run_takes_motors_one_by_one_before_the_floor():
    items = [
        i for b in section(sheet_of(Facts(sample_design("marsh_scout_motors"))), "first-run") for i in b.items
    ]
    alone = [n for n, item in enumerate(items) if " alone, " in item]
    floor = next(n for n, item in enumerate(items) if item.startswith("On the floor"))
    assert len(alone) == 4
    assert min(alone) > 0
    assert max(alone) < floor
    assert "a small negative number: middle left must roll the robot forward" in items[alone[-1]]


def test_an_empty_chassis_says_what_there_is_not():
    sheet = sheet_of(Facts(Design()))
    told = " ".join(b.text for b in sheet.blocks if isinstance(b, Paragraph))
    for words in ("Nothing is laid out yet", "no wheels yet", "no parts", "nothing to set up"):
        assert words in told
    assert sheet.live is None
    assert not any(isinstance(b, Steps) for b in sheet.blocks)


def test_the_work_can_be_stopped():
    with pytest.raises(Cancelled):
        sheet_of(Facts(sample_design("reed_cart_four")), lambda share: share < 0.5)
