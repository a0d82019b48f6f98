"""Chassis that have just one fault each, and what is to be said of a wheel of theirs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from app.design.edits import change_wheels
from app.design.samples import sample_design
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.app.scouts import FRONT, LEFT, RIGHT, drive_motor, scout, steer_motor
from tests.unpacked import unpacked


def fixed(name: str, x: float, y: float, **more: Any) -> Wheel:
    return Wheel(name=name, x_mm=x, y_mm=y, **more)


def steered(name: str, x: float, y: float, travel: float = 180.0, **more: Any) -> Wheel:
    ends: dict[str, Any] = {"travel_min_deg": -travel, "travel_max_deg": travel}
    return Wheel(name=name, x_mm=x, y_mm=y, kind="steered", **ends, **more)


REAR = (fixed("L", 0.0, 100.0), fixed("R", 0.0, -100.0))


def cart(*more: Wheel, **fields: Any) -> Design:
    """A fixed axle of track 200 mm at x = 0, and these wheels."""
    return Design(wheels=(*REAR, *more), **fields)


def on_one_motor(*wheels: Wheel, ratios: tuple[float, ...] = (1.0, 1.0), **motor: Any) -> Design:
    held = {wheel.name: ratio for wheel, ratio in zip(wheels, ratios, strict=True)}
    return cart(*wheels).edited(steer_motors=(steer_motor("M", held, **motor),))


def front(travel: float = 180.0) -> Wheel:
    return steered("F", 150.0, 0.0, travel)


def driven_scout(*wheels: float) -> Design:
    """Both sides steer exactly; one drive motor holds two wheels of like speed by these ratios."""
    return scout(RIGHT, LEFT, drive_motor("D", dict(zip(("front left", "rear left"), wheels, strict=True))))


def three_on_one(rear: float = 1.0) -> Design:
    """Both sides steer exactly; one drive motor holds three wheels of unlike speed."""
    held = {"front left": 1.0, "middle right": 1.0, "rear left": rear}
    return scout(RIGHT, LEFT, drive_motor("D", held))


def short_rear() -> Design:
    """Both sides steer exactly, but the rear right wheel turns no further than 20 degrees."""
    return change_wheels(scout(RIGHT, LEFT), [5], travel_min_deg=-20.0, travel_max_deg=20.0)


def geared_unlike() -> Design:
    """The sample with four motors, whose front left wheel turns 2 % further than it should."""
    design = unpacked(sample_design("marsh_scout_motors"))
    right, left = design.steer_motors
    front, rear = left.wheels
    more = front.edited(ratio=1.02 * front.turns, train=())
    return design.edited(steer_motors=(right, left.edited(wheels=(more, rear))))


def swung_offset(toe: float) -> tuple[Wheel, Wheel]:
    """Two wheels far to the side of their kingpins, so that toe moves their contacts alike."""
    return (
        fixed("L", 0.0, 100.0, toe_deg=toe, lateral_offset_mm=60.0),
        fixed("R", 0.0, -100.0, toe_deg=toe, lateral_offset_mm=-60.0),
    )


@dataclass(frozen=True)
class Told:
    """A chassis, a turn and a wheel of it, and what is to be said."""

    design: Callable[[], Design]
    turn: float
    wheel: int
    words: str


TOLD = {
    "trail": Told(
        lambda: cart(steered("F", 0.0, 90.0, trail_mm=30.0)),
        0.5,
        2,
        "The turn centre is nearer to its kingpin than its trail of 30 mm: shorten the trail.",
    ),
    "travel of the wheel": Told(
        lambda: cart(front(30.0)),
        0.5,
        2,
        "It stands at its end of travel (30.0°): give it more travel, or set largest_turn to at most 0.2779.",
    ),
    "travel of its motor": Told(
        lambda: on_one_motor(front(), ratios=(1.0,), travel_min_deg=-30.0, travel_max_deg=30.0),
        0.5,
        2,
        "Its motor, M, stands at its end of travel: give it more, or set largest_turn to at most 0.2779.",
    ),
    "travel of the wheel, and then of its motor": Told(
        lambda: on_one_motor(
            front().edited(travel_min_deg=0.0, travel_max_deg=45.0),
            ratios=(1.0,),
            travel_min_deg=-20.0,
            travel_max_deg=60.0,
        ),
        -0.5,
        2,
        "It stands at its end of travel (0.0°): give it more travel. That alone is not enough: "
        "alone it would bring its motor, M, to its end of travel: give the motor more, or turn less.",
    ),
    "travel of its mate": Told(
        short_rear,
        0.45,
        1,
        "Its motor, right, is stopped by the travel of rear right: give rear right more travel, "
        "or set largest_turn to at most 0.1991.",
    ),
    "one angle for two": Told(
        lambda: on_one_motor(steered("A", 150.0, 100.0), steered("B", 150.0, -100.0)),
        0.2,
        2,
        "Its motor, M, also turns B, and no one angle suits them all: share or gear them otherwise.",
    ),
    "one angle for two of unlike load": Told(
        lambda: on_one_motor(steered("A", 150.0, 100.0, load_share=5.0), steered("B", 150.0, -100.0)),
        0.2,
        3,
        "Its motor, M, also turns A, and no one angle suits them all: share or gear them otherwise.",
    ),
    "one angle, and its own end": Told(
        lambda: on_one_motor(steered("A", 150.0, 100.0, 20.0), steered("B", -150.0, -100.0)).edited(
            base_axle_x_mm=0.0
        ),
        0.3,
        2,
        "Its motor, M, also turns B, and alone it would come to its own end of travel (20.0°): "
        "give it more travel, and share or gear them otherwise.",
    ),
    "one speed for three": Told(
        three_on_one,
        0.3,
        0,
        "Its drive motor, D, also drives middle right, rear left, and no one speed suits them all, "
        "which pulls the chassis aside: give each a drive motor of its own.",
    ),
    "one speed for three, and opposite senses": Told(
        lambda: three_on_one(-1.0),
        0.3,
        0,
        "Its drive motor, D, also drives middle right, rear left, and no one speed suits them all, "
        "which pulls the chassis aside: give each a drive motor of its own.",
    ),
    "one speed for three others": Told(
        three_on_one,
        0.3,
        1,
        "A drive motor, D, drives front left, middle right, rear left, and no one speed suits them all, "
        "which pulls the chassis aside: give each a drive motor of its own.",
    ),
    "opposite senses": Told(
        lambda: driven_scout(1.0, -1.0),
        0.3,
        0,
        "Its drive motor, D, rolls rear left the opposite way to front left, which pulls the chassis aside: "
        "turn the sense of rear left round, by a ratio of the other sign or one gear more or less.",
    ),
    "unlike gearing": Told(
        lambda: driven_scout(1.0, 0.5),
        0.3,
        0,
        "Its drive motor, D, rolls its wheels unlike for each turn (front left 188.5 mm, "
        "rear left 94.25 mm), which pulls the chassis aside: gear them to roll alike.",
    ),
    "others pull a wheel without a motor": Told(
        lambda: scout(FRONT),
        0.3,
        4,
        "It would be right about the centre asked for: other wheels pull the chassis aside. "
        "The motor at fault is front: it turns front left, front right, and no one angle suits them all: "
        "share or gear them otherwise.",
    ),
    "others pull a wheel on its own motor": Told(
        lambda: scout(FRONT, steer_motor("own", {"rear left": 1.0})),
        0.3,
        4,
        "Its own motor turns it right: other wheels pull the chassis about another centre. "
        "The motor at fault is front: it turns front left, front right, and no one angle suits them all: "
        "share or gear them otherwise.",
    ),
    "others pull a wheel on an exact motor": Told(
        lambda: cart(
            steered("A", 150.0, 100.0),
            steered("B", 150.0, -100.0),
            steered("C", 100.0, 0.0),
            steered("D", -100.0, 0.0),
        ).edited(
            steer_motors=(steer_motor("M", {"A": 1.0, "B": 1.0}), steer_motor("N", {"C": 1.0, "D": -1.0}))
        ),
        0.3,
        4,
        "Its motor, N, turns it right: other wheels pull the chassis about another centre. "
        "The motor at fault is M: it turns A, B, and no one angle suits them all: "
        "share or gear them otherwise.",
    ),
    "one gear of a shared motor pulls a fixed wheel": Told(
        geared_unlike,
        -0.6,
        3,
        "It would be right about the centre asked for: other wheels pull the chassis aside. "
        "The motor at fault is left steering: it turns front left, rear left, and no one angle suits "
        "them all: share or gear them otherwise.",
    ),
    "a fixed wheel askew pulls its mate": Told(
        lambda: change_wheels(sample_design("marsh_scout_motors"), [2], toe_deg=3.0),
        -0.4,
        3,
        "It would be right about the centre asked for: other wheels pull the chassis aside. "
        "The wheel at fault is middle left: its toe of 3° turns a fixed axle off the turn centre: "
        "set the toe to 0.",
    ),
    "a motor and a wheel pull, and neither alone is enough": Told(
        lambda: change_wheels(geared_unlike(), [2], toe_deg=3.0),
        -0.6,
        3,
        "It would be right about the centre asked for: other wheels pull the chassis aside. "
        "Those that pull: front left, middle left, rear left.",
    ),
    "toe": Told(
        lambda: Design(wheels=(fixed("L", 0.0, 100.0, toe_deg=3.0), REAR[1])),
        0.3,
        0,
        "Its toe of 3° turns a fixed axle off the turn centre: set the toe to 0.",
    ),
    "toe moves a contact": Told(
        lambda: Design(wheels=(REAR[0], fixed("R", 0.0, -100.0, toe_deg=10.0, lateral_offset_mm=-60.0))),
        0.3,
        0,
        "Toe moves the contact of R off the axle line (L at x 0 mm, R at x 10.42 mm): "
        "set its toe to 0, or its lateral offset.",
    ),
    "toe moves a contact by a trail too": Told(
        lambda: Design(
            wheels=(
                fixed("L", 0.0, 100.0, trail_mm=30.0),
                fixed("R", 0.0, -100.0, trail_mm=30.0, toe_deg=10.0, lateral_offset_mm=-60.0),
            )
        ),
        0.3,
        0,
        "Toe moves the contact of R off the axle line (L at x -30 mm, R at x -19.13 mm): set its toe to 0.",
    ),
    "toe of all": Told(
        lambda: Design(wheels=swung_offset(10.0)),
        0.3,
        0,
        "Toe turns the axles of L, R off the turn centre, and moves their contacts "
        "(L at x 10.42 mm, R at x 10.42 mm): set it to 0.",
    ),
    "toe that brings a contact to a base axle chosen elsewhere": Told(
        lambda: Design(wheels=swung_offset(10.0)[:1], base_axle_x_mm=10.418891),
        0.3,
        0,
        "Its toe of 10° turns a fixed axle off the turn centre: set the toe to 0. That alone is not enough: "
        "the fixed wheels stand at x 0 mm but the base axle at x 10.42 mm: "
        "clear base_axle_x_mm, or move one of them.",
    ),
    "axles apart": Told(
        lambda: Design(wheels=(fixed("L", 40.0, 100.0), REAR[1])),
        0.3,
        0,
        "The fixed wheels share no axle line (L at x 40 mm, R at x 0 mm): "
        "bring them to one x, or let some steer.",
    ),
    "axles apart beside a chosen base": Told(
        lambda: Design(wheels=(fixed("L", 40.0, 100.0), REAR[1]), base_axle_x_mm=-40.0),
        0.3,
        0,
        "The fixed wheels share no axle line (L at x 40 mm, R at x 0 mm): "
        "bring them to the base axle at x -40 mm, or let some steer.",
    ),
    "a base axle chosen elsewhere": Told(
        lambda: cart(base_axle_x_mm=-40.0),
        0.3,
        0,
        "The fixed wheels stand at x 0 mm but the base axle at x -40 mm: "
        "clear base_axle_x_mm, or move one of them.",
    ),
    "a base axle chosen elsewhere, and toe": Told(
        lambda: Design(wheels=(fixed("L", 0.0, 100.0, toe_deg=3.0), REAR[1]), base_axle_x_mm=-40.0),
        0.3,
        0,
        "The fixed wheels stand at x 0 mm but the base axle at x -40 mm: "
        "clear base_axle_x_mm, or move one of them. Its toe of 3° adds to it: set the toe to 0.",
    ),
    "a base axle chosen elsewhere, and a toe that hides it": Told(
        lambda: Design(wheels=(fixed("L", 0.0, 100.0, toe_deg=-3.0), REAR[1]), base_axle_x_mm=-40.0),
        0.3,
        0,
        "The fixed wheels stand at x 0 mm but the base axle at x -40 mm: "
        "clear base_axle_x_mm, or move one of them. Its toe of -3° would make it drag too: set the toe to 0.",
    ),
}
