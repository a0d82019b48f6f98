"""All that is written for the controller, worked out once: every format writes the same numbers.

The steps from side speeds to targets, in whole numbers, are those of `runtime`. The curves
are the chassis as built, over the turn; `programme_of` fits the table to them, and judges
what the code answers, its last rounding and its clamp included, at every turn step. What
the limits on time and memory cost is told in `Programme.given_up`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from app.controller.code_outputs import MOST_SPEED, DriveOutput, SteerOutput
from app.controller.export_error import ExportError
from app.controller.fingerprint import fingerprint_of
from app.controller.formula import FORMULA_TURN_ONE, Formula
from app.controller.formula_search import formula_of
from app.controller.output_curves import ChassisOutputs, asked, chassis_outputs, curves_of
from app.design.facts import Facts
from geometry.axes import Floats, frozen_array
from geometry.errors import SteepError, TableError
from geometry.kinematics.robot import Robot
from geometry.lookup_table.error_band import nearest
from geometry.lookup_table.even_nodes import MOST_FOLLOWED, may_follow
from geometry.lookup_table.fit import FittedTable, fit_table
from geometry.lookup_table.fixed_point import MOST_32, Counts, LookupTable, largest_number, lookup_all
from geometry.model.controller import LARGEST_ERROR_DEG, MOST_ERROR, PARTS, Controller, Part
from geometry.model.design import Design
from geometry.progress import Progress, part_of, tell, unwatched

# Tried one after the other, where a curve is too steep for the steps before.
TURN_ONES = (16_384, 65_536, 262_144)
# Shares of the work at which these begin, should all be tried.
_SHARES = (0.0, 0.5, 0.75)
FEWER = "There may be tables with fewer rows: the search for them was cut short."
# What the last rounding costs at most, and what it costs where the travel cuts it [whole numbers].
_ROUNDINGS = (0.5, 1.0)
_REMEDIES = {True: "allow more bytes", False: "shorten the range (largest_turn)"}
_STEER_PARTS = frozenset({"clamp", "limiter", "hold"})


@dataclass(frozen=True)
class Programme:
    """What every writer needs."""

    chassis: ChassisOutputs
    parts: frozenset[Part]
    """Parts of the runtime that are written: chosen, and with something to act on."""
    fingerprint: str
    """SHA-256 of what moves the robot (`app.controller.fingerprint`)."""
    turn_one: int
    """Turn steps that make a turn input of 1."""
    fitted: FittedTable | None
    """The table with its proof; None by formula, and where nothing depends on the turn."""
    formula: Formula | None
    """What the formula needs; None by table."""
    steps: Counts
    """(M,): turn steps that were judged: each of them, or chosen ones where they are too many."""
    error: Floats
    """(M, C): what the code answers at full speed less what it should, at these steps
    [whole numbers of the output]."""
    bound: Floats
    """(C,): largest error at any turn, the rounding of the turn included [whole numbers]."""
    given_up: tuple[str, ...] = ()
    """What the limits on time and memory cost, as sentences; empty for usual chassis."""

    @property
    def design(self) -> Design:
        """The chassis."""
        return self.chassis.design

    @property
    def controller(self) -> Controller:
        """What was asked for."""
        return self.chassis.design.controller

    @property
    def steer(self) -> tuple[SteerOutput, ...]:
        """Steering targets in the order in which they are returned."""
        return self.chassis.steer

    @property
    def drive(self) -> tuple[DriveOutput, ...]:
        """Speeds in their order; empty where the two side speeds are returned instead."""
        return self.chassis.drive

    @property
    def table(self) -> LookupTable | None:
        """The table; None by formula, and where nothing depends on the turn."""
        return self.fitted.table if self.fitted else None

    @property
    def first(self) -> int:
        """The lowest turn step that is answered; the highest is as far to the left."""
        return -self.last

    @property
    def last(self) -> int:
        """The highest turn step that is answered."""
        return nearest(self.design.largest_turn * self.turn_one)

    @property
    def size(self) -> int:
        """Bytes of the numbers that the table stores; 0 by formula."""
        return self.table.size if self.table else 0

    @property
    def turn(self) -> Floats:
        """(M,): turn inputs of the steps at which `error` is."""
        return np.asarray(self.steps / self.turn_one)

    @property
    def error_deg(self) -> Floats:
        """(M, K): error of each steering target at the wheel that its motor turns furthest [degrees]."""
        per = np.array([output.per_degree for output in self.steer])
        return np.asarray(self.error[:, : len(per)] / per)

    @property
    def bound_deg(self) -> float:
        """Largest error of any wheel's angle at any turn [degrees]; 0 without steering."""
        return float(max((b / o.per_degree for b, o in zip(self.bound, self.steer, strict=False)), default=0))

    @property
    def bound_permille(self) -> float:
        """Largest error of any drive motor's speed [thousandths of full]; 0 without drive motors."""
        of_drives = self.bound[len(self.steer) :]
        return float(
            max((1000.0 * b / o.usable for b, o in zip(of_drives, self.drive, strict=True)), default=0)
        )


