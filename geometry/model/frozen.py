"""The frozen model base, its one way to edit, and its errors in plain words."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from typing import Annotated, Any, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from geometry.errors import DesignError, Problem

Model = TypeVar("Model", bound="Frozen")
Name = Annotated[
    str,
    Field(min_length=1, max_length=40, pattern=r"^[^\s\x00-\x1f\x7f]([^\x00-\x1f\x7f]*[^\s\x00-\x1f\x7f])?$"),
]


class Frozen(BaseModel):
    """An immutable value that is validated whenever it is made, edits included.

    Pydantic's own ``model_copy(update=...)`` skips validation, so `edited` is the only
    way by which the program changes a model.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        allow_inf_nan=False,
        validate_default=True,
        hide_input_in_errors=True,
    )

    def edited(self, **changes: Any) -> Self:
        """Return a copy with fields changed and every rule checked again.

        Raises
        ------
        DesignError
            If the changed model breaks a rule; this model is untouched.
        """
        return built(type(self), {**dict(self), **changes})


def built(model: type[Model], values: dict[str, Any]) -> Model:
    """Make a model from plain values.

    Raises
    ------
    DesignError
        With one problem for each broken rule.
    """
    try:
        return model.model_validate(values)
    except ValidationError as error:
        raise DesignError(problems_of(error, model)) from None


def built_from_json(model: type[Model], text: str) -> Model:
    """Make a model from JSON text, whose arrays and numbers need no Python types.

    Raises
    ------
    DesignError
        With one problem for each broken rule.
    """
    try:
        return model.model_validate_json(text)
    except ValidationError as error:
        raise DesignError(problems_of(error, model)) from None


def problems_of(error: ValidationError, model: type[Frozen]) -> tuple[Problem, ...]:
    """Translate pydantic's errors into places, rules and values.

    A validator that spans fields raises `DesignError` itself, with places relative to its
    model; they are joined to the place of that model here.
    """
    found: list[Problem] = []
    for detail in error.errors(include_url=False):
        cause = detail.get("ctx", {}).get("error")
        if isinstance(cause, BrokenRule):
            where = place_of(detail["loc"])
            for problem in cause.problems:
                joined = f"{where}.{problem.place}" if where else problem.place
                found.append(Problem(joined, problem.rule, problem.value))
        else:
            found.append(_problem(detail, model))
    return tuple(found)


class BrokenRule(ValueError):
    """Raised inside a model's validator; pydantic carries it out as a `ValidationError`."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("; ".join(str(problem) for problem in problems))


def place_of(location: tuple[int | str, ...]) -> str:
    """Write a location as a path.

    Examples
    --------
    >>> place_of(("wheels", 2, "diameter_mm"))
    'wheels[2].diameter_mm'
    """
    path = ""
    for step in location:
        path += f"[{step}]" if isinstance(step, int) else f".{step}" if path else step
    return path


def short(value: object) -> str:
    """Show a value in an error, cut to one short line.

    Examples
    --------
    >>> short("x" * 100)
    "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx..."
    """
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if value is None or isinstance(value, bool):
        return {True: "true", False: "false", None: "null"}[value]
    try:
        text = repr(value)
    except ValueError:  # Python does not write out a whole number of thousands of digits
        return "a huge number"
    return text if len(text) <= 40 else text[:37] + "..."


def _limit(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)


# The rule of each kind of error that pydantic can report here; {0} is the limit that it names.
_RULES: dict[str, tuple[str, str]] = {
    "missing": ("is missing", ""),
    "greater_than": ("must be above {0}", "gt"),
    "greater_than_equal": ("must be at least {0}", "ge"),
    "less_than_equal": ("must be at most {0}", "le"),
    "less_than": ("must be below {0}", "lt"),
    "invalid_key": ("must have a name in quotes as its key", ""),
    "finite_number": ("must be a finite number", ""),
    "float_type": ("must be a number", ""),
    "float_parsing": ("must be a number", ""),
    "int_type": ("must be a whole number", ""),
    "int_parsing": ("must be a whole number", ""),
    "bool_type": ("must be true or false", ""),
    "bool_parsing": ("must be true or false", ""),
    "string_type": ("must be text", ""),
    "string_too_short": ("must not be empty", ""),
    "string_too_long": ("must have at most {0} characters", "max_length"),
    "string_pattern_mismatch": ("must not hold control characters or outer spaces", ""),
    "string_unicode": ("must not hold half of a surrogate pair, which is no text", ""),
    "literal_error": ("must be one of {0}", "expected"),
    "enum": ("must be one of {0}", "expected"),
    "too_long": ("must have at most {0} entries", "max_length"),
    "too_short": ("must have at least {0} entries", "min_length"),
    "tuple_type": ("must be a list", ""),
    "list_type": ("must be a list", ""),
    "model_type": ("must be an object in braces", ""),
    "dict_type": ("must be an object in braces", ""),
}
# Errors whose value says nothing that the rule does not say.
_BARE = frozenset({"missing", "string_too_short", "string_unicode"})


def _problem(detail: ErrorDetails, model: type[Frozen]) -> Problem:
    place = place_of(detail["loc"]) or "the design"
    context = detail.get("ctx", {})
    kind = detail["type"]
    if kind == "extra_forbidden":
        return Problem(place, "is not a known key" + _nearest(detail["loc"], model))
    if kind == "json_invalid":
        return Problem("the file", f"is not valid JSON: {context.get('error', '')}")
    rule, limit = _RULES.get(kind, (f"is not allowed ({kind.replace('_', ' ')})", ""))
    value = "" if kind in _BARE else short(detail["input"])
    return Problem(place, rule.format(_limit(context.get(limit, ""))), value)


def _nearest(location: tuple[int | str, ...], model: type[Frozen]) -> str:
    """Name the nearest known key, looked up in the model that the location leads to."""
    known: type[Frozen] = model
    for step in location[:-1]:
        if isinstance(step, str) and step in known.model_fields:
            inner = _model_in(known.model_fields[step].annotation)
            known = inner if inner is not None else known
    close = difflib.get_close_matches(str(location[-1]), list(known.model_fields), n=1)
    return f"; did you mean {close[0]}?" if close else ""


def _model_in(annotation: Any) -> type[Frozen] | None:
    if isinstance(annotation, type) and issubclass(annotation, Frozen):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


def same_name_problems(key: str, names: Sequence[str]) -> list[Problem]:
    """Return a problem for each name in the list at `key` that an earlier item has already.

    Capitals do not count.
    """
    first: dict[str, int] = {}
    broken = []
    for i, name in enumerate(names):
        earlier = first.setdefault(name.casefold(), i)
        if earlier != i:
            rule = f"must differ from {key}[{earlier}].name; capitals do not count"
            broken.append(Problem(f"{key}[{i}].name", rule, repr(name)))
    return broken
