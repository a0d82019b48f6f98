"""Where the verbs write to: a file, a folder, or the terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

from app.cli.streams import complain
from app.design.disk import (
    FileError,
    is_stream,
    named_file,
    placed,
    write_bytes,
    write_files,
    write_stream,
)
from app.design.facts import Facts
from app.design.files import holds_chassis
from app.words.alignment_summary import verdict_sentence
from geometry.errors import CommandError

# Where an output goes that is printed; by their names a file that it leads to would be replaced.
_PRINTED = ("-", "/dev/stdout", "/dev/fd/1", "/proc/self/fd/1")


def deliver(data: bytes, output: str, *, replace: bool) -> None:
    """Write to a file as a whole, or print for ``-`` without changing line ends.

    A pipe or a device, such as a shell's own for another program, takes the bytes as they come.

    Raises
    ------
    FileError
        If a chassis stands there, or anything where nothing may be replaced, or it cannot be written.
    """
    if output in _PRINTED:
        sys.stdout.buffer.write(data)
        return
    path = named_file(output)
    if is_stream(path):
        write_stream(path, data)
        return
    _refuse_chassis(path)
    if not replace and os.path.lexists(path):
        raise FileError(f"{path} exists already and is left untouched. Choose another name.")
    write_bytes(path, data)


def deliver_files(files: Mapping[str, bytes], output: str) -> None:
    """Write what an exporter made: one file to the place that is named, several into that folder.

    Parameters
    ----------
    files : mapping of str to bytes
        By their names; that of a single file does not count.
    output : str
        A file, or ``-`` to print it; for several files a folder, which is made where there is none.

    Raises
    ------
    CommandError
        If several files were to be printed.
    FileError
        If a chassis stands there, or a file cannot be written.
    """
    if len(files) == 1:
        (data,) = files.values()
        deliver(data, output, replace=True)
        return
    if output in _PRINTED:
        names = ", ".join(files)
        raise CommandError(f"-o - prints one file, and these are {len(files)} ({names}); name a folder")
    for path in placed(Path(output), files):
        _refuse_chassis(path)
    write_files(Path(output), files)


def note_verdict(facts: Facts) -> None:
    """Say where errors go that a chassis drags; nothing of an aligned one."""
    if not facts.check.aligned:
        complain(f"axlewright: note: {verdict_sentence(facts)}")


def _refuse_chassis(path: Path) -> None:
    if holds_chassis(path):
        raise FileError(f"{path} holds a chassis, which is left untouched. Choose another name.")
