"""The sample chassis, read from inside the installed package."""

from __future__ import annotations

import difflib
from importlib import resources

from app.design.disk import FileError
from app.design.files import design_from_text
from geometry.model.design import Design
from sample_chassis import SAMPLES

FIRST_SAMPLE = SAMPLES[0].key
"""The sample that a first start shows."""


def sample_text(key: str) -> str:
    """Text of a sample's file.

    Raises
    ------
    FileError
        If there is no sample of that name.
    """
    keys = [sample.key for sample in SAMPLES]
    if key not in keys:
        close = difflib.get_close_matches(key, keys, n=1)
        hint = f"; did you mean {close[0]}?" if close else f"; there are {', '.join(keys)}"
        raise FileError(f"there is no sample named {key!r}{hint}")
    return resources.files("sample_chassis").joinpath(f"{key}.json").read_text(encoding="utf-8")


def sample_design(key: str) -> Design:
    """Design of a sample.

    Raises
    ------
    FileError
        If there is no sample of that name.
    """
    return design_from_text(sample_text(key), f"the sample {key}")
