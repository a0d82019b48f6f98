"""The output and the place of errors, which whoever started the program may have closed or led astray."""

from __future__ import annotations

import os
import sys
from typing import TextIO


def ready_streams() -> None:
    """Make the output and the errors fit to print on, however the program was started."""
    if sys.stdout is None:
        # Opened for reading: what is printed is refused, as it was by the closed output.
        closed = os.open(os.devnull, os.O_RDONLY)
        sys.stdout = os.fdopen(closed, "w", encoding="utf-8", closefd=False)
    if sys.stderr is None:
        sys.stderr = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8", closefd=False)
    for stream in (sys.stdout, sys.stderr):
        # A console that knows no degree sign shows a question mark instead of an error.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def complain(text: str) -> None:
    """Print a sentence where errors go; nothing happens where they have no place."""
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        leave(sys.stderr)


def leave(stream: TextIO) -> None:
    """Send the rest nowhere, so that the interpreter does not complain at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