def programme_of(design: Design, progress: Progress = unwatched, *, robot: Robot | None = None) -> Programme:
    """Work out what the controller gets, as the design's own settings say.

    Parameters
    ----------
    design : Design
        The chassis.
    progress : callable
        Told the share that is done.
    robot : Robot, optional
        Numbers to use in place of the design's own.

    Raises
    ------
    ExportError
        If the chassis has no wheels, or the settings cannot be met; with the best that can.
    Cancelled
        If `progress` returned False.
    """
    tell(progress, 0.0)
    chassis = chassis_outputs(Facts(design, robot=robot))
    parts = _parts(chassis)
    if not chassis.outputs:
        return Programme(
            chassis,
            parts,
            fingerprint_of(design),
            TURN_ONES[0],
            None,
            None,
            steps=frozen_array((), np.int64),
            error=frozen_array(np.zeros((0, 0))),
            bound=frozen_array(()),
        )
    if design.controller.method == "formula":
        return _by_formula(chassis, parts, progress)
    found = _fitted(chassis, clamped="clamp" in parts, progress=progress)
    error = _errors(found, chassis, clamped="clamp" in parts)
    return Programme(
        chassis,
        parts,
        fingerprint_of(design),
        found.table.turn_one,
        found,
        None,
        found.steps,
        error=frozen_array(error),
        bound=frozen_array(_bound(found, error, chassis, clamped="clamp" in parts)),
        given_up=_given_up(found),
    )


def _given_up(found: FittedTable) -> tuple[str, ...]:
    table = found.table
    outputs = table.values.shape[1]
    if not found.every_step:
        return _looked_at(len(found.steps), table.last - table.first + 1), FEWER
    skipped = any(s.rows <= MOST_FOLLOWED and not may_follow(s.rows, outputs) for s in table.segments)
    return (FEWER,) if table.spacing == "even" and skipped else ()


def _looked_at(chosen: int, steps: int) -> str:
    return (
        f"Checking every turn step would take long here: only {chosen:,} of {steps:,} were checked, closer "
        "together where a curve bends; the error in between is bounded by the bends seen."
    )


def _parts(chassis: ChassisOutputs) -> frozenset[Part]:
    chosen = {part for part in PARTS if getattr(chassis.design.controller, part)}
    if not chassis.steer:
        chosen -= _STEER_PARTS
    if not chassis.drive:
        chosen -= {"scaling"}
    return frozenset(chosen)


