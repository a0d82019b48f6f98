"""A file of a drawing, whatever its kind: read within bounds, laid on a chassis."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from app.design.disk import read_bytes
from app.design.outline_files.drawing import (
    CHORD_MM,
    JOIN_MM,
    Drawing,
    DrawingError,
    DrawingUnit,
    Forward,
    Sketch,
)
from app.design.outline_files.laying import laid_out

LARGEST_DRAWING = 8 * 1024 * 1024
# Marks of byte order, which some programs write in front of a text.
_UTF8, _UTF16 = b"\xef\xbb\xbf", (b"\xff\xfe", b"\xfe\xff")
_BINARY_DXF = b"AutoCAD Binary DXF"
# A DXF text begins with a group code of its own on a line: that of a comment, or of the first section.
_DXF_START = re.compile(rb"(?:0|999)\s*\r?\n")


def read_sketch(path: Path) -> Sketch:
    """Read a drawing as it is, DXF or SVG; what it is, its content says, not its name.

    Raises
    ------
    DrawingError
        If it is neither, or breaks the rules of its format.
    FileError
        If it cannot be read, or is larger than 8 MiB.
    """
    return sketch_of(read_bytes(path, LARGEST_DRAWING), path.name)


def sketch_of(data: bytes, name: str) -> Sketch:
    """Read the bytes of a drawing, as `read_sketch` does."""
    with np.errstate(all="ignore"):  # what is not finite is told where curves are flattened
        return _read(data, name)


def _read(data: bytes, name: str) -> Sketch:
    # Late: each reader is loaded for its own files alone.
    if not data.startswith(_UTF16):
        data = data.removeprefix(_UTF8).lstrip()
    if data.startswith((b"<", *_UTF16)):
        from app.design.outline_files.svg import read_svg

        return read_svg(data, name)
    if data.startswith(_BINARY_DXF) or _DXF_START.match(data):
        from app.design.outline_files.dxf import read_dxf

        return read_dxf(data, name)
    raise DrawingError(
        f"{name} is neither a DXF nor an SVG drawing; in the program that made it, save it as one of these"
        + (", not compressed" if data.startswith(b"\x1f\x8b") else "")
    )


def drawing_of(
    path: Path,
    chord_mm: float = CHORD_MM,
    *,
    unit: DrawingUnit | None = None,
    scale: float = 1.0,
    forward: Forward = "up",
    join_mm: float = JOIN_MM,
) -> Drawing:
    """Read a drawing and lay it on the axes of a chassis; the parameters are those of `laid_out`.

    Raises
    ------
    FileError
        If it cannot be read, breaks the rules of its format, or holds no closed outline and no circle.
    """
    return laid_out(read_sketch(path), chord_mm, unit=unit, scale=scale, forward=forward, join_mm=join_mm)
