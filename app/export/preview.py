"""What the person sees of a file for the controller before it is saved: text, sizes, errors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sin

import numpy as np

from app.controller.code_outputs import error_at_wheel_deg
from app.controller.programme import Programme
from app.export.registry import Exporter, Files, exporter, files_of
from app.units import radians, show_number
from app.words.alignment_summary import verdict_sentence
from app.words.bounds import rounded_up
from geometry.axes import Floats
from geometry.model.controller import LARGEST_ERROR_DEG, PARTS, Controller, ErrorUnit, Part
from geometry.progress import Progress, part_of, tell, unwatched

# Pairs of a least and a largest error that a plot holds at most.
MOST_PAIRS = 500
_ACT_ON_STEERING = {"clamp", "limiter", "hold"}
_DIGITS = 3
_LEAST_ERROR, _LARGEST_DRAG = 0.001, 500.0


@dataclass(frozen=True, eq=False)
class ErrorCurves:
    """Errors of some outputs over the turn, thinned so that no peak is lost."""

    title: str
    """Of what, and in which unit."""
    names: tuple[str, ...]
    """Of the outputs, (K,)."""
    turns: Floats
    """(P,): turn inputs, rising; each comes twice."""
    values: Floats
    """(P, K): the least and the largest error around each."""
    allowed: float
    """What was asked for at most, either way."""
    reached: float
    """What is not passed at any turn, either way."""


@dataclass(frozen=True, eq=False)
class Preview:
    """Whole files, as a rule one, and what there is to say of them."""

    programme: Programme
    files: Files
    text: str
    """What is shown of them."""
    part_bytes: dict[Part, int]
    """What each part that has something to act on takes or would take in the file; empty
    where the format holds no code."""
    errors: tuple[ErrorCurves, ...]
    """Of the steering, and of the speeds, where there are any."""

    @property
    def size(self) -> int:
        """Of all files together [bytes]."""
        return size_of(self.files)


def size_of(files: Files) -> int:
    """Size of all files together [bytes].

    Examples
    --------
    >>> size_of({"a.txt": b"one", "b.txt": b"two"})
    6
    """
    return sum(map(len, files.values()))


def shown_text(files: Files) -> str:
    """Text of the files as a person may read it; of several, each under its name.

    Examples
    --------
    >>> shown_text({"a.txt": b"one"})
    'one'
    >>> print(shown_text({"a.txt": b"one", "b.bin": bytes([255])}))
    a.txt:
    one
    <BLANKLINE>
    b.bin:
    (1 byte, no text)
    """
    texts = {name: _decoded(data) for name, data in files.items()}
    if len(texts) == 1:
        return next(iter(texts.values()))
    return "\n\n".join(f"{name}:\n{text}" for name, text in texts.items())


def _decoded(data: bytes) -> str:
    try:
        return data.decode()
    except UnicodeDecodeError:
        return f"({len(data):,} {'byte' if len(data) == 1 else 'bytes'}, no text)"


def usable_parts(*, steers: bool, drives: bool) -> tuple[Part, ...]:
    """Parts of the code that have something to act on.

    Examples
    --------
    >>> usable_parts(steers=False, drives=True)
    ('mixing', 'dead_band', 'scaling')
    """
    idle = set() if steers else _ACT_ON_STEERING
    return tuple(part for part in PARTS if part not in idle and (drives or part != "scaling"))


def preview_of(programme: Programme, key: str, progress: Progress = unwatched) -> Preview:
    """Write a programme in a format and measure it.

    Raises
    ------
    ExportError
        If the format cannot hold the programme.
    Cancelled
        If `progress` returned False.
    """
    tell(progress, 0.0)
    row = exporter("programme", key)
    files = files_of(row, programme)
    sizes = _part_bytes(programme, row, part_of(progress, 0.5, 1.0)) if row.holds_code else {}
    return Preview(programme, files, shown_text(files), sizes, errors_of(programme))


def _part_bytes(programme: Programme, row: Exporter, progress: Progress) -> dict[Part, int]:
    """What each part adds to the file, all others as they are."""
    # No part changes the numbers of a table, which may be many.
    short = _with_a_row(programme)
    size = size_of(files_of(row, short))
    found = {}
    parts = usable_parts(steers=bool(programme.steer), drives=bool(programme.drive))
    for i, part in enumerate(parts):
        tell(progress, i / len(parts))
        other = replace(short, parts=programme.parts ^ {part})
        found[part] = abs(size_of(files_of(row, other)) - size)
    return found


def _with_a_row(programme: Programme) -> Programme:
    if programme.fitted is None:
        return programme
    table = programme.fitted.table
    short = replace(table, nodes=table.nodes[:1], values=table.values[:1])
    return replace(programme, fitted=replace(programme.fitted, table=short))


def errors_of(programme: Programme) -> tuple[ErrorCurves, ...]:
    """The errors of the steering [degrees at the wheel] and of the speeds [thousandths of full]."""
    steer, drive = programme.steer, programme.drive
    found = []
    if steer:
        found.append(
            _errors(
                "steering, degrees at the wheel",
                tuple(output.label for output in steer),
                programme.turn,
                programme.error_deg,
                (error_at_wheel_deg(programme.controller), programme.bound_deg),
            )
        )
    if drive:
        full = np.array([output.usable for output in drive])
        found.append(
            _errors(
                "speeds, thousandths of full",
                tuple(output.label for output in drive),
                programme.turn,
                1000.0 * programme.error[:, len(steer) :] / full,
                (programme.controller.speed_error_permille, programme.bound_permille),
            )
        )
    return tuple(found)


def _errors(
    title: str, names: tuple[str, ...], turns: Floats, values: Floats, limits: tuple[float, float]
) -> ErrorCurves:
    return ErrorCurves(title, names, *thinned(turns, values), *limits)


def thinned(turns: Floats, values: Floats, most: int = MOST_PAIRS) -> tuple[Floats, Floats]:
    """Thin curves so that the least and the largest value of each stretch stay.

    Parameters
    ----------
    turns : ndarray, (M,)
        Rising, at least one.
    values : ndarray, (M, K)
    most : int
        Number of stretches at most.

    Returns
    -------
    tuple of ndarray
        (P,) and (P, K), with P up to twice `most`.

    Examples
    --------
    >>> turns, values = thinned(np.arange(6.0), np.array([[1.0], [9], [2], [-3], [0], [4]]), most=2)
    >>> turns.tolist(), values[:, 0].tolist()
    ([1.0, 1.0, 4.0, 4.0], [1.0, 9.0, -3.0, 4.0])
    """
    stretch = -(-len(turns) // most)
    starts = np.arange(0, len(turns), stretch)
    middles = np.minimum(starts + stretch // 2, len(turns) - 1)
    low, high = (how.reduceat(values, starts, axis=0) for how in (np.minimum, np.maximum))
    return np.repeat(turns[middles], 2), np.stack([low, high], axis=1).reshape(-1, values.shape[1])


def in_unit(controller: Controller, unit: ErrorUnit) -> float:
    """The error that is asked for in another unit, to three digits, as near as is allowed.

    Examples
    --------
    >>> in_unit(Controller(error=0.1), "mm_per_m"), in_unit(Controller(error=45), "mm_per_m")
    (1.75, 500.0)
    """
    deg = error_at_wheel_deg(controller)
    most, value = (LARGEST_ERROR_DEG, deg) if unit == "deg" else (_LARGEST_DRAG, 1000.0 * sin(radians(deg)))
    return min(max(float(f"{value:.3g}"), _LEAST_ERROR), most)


def size_words(preview: Preview) -> str:
    """How large the file and its table are."""
    table = preview.programme.table
    lines = len(preview.text.splitlines())
    words = f"{preview.size:,} bytes in {lines:,} lines"
    if table is not None:
        return f"{words}; the table has {len(table.nodes):,} rows and takes {table.size:,} bytes."
    if preview.programme.formula is not None:
        return f"{words}; a formula, and no table."
    return f"{words}; nothing depends on the turn, so there is no table."


def verdict_words(preview: Preview) -> str:
    """What the check says of the chassis as built, and what the errors are against."""
    facts = preview.programme.chassis.facts
    against = " Errors are against the angles that the check shows." if not facts.check.aligned else ""
    return verdict_sentence(facts) + against


def given_up_words(preview: Preview) -> str:
    """What the limits on time and memory cost; empty where nothing."""
    return " ".join(preview.programme.given_up)


def bound_words(preview: Preview) -> str:
    """What the errors do not pass at any turn, beside what was asked for."""
    programme = preview.programme
    controller = programme.controller
    found = []
    if programme.steer:
        asked = f"{controller.error:g}°"
        if controller.error_unit != "deg":
            deg = show_number(error_at_wheel_deg(controller), 4)
            asked = f"{controller.error:g} mm of drag per metre, which is {deg}°,"
        found.append(f"{rounded_up(programme.bound_deg, _DIGITS):g}° at a wheel ({asked} allowed)")
    if programme.drive:
        found.append(
            f"{rounded_up(programme.bound_permille, _DIGITS):g} ‰ of full speed "
            f"({controller.speed_error_permille:g} ‰ allowed)"
        )
    return f"Largest error: {' and '.join(found)}." if found else ""