def _fitted(chassis: ChassisOutputs, *, clamped: bool, progress: Progress) -> FittedTable:
    """The first table that keeps to the error with its last rounding in it."""
    most = chassis.design.controller.largest_bytes
    for i, rounding in enumerate(_ROUNDINGS):
        found = _fit(chassis, rounding, part_of(progress, 1.0 - 0.2**i, 1.0 - 0.2 ** (i + 1)))
        _refuse_fast(chassis, found.exact)
        allowed = (found.allowed + rounding) * (1 + 1e-9)
        for one in (_straightened(found), found):
            bound = _bound(one, _errors(one, chassis, clamped=clamped), chassis, clamped=clamped)
            keeps = (bound <= allowed).all() and largest_number(one.table) <= MOST_32
            if keeps and (most is None or one.table.size <= most):
                return one
    raise ExportError(
        "the ends of travel cut the targets by more than the error that is allowed; allow a larger one, "
        "or leave the clamp out"
    )


def _errors(found: FittedTable, chassis: ChassisOutputs, *, clamped: bool) -> Floats:
    """What the code answers less what it should, (M, C) [whole numbers]."""
    whole = rounded(lookup_all(found.table, found.steps), found.table.shift)
    _hold_within(whole, chassis, clamped=clamped)
    return np.asarray(whole - found.exact)


def _bound(found: FittedTable, error: Floats, chassis: ChassisOutputs, *, clamped: bool) -> Floats:
    """Largest error at any turn, (C,) [whole numbers]."""
    if found.every_step:
        return np.asarray((np.abs(error) + found.turn_rounding).max(axis=0))
    # Between the steps that were judged the last rounding may cost more than at them.
    return _at_most(found.bound, found.exact, found.turn_rounding, chassis, clamped=clamped)


def _at_most(
    off: Floats, exact: Floats, between: Floats, chassis: ChassisOutputs, *, clamped: bool
) -> Floats:
    """Largest error of whole numbers that come from ones that are `off` by so much, (C,).

    The clamp adds to it only where the travel itself ends between two whole numbers.
    """
    bound = off + _ROUNDINGS[0]
    most, least = (exact + between).max(axis=0), (exact - between).min(axis=0)
    for k, output in enumerate(chassis.steer if clamped else ()):
        bound[k] = max(bound[k], output.low - least[k], most[k] - output.high)
    return np.asarray(bound)


def _straightened(found: FittedTable) -> FittedTable:
    """The same with a row at straight ahead as exact as can be, so that the robot goes straight.

    The fit may use all of the allowed error there, on one side more than on the other. Free
    spacing takes one more row for it; whether the bound and the size bear it is for the caller
    to see.
    """
    table = found.table
    rows = np.flatnonzero(table.nodes == 0)
    if not len(rows) and table.spacing == "free":
        table = _with_row(table, int(np.searchsorted(table.nodes, 0)))
        rows = np.flatnonzero(table.nodes == 0)
    values = table.values.copy()
    ahead = found.exact[np.searchsorted(found.steps, 0)]
    values[rows] = np.floor(ahead / table.scale + 0.5)
    return found.with_table(replace(table, values=frozen_array(values, np.int64)))


def _with_row(table: LookupTable, row: int) -> LookupTable:
    """A free table with a row at straight ahead put in."""
    segments = tuple(
        replace(s, rows=s.rows + (s.row < row <= s.row + s.rows), row=s.row + (s.row >= row))
        for s in table.segments
    )
    return replace(
        table,
        segments=segments,
        nodes=frozen_array(np.insert(table.nodes, row, 0), np.int64),
        values=frozen_array(np.insert(table.values, row, 0, axis=0), np.int64),
    )


def _fit(chassis: ChassisOutputs, rounding: float, progress: Progress) -> FittedTable:
    controller = chassis.design.controller
    curves, most = curves_of(chassis, rounding), controller.largest_bytes
    shares = zip(_SHARES, (*_SHARES[1:], 1.0), strict=True)
    for turn_one, share in zip(TURN_ONES, shares, strict=True):
        try:
            return fit_table(
                curves,
                controller.spacing,
                turn_one=turn_one,
                largest_bytes=most,
                progress=part_of(progress, *share),
            )
        except TableError as error:
            refused = error
            if not isinstance(error, SteepError):
                break
    raise ExportError(_best(chassis, refused, rounding)) from refused


