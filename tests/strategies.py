"""Hypothesis strategies: wheels, designs, turns and motions, the degenerate ones included."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from hypothesis import strategies as st

from geometry.kinematics.motion import Motion, from_turn, from_twist
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.motors import DriveMotor, Gearing, SteerMotor
from geometry.model.wheel import KINDS, Kind, Wheel
from geometry.model.wheel_arrays import wheel_arrays

# Places where something changes: straight, one side stopped, on the spot, and their neighbours.
SPECIAL_TURNS = (0.0, 0.5, -0.5, 1.0, -1.0, 1e-12, -1e-12, 0.5 - 1e-9, 0.5 + 1e-9, 5e-324)

places = st.integers(-400, 400)
trails = st.sampled_from([0.0, 0.0, 10.0, -10.0, 35.0])
laterals = st.sampled_from([0.0, 0.0, 12.0, -12.0])
toes = st.sampled_from([0.0, 0.0, 1.0, -1.5, 20.0])
travels = st.sampled_from(
    [
        (-180.0, 180.0),
        (-90.0, 90.0),
        (-35.0, 35.0),
        (-80.0, 80.0),
        (-135.0, 135.0),
        (-20.0, 60.0),
        (0.0, 45.0),
    ]
)


def turns() -> st.SearchStrategy[float]:
    """Turn inputs, degenerate ones often."""
    return st.one_of(st.sampled_from(SPECIAL_TURNS), st.floats(-1.0, 1.0))


@st.composite
def wheels(
    draw: st.DrawFn, name: str = "wheel", kinds: Sequence[Kind] = KINDS, x_mm: int | None = None
) -> Wheel:
    """One wheel with every property drawn."""
    low, high = draw(travels)
    return Wheel(
        name=name,
        x_mm=float(draw(places) if x_mm is None else x_mm),
        y_mm=float(draw(places)),
        kind=draw(st.sampled_from(list(kinds))),
        trail_mm=draw(trails),
        lateral_offset_mm=draw(laterals),
        toe_deg=draw(toes),
        travel_min_deg=low,
        travel_max_deg=high,
        driven=draw(st.booleans()),
        load_share=draw(st.sampled_from([1.0, 2.0, 0.5])),
    )


@st.composite
def designs(
    draw: st.DrawFn,
    min_wheels: int = 0,
    max_wheels: int = 8,
    kinds: Sequence[Kind] = KINDS,
) -> Design:
    """Valid designs, with wheels on the base axle and on the centre line among them."""
    spots = draw(st.lists(st.tuples(places, places), min_size=min_wheels, max_size=max_wheels, unique=True))
    drawn = [draw(wheels(f"wheel {i}", kinds)) for i in range(len(spots))]
    base_x = draw(st.sampled_from([None, 0.0, -120.0, *(float(x) for x, _ in spots)]))
    return Design(
        wheels=tuple(
            wheel.edited(x_mm=float(x), y_mm=float(y)) for wheel, (x, y) in zip(drawn, spots, strict=True)
        ),
        base_axle_x_mm=base_x,
        largest_turn=draw(st.sampled_from([1.0, 1.0, 0.6])),
    )


def plain(design: Design) -> Design:
    """The same places, with no trail, offset or toe and free travel."""
    return design.edited(
        wheels=tuple(Wheel(name=w.name, x_mm=w.x_mm, y_mm=w.y_mm, kind=w.kind) for w in design.wheels)
    )


@st.composite
def motions(draw: st.DrawFn, design: Design) -> Motion:
    """One motion of a design: on the base axle, free, straight, sideways, about a wheel or a kingpin."""
    base = base_of(design)
    speed = draw(st.sampled_from([1.0, -1.0]))
    kind = draw(st.sampled_from(["turn", "twist", "straight", "sideways", "spot", "kingpin", "contact"]))
    if kind == "turn":
        return from_turn([draw(turns())], base, speed)
    if kind == "straight":
        return from_twist([(speed, 0.0, 0.0)])
    if kind == "sideways":
        return from_twist([(0.0, speed, 0.0)])
    if kind == "spot" or not design.wheels:
        return from_turn([draw(st.sampled_from([1.0, -1.0]))], base, speed)
    if kind in {"kingpin", "contact"}:
        wheel = draw(st.sampled_from(design.wheels))
        reach = wheel.lateral_offset_mm if kind == "contact" else 0.0
        return about(wheel.x_mm, wheel.y_mm + reach, speed * 0.01)
    # Below 1e-150 the square of a speed is no number any more, and the solver sees rest.
    part = st.floats(-1.0, 1.0).map(lambda value: round(value, 12))
    return from_twist([(draw(part), draw(part), draw(part) * 0.02)])


def about(x: float, y: float, omega: float) -> Motion:
    """The motion that turns about a point."""
    return from_twist([(omega * y, -omega * x, omega)])


@st.composite
def driven_designs(draw: st.DrawFn, /, **chosen: object) -> tuple[Design, Motion]:
    """A design and a motion of it."""
    design = draw(designs(**chosen))  # type: ignore[arg-type]
    return design, draw(motions(design))


def size_of(design: Design, base: Base) -> float:
    """A length of the chassis, for tolerances [mm]."""
    arrays = wheel_arrays(design)
    reach = np.abs(np.concatenate([arrays.x, arrays.y, arrays.along, arrays.across, [base.x]])).max()
    return float(reach + base.half_track)


ratios = st.sampled_from([1.0, 1.0, -1.0, -1.0, 0.5, -0.25, 1.1, -0.95, 3.0])


def _dealt(draw: st.DrawFn, names: list[str], most: int) -> list[list[str]]:
    """Deal some of the names to up to `most` motors; none is left empty."""
    hands: list[list[str]] = [[] for _ in range(most)]
    for name in names:
        hand = draw(st.integers(0, most))
        if hand < most:
            hands[hand].append(name)
    return [hand for hand in hands if hand]


@st.composite
def motored_designs(draw: st.DrawFn, /, most_motors: int = 3, **chosen: object) -> Design:
    """Designs whose steered and driven wheels hang on motors, some alone, some together, some on none."""
    design = draw(designs(**chosen))  # type: ignore[arg-type]
    steered = [wheel.name for wheel in design.wheels if wheel.kind == "steered"]
    driven = [wheel.name for wheel in design.wheels if wheel.driven]

    def gearings(hand: list[str]) -> tuple[Gearing, ...]:
        return tuple(Gearing(wheel=name, ratio=draw(ratios)) for name in hand)

    steer = []
    for i, hand in enumerate(_dealt(draw, steered, most_motors)):
        zero = draw(st.sampled_from([0.0, 0.0, 35.0]))
        below, above = draw(st.sampled_from([(180.0, 180.0), (90.0, 90.0), (20.0, 60.0), (0.0, 45.0)]))
        steer.append(
            SteerMotor(
                name=f"steer {i}",
                wheels=gearings(hand),
                zero_deg=zero,
                reversed=draw(st.booleans()),
                travel_min_deg=zero - below,
                travel_max_deg=zero + above,
            )
        )
    drive = [
        DriveMotor(name=f"drive {i}", wheels=gearings(hand), reversed=draw(st.booleans()))
        for i, hand in enumerate(_dealt(draw, driven, most_motors))
    ]
    return design.edited(steer_motors=tuple(steer), drive_motors=tuple(drive))


@st.composite
def driven_motored_designs(draw: st.DrawFn, /, **chosen: object) -> tuple[Design, Motion]:
    """A design with motors and a motion of it."""
    design = draw(motored_designs(**chosen))  # type: ignore[arg-type]
    return design, draw(motions(design))
