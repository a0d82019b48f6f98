"""Progress of long work on one line of the terminal."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from geometry.progress import Progress

# Work that ends sooner shows nothing [s].
PATIENCE_S = 1.0


@contextmanager
def shown_progress(stream: TextIO) -> Iterator[Progress]:
    """Show the share that is done, where a person watches; the line is gone at the end.

    Yields
    ------
    callable
        To be told the share, 0 to 1. It always lets the work go on: Ctrl-C stops it.
    """
    start, shown = time.monotonic(), ""
    watched = stream.isatty()

    def told(share: float) -> bool:
        nonlocal shown
        text = f"axlewright: {100 * share:.0f} % done"
        if watched and text != shown and time.monotonic() - start > PATIENCE_S:
            print(f"\r{text}", end="", file=stream, flush=True)
            shown = text
        return True

    try:
        yield told
    finally:
        if shown:
            print(f"\r{' ' * len(shown)}\r", end="", file=stream, flush=True)
