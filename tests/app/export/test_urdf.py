"""The URDF read back by the standard library and by a reader of its own, against `geometry`."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from urdf_parser_py.urdf import URDF

from app.controller.export_error import ExportError
from app.controller.steering_table import slugs_of
from app.design.samples import sample_design
from app.export.urdf import notes_of, render
from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.packaging.masses import bodies_of, weighed
from geometry.packaging.weights import balance_of
from tests.app.export.odd import HOSTILE, ODD
from tests.bent import BentLaw
from tests.geometry.packaging.laden import BARE, LADEN

TAGS = {
    *("robot", "link", "joint", "inertial", "origin", "mass", "inertia", "visual", "collision", "geometry"),
    *("box", "cylinder", "parent", "child", "axis", "limit", "mimic"),
}


def numbers(text):
    return np.array([float(word) for word in text.split()])


def turn_of(rpy):
    """Matrix of roll, pitch and yaw about the axes that stand still, in this order."""
    (a, b, c), made = rpy, np.eye(3)
    for axis, angle in ((0, a), (1, b), (2, c)):
        i, j = [k for k in range(3) if k != axis]
        one = np.eye(3)
        one[i, i] = one[j, j] = math.cos(angle)
        one[i, j], one[j, i] = -math.sin(angle), math.sin(angle)
        made = (one if axis != 1 else one.T) @ made
    return made


class Read:
    """A file as frames in the base, with all joints at angles."""

    def __init__(self, text, angles=None):
        self.root = ET.fromstring(text)  # noqa: S314 - our own text
        self.links = {link.get("name"): link for link in self.root.iter("link")}
        self.joints = {joint.get("name"): joint for joint in self.root.iter("joint")}
        self.frames = {"base_link": (np.zeros(3), np.eye(3))}
        for name, joint in self.joints.items():
            at, turn = self.frames[joint.find("parent").get("link")]
            origin = joint.find("origin")
            angle = (angles or {}).get(name, 0.0)
            own = turn_of(numbers(origin.get("rpy")))
            if angle:
                own = own @ turn_of(angle * numbers(joint.find("axis").get("xyz")))
            self.frames[joint.find("child").get("link")] = (
                at + turn @ numbers(origin.get("xyz")),
                turn @ own,
            )

    def masses(self):
        """Mass, centre and tensor of each link in the frame of the base."""
        found = {}
        for name, link in self.links.items():
            at, turn = self.frames[name]
            inertial = link.find("inertial")
            entry = {k: float(v) for k, v in inertial.find("inertia").attrib.items()}
            tensor = np.array([[entry["i" + "".join(sorted((a, b)))] for b in "xyz"] for a in "xyz"])
            centre = at + turn @ numbers(inertial.find("origin").get("xyz"))
            found[name] = float(inertial.find("mass").get("value")), centre, turn @ tensor @ turn.T
        return found

    def whole(self):
        found = self.masses().values()
        mass = sum(m for m, _, _ in found)
        centre = sum(m * c for m, c, _ in found) / mass
        tensor = sum(
            t + m * ((c - centre) @ (c - centre) * np.eye(3) - np.outer(c - centre, c - centre))
            for m, c, t in found
        )
        return mass, centre, tensor


@pytest.mark.parametrize("design", ODD.values(), ids=ODD)
def test_mass_and_centre_are_those_of_the_balance(design) -> None:
    robot, filled = robot_of(design), weighed(design).design
    balance = balance_of(robot, filled, robot.wheels.built_in)
    mass, centre, _ = Read(render(design)).whole()
    assert mass == pytest.approx(balance.mass, rel=1e-10)
    assert 1000.0 * centre == pytest.approx(balance.centre, abs=1e-6)


def test_mass_and_centre_stay_those_of_the_balance_as_the_wheels_turn() -> None:
    robot = robot_of(LADEN)
    angles = {"front_left_steer": 0.3, "front_right_steer": -0.2, "tail_swivel": 2.0, "rear_left_roll": 1.0}
    steer = np.array([0.3, -0.2, 0.0, 0.0, 2.0])
    balance = balance_of(robot, LADEN, robot.wheels.built_in + steer)
    mass, centre, _ = Read(render(LADEN), angles).whole()
    assert mass == pytest.approx(balance.mass)
    assert 1000.0 * centre == pytest.approx(balance.centre, abs=1e-6)


def points_of(design, rng, count):
    """Random points that fill every thing of a design evenly, by its mass: (P, 3) [m] and (P,) [kg]."""
    places, masses = [], []

    def add(mass, xyz):
        places.append(xyz)
        masses.append(np.full(len(xyz), mass / len(xyz)))

    def box(size):
        return (rng.random((count, 3)) - 0.5) * size

    def disc(diameter, length):
        """About z."""
        radius, angle = 0.5 * diameter * np.sqrt(rng.random(count)), math.tau * rng.random(count)
        return np.stack(
            [radius * np.cos(angle), radius * np.sin(angle), length * (rng.random(count) - 0.5)], 1
        )

    def yawed(points, degrees):
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])

    for part in design.packaging.parts:
        if part.shape == "box":
            own, high = box((part.length_mm, part.width_mm, part.height_mm)), part.height_mm
        elif part.shape == "upright cylinder":
            own, high = disc(part.diameter_mm, part.height_mm), part.height_mm
        else:
            own, high = disc(part.diameter_mm, part.length_mm)[:, [2, 0, 1]], part.diameter_mm
        middle = (part.x_mm, part.y_mm, part.bottom_mm + 0.5 * high)
        add(part.mass_kg, np.add(yawed(own, part.turn_deg), middle))
    for wheel in design.wheels:
        left = wheel.y_mm + wheel.lateral_offset_mm >= 0
        own = disc(wheel.diameter_mm, wheel.width_mm)[:, [0, 2, 1]]
        own += (-wheel.trail_mm, wheel.lateral_offset_mm, 0.5 * wheel.diameter_mm)
        turned = yawed(own, -wheel.toe_deg if left else wheel.toe_deg)
        add(wheel.mass_kg, np.add(turned, (wheel.x_mm, wheel.y_mm, 0)))
    x, y = np.array(design.body_mm).T
    low, high = design.packaging.floor_mm, design.packaging.roof_mm
    tried = rng.random((4 * count, 3)) * (np.ptp(x), np.ptp(y), high - low) + (x.min(), y.min(), low)
    inside = np.zeros(len(tried), dtype=bool)
    for a, b, c, d in zip(x, y, np.roll(x, -1), np.roll(y, -1), strict=True):
        if b != d:
            crosses = (b > tried[:, 1]) != (d > tried[:, 1])
            inside ^= crosses & (tried[:, 0] < a + (tried[:, 1] - b) * (c - a) / (d - b))
    add(design.packaging.body_mass_kg, tried[inside])
    return 0.001 * np.concatenate(places), np.concatenate(masses)


def test_the_inertia_of_the_whole_is_the_sum_over_points_that_fill_it() -> None:
    points, masses = points_of(LADEN, np.random.default_rng(5), 200_000)
    centre = masses @ points / masses.sum()
    off = points - centre
    tensor = (masses @ (off**2).sum(axis=1)) * np.eye(3) - off.T @ (off * masses[:, None])
    mass, ours, told = Read(render(LADEN)).whole()
    assert mass == pytest.approx(masses.sum())
    assert ours == pytest.approx(centre, abs=2e-4)
    assert np.abs(told - tensor).max() < 3e-3 * tensor.max()
    # What is lopsided shows: a wrong sign of a product would be seen.
    for i, j in ((0, 1), (0, 2)):
        assert abs(tensor[i, j]) > 0.01 * tensor.max()


@pytest.mark.parametrize("design", ODD.values(), ids=ODD)
def test_wheels_stand_on_the_floor_where_they_touch_it_and_head_as_built(design) -> None:
    robot, read = robot_of(design), Read(render(design))
    w = robot.wheels
    contact = w.x + 1j * w.y + (w.along + 1j * w.across) * np.exp(1j * w.built_in)
    for n, slug in enumerate(slugs_of([wheel.name for wheel in design.wheels])):
        at, turn = read.frames[f"{slug}_wheel"]
        told = (contact[n].real, contact[n].imag, 0.5 * w.diameter[n])
        assert 1000.0 * at == pytest.approx(told, abs=1e-6)
        assert turn @ (1, 0, 0) == pytest.approx((math.cos(w.built_in[n]), math.sin(w.built_in[n]), 0))
        roll = read.joints[f"{slug}_roll"]
        assert (roll.get("type"), roll.find("axis").get("xyz")) == ("continuous", "0 1 0")
        shape = read.links[f"{slug}_wheel"].find("collision")
        # The axis of a cylinder is its z: it lies along the axle.
        along = turn_of(numbers(shape.find("origin").get("rpy"))) @ (0, 0, 1)
        assert np.abs(along) == pytest.approx((0, 1, 0), abs=1e-9)
        cylinder = shape.find("geometry/cylinder")
        sizes = 2000.0 * float(cylinder.get("radius")), 1000.0 * float(cylinder.get("length"))
        assert sizes == pytest.approx((w.diameter[n], w.width[n]))


@pytest.mark.parametrize("design", ODD.values(), ids=ODD)
def test_steering_joints_stand_at_the_kingpins_with_the_travel_that_the_motors_leave(design) -> None:
    robot, read = robot_of(design), Read(render(design))
    low, high = robot.motor_travel.low, robot.motor_travel.high
    kingpins = 0
    for n, slug in enumerate(slugs_of([wheel.name for wheel in design.wheels])):
        wheel = design.wheels[n]
        joint = read.joints.get(f"{slug}_swivel" if wheel.kind == "caster" else f"{slug}_steer")
        assert (joint is None) == (wheel.kind == "fixed")
        if joint is None:
            continue
        kingpins += 1
        assert joint.find("axis").get("xyz") == "0 0 1"
        place = 1000.0 * numbers(joint.find("origin").get("xyz"))
        assert place == pytest.approx((wheel.x_mm, wheel.y_mm, 0.5 * wheel.diameter_mm))
        if wheel.kind == "caster":
            assert joint.get("type") == "continuous"
            continue
        limit = joint.find("limit")
        assert float(limit.get("lower")) == pytest.approx(low[n])
        assert float(limit.get("upper")) == pytest.approx(high[n])
    assert kingpins == sum(wheel.kind != "fixed" for wheel in design.wheels)


def test_travel_and_speeds_are_those_of_the_motors_through_their_gears() -> None:
    joints = Read(render(LADEN)).joints
    # The motor's -90 to 100 by 0.5 would be -45 to 50; the left wheel's travel of -70 to 50 goes by
    # (12 / 20) (30 / 60) = 0.3, so that it stops the motor nowhere.
    for name, low, high, speed in (("front_right", -45, 50, 120), ("front_left", -27, 30, 72)):
        limit = joints[f"{name}_steer"].find("limit")
        told = [math.degrees(float(limit.get(key))) for key in ("lower", "upper", "velocity")]
        assert told == pytest.approx([low, high, speed])
    # 120 turns a minute are 4 pi radians a second.
    for name, share in (("rear_left", 0.5), ("rear_right", 0.75)):
        speed = float(joints[f"{name}_roll"].find("limit").get("velocity"))
        assert speed == pytest.approx(4.0 * math.pi * share)


def test_wheels_that_share_a_motor_follow_its_first_wheel_by_their_gears() -> None:
    joints = Read(render(LADEN)).joints
    found = {
        name: (mimic.get("joint"), float(mimic.get("multiplier")), float(mimic.get("offset")))
        for name, joint in joints.items()
        if (mimic := joint.find("mimic")) is not None
    }
    assert found == {
        "front_left_steer": ("front_right_steer", pytest.approx(0.3 / 0.5), 0.0),
        "rear_right_roll": ("rear_left_roll", pytest.approx(-1.5), 0.0),
    }


def test_every_motor_of_a_sample_has_one_joint_of_its_own() -> None:
    design = sample_design("marsh_scout_motors")
    joints = Read(render(design)).joints
    slug = dict(zip([w.name for w in design.wheels], slugs_of([w.name for w in design.wheels]), strict=True))
    for kind, motors in (("steer", design.steer_motors), ("roll", design.drive_motors)):
        for motor in motors:
            first, *others = [f"{slug[gearing.wheel]}_{kind}" for gearing in motor.wheels]
            assert joints[first].find("mimic") is None
            for name, gearing in zip(others, motor.wheels[1:], strict=True):
                mimic = joints[name].find("mimic")
                assert mimic.get("joint") == first
                assert float(mimic.get("multiplier")) == pytest.approx(gearing.turns / motor.wheels[0].turns)


def test_a_law_that_is_no_ratio_is_told_and_gets_no_mimic_joint() -> None:
    robot = robot_of(LADEN)
    (group,) = robot.motors.steer
    bent = replace(group, law=BentLaw(group.law.ratio))
    text = render(LADEN, replace(robot, motors=replace(robot.motors, steer=(bent,))))
    assert Read(text).joints["front_left_steer"].find("mimic") is None
    assert 'The wheels of "front" do not follow it in a fixed ratio' in text
    assert "fixed ratio" not in render(LADEN)


def test_a_kingpin_without_any_angle_is_a_fixed_joint() -> None:
    wheels = tuple(
        wheel.edited(travel_min_deg=low, travel_max_deg=high)
        for wheel, low, high in zip(LADEN.wheels[:2], (-180, 0), (0, 180), strict=True)
    )
    joints = Read(text := render(LADEN.edited(wheels=(*wheels, *LADEN.wheels[2:])))).joints
    for name in ("front_left_steer", "front_right_steer"):
        assert joints[name].get("type") == "fixed"
        assert joints[name].find("mimic") is None
        assert f"Travel and motor leave {name} no angle but 0." in text


@pytest.mark.parametrize("design", ODD.values(), ids=ODD)
def test_another_reader_takes_the_file_and_finds_one_tree(design) -> None:
    robot = URDF.from_xml_string(render(design).partition("\n")[2])
    assert robot.get_root() == "base_link"
    assert len(robot.links) == len(robot.joints) + 1
    names = [link.name for link in robot.links]
    assert len(set(names)) == len(names)
    assert sum(link.inertial.mass for link in robot.links) == pytest.approx(
        weighed(design).design.packaging.body_mass_kg
        + sum(part.mass_kg for part in weighed(design).design.packaging.parts)
        + sum(wheel.mass_kg for wheel in weighed(design).design.wheels)
    )
    assert sum(joint.mimic is not None for joint in robot.joints) == sum(
        len(motor.wheels) - 1 for motor in (*design.steer_motors, *design.drive_motors)
    )


@pytest.mark.parametrize("design", ODD.values(), ids=ODD)
def test_every_tensor_is_one_that_a_body_can_have(design) -> None:
    for _, _, tensor in Read(render(design)).masses().values():
        a, b, c = np.linalg.eigvalsh(tensor)
        assert a > 0
        assert a + b >= c * (1.0 - 1e-9)


def test_hostile_names_stay_in_comments_and_every_link_has_a_plain_name() -> None:
    design = ODD["hostile"]
    text = render(design)
    root = ET.fromstring(text)  # noqa: S314 - our own text
    assert {element.tag for element in root.iter()} <= TAGS
    for element in root.iter():
        if element.tag in ("link", "joint", "robot"):
            assert re.fullmatch(r"[a-z][a-z0-9_]*", element.get("name"))
    assert len(root.findall("link")) == 1 + 2 * len(HOSTILE)
    comments = re.findall(r"<!--(.*?)-->", text, flags=re.DOTALL)
    assert all("--" not in words and not words.endswith("-") for words in comments)
    assert 'Wheel "左の車輪", steered' in text
    assert 'Wheel "- -><robot/><!- -", steered' in text
    assert len(comments) == text.count("<!--") == text.count("-->")


def test_what_is_a_default_is_said_in_the_file_and_beside_it() -> None:
    assert "DEFAULT" not in render(LADEN)
    assert notes_of(LADEN) == ()
    text, (note,) = render(BARE), notes_of(BARE)
    assert 'DEFAULT MASSES, since none are given: the body, wheel "front left", wheel "front right"' in text
    assert 'part "guard"' in text
    assert note.startswith(
        'no mass is given of the body, the wheels, part "battery", part "mast" and 4 more;'
    )
    one = BARE.edited(wheels=(LADEN.wheels[0], *BARE.wheels[1:]), packaging=LADEN.packaging)
    assert "the body" not in notes_of(one)[0]
    assert 'wheel "front left"' not in notes_of(one)[0]


def test_the_file_says_which_engine_needs_care_and_in_which_frame_it_is() -> None:
    comments = re.findall(r"<!--(.*?)-->", render(LADEN))
    assert any("MuJoCo welds base_link" in words and 'fusestatic="false"' in words for words in comments)
    assert any("x forward, y to the left, z up" in words and "on the floor" in words for words in comments)


def test_a_body_of_which_no_heights_are_known_touches_nothing() -> None:
    scout = sample_design("marsh_scout_six")
    base = Read(render(scout)).links["base_link"]
    assert base.find("visual") is not None
    assert base.find("collision") is None
    assert "no collision shapes" in render(scout)
    assert Read(render(LADEN)).links["base_link"].find("collision") is not None


def test_what_a_wheel_would_overlap_is_seen_but_not_touched() -> None:
    """A part within a rear wheel, and one beside it."""
    battery = LADEN.packaging.parts[0].edited(
        turn_deg=0, length_mm=20, width_mm=10, bottom_mm=20, height_mm=20
    )
    for y, touches in ((-150, False), (-110, True)):
        part = battery.edited(x_mm=-140, y_mm=y)
        design = LADEN.edited(body_mm=(), packaging=LADEN.packaging.edited(parts=(part,)))
        base = Read(render(design)).links["base_link"]
        assert len(base.findall("visual")) == 1
        assert len(base.findall("collision")) == touches


def test_parts_are_shown_where_they_are() -> None:
    read = Read(render(LADEN.edited(body_mm=())))
    base = read.links["base_link"].findall("visual")
    assert len(base) == 4
    battery, mast, drive, _ = base
    assert numbers(battery.find("geometry/box").get("size")) == pytest.approx((0.12, 0.06, 0.04))
    assert numbers(battery.find("origin").get("xyz")) == pytest.approx((-0.04, 0.012, 0.05))
    assert numbers(battery.find("origin").get("rpy")) == pytest.approx((0, 0, math.radians(35)))
    assert numbers(mast.find("origin").get("xyz")) == pytest.approx((0.08, -0.03, 0.18))
    lies = turn_of(numbers(drive.find("origin").get("rpy"))) @ (0, 0, 1)
    assert lies == pytest.approx((math.cos(math.radians(-70)), math.sin(math.radians(-70)), 0), abs=1e-9)
    hub = read.links["front_left_steering"].find("visual")
    at, _ = read.frames["front_left_steering"]
    assert at + numbers(hub.find("origin").get("xyz")) == pytest.approx((0.16, 0.12, 0.0625))


def test_a_chassis_without_wheels_is_refused_with_the_remedy() -> None:
    with pytest.raises(ExportError, match=r"no wheels.*add some first"):
        render(Design(body_mm=((0, 0), (100, 0), (0, 50))))


def test_the_bytes_are_the_same_each_time_and_end_with_one_line_end() -> None:
    text = render(LADEN)
    assert text == render(LADEN.edited())
    assert text.startswith('<?xml version="1.0" encoding="utf-8"?>\n<robot name="chassis_laden">')
    assert text.endswith("</robot>\n")
    assert "e-1" not in re.sub(r"i[xyz]{2}=\"[^\"]*\"", "", text)
    assert '"-0"' not in text


def test_shares_are_told_only_where_there_are_some() -> None:
    heavy = LADEN.packaging.parts[3].edited(name="other", mounted_on="front right")
    tail = heavy.edited(name="third", mounted_on="tail")
    packed = LADEN.packaging.edited(parts=(*LADEN.packaging.parts, heavy, tail))
    assert bodies_of(robot_of(LADEN), weighed(LADEN.edited(packaging=packed))).shared == ()
    assert "carries 10% of its wheel" in render(LADEN)
    assert "carries 10% of its wheel" not in render(LADEN.edited(packaging=packed))
