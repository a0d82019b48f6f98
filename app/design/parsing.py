"""JSON text to plain values, with bounds on everything and every problem at its place."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

from geometry.errors import AxlewrightError, Problem
from geometry.model.frozen import place_of, short

# More than any chassis holds, few enough to check in a blink.
MOST_ENTRIES = 20_000
MOST_KEYS = 40
LONGEST_KEY = 60
DEEPEST = 8
# Python refuses to read whole numbers of some thousands of digits.
_LONGEST_INTEGER = 300

_Place = tuple[int | str, ...]


class ParsingError(AxlewrightError):
    """Text that is not the JSON that a chassis file may hold."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


class _Object(dict[str, Any]):
    """An object that remembers which of its keys were given twice."""

    repeated: tuple[str, ...] = ()


def loaded(text: str) -> dict[str, Any]:
    """Read JSON text as one object, of any size and content.

    NaN and infinite numbers come out as such, for the rule of their place to refuse.

    Raises
    ------
    ParsingError
        If it is not JSON, not an object, or nested beyond all reason.
    """
    try:
        value = json.loads(text, object_pairs_hook=_object, parse_int=_integer)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise ParsingError(Problem(where, f"is not valid JSON: {error.msg}")) from None
    except RecursionError:
        raise ParsingError(Problem("the text", "is nested too deeply for a chassis")) from None
    if not isinstance(value, dict):
        raise ParsingError(Problem("the text", "must be one JSON object in braces", short(value)))
    return value


def bounded(value: dict[str, Any]) -> dict[str, Any]:
    """Check the bounds of a loaded object, and turn its lists into tuples.

    Raises
    ------
    ParsingError
        If it is nested too deeply, too large, or gives a key twice.
    """
    problems = _bound_problems(value)
    if problems:
        raise ParsingError(*problems)
    plain: dict[str, Any] = _tuples(value)
    return plain


def _object(pairs: list[tuple[str, Any]]) -> _Object:
    made = _Object(pairs)
    if len(made) < len(pairs):
        counts = Counter(key for key, _ in pairs)
        made.repeated = tuple(key for key, count in counts.items() if count > 1)
    return made


def _integer(digits: str) -> int | float:
    return int(digits) if len(digits) <= _LONGEST_INTEGER else float(digits)


def _bound_problems(top: dict[str, Any]) -> list[Problem]:
    """Check sizes, depth and repeated keys without recursion; text from outside may nest deeply."""
    problems: list[Problem] = []
    seen = 0
    waiting: list[tuple[_Place, Any]] = [((), top)]
    while waiting:
        place, value = waiting.pop()
        where = place_of(place) or "the file"
        if isinstance(value, _Object):
            problems += _key_problems(place, value)
            inner = [((*place, key), entry) for key, entry in value.items()]
        elif isinstance(value, list):
            inner = [((*place, i), entry) for i, entry in enumerate(value[:MOST_ENTRIES])]
        else:
            continue
        seen += len(value)
        if seen > MOST_ENTRIES:
            return [*problems, Problem(where, "holds far more entries than a chassis can have")]
        if inner and len(place) >= DEEPEST:
            return [*problems, Problem(where, "is nested too deeply for a chassis")]
        if not problems:
            waiting += inner
        else:  # keys of a bad object are no good as places
            waiting += [(p, v) for p, v in inner if not _bad_key(p[-1])]
    return problems


def _bad_key(key: int | str) -> bool:
    return isinstance(key, str) and (len(key) > LONGEST_KEY or not key.isprintable())


def _key_problems(place: _Place, value: _Object) -> list[Problem]:
    where = place_of(place) or "the file"
    problems = [Problem(place_of((*place, key)), "is given twice; keep one") for key in value.repeated[:5]]
    if len(value) > MOST_KEYS:
        problems.append(
            Problem(where, f"has {len(value)} keys; no part of a chassis has more than {MOST_KEYS}")
        )
    bad = [key for key in value if _bad_key(key)]
    problems += [Problem(where, "holds a key that is no plain word", short(key)) for key in bad[:5]]
    return problems


def _tuples(value: Any) -> Any:
    """Turn lists into the tuples that the frozen models hold."""
    if isinstance(value, dict):
        return {key: _tuples(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return tuple(_tuples(inner) for inner in value)
    return value
