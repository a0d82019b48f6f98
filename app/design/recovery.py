"""Autosaves beside the person's files, and finding them again after a crash."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import re
import secrets
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import platformdirs
from pydantic import Field

from app.design.disk import read_bytes, write_bytes
from app.design.files import design_from_text, design_text
from app.design.parsing import bounded, loaded
from geometry.errors import AxlewrightError
from geometry.model.chassis import Design
from geometry.model.frozen import Frozen, built

_PATTERN = "recovery-*.json"
# After so long even a process that seems alive is taken for another one of the same number [s].
_CERTAINLY_OVER = 7 * 24 * 3600.0
# Tells this process from an earlier one that had the same number.
_PROCESS = secrets.token_hex(8)


@dataclass(frozen=True)
class Recovery:
    """An autosave that a process left behind when it ended unasked."""

    session_id: str
    design: Design
    original: Path | None
    """The file that was being edited; None if it was never saved."""
    saved_at: float
    """When, in seconds of `time.time`."""


class _Kept(Frozen):
    """What an autosave's file holds."""

    format: Literal["axlewright-recovery"] = "axlewright-recovery"
    version: Literal[1] = 1
    session: str
    process: str
    pid: int
    host: str
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
        session=session_id,
        process=_PROCESS,
        pid=os.getpid(),
        host=platform.node(),
        saved_at=time.time(),
        original=None if original is None else str(original),
        design=design_text(design),
    )
    with contextlib.suppress(OSError):  # writing tells why
        folder.mkdir(parents=True, exist_ok=True)
    # In ASCII: the name of the original may hold bytes that are no UTF-8.
    write_bytes(_path(folder, session_id), (json.dumps(kept.model_dump(), indent=2) + "\n").encode())


def find_recoveries(folder: Path) -> list[Recovery]:
    """Find what ended processes left behind, newest first.

    Autosaves of processes that run, or may run, are not touched; unreadable ones are
    passed over and stay where they are.
    """
    found = []
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


def process_alive(pid: int) -> bool:
    """Whether a process of that number runs here; True in doubt, False for one that has ended."""
    if pid <= 0:
        return False
    if sys.platform == "win32":
        return _alive_on_windows(pid)
    try:
        os.kill(pid, 0)  # signal 0 asks only
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return not _zombie(pid)  # it exists and belongs to somebody else
    return not _zombie(pid)


def _zombie(pid: int) -> bool:
    """Whether a process has ended, and only its number is still held; False where nothing tells."""
    try:
        words = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return False
    # The name of the program stands in brackets and may hold anything; the state follows it.
    return words.rpartition(")")[2].split()[:1] == ["Z"]


def _alive_on_windows(pid: int) -> bool:
    # os.kill would end the process there; the system is asked by its own call instead.
    import ctypes

    query_limited, still_active, invalid_parameter = 0x1000, 259, 87
    kernel: Any = getattr(ctypes, "windll").kernel32  # noqa: B009 - only there on Windows
    handle = kernel.OpenProcess(query_limited, 0, pid)
    if not handle:
        return bool(kernel.GetLastError() != invalid_parameter)
    try:
        code = ctypes.c_ulong()
        return not kernel.GetExitCodeProcess(handle, ctypes.byref(code)) or code.value == still_active
    finally:
        kernel.CloseHandle(handle)


def _path(folder: Path, session_id: str) -> Path:
    return folder / f"recovery-{re.sub(r'[^A-Za-z0-9_-]', '_', session_id)}.json"


def _left_behind(path: Path) -> Recovery | None:
    try:
        kept = built(_Kept, bounded(loaded(read_bytes(path).decode("utf-8"))))
        if _still_open(kept):
            return None
        return Recovery(
            session_id=kept.session,
            design=design_from_text(kept.design, path.name),
            original=None if kept.original is None else Path(kept.original),
            saved_at=kept.saved_at,
        )
    except (AxlewrightError, UnicodeDecodeError):
        return None  # half a recovery must not stop a start


def _still_open(kept: _Kept) -> bool:
    if time.time() - kept.saved_at > _CERTAINLY_OVER:
        return False
    if kept.host != platform.node():
        return True
    if kept.pid == os.getpid():
        return kept.process == _PROCESS
    return process_alive(kept.pid)
