"""Which chassis files are open in the windows of this program, told by a note that each window leaves.

A note is advice and locks nothing: a file can be opened twice, and whoever saves second is asked first.
"""

from __future__ import annotations

import contextlib
import json
import os
import uuid
from pathlib import Path
from typing import Literal

from app.design.disk import make_private_folder, read_bytes, same_place, write_bytes
from app.design.owner import Owner, may_still_run, this_process
from app.design.parsing import bounded, loaded
from app.design.recovery import recovery_folder
from geometry.errors import AxlewrightError
from geometry.model.frozen import built

_PATTERN = "open-*.json"
SIGN_OF_LIFE_MS = 60_000
"""How often a window should say that it still has its file open."""


class _Note(Owner):
    """What a note's file holds."""

    format: Literal["axlewright-open"] = "axlewright-open"
    version: Literal[1] = 1
    path: str
    """The file, whole."""


def open_folder() -> Path:
    """Folder of the notes, beside that of the autosaves; the variable AXLEWRIGHT_HOME moves it."""
    return recovery_folder().with_name("open")


class OpenFile:
    """The file that one window has open, noted for the others.

    A note that cannot be written is left out, and one of a process that ended is removed by whoever finds it:
    nothing of a person's work depends on it.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = open_folder() if folder is None else folder
        self._note = self._folder / f"open-{os.getpid()}-{uuid.uuid4().hex[:8]}.json"
        self._path: Path | None = None

    @property
    def path(self) -> Path | None:
        """What is noted, None for nothing."""
        return self._path

    def follow(self, path: Path | None) -> None:
        """Note that this file is open now, and no other; None for none."""
        path = None if path is None else path.absolute()
        if path == self._path:
            return
        self._path = path
        if path is None:
            with contextlib.suppress(OSError):
                self._note.unlink(missing_ok=True)
            return
        with contextlib.suppress(AxlewrightError, OSError):
            make_private_folder(self._folder)
            note = _Note(**dict(this_process()), path=str(path))
            # In ASCII: the name of the file may hold bytes that are no UTF-8.
            text = json.dumps(note.model_dump(mode="json"), indent=2) + "\n"
            write_bytes(self._note, text.encode(), private=True)

    def live(self) -> None:
        """Give a sign of life, for those who cannot ask about this process; see `app.design.owner`."""
        if self._path is not None:
            with contextlib.suppress(OSError):
                os.utime(self._note)

    def elsewhere(self) -> bool:
        """Whether another window has the same file open; False where nothing is noted or told."""
        found = False
        with contextlib.suppress(OSError):
            for place in sorted(self._folder.glob(_PATTERN)):
                if place != self._note:
                    found = same_place(_noted(place), self._path) or found
        return found


def _noted(place: Path) -> Path | None:
    """The file that a note tells of; None where its window is gone, and where it cannot be read."""
    try:
        note = built(_Note, bounded(loaded(read_bytes(place).decode("utf-8"))))
        if may_still_run(note, place.stat().st_mtime):
            return Path(note.path)
        place.unlink(missing_ok=True)
    except (AxlewrightError, UnicodeDecodeError, OSError):
        pass  # half a note tells nothing
    return None
