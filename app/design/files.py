"""The chassis file: JSON that reads well in a diff, checked whole, saved whole."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.design import migrations
from app.design.disk import LARGEST_FILE, FileError, fingerprint, read_bytes, write_bytes
from app.design.parsing import ParsingError, bounded, loaded
from geometry.errors import DesignError, Problem
from geometry.model.design import Design
from geometry.model.frozen import built, short

FORMAT = "axlewright-chassis"
SUFFIX = ".json"
_MOST_TOLD = 25


class BadChassisError(FileError):
    """Text that is no chassis of this program; `problems` holds every broken rule."""

    def __init__(self, place: str, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        told = [f"  {problem}" for problem in problems[:_MOST_TOLD]]
        if len(problems) > _MOST_TOLD:
            told.append(f"  and {len(problems) - _MOST_TOLD} more")
        super().__init__("\n".join([f"{place} holds no chassis that can be used:", *told]))


class NewerFormatError(FileError):
    """A file of a newer version of this program; it is neither read nor overwritten."""


class ChangedElsewhereError(FileError):
    """The file on disk is not the one that was opened: somebody else saved it meanwhile."""


@dataclass(frozen=True)
class Opened:
    """A design as it was read."""

    design: Design
    path: Path
    fingerprint: str
    """SHA-256 of the file's bytes, to see later whether somebody else changed it."""


def design_text(design: Design) -> str:
    """Write a design as the text of a file: one key a line, one body corner a line.

    Defaults are written too, so that a diff shows what changed and not what was implied; but for
    those of keys that came late (`migrations.SINCE`), which older programs would not know.
    """
    keys, version = migrations.lowest(_tidy(design.model_dump(mode="json")))
    plain = {"format": FORMAT, "version": version, **keys}
    lines = [f"  {json.dumps(key)}: {_value_text(key, value)}" for key, value in plain.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def design_from_text(text: str, place: str = "the file") -> Design:
    """Read a design from the text of a file.

    Parameters
    ----------
    text : str
        JSON.
    place : str
        What to call it in errors.

    Returns
    -------
    Design
        A valid design.

    Raises
    ------
    BadChassisError
        With all problems of the text and their places.
    NewerFormatError
        If a newer version of the program wrote it.
    """
    if len(text) > LARGEST_FILE:
        raise BadChassisError(place, (Problem("the text", "must be at most 1 MiB"),))
    try:
        found = loaded(text.removeprefix("\ufeff"))
        # Before all else: what a newer format may hold is not for this version to judge.
        version = _checked_version(found, place)
        plain = bounded(found)
    except ParsingError as error:
        raise BadChassisError(place, error.problems) from None
    keys = {key: value for key, value in plain.items() if key not in {"format", "version"}}
    try:
        keys = migrations.upgrade(keys, version, upgrades=migrations.UPGRADES, newest=migrations.VERSION)
        return built(Design, keys)
    except DesignError as error:
        raise BadChassisError(place, error.problems) from None


def read_design(path: Path) -> Opened:
    """Open a chassis file.

    Raises
    ------
    FileError
        If it cannot be read, or holds no valid chassis; with all problems and places.
    """
    data = read_bytes(path)
    return Opened(design_from_text(_decoded(data, path.name), path.name), path, fingerprint(data))


def write_design(path: Path, design: Design, *, expected: str | None = None, overwrite: bool = False) -> str:
    """Save a chassis file, whole or not at all.

    Parameters
    ----------
    path : Path
        Where to; a link is followed.
    design : Design
        What to save.
    expected : str, optional
        Fingerprint that the file there had when it was opened or last saved.
    overwrite : bool
        Whether the person agreed to replace whatever stands there.

    Returns
    -------
    str
        Fingerprint of the file as saved.

    Raises
    ------
    ChangedElsewhereError
        If a file stands there that is not the expected one, and `overwrite` is not set.
    NewerFormatError
        If a newer version of the program wrote the file there, whatever `overwrite` says.
    FileError
        If the system refuses; the old file is untouched.
    """
    there = _bytes_there(path)
    if there is not None:
        _refuse_newer(there, path)
        if not overwrite and fingerprint(there) != expected:
            raise ChangedElsewhereError(_why_not_replaced(path, known=expected is not None))
    data = design_text(design).encode()
    write_bytes(path, data)
    return fingerprint(data)


def schema() -> dict[str, Any]:
    """JSON Schema of the file (draft 2020-12), for editors and other programs.

    It states types, keys and limits; rules that span fields, such as unique names, are
    checked by the program alone.
    """
    own = Design.model_json_schema(mode="validation")
    own["properties"] = {
        "format": {"const": FORMAT, "description": "Marks a chassis file of this program"},
        "version": {
            "enum": list(range(migrations.LOWEST_WRITTEN, migrations.VERSION + 1)),
            "description": "Version of the file format: the lowest that can hold all that is in the file",
        },
        **own["properties"],
    }
    for path, since in migrations.SINCE.items():
        part, told = _described(own, path), f" (since version {since.version} of the format)"
        if not part["description"].endswith(told):  # both kinds of motors share one model of a gearing
            part["description"] += told
    own["required"] = ["format", "version", *own.get("required", [])]
    own["title"] = "Axlewright chassis"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **own}


