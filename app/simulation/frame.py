"""What a run tells: blocks of steps that are solved for good, and the frozen frame of one moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from app.simulation.inputs import AT_REST, STEP_US, Input
from geometry.axes import Floats

Toucher = Literal["wheel", "body", "part"]


@dataclass(frozen=True)
class Contact:
    """The first touch of one thing of the robot and one obstacle."""

    time_s: float
    """When, from the start [s]."""
    x_mm: float
    """Where, in the frame of the course [mm]."""
    y_mm: float
    what: Toucher
    """Which kind of thing touches."""
    name: str
    """Name of the wheel or the part; that of the chassis for the body."""
    obstacle: int
    """Number of the obstacle on the course, from 0."""
    kind: str
    """wall, post, box or gate."""
    move: int
    """Number of the script's move at that time, from 0; -1 for none."""


@dataclass(frozen=True, eq=False)
class Block:
    """M steps, solved together; arrays are read-only."""

    first: int
    """Number of the first step, from 0."""
    inputs: tuple[Input, ...]
    """What was asked for at each step."""
    moves: tuple[int, ...]
    """Number of the script's move at each step; -1 for none."""
    targets: tuple[tuple[int, ...], ...]
    """What the code last told the steering at each step, in the outputs' whole numbers."""
    speeds: tuple[tuple[int, ...], ...]
    """What it told the drive."""
    holding: tuple[bool, ...]
    """Whether the drive waited for the steering."""
    steer: Floats
    """(M, N): steer angles of the wheels [rad]."""
    heading: Floats
    """(M, N): where they point [rad]."""
    rate: Floats
    """(M, N): how fast they are steered [rad/s]."""
    roll: Floats
    """(M, N): rolling speeds [mm/s]."""
    side: Floats
    """(M, N): sideways speeds of the contacts, to the wheel's left [mm/s]."""
    drive: Floats
    """(M, D): speeds of the drive motors [turns/s]."""
    twist: Floats
    """(M, 3): motion of the chassis [mm/s, mm/s, rad/s]."""
    pose: Floats
    """(M + 1, 3): before the first step and after each, in the frame of the course [mm, mm, rad]."""
    drag: Floats
    """(M + 1, N): dragged sideways since the start [mm]."""
    distance: Floats
    """(M + 1,): way of the middle of the base axle since the start [mm]."""
    contacts: tuple[Contact, ...] = ()
    """First touches in these steps."""

    def __len__(self) -> int:
        """Number of steps."""
        return len(self.inputs)


@dataclass(frozen=True)
class Frame:
    """One moment of a run; nothing in it changes."""

    steps: int
    """Steps since the start."""
    pose: tuple[float, float, float]
    """x, y [mm] and heading [rad] of the chassis in the frame of the course."""
    headings: tuple[float, ...]
    """Where each wheel points in the chassis [rad]."""
    wheel_speeds: tuple[float, ...]
    """Rolling speed of each wheel [mm/s]."""
    side_speeds: tuple[float, ...]
    """How fast each wheel is dragged sideways, to its left [mm/s]."""
    twist: tuple[float, float, float]
    """Motion of the chassis [mm/s, mm/s, rad/s]."""
    targets: tuple[int, ...]
    """What the code tells the steering, in the outputs' whole numbers."""
    speeds: tuple[int, ...]
    """What the code tells the drive."""
    holding: bool
    """Whether the drive waits for the steering."""
    drag: tuple[float, ...]
    """How far each wheel was dragged sideways since the start [mm]."""
    distance: float
    """Way of the middle of the base axle since the start [mm]."""
    move: int
    """Number of the script's move, from 0; -1 for none."""
    asked: Input
    """What the driver asks for."""
    contacts: tuple[Contact, ...]
    """First touches so far."""
    ended: bool
    """Whether the script is through and the robot at rest."""
    blocks: tuple[Block, ...] = field(default=(), repr=False)
    """Blocks that were solved for good since the frame before; of a script they run ahead."""

    @property
    def time_s(self) -> float:
        """Time since the start [s]."""
        return self.steps * STEP_US / 1e6


def frame_of(block: Block, row: int, contacts: tuple[Contact, ...]) -> Frame:
    """The moment after a step of a block."""
    return Frame(
        steps=block.first + row + 1,
        pose=_three(block.pose[row + 1]),
        headings=tuple(block.heading[row].tolist()),
        wheel_speeds=tuple(block.roll[row].tolist()),
        side_speeds=tuple(block.side[row].tolist()),
        twist=_three(block.twist[row]),
        targets=block.targets[row],
        speeds=block.speeds[row],
        holding=block.holding[row],
        drag=tuple(block.drag[row + 1].tolist()),
        distance=float(block.distance[row + 1]),
        move=block.moves[row],
        asked=block.inputs[row],
        contacts=contacts,
        ended=False,
    )


def first_frame(
    pose: tuple[float, float, float],
    headings: Floats,
    outputs: tuple[int, int],
    contacts: tuple[Contact, ...],
) -> Frame:
    """The moment before the first step: at rest, wheels straight ahead."""
    still = (0.0,) * len(headings)
    return Frame(
        steps=0,
        pose=pose,
        headings=tuple(headings.tolist()),
        wheel_speeds=still,
        side_speeds=still,
        twist=(0.0, 0.0, 0.0),
        targets=(0,) * outputs[0],
        speeds=(0,) * outputs[1],
        holding=False,
        drag=still,
        distance=0.0,
        move=-1,
        asked=AT_REST,
        contacts=contacts,
        ended=False,
    )


def _three(values: Floats) -> tuple[float, float, float]:
    a, b, c = values.tolist()
    return a, b, c
