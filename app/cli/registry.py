"""The table of verbs, for command line, help and start; only the chosen verb's module is imported."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import NamedTuple, Protocol


class VerbModule(Protocol):
    """What the module of a verb holds."""

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say which words may follow the verb."""

    def run(self, options: argparse.Namespace) -> int:
        """Do it, and return one of `exit_codes`."""


class Verb(NamedTuple):
    """One verb of the command line."""

    name: str
    help: str
    """One sentence for ``--help``, in small letters and without a full stop."""
    load: Callable[[], VerbModule]
    """Imports the verb's module, which may need much; called only once the verb is chosen."""


def _check() -> VerbModule:
    from app.cli import check

    return check


def _fit() -> VerbModule:
    from app.cli import fit

    return fit


def _table() -> VerbModule:
    from app.cli import table

    return table


def _export() -> VerbModule:
    from app.cli import export

    return export


def _outline() -> VerbModule:
    from app.cli import outline

    return outline


def _drive() -> VerbModule:
    from app.cli import drive

    return drive


def _measure() -> VerbModule:
    from app.cli import measure

    return measure


def _plan() -> VerbModule:
    from app.cli import plan

    return plan


def _sheet() -> VerbModule:
    from app.cli import sheet

    return sheet


def _gauge() -> VerbModule:
    from app.cli import gauge

    return gauge


def _schema() -> VerbModule:
    from app.cli import schema

    return schema


def _samples() -> VerbModule:
    from app.cli import samples

    return samples


VERBS: tuple[Verb, ...] = (
    Verb("check", "are all axles aligned, and if not, which is not", _check),
    Verb("fit", "do all parts fit, what does each wheel carry, and when does it tip", _fit),
    Verb("table", "write the steering table", _table),
    Verb("export", "write code for the robot's controller, or the chassis for other tools", _export),
    Verb("outline", "take the body's outline and holes from a drawing", _outline),
    Verb("drive", "drive a script without a screen: its path, its drag, what it touches", _drive),
    Verb("measure", "how much room the robot takes to turn", _measure),
    Verb("plan", "write the chassis on paper as PDF, at full size or to scale", _plan),
    Verb("gauge", "a protractor at full size for each steered wheel, as PDF", _gauge),
    Verb("sheet", "write the build sheet, for a browser or on paper, and the parts list", _sheet),
    Verb("schema", "print the JSON Schema of chassis files", _schema),
    Verb("samples", "list the samples, or copy one", _samples),
)
"""In the order in which the help lists them."""


def verb_names() -> list[str]:
    """Names of all verbs."""
    return [verb.name for verb in VERBS]
