"""Parts follow the motors and wheels that they are tied to, and let go of those that are gone."""

from app.design import edits, motor_edits
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.packaging import Packaging, Part
from geometry.model.wheel import Wheel


def chassis():
    wheels = tuple(
        Wheel(name=name, x_mm=x, y_mm=80.0, kind="steered")
        for name, x in (("front", 100.0), ("rear", -100.0))
    )
    motors = tuple(
        SteerMotor(name=f"{name} servo", wheels=(Gearing(wheel=name, ratio=1.0),))
        for name in ("front", "rear")
    )
    parts = tuple(
        Part(
            name=f"{name} box",
            kind="motor",
            length_mm=40.0,
            width_mm=20.0,
            height_mm=40.0,
            motor=f"{name} servo",
            mounted_on=name,
        )
        for name in ("front", "rear")
    )
    return Design(wheels=wheels, steer_motors=motors, packaging=Packaging(parts=parts))


def ties(design):
    return [(part.motor, part.mounted_on) for part in design.packaging.parts]


def test_a_renamed_wheel_and_motor_take_their_part_along():
    design = edits.rename_wheel(chassis(), 0, "bow")
    assert ties(design) == [("front servo", "bow"), ("rear servo", "rear")]
    design = motor_edits.change_motor(design, "steer", 0, name="bow servo")
    assert ties(design) == [("bow servo", "bow"), ("rear servo", "rear")]


def test_a_wheel_that_goes_leaves_its_part_standing_still_and_without_the_motor_that_goes_with_it():
    design = edits.delete_wheels(chassis(), [0])
    assert [m.name for m in design.steer_motors] == ["rear servo"]
    assert ties(design) == [(None, None), ("rear servo", "rear")]


def test_a_wheel_that_is_steered_no_more_lets_go_of_its_motor_alone():
    design = edits.change_wheels(chassis(), [1], kind="fixed")
    assert ties(design) == [("front servo", "front"), (None, "rear")]


def test_a_deleted_motor_leaves_its_part():
    design = motor_edits.delete_motor(chassis(), "steer", 1)
    assert ties(design) == [("front servo", "front"), (None, "rear")]


def test_other_edits_leave_the_section_as_it_is():
    before = chassis()
    assert edits.move_wheels(before, {0: (120.0, 80.0)}).packaging is before.packaging
