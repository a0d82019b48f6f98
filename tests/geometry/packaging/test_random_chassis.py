"""Random chassis: none missed against Shapely, mirrored alike, and a shift by the way out mends it."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from geometry.kinematics.robot import robot_of
from geometry.model.design import Design
from geometry.model.packaging import Packaging, Room
from geometry.packaging.fit import collisions_of
from geometry.packaging.solids import size_of
from tests.effort import effort
from tests.geometry.packaging.chassis import box, pairs_of, post, rod, wheel

# The chassis is looked at this far beyond the depth that is told, and this far short of it.
MORE, LESS = 2e-5, 0.98
BODY = ((150.0, 60.0), (100.0, 90.0), (-150.0, 90.0), (-150.0, -90.0), (20.0, -90.0), (150.0, -60.0))


def random_part(random, name, shapes=(box, post, rod), spread=120.0, **more):
    make = shapes[random.integers(len(shapes))]
    size = random.uniform(4.0, 50.0, 3 if make is box else 2)
    x, y = random.uniform(-spread, spread, 2)
    room = Room(front_mm=float(random.choice([0.0, 0.0, 8.0])), left_mm=float(random.choice([0.0, 0.0, 5.0])))
    return make(
        name,
        float(x),
        float(y),
        float(random.uniform(0.0, 80.0)),
        tuple(map(float, size)),
        turn_deg=float(random.uniform(-180.0, 180.0)),
        clearance_mm=float(random.choice([0.0, 2.0, 6.0])),
        room=room,
        **more,
    )


def random_wheels(random, count=6, spread=120.0):
    found = []
    for i in range(count):
        x, y = random.uniform(-spread, spread, 2)
        found.append(
            wheel(
                f"w{i}",
                float(x),
                float(y),
                kind=str(random.choice(["steered", "steered", "fixed", "caster"])),
                diameter_mm=float(random.uniform(20.0, 60.0)),
                width_mm=float(random.uniform(5.0, 30.0)),
                trail_mm=float(random.choice([0.0, 15.0, -10.0])),
                lateral_offset_mm=float(random.choice([0.0, 20.0])),
                toe_deg=float(random.choice([0.0, 5.0])),
                travel_min_deg=float(random.uniform(-180.0, -5.0)),
                travel_max_deg=float(random.uniform(5.0, 180.0)),
            )
        )
    return found


# Drawn anew, from the words of the model alone ---------------------------------------------------


def outline(part, chord=None):
    """A part seen from above with its room, as Shapely draws it; of a lying cylinder by half its chord."""
    length, width, _ = size_of(part)
    half = 0.5 * width if chord is None else chord
    room = part.room
    if part.shape == "upright cylinder":
        shape = shapely.box(-room.rear_mm, -room.right_mm, room.front_mm, room.left_mm)
        shape = shape if shape.area else shapely.convex_hull(shapely.MultiPoint(shape.exterior.coords))
        shape = shape.buffer(0.5 * width, quad_segs=64)
    else:
        shape = shapely.box(
            -0.5 * length - room.rear_mm,
            -half - room.right_mm,
            0.5 * length + room.front_mm,
            half + room.left_mm,
        )
    turned = shapely.affinity.rotate(shape, part.turn_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, part.x_mm, part.y_mm)


def span(part):
    return part.bottom_mm, part.bottom_mm + size_of(part)[2]


def tyres(one, steer, chord):
    """A wheel at steer angles (T,), as long as its chord."""
    toe = np.radians(one.toe_deg)
    hand = one.y_mm + one.lateral_offset_mm >= 0
    heading = steer + (-toe if hand else toe)
    middle = complex(one.x_mm, one.y_mm) + complex(-one.trail_mm, one.lateral_offset_mm) * np.exp(
        1j * heading
    )
    half = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]) * [chord, 0.5 * one.width_mm]
    corners = middle[:, None] + (half[:, 0] + 1j * half[:, 1]) * np.exp(1j * heading)[:, None]
    return shapely.polygons(np.stack([corners.real, corners.imag], axis=-1))


def chord_of(radius, axis, low, high):
    """Half of the chord of a disc at the height between two that is nearest to its axis; 0 where none is."""
    at = min(max(axis, low), high)
    return np.sqrt(max(radius**2 - (at - axis) ** 2, 0.0))


def travel_of(one):
    if one.kind == "fixed":
        return np.zeros(1)
    ends = (-180.0, 180.0) if one.kind == "caster" else (one.travel_min_deg, one.travel_max_deg)
    return np.radians(np.linspace(*ends, 181))


def test_no_collision_of_10000_random_pairs_of_upright_parts_is_missed_or_made_up():
    random = np.random.default_rng(31)
    count, tried, hit = effort(40, 80), 0, 0
    for _ in range(effort(13, 13)):
        parts = [random_part(random, f"p{i}", (box, post)) for i in range(count)]
        found = pairs_of(Design(packaging=Packaging(parts=tuple(parts))))
        drawn = [outline(part) for part in parts]
        for i, j in itertools.combinations(range(count), 2):
            (a, b), (c, d) = span(parts[i]), span(parts[j])
            across, upward = drawn[i].distance(drawn[j]), max(a - d, c - b)
            overlap = across == 0 and drawn[i].intersection(drawn[j]).area > 1e-9
            near = np.hypot(across, max(upward, 0.0))
            wanted = max(parts[i].clearance_mm, parts[j].clearance_mm)
            # Shapely draws circles as polygons of 256 corners, within some thousandths.
            if near < wanted - 5e-3 or (overlap and upward < 0):
                assert (("part", i), ("part", j)) in found
                hit += 1
            elif near > wanted + 5e-3:
                assert (("part", i), ("part", j)) not in found
            tried += 1
    assert tried >= 10_000
    assert 0.03 < hit / tried < 0.5


def test_no_collision_of_wheels_with_parts_is_missed_over_the_travel():
    random = np.random.default_rng(32)
    hits = 0
    for _ in range(effort(6, 100)):
        wheels = random_wheels(random)
        parts = [random_part(random, f"p{i}") for i in range(25)]
        found = pairs_of(Design(wheels=tuple(wheels), packaging=Packaging(parts=tuple(parts))))
        for (n, one), (i, part) in itertools.product(enumerate(wheels), enumerate(parts)):
            low, high = span(part)
            radius = 0.5 * one.diameter_mm
            for level in np.linspace(max(low, 0.0), min(high, 2 * radius), 7) if low < 2 * radius else ():
                lies = part.shape == "lying cylinder"
                own = (
                    chord_of(0.5 * (part.diameter_mm or 0), 0.5 * (low + high), level, level)
                    if lies
                    else None
                )
                poses = tyres(one, travel_of(one), chord_of(radius, radius, level, level))
                if shapely.area(shapely.intersection(poses, outline(part, own))).max() > 1e-6:
                    assert (("part", i), ("wheel", n)) in found
                    hits += 1
                    break
    assert hits > 25


def test_no_collision_of_two_wheels_at_any_two_angles_is_missed_or_made_up():
    random = np.random.default_rng(33)
    hits = 0
    for _ in range(effort(4, 60)):
        wheels = random_wheels(random, 8)
        found = pairs_of(Design(wheels=tuple(wheels)))
        drawn = [tyres(one, travel_of(one), 0.5 * one.diameter_mm) for one in wheels]
        for (i, a), (j, b) in itertools.combinations(enumerate(wheels), 2):
            regions = shapely.union_all(drawn[i]), shapely.union_all(drawn[j])
            # Where both have their axles at one height their widest chords meet.
            if a.diameter_mm == b.diameter_mm and regions[0].intersection(regions[1]).area > 1e-6:
                assert (("wheel", i), ("wheel", j)) in found
            if (("wheel", i), ("wheel", j)) in found:
                hits += 1
                assert regions[0].distance(regions[1]) < 1.0
    assert hits > 8


def test_a_part_against_the_body_is_inside_outside_or_told():
    random = np.random.default_rng(34)
    seen = {True: 0, False: 0}
    body = shapely.Polygon(BODY)
    for _ in range(effort(6, 60)):
        parts = [random_part(random, f"p{i}", (box, post), 170.0) for i in range(40)]
        pack = Packaging(parts=tuple(parts), floor_mm=20.0, roof_mm=90.0, wall_mm=4.0)
        found = pairs_of(Design(body_mm=BODY, packaging=pack))
        meets = {a[1] for a, b in found if b[0] in {"wall", "floor", "roof"}}
        rooms = [
            (body, 20.0, 24.0),
            (body.difference(body.buffer(-4.0, quad_segs=64)), 24.0, 86.0),
            (body, 86.0, 90.0),
        ]
        for i, part in enumerate(parts):
            drawn, (low, high) = outline(part), span(part)
            gaps = [np.hypot(drawn.distance(room), max(a - high, low - b, 0.0)) for room, a, b in rooms]
            overlap = any(
                drawn.intersection(room).area > 1e-6 and max(a - high, low - b) < -1e-6
                for room, a, b in rooms
            )
            if overlap or min(gaps) < part.clearance_mm - 5e-3:
                assert i in meets
                seen[True] += 1
            elif min(gaps) > part.clearance_mm + 5e-3:
                assert i not in meets
                seen[False] += 1
    assert min(seen.values()) > 30


# The way out ------------------------------------------------------------------------------------


def shifted(design, collision, by):
    """The design with the first thing of a collision shifted along its way out; None for what cannot be."""
    way = {"x": "x_mm", "y": "y_mm", "z": "bottom_mm"}[collision.axis]
    n = collision.first.index
    if collision.first.kind == "part":
        parts = list(design.packaging.parts)
        parts[n] = parts[n].edited(**{way: getattr(parts[n], way) + collision.sign * by})
        return design.edited(packaging=design.packaging.edited(parts=tuple(parts)))
    if collision.axis == "z":
        return None
    wheels = list(design.wheels)
    wheels[n] = wheels[n].edited(**{way: getattr(wheels[n], way) + collision.sign * by})
    return design.edited(wheels=tuple(wheels))


def same(design, collision):
    """The collision of the same two in another design."""
    for one in pairs_of(design).values():
        alike = one.first == collision.first and one.second.kind == collision.second.kind
        if alike and (collision.second.kind == "wall" or one.second == collision.second):
            return one
    return None


def kinds_met(design, collision):
    """Whether the first thing meets floor or roof."""
    met = {one.second.kind for one in pairs_of(design).values() if one.first == collision.first}
    return bool(met & {"floor", "roof"})


def check_ways(design, seen):
    for collision in pairs_of(design).values():
        mended = shifted(design, collision, collision.depth + MORE)
        if mended is None:
            continue
        assert same(mended, collision) is None, collision
        less = shifted(design, collision, LESS * collision.depth)
        # Below the walls is the floor: the way down goes through it.
        body = collision.second.kind == "wall" and collision.axis == "z"
        assert same(less, collision) is not None or (body and kinds_met(less, collision)), collision
        key = (collision.first.kind, collision.second.kind, collision.axis)
        seen[key] = seen.get(key, 0) + 1


def test_a_shift_by_the_way_out_restores_the_clearance_and_less_does_not():
    random = np.random.default_rng(41)
    seen = {}
    for _ in range(effort(11, 150)):
        wheels = random_wheels(random, 2, 90.0)
        parts = [random_part(random, f"p{i}", spread=90.0) for i in range(7)]
        body = BODY if random.random() < 0.6 else ()
        check_ways(Design(wheels=tuple(wheels), body_mm=body, packaging=Packaging(parts=tuple(parts))), seen)
    kinds = {key[:2] for key in seen}
    assert {
        ("part", "part"),
        ("part", "wheel"),
        ("wheel", "wheel"),
        ("part", "wall"),
        ("wheel", "wall"),
    } <= kinds
    assert {("part", "floor"), ("part", "roof")} <= kinds
    assert {key[2] for key in seen} == {"x", "y", "z"}


# Mirrored ---------------------------------------------------------------------------------------


def mirrored(design):
    parts = [
        part.edited(
            y_mm=-part.y_mm,
            turn_deg=-part.turn_deg,
            room=part.room.edited(left_mm=part.room.right_mm, right_mm=part.room.left_mm),
        )
        for part in design.packaging.parts
    ]
    wheels = [
        one.edited(
            y_mm=-one.y_mm,
            lateral_offset_mm=-one.lateral_offset_mm,
            travel_min_deg=-one.travel_max_deg,
            travel_max_deg=-one.travel_min_deg,
        )
        for one in design.wheels
    ]
    return design.edited(
        wheels=tuple(wheels),
        body_mm=tuple((x, -y) for x, y in design.body_mm),
        packaging=design.packaging.edited(parts=tuple(parts)),
    )


@settings(max_examples=effort(12, 400))
@example(seed=48_073, with_body=True)  # a wheel in a corner
@given(seed=st.integers(0, 100_000), with_body=st.booleans())
def test_a_mirrored_chassis_has_mirrored_collisions(seed, with_body):
    random = np.random.default_rng(seed)
    wheels = random_wheels(random, 3)
    parts = [random_part(random, f"p{i}", mounted_on="w0" if i == 0 else None) for i in range(5)]
    design = Design(
        wheels=tuple(wheels), body_mm=BODY if with_body else (), packaging=Packaging(parts=tuple(parts))
    )
    other = mirrored(design)
    heading = random.uniform(-0.5, 0.5, 3)
    found = collisions_of(robot_of(design), design, heading)
    back = collisions_of(robot_of(other), other, -heading)

    def key(one):
        # Of two walls in a corner that a thing is got out of upwards, neither is the nearer one.
        either = one.second.kind == "wall" and one.axis == "z"
        return one.first.kind, one.first.index, one.second.kind, -1 if either else one.second.index

    assert [key(one) for one in sorted(found, key=key)] == [key(one) for one in sorted(back, key=key)]
    for one, two in zip(sorted(found, key=key), sorted(back, key=key), strict=True):
        assert (one.now, one.wheel, one.wanted) == (two.now, two.wheel, two.wanted)
        assert one.depth == pytest.approx(two.depth, abs=1e-3)
        assert one.clearance == pytest.approx(two.clearance, abs=1e-5)
        if one.steer is not None and two.steer is not None:
            assert abs(one.steer) == pytest.approx(abs(two.steer), abs=1e-3)
        if one.axis == "x" == two.axis:
            assert one.sign == two.sign
        if one.axis == "y" == two.axis:
            assert one.sign == -two.sign
