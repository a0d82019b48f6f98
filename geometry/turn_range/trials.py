"""A chassis at one turn, solved again without this or that: what a wheel's slip would be then.

Removals stand for what a builder can do: a wheel's trail, toe or travel; the fixed wheels
brought to the base axle; the travel of a steer motor; a wheel on a steer motor of its own; the
wheels of a drive motor geared otherwise, or at speeds of their own; and at last the faults of
all other wheels. Without all that is possible for it a wheel is aligned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from enum import Enum, auto
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from geometry.axes import Floats, frozen_array
from geometry.errors import DesignError
from geometry.kinematics.alignment import FAULTY, alignment_of, contacts, states
from geometry.kinematics.as_built import DriveGroup, MotorArrays, as_built, steer_group
from geometry.kinematics.ideal import Solution, solve
from geometry.kinematics.motion import from_turn
from geometry.kinematics.robot import Response, Robot
from geometry.model.base_axle import Base, base_of
from geometry.model.design import Design
from geometry.model.wheel_arrays import WheelArrays
from geometry.transmission.steer_law import Part

# A steer angle that near to an end of travel is at it [rad].
AT_END = 1e-6
# A sideways speed below this is rounding [faster side = 1].
_ASTRAY = 1e-9
# Digits of a millimetre within which contacts stand at one place.
_PLACES = 6
# Rolling for a turn of the motor that differs by a smaller share is alike.
_ALIKE = 1e-9


class What(Enum):
    """What can be taken away, the nearest to the wheel first."""

    TOE = auto()
    AXLES = auto()
    TRAIL = auto()
    TRAVEL = auto()
    MOTOR_TRAVEL = auto()
    MATES_TRAVEL = auto()
    SHARED_ANGLE = auto()
    DRIVE_SENSE = auto()
    DRIVE_GEARING = auto()
    DRIVE_SPEED = auto()
    OTHERS = auto()


@dataclass(frozen=True)
class Removal:
    """One thing taken away."""

    what: What
    drive: int = -1
    """Number of the drive motor."""


@dataclass(frozen=True)
class AxleFault:
    """Fixed wheels that do not stand on the base axle."""

    sort: Literal["base", "toe", "apart"]
    """Whether the base axle was chosen elsewhere, a toe moves contacts, or the axles stand apart."""
    wheels: npt.NDArray[np.int64]
    places: Floats
    """x of the contact of each of these wheels [mm]."""
    toed: npt.NDArray[np.int64]
    """Those whose toe moves their contact along the chassis."""
    base_x: float
    """x of the base axle as it is [mm]."""


@dataclass(frozen=True)
class _Solved:
    wheels: WheelArrays
    solution: Solution
    built: Response | None


@dataclass
class Trials:
    """One wheel of one chassis at one turn, solved again without this or that."""

    design: Design
    robot: Robot
    turn: float
    wheel: int
    response: Response
    """That turn as it is."""
    known: dict[frozenset[Removal], _Solved] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Work out what is asked of several trials."""
        self.here, self.ideal = self.response.solution, self.response.ideal
        self.built = self.response if self.robot.motors else None
        self.suits = self.judged(self.robot.wheels, self.ideal)[0]
        steer = self.robot.motors.steer
        self.holder = next((k for k, group in enumerate(steer) if self.wheel in group.wheels), None)

    @property
    def mates(self) -> tuple[int, ...]:
        """The other wheels of its steer motor."""
        if self.holder is None:
            return ()
        held = self.robot.motors.steer[self.holder].wheels.tolist()
        return tuple(n for n in held if n != self.wheel)

    def possible(self) -> list[Removal]:
        """All that may be at fault; without all of it the wheel is aligned."""
        own = self._of_the_wheel() if self._off_alone else []
        found = [] if self.suits else own
        if self.built is not None:
            found += self._of_its_motor(self.built)
            shared = [d for d, group in enumerate(self.robot.motors.drive) if len(group.wheels) > 1]
            found += [Removal(What.DRIVE_SPEED, d) for d in shared]
            if self.pulling() or any(k != self.holder for k in range(len(self.robot.motors.steer))):
                found.append(Removal(What.OTHERS))
        # Off by itself, but within the tolerance or on the centre: so the last to be blamed.
        return found + (own if self.suits else [])

    def own_faults(self) -> list[Removal]:
        """What may be wrong with the wheel itself or its steer motor, be it within the tolerance."""
        own = self._of_the_wheel() if self._off_alone else []
        return own + (self._of_its_motor(self.built) if self.built is not None else [])

    @property
    def _off_alone(self) -> bool:
        """Whether it drags at all, be it within the tolerance, when steered and driven by itself."""
        return bool(abs(self.ideal.side[0, self.wheel]) > _ASTRAY)

    def _of_the_wheel(self) -> list[Removal]:
        n, wheels = self.wheel, self.robot.wheels
        if wheels.fixed[n]:
            toe = [Removal(What.TOE)] if wheels.built_in[n] else []
            return [*toe, Removal(What.AXLES)]
        if not wheels.steered[n]:
            return []
        trail = bool(self.ideal.unreachable[0, n])
        # Without its trail a wheel may want an angle beyond its travel.
        ends = trail or bool(self.ideal.limited[0, n])
        return [Removal(What.TRAIL)] * trail + [Removal(What.TRAVEL)] * ends

    def _of_its_motor(self, built: Response) -> list[Removal]:
        if self.holder is None:
            return []
        own, mates = self.bound(built, self.holder)
        # A wheel that is mended by itself may want an angle that its motor does not reach.
        short = own or self._off_alone or self._out_of_reach(self.holder)
        found = [Removal(What.MOTOR_TRAVEL)] if short else []
        found += [Removal(What.MATES_TRAVEL)] if mates else []
        return found + ([Removal(What.SHARED_ANGLE)] if self.mates else [])

    def bound(self, built: Response, holder: int) -> tuple[bool, tuple[int, ...]]:
        """Whether the motor's own travel stops it here, and which other wheels' travel does."""
        if not built.stopped[0, holder]:
            return False, ()
        group, wheels = self.robot.motors.steer[holder], self.robot.wheels
        shaft, own = built.shaft[0, holder], self._own_ranges[holder]
        travel = np.stack([wheels.low[group.wheels], wheels.high[group.wheels]])
        ends = np.stack([group.law.shaft_of(g, travel[:, g]) for g in range(len(group.wheels))], axis=1)
        near = (np.abs(ends - shaft) < AT_END).any(axis=0)
        at_own = bool((np.abs(np.subtract(own, shaft)) < AT_END).any())
        return at_own, tuple(n for n in group.wheels[near].tolist() if n != self.wheel)

    @cached_property
    def _own_ranges(self) -> list[tuple[float, float]]:
        """Travel of each steer motor, that of its wheels left aside [rad]."""
        pairs = zip(self.robot.motors.steer, self.robot.motors.scales, strict=True)
        return [
            (max(scale.ends[0], group.law.ends[0]), min(scale.ends[1], group.law.ends[1]))
            for group, scale in pairs
        ]

    def _out_of_reach(self, holder: int) -> bool:
        """Whether its motor could not turn it to its ideal angle even alone."""
        group = self.robot.motors.steer[holder]
        place = group.wheels.tolist().index(self.wheel)
        shaft = group.law.shaft_of(place, self.ideal.steer[:, self.wheel])[0]
        if np.abs(group.law.angles(shaft)[place] - self.ideal.steer[0, self.wheel]) >= AT_END:
            return True
        if group.low <= shaft <= group.high:
            return False
        low, high = self._own_ranges[holder]
        return not low - AT_END <= shaft <= high + AT_END

    def pulling(self, *removed: Removal) -> tuple[int, ...]:
        """Other wheels that do not stand as the wanted motion asks; of its own motor those alone wrong."""
        found = self._without(*removed)
        ideal = found.solution if found.built is None else found.built.ideal
        side = np.abs(ideal.side[0]) > _ASTRAY
        turned = np.abs(np.sin(found.solution.heading[0] - ideal.heading[0])) > _ASTRAY
        turned[[self.wheel, *self.mates]] = False
        side |= turned & found.wheels.steered
        side[self.wheel] = False
        return tuple(np.flatnonzero(side).tolist())

    def alone(self, possible: list[Removal]) -> list[Removal]:
        """The first removal that cures by itself; none where none does."""
        if len(possible) < 2:
            return self._least(possible)
        cure = next((removal for removal in possible if self.cured(removal)), None)
        return [] if cure is None else self._least([cure])

    def together(self, possible: list[Removal]) -> list[Removal]:
        """Removals that cure together, of which none can be spared."""
        needed = list(possible)
        for removal in reversed(possible):
            fewer = [other for other in needed if other != removal]
            if len(fewer) > 1 and self.cured(*fewer):
                needed = fewer
        return self._least(needed)

    def _least(self, removed: list[Removal]) -> list[Removal]:
        """Where wheels of a drive motor must be freed: only geared otherwise, where that will do."""
        least = list(removed)
        for i, removal in enumerate(removed):
            if removal.what is What.DRIVE_SPEED:
                rolling = self.robot.motors.drive[removal.drive].rolling
                unlike = np.ptp(np.abs(rolling)) > _ALIKE * np.abs(rolling).max()
                against = np.sign(rolling).min() < np.sign(rolling).max()
                tried = [What.DRIVE_SENSE] * bool(against) + [What.DRIVE_GEARING] * bool(unlike)
                for what in tried:
                    least[i] = Removal(what, removal.drive)
                    if self.cured(*least):
                        break
                else:
                    least[i] = removal
        return least

    def cured(self, *removed: Removal, wheel: int | None = None) -> bool:
        """Whether the wheel, or another one, is aligned without these."""
        found = self._without(*removed)
        return self.judged(found.wheels, found.solution, wheel)[0]

    def tried(self, *removed: Removal) -> tuple[bool, float]:
        """Whether the wheel is aligned without these, and the size of its slip [rad]."""
        found = self._without(*removed)
        return self.judged(found.wheels, found.solution)

    def _without(self, *removed: Removal) -> _Solved:
        key = frozenset(removed)
        if key not in self.known:
            self.known[key] = self._solved(key)
        return self.known[key]

    def _solved(self, removed: frozenset[Removal]) -> _Solved:
        if not removed:
            return _Solved(self.robot.wheels, self.here, self.built)
        whats = {removal.what for removal in removed}
        wheels, base = self._placed_without(whats)
        motion, ideal = self.ideal.motion, self.ideal
        if base != self.robot.base:
            motion = from_turn([self.turn], base, float(motion.sense[0]))
        if whats & {What.TOE, What.AXLES, What.TRAIL}:
            ideal = solve(wheels, motion)
        wheels = self._freed(wheels, whats, ideal)
        if self.built is None:
            return _Solved(wheels, solve(wheels, motion), None)
        motors = self._motors_without(wheels, removed)
        built = as_built(wheels, motors, motion)
        response = replace(
            self.response,
            ideal=built.ideal,
            solution=built.solution,
            shaft=built.shaft,
            drive=built.drive,
            mismatch=built.mismatch,
            stopped=built.stopped,
        )
        return _Solved(wheels, built.solution, response)

    def judged(self, wheels: WheelArrays, solution: Solution, wheel: int | None = None) -> tuple[bool, float]:
        """Whether the wheel, or another one, is aligned in a solution, and the size of its slip [rad]."""
        n = self.wheel if wheel is None else wheel
        found = alignment_of(wheels, solution)
        calm = states(found, self.robot.aligned_within, self.robot.slight_within)[0, n] < FAULTY
        return bool(calm), abs(float(found.slip[0, n]))

    def _placed_without(self, whats: set[What]) -> tuple[WheelArrays, Base]:
        """The wheels without faults of toe, trail and place, and the base axle that follows."""
        wheels, base, n = self.robot.wheels, self.robot.base, self.wheel
        x, along, built_in = wheels.x.copy(), wheels.along.copy(), wheels.built_in.copy()
        if What.TOE in whats:
            built_in[n], base = 0.0, self._base_mended([n])
        if What.AXLES in whats:
            fault = self.axle_fault(toe_gone=What.TOE in whats)
            if fault.sort == "apart":
                x[fault.wheels] += base.x - fault.places
            else:
                # What is mended moves the base axle too, and maybe where side speeds are measured.
                toed = fault.toed.tolist() if fault.sort == "toe" else []
                built_in[toed] = 0.0
                untoed = [*toed, n] if What.TOE in whats else toed
                base = self._base_mended(untoed, cleared=fault.sort == "base")
        if What.TRAIL in whats:
            along[n] = 0.0
        placed = {"x": frozen_array(x), "along": frozen_array(along), "built_in": frozen_array(built_in)}
        return replace(wheels, **placed), base

    def _freed(self, wheels: WheelArrays, whats: set[What], ideal: Solution) -> WheelArrays:
        """The wheels without ends of travel, and other wheels that are wrong by themselves made right."""
        n = self.wheel
        along, low, high = wheels.along.copy(), wheels.low.copy(), wheels.high.copy()
        fixed, steered = wheels.fixed, wheels.steered
        freed = [n] if What.TRAVEL in whats else []
        freed += self.mates if What.MATES_TRAVEL in whats else ()
        if What.OTHERS in whats:
            # As if each wheel that is wrong by itself could steer wherever it must.
            wrong = np.abs(ideal.side[0]) > _ASTRAY
            wrong[n] = False
            fixed, steered = fixed & ~wrong, steered | wrong
            along[wrong] = 0.0
            freed += np.flatnonzero(wrong).tolist()
        low[freed], high[freed] = -math.pi, math.pi
        ends = {"along": frozen_array(along), "low": frozen_array(low), "high": frozen_array(high)}
        return replace(wheels, **ends, fixed=fixed, steered=steered)

    def axle_fault(self, *, toe_gone: bool) -> AxleFault:
        """How the fixed wheels stand by their contacts, which decide; maybe without this one's toe."""
        wheels, base = self.robot.wheels, self.robot.base
        built_in = wheels.built_in.copy()
        if toe_gone:
            built_in[self.wheel], base = 0.0, self._base_mended([self.wheel])
        fixed = np.flatnonzero(wheels.fixed).astype(np.int64)
        places = contacts(wheels, built_in[None])[0][0, fixed]
        told, plain = places.round(_PLACES), (wheels.x + wheels.along)[fixed].round(_PLACES)
        chosen = self.design.base_axle_x_mm is not None
        one_line = np.ptp(plain) == 0 and (not chosen or plain[0] == round(base.x, _PLACES))
        toed = fixed[told != plain]
        if chosen and np.ptp(told) == 0:
            return AxleFault("base", fixed, places, toed, base.x)
        if toed.size and one_line:
            return AxleFault("toe", fixed, places, toed, base.x)
        return AxleFault("apart", fixed, places, toed, base.x)

    def _base_mended(self, untoed: list[int], *, cleared: bool = False) -> Base:
        """The base axle once these wheels have no toe, and where it is no more chosen."""
        design = self.design
        wheels = tuple(w.edited(toe_deg=0.0) if n in untoed else w for n, w in enumerate(design.wheels))
        try:
            edited = design.edited(wheels=wheels)
        except DesignError:  # the contacts of chosen references would stand too near
            edited = design
        return base_of(edited.edited(base_axle_x_mm=None) if cleared else edited)

    def _motors_without(self, wheels: WheelArrays, removed: frozenset[Removal]) -> MotorArrays:
        whats = {removal.what for removal in removed}
        steer = []
        for k, group in enumerate(self.robot.motors.steer):
            if k != self.holder:
                steer += [group] if What.OTHERS not in whats else []
                continue
            own = (-math.inf, math.inf) if What.MOTOR_TRAVEL in whats else self._own_ranges[k]
            chosen = group.wheels == self.wheel if What.SHARED_ANGLE in whats else group.wheels >= 0
            law = Part(group.law, tuple(np.flatnonzero(chosen).tolist()))
            steer.append(steer_group(wheels, group.wheels[chosen], law, own))
        geared = {removal.drive: removal.what for removal in removed if removal.drive >= 0}
        drive = [_geared(group, geared.get(d)) for d, group in enumerate(self.robot.motors.drive)]
        kept = tuple(g for g in drive if g is not None)
        return MotorArrays(tuple(steer), kept, self.robot.motors.driven)


def _geared(group: DriveGroup, how: What | None) -> DriveGroup | None:
    """A drive motor whose wheels roll in one sense, or alike; None where each has its own."""
    match how:
        case None:
            return group
        case What.DRIVE_SENSE:
            return replace(group, rolling=np.abs(group.rolling))
        case What.DRIVE_GEARING:
            return replace(group, rolling=np.full(len(group.rolling), abs(group.rolling[0])))
        case _:
            return None