def _described(whole: dict[str, Any], path: str) -> dict[str, Any]:
    """The part of a schema that describes a key, by its path."""
    part = whole
    for step in path.split("."):
        if "$ref" in part.get("items", part):
            part = whole["$defs"][part.get("items", part)["$ref"].rsplit("/", 1)[1]]
        part = part["properties"][step.removesuffix("[]")]
    return part


def _why_not_replaced(path: Path, *, known: bool) -> str:
    if known:
        what = f"{path} was changed by another program since it was opened here"
    else:
        what = f"{path} exists already"
    return f"{what}. It is untouched. Save under another name, or choose to replace it."


def _tidy(value: Any) -> Any:
    """Write whole numbers without a point, as a person would."""
    if isinstance(value, dict):
        return {key: _tidy(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_tidy(inner) for inner in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _value_text(key: str, value: Any) -> str:
    if key == "body_mm" and value:
        corners = ",\n".join(f"    {json.dumps(corner)}" for corner in value)
        return f"[\n{corners}\n  ]"
    # Text holds no line breaks of its own in JSON, so indenting each line is safe.
    return json.dumps(value, indent=2, ensure_ascii=False).replace("\n", "\n  ")


def _decoded(data: bytes, place: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        problem = Problem(f"byte {error.start}", "is not UTF-8 text; save the file as UTF-8")
        raise BadChassisError(place, (problem,)) from None


def _checked_version(plain: dict[str, Any], place: str) -> int:
    if plain.get("format") != FORMAT:
        rule = f'must be "{FORMAT}"; this seems to be a file of another program'
        shown = short(plain["format"]) if "format" in plain else "nothing"
        raise BadChassisError(place, (Problem("format", rule, shown),))
    version = plain.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        shown = short(version) if "version" in plain else "nothing"
        raise BadChassisError(place, (Problem("version", "must be a whole number from 1", shown),))
    if version > migrations.VERSION:
        raise NewerFormatError(
            f"{place} has format version {version}, which a newer Axlewright wrote. This one reads up to "
            f"version {migrations.VERSION} and leaves the file untouched. Update Axlewright to open it."
        )
    return version


def _bytes_there(path: Path) -> bytes | None:
    """Return what stands at the place of a save, as far as it matters; None for nothing."""
    try:
        if not path.exists():
            return None
    except (OSError, ValueError):
        return None  # writing will tell why
    return read_bytes(path)


def _refuse_newer(there: bytes, path: Path) -> None:
    try:
        _checked_version(loaded(there.decode("utf-8-sig")), str(path))
    except NewerFormatError:
        raise
    except (ParsingError, BadChassisError, UnicodeDecodeError):
        return  # no chassis at all: whether to replace it is the person's choice


def holds_chassis(path: Path) -> bool:
    """Whether a chassis file of any version stands at a place, valid or not."""
    try:
        found = loaded(read_bytes(path).decode("utf-8-sig"))
    except (FileError, ParsingError, UnicodeDecodeError):
        return False
    return found.get("format") == FORMAT
