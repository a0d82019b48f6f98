"""Parts and body in height: which numbers a shape has, names, pairs, and what they are tied to."""

import pytest

from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.motors import Gearing, SteerMotor
from geometry.model.packaging import SHAPES, SIZES, Opening, Packaging, Part
from geometry.model.wheel import Wheel

SIZES_MM = {"length_mm": 80.0, "width_mm": 40.0, "height_mm": 20.0, "diameter_mm": 30.0}
BODY = ((100.0, 50.0), (-100.0, 50.0), (-100.0, -50.0), (100.0, -50.0))


def part(shape="box", **fields):
    return Part(
        name=fields.pop("name", "battery"), shape=shape, **{k: SIZES_MM[k] for k in SIZES[shape]}, **fields
    )


def chassis(**packaging):
    wheels = (Wheel(name="front left", x_mm=100, y_mm=80, kind="steered"),)
    motors = (SteerMotor(name="front servo", wheels=(Gearing(wheel="front left", ratio=1.0),)),)
    return Design(wheels=wheels, steer_motors=motors, body_mm=BODY, packaging=Packaging(**packaging))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("key", SIZES_MM)
def test_a_shape_has_its_own_sizes_and_no_others(shape, key):
    good = part(shape)
    wanted = key in SIZES[shape]
    assert (getattr(good, key) is not None) == wanted
    with pytest.raises(
        DesignError, match=f"^{key} must be {'given' if wanted else 'null'} for the shape {shape}"
    ):
        good.edited(**{key: None if wanted else SIZES_MM[key]})


def test_only_a_motor_is_tied_to_a_motor():
    with pytest.raises(DesignError, match="motor must be null for a part that is no motor"):
        part(kind="battery").edited(motor="front servo")


@pytest.mark.parametrize(
    ("given", "good"),
    [
        ({"diameter_mm": 8.0}, True),
        ({"length_mm": 30.0, "width_mm": 20.0}, True),
        ({}, False),
        ({"length_mm": 30.0}, False),
        ({"length_mm": 30.0, "diameter_mm": 8.0}, False),
        ({"length_mm": 30.0, "width_mm": 20.0, "diameter_mm": 8.0}, False),
    ],
)
def test_an_opening_is_a_circle_or_a_rectangle(given, good):
    if good:
        Opening(**given)
        return
    with pytest.raises(ValueError, match="diameter_mm must have either"):
        Opening(**given)


@pytest.mark.parametrize(
    ("packaging", "told"),
    [
        ({"roof_mm": 26.0}, r"packaging\.roof_mm must be above floor_mm by more than two walls, 26"),
        ({"inner_mm": ((0.0, 0.0), (1.0, 1.0))}, r"packaging\.inner_mm must have at least 3 corners"),
        (
            {"inner_mm": ((90.0, 40.0), (-90.0, 40.0), (0.0, 60.0))},
            r"packaging\.inner_mm\[2\] must lie within body_mm",
        ),
        (
            {"inner_mm": ((0.0, 0.0), (20.0, 20.0), (20.0, 0.0), (0.0, 20.0))},
            r"packaging\.inner_mm must not cross itself: the edge from packaging\.inner_mm",
        ),
        (
            {"parts": (part(), part(name="Battery"))},
            r"packaging\.parts\[1\]\.name must differ from parts\[0\]",
        ),
        ({"parts": (part(),), "may_touch": (("battery", "shaft"),)}, r"may_touch\[0\]\[1\] must name a part"),
        ({"parts": (part(),), "may_touch": (("battery", "battery"),)}, r"may_touch\[0\] must name two parts"),
        ({"parts": (part(mounted_on="middle"),)}, r"packaging\.parts\[0\]\.mounted_on must name a wheel"),
        ({"parts": (part(kind="motor", motor="rear"),)}, r"packaging\.parts\[0\]\.motor must name a motor"),
    ],
)
def test_what_does_not_go_together_is_refused_by_place(packaging, told):
    with pytest.raises(DesignError, match=told):
        chassis().edited(packaging={**dict(Packaging()), **packaging})


def test_an_inside_wants_a_body_around_it():
    inner = ((20.0, 20.0), (-20.0, 20.0), (0.0, -20.0))
    good = chassis(inner_mm=inner)
    with pytest.raises(DesignError, match=r"packaging\.inner_mm must be empty where body_mm is"):
        good.edited(body_mm=())


def test_what_is_tied_to_what_is_there_is_taken():
    good = chassis(parts=(part(kind="motor", motor="front servo", mounted_on="front left"),))
    assert good.packaging.parts[0].mounted_on == "front left"