def _best(chassis: ChassisOutputs, error: TableError, rounding: float) -> str:
    """A refusal in the person's own units: what was asked, and the best that can be had."""
    controller, outputs = chassis.design.controller, chassis.outputs
    within = f" within {controller.largest_bytes} bytes" if controller.largest_bytes is not None else ""
    start = f"no table keeps to {_both(chassis, 1.0)}{within}"
    if isinstance(error, SteepError):
        label = outputs[error.output].label
        start += f": near turn {error.turn:.4g} {label} changes so fast that the finest turn steps cost more"
    if error.times_allowed is None:
        names = ", ".join(f"{c + 1} is {output.label}" for c, output in enumerate(outputs))
        return f"{start}: {error} (output {names})"
    times = max((error.times_allowed * (o.allowed - rounding) + rounding) / o.allowed for o in outputs)
    most = LARGEST_ERROR_DEG if controller.error_unit == "deg" else MOST_ERROR
    if times * controller.error > most or times * controller.speed_error_permille > MOST_ERROR:
        return f"{start}, nor to any error of use; {_REMEDIES[controller.largest_bytes is not None]}"
    more = "" if controller.largest_bytes is None else ", or more bytes"
    return f"{start}; the best is about {_both(chassis, times)}: allow that{more}"


def _both(chassis: ChassisOutputs, times: float) -> str:
    """A multiple of both allowed errors, as far as there is steering and driving."""
    controller, words = chassis.design.controller, []
    if chassis.steer:
        words.append(asked(controller, times))
    if chassis.drive:
        words.append(f"{controller.speed_error_permille * times:.3g} thousandths of the speed")
    return " and ".join(words)


def _refuse_fast(chassis: ChassisOutputs, exact: Floats) -> None:
    """Products of a speed and thousandths must stay within 32 bits, the allowed error included."""
    peak = np.abs(exact).max(axis=0)[len(chassis.steer) :]
    for output, most in zip(chassis.drive, peak.tolist(), strict=True):
        reached = max(most + output.allowed, output.top)
        if reached > MOST_SPEED:
            raise ExportError(
                f"{output.label} reaches {reached:.3g} {output.unit}, but the 32 bits of the "
                f"controller hold {MOST_SPEED}; give it fewer units per turn"
            )


def _hold_within(whole: Counts, chassis: ChassisOutputs, *, clamped: bool) -> None:
    """Clamp the targets in place to their travel, where that part is chosen."""
    for k, output in enumerate(chassis.steer if clamped else ()):
        whole[:, k] = np.clip(whole[:, k], output.low, output.high)


def rounded(counts: Counts, shift: Counts) -> Counts:
    """Counts, each worth ``2 ** -shift``, to whole numbers, halves away from 0."""
    size = np.abs(counts)
    down, up = np.maximum(shift, 0), np.maximum(-shift, 0)
    size = ((size + np.where(down > 0, 1 << np.maximum(down - 1, 0), 0)) >> down) << up
    return np.where(counts < 0, -size, size)


def _by_formula(chassis: ChassisOutputs, parts: frozenset[Part], progress: Progress) -> Programme:
    found = formula_of(chassis, progress)
    clamped, exact, steps = "clamp" in parts, found.exact, found.steps
    whole = found.formula.whole(steps)
    _hold_within(whole, chassis, clamped=clamped)
    _refuse_fast(chassis, exact)
    error = frozen_array(whole - exact)
    bound = (np.abs(error) + found.between).max(axis=0)
    given_up: tuple[str, ...] = ()
    every = int(steps[-1] - steps[0]) + 1
    if len(steps) < every:
        off = (np.abs(found.formula.values(steps) - exact) + found.between).max(axis=0)
        bound = _at_most(off, exact, found.between, chassis, clamped=clamped)
        given_up = (_looked_at(len(steps), every),)
    return Programme(
        chassis,
        parts,
        fingerprint_of(chassis.design),
        FORMULA_TURN_ONE,
        None,
        found.formula,
        frozen_array(steps, np.int64),
        error,
        frozen_array(bound),
        given_up,
    )
