"""Autosaves beside the person's files, and finding them again after a crash."""

from __future__ import annotations

import contextlib
import json
import os
import re
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import platformdirs
from pydantic import Field

from app.design.disk import make_private_folder, read_bytes, write_bytes
from app.design.files import design_from_text, design_text
from app.design.owner import Owner, may_still_run, this_process
from app.design.parsing import bounded, loaded
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.model.frozen import built

_PATTERN = "recovery-*.json"


@dataclass(frozen=True)
class Recovery:
    """An autosave that a process left behind when it ended unasked."""

    session_id: str
    design: Design
    original: Path | None
    """The file that was being edited; None if it was never saved."""
    saved_at: float
    """When, in seconds of `time.time`."""


class _Kept(Owner):
    """What an autosave's file holds; version 1 knew no more of the owner than number and name."""

    format: Literal["axlewright-recovery"] = "axlewright-recovery"
    version: Literal[1, 2] = 2
    session: str
    saved_at: float = Field(ge=0, le=1e11)
    original: str | None
    design: str


def recovery_folder() -> Path:
    """Folder of the autosaves; the variable AXLEWRIGHT_HOME moves it."""
    home = os.environ.get("AXLEWRIGHT_HOME")
    return (
        Path(home) if home else Path(platformdirs.user_state_dir("axlewright", appauthor=False))
    ) / "recovery"


def write_recovery(folder: Path, session_id: str, design: Design, original: Path | None) -> None:
    """Keep a design aside, whole or not at all; replaces the session's earlier one.

    Nobody but the person may read it, nor look into its folder, where the system knows such bits
    (Windows keeps the folder within the person's own).

    Parameters
    ----------
    folder : Path
        Where autosaves live; made if missing.
    session_id : str
        One open document of one process; letters, digits, ``-`` and ``_``.
    design : Design
        What is being edited.
    original : Path, optional
        The file that it came from.

    Raises
    ------
    FileError
        If the system refuses.
    """
    kept = _Kept(
        **dict(this_process()),
        session=session_id,
        saved_at=time.time(),
        original=None if original is None else str(original),
        design=design_text(design),
    )
    with contextlib.suppress(OSError):  # writing tells why
        make_private_folder(folder)
    _shut_to_others(folder)
    # In ASCII: the name of the original may hold bytes that are no UTF-8.
    text = json.dumps(kept.model_dump(mode="json"), indent=2) + "\n"
    write_bytes(_path(folder, session_id), text.encode(), private=True)


def still_kept(folder: Path, session_id: str) -> bool:
    """Give a sign of life for a session's autosave; False where it is gone, or does not take one.

    The sign is the time of the file's last change. It tells those who cannot ask for this process,
    on another machine that shares the folder, that the work is in good hands; and what clears away
    old files that this one is in use.
    """
    try:
        os.utime(_path(folder, session_id))
    except OSError:
        return False
    return True


def find_recoveries(folder: Path) -> list[Recovery]:
    """Find what ended processes left behind, newest first.

    Autosaves of processes that run, or may run, are not touched; unreadable ones are
    passed over and stay where they are. A folder that others may look into is shut to them.
    """
    found = []
    _shut_to_others(folder)
    with contextlib.suppress(OSError):
        for path in sorted(folder.glob(_PATTERN)):
            recovery = _left_behind(path)
            if recovery is not None:
                found.append(recovery)
    return sorted(found, key=lambda recovery: -recovery.saved_at)


def drop_recovery(folder: Path, session_id: str) -> None:
    """Remove a session's autosave; nothing happens where there is none.

    A file that the system does not let go is left for the next start to offer again.
    """
    with contextlib.suppress(OSError):
        _path(folder, session_id).unlink(missing_ok=True)


def _path(folder: Path, session_id: str) -> Path:
    return folder / f"recovery-{re.sub(r'[^A-Za-z0-9_-]', '_', session_id)}.json"


def _shut_to_others(folder: Path) -> None:
    """Take from all others what earlier versions let them read."""
    with contextlib.suppress(OSError):
        for path, mode in ((folder, 0o700), *((path, 0o600) for path in folder.glob(_PATTERN))):
            if not path.is_symlink() and path.stat().st_mode & 0o077:
                path.chmod(mode)


def _left_behind(path: Path) -> Recovery | None:
    try:
        kept = built(_Kept, bounded(loaded(read_bytes(path).decode("utf-8"))))
        if may_still_run(kept, path.stat().st_mtime):
            return None
        return Recovery(
            session_id=kept.session,
            design=design_from_text(kept.design, path.name),
            original=None if kept.original is None else Path(kept.original),
            saved_at=kept.saved_at,
        )
    except (AxlewrightError, UnicodeDecodeError, OSError):
        return None  # half a recovery must not stop a start
