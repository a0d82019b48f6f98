"""What the robot's controller gets: how exact, how large, under which name, and with which parts."""

from __future__ import annotations

import keyword
import re
from typing import Literal, Self

from pydantic import Field, model_validator

from geometry.errors import Problem
from geometry.model.frozen import BrokenRule, Frozen

Method = Literal["table", "formula"]
METHODS: tuple[Method, ...] = ("table", "formula")
ErrorUnit = Literal["deg", "mm_per_m"]
ERROR_UNITS: tuple[ErrorUnit, ...] = ("deg", "mm_per_m")
Part = Literal["mixing", "dead_band", "scaling", "clamp", "limiter", "hold"]
PARTS: tuple[Part, ...] = ("mixing", "dead_band", "scaling", "clamp", "limiter", "hold")
"""Fields of `Controller` that switch a part of the runtime on or off, in the order in which they act."""

MOST_PREFIX = 24
LARGEST_ERROR_DEG = 45.0
# Of drag [mm/m], and of a speed in thousandths of full.
MOST_ERROR = 500
# Of C99, C11, C23 and C++, whose compilers may read the header too.
_C_WORDS = """
    alignas alignof and and_eq asm atomic auto bitand bitor bool break case catch char class compl complex
    concept const const_cast consteval constexpr constinit continue decltype default delete do double
    dynamic_cast else enum explicit export extern false float for friend goto if imaginary import inline int
    long module mutable namespace new noexcept noreturn not not_eq nullptr operator or or_eq private protected
    public register reinterpret_cast requires restrict return short signed sizeof static static_assert
    static_cast struct switch template this thread_local throw true try typedef typeid typename typeof
    typeof_unqual union unsigned using virtual void volatile wchar_t while xor xor_eq
    """
_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9]*(?:_[A-Za-z0-9]+)*")


class Controller(Frozen):
    """What is written for the controller; remembered with the chassis."""

    method: Method = Field(
        "table", description="table: whole numbers only; formula: arctangents on the controller, with floats"
    )
    spacing: Literal["even", "free"] = Field(
        "free", description="Rows of the table: even is found by one division, free takes the fewest bytes"
    )
    error_unit: ErrorUnit = Field(
        "deg", description="What `error` counts: degrees at the wheel, or millimetres of drag per metre"
    )
    error: float = Field(
        0.1, ge=0.001, le=MOST_ERROR, description="Largest error of the steering, in the unit of error_unit"
    )
    speed_error_permille: float = Field(
        10.0,
        ge=0.1,
        le=MOST_ERROR,
        description="Largest error of a motor's speed, in thousandths of its full speed",
    )
    largest_bytes: int | None = Field(
        None, ge=16, le=1_000_000, description="Largest size of the table; null: as large as it takes"
    )
    prefix: str = Field(
        "chassis",
        min_length=1,
        max_length=MOST_PREFIX,
        description="What every name in the written code begins with",
    )
    mixing: bool = Field(default=True, description="Whether one stick, throttle and turn, may steer")
    dead_band: bool = Field(default=True, description="Whether small inputs count as none")
    dead_band_permille: int = Field(
        50, ge=1, le=500, description="Inputs up to this count as none, in thousandths of full"
    )
    scaling: bool = Field(
        default=True, description="Whether all drives slow down evenly where one would pass its usable speed"
    )
    clamp: bool = Field(default=True, description="Whether steering targets are held within the travel")
    limiter: bool = Field(
        default=True, description="Whether steering targets move no faster than their motors can"
    )
    wheel_speed_deg_s: float = Field(
        180.0, ge=0.1, le=3_600, description="Steering speed taken for a wheel that has no steer motor"
    )
    hold: bool = Field(
        default=True, description="Whether the drive waits until every wheel is near its steering target"
    )
    hold_within_deg: float = Field(
        10.0, ge=0.1, le=180, description="How near to its target a wheel must be, so that the drive may go"
    )
    creep_permille: int = Field(
        0, ge=0, le=1_000, description="Speed while it waits, in thousandths of what is asked; 0: at rest"
    )

    period_ms: int = Field(5, ge=2, le=50, description="Time from one step of the controller to the next")

    @model_validator(mode="after")
    def _check(self) -> Self:
        broken = []
        rule = prefix_rule(self.prefix)
        if rule:
            broken.append(Problem("prefix", rule, repr(self.prefix)))
        if self.error_unit == "deg" and self.error > LARGEST_ERROR_DEG:
            rule = f"must be at most {LARGEST_ERROR_DEG:g} where it counts degrees"
            broken.append(Problem("error", rule, f"{self.error:g}"))
        if broken:
            raise BrokenRule(*broken)
        return self


def prefix_rule(prefix: str) -> str:
    """What is wrong with a prefix, as the rest of a sentence; empty where nothing is.

    Examples
    --------
    >>> prefix_rule("scout_2"), prefix_rule("while")
    ('', 'must not be a word of Python, C or C++ itself; add something to it')
    """
    if len(prefix) > MOST_PREFIX or not _PREFIX.fullmatch(prefix):
        return (
            f"must be up to {MOST_PREFIX} letters a to z, digits and single underscores between them, "
            "with a letter first"
        )
    if prefix in _C_WORDS.split() or keyword.iskeyword(prefix) or keyword.issoftkeyword(prefix):
        return "must not be a word of Python, C or C++ itself; add something to it"
    return ""
