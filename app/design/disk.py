"""Bytes on disk: whole or not at all, and every failure in a plain sentence."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import secrets
import stat
from pathlib import Path

from geometry.errors import AxlewrightError

LARGEST_FILE = 1024 * 1024


class FileError(AxlewrightError):
    """A file that cannot be read or written; the text says what is safe."""


# What the system says, in words of the person, with what helps.
_REASONS = {
    errno.ENOENT: "there is no such file or folder; check the name",
    errno.ENOTDIR: "a part of its path is a file, not a folder; check the path",
    errno.EACCES: "the system does not allow it; check the permissions, or choose another folder",
    errno.EPERM: "the system does not allow it; check the permissions, or choose another folder",
    errno.EROFS: "that disk or folder is read-only; choose another folder",
    errno.ENOSPC: "the disk is full; make room, or choose another disk",
    errno.EDQUOT: "your share of the disk is used up; make room, or choose another disk",
    errno.EISDIR: "it is a folder; choose a file",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
    errno.ELOOP: "its links lead round in a circle; choose another path",
    errno.EBUSY: "another program is using it; close it there and try again",
    errno.ETXTBSY: "another program is using it; close it there and try again",
    errno.EBADF: "the output was closed by whoever started this program",
    errno.EIO: "the disk reports a fault; try another disk",
}


def reason_of(error: OSError | ValueError) -> str:
    """Say in plain words why the system refused."""
    if isinstance(error, OSError):
        # Windows: 32 and 33 are a file held open elsewhere, told as a permission error.
        if getattr(error, "winerror", None) in {32, 33}:
            return _REASONS[errno.EBUSY]
        return _REASONS.get(error.errno or 0, error.strerror or "the system gives no reason")
    return "the name holds characters that no file name may hold; choose another name"


def named_file(text: str) -> Path:
    """Take the name of a file as a person typed it.

    Raises
    ------
    FileError
        If it is empty, or can only name a folder; `Path` would drop what tells.
    """
    if not text:
        raise FileError("the name of a file is empty; give one such as scout.json")
    if os.path.basename(text) in {"", os.curdir, os.pardir}:  # noqa: PTH119 - Path drops the last slash
        raise FileError(f"{text} names a folder; add the name of a file")
    return Path(text)


def same_place(one: Path | None, other: Path | None) -> bool:
    """Whether two names lead to one place; False where one is none, or no name at all."""
    if one is None or other is None:
        return False
    try:
        return os.path.realpath(one) == os.path.realpath(other)
    except (OSError, ValueError):
        return False


def fingerprint(data: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def read_bytes(path: Path, most: int = LARGEST_FILE) -> bytes:
    """Read an ordinary file of bounded size.

    Raises
    ------
    FileError
        If it is missing, no ordinary file, larger than `most` bytes, or cannot be read.
    """
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            raise FileError(f"cannot read {path}: it is a folder; choose a file")
        if not stat.S_ISREG(kind):  # a pipe or a device would block or never end
            raise FileError(f"cannot read {path}: it is not an ordinary file")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise FileError(f"cannot read {path}: {reason_of(error)}") from error
    if len(data) > most:
        raise FileError(
            f"cannot read {path}: it is larger than {most / 1024:.0f} KiB, the most that is allowed"
        )
    return data


def write_bytes(path: Path, data: bytes) -> None:
    """Replace a file as a whole: a kill at any moment leaves the old or the new one.

    The new bytes go to a temporary file in the same folder, are forced to the disk, and
    take the place of the old file in one step. A link is followed to its target, and the
    permission bits of the old file are kept.

    Raises
    ------
    FileError
        If it cannot be written; the old file is untouched then, and nothing is left over.
    """
    try:
        target = Path(os.path.realpath(path))
        mode = _mode_of(target)
        temporary = target.with_name(f".axlewright-{secrets.token_hex(8)}.tmp")
        try:
            _write_synced(temporary, data, mode)
            temporary.replace(target)
        except BaseException:
            # The first failure is the one to tell.
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise
    except (OSError, ValueError) as error:
        kept = " What was there before is untouched." if os.path.lexists(path) else ""
        raise FileError(f"cannot write {path}: {reason_of(error)}.{kept}") from error
    _sync_folder(target.parent)


def is_stream(path: Path) -> bool:
    """Whether a pipe or a character device stands there, which takes bytes and keeps none."""
    try:
        kind = path.stat().st_mode
    except (OSError, ValueError):
        return False
    return stat.S_ISFIFO(kind) or stat.S_ISCHR(kind)


def write_stream(path: Path, data: bytes) -> None:
    """Write to a pipe or a device.

    Raises
    ------
    FileError
        If it refuses.
    BrokenPipeError
        If its reader left early, which is no fault.
    """
    try:
        with path.open("wb") as stream:
            stream.write(data)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise FileError(f"cannot write {path}: {reason_of(error)}") from error


def _mode_of(target: Path) -> int | None:
    """Permission bits of the file there, None where there is none."""
    try:
        kind = target.stat().st_mode
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(kind):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if not stat.S_ISREG(kind):
        raise OSError(errno.EINVAL, "it is not an ordinary file; choose another name")
    return stat.S_IMODE(kind)


def _write_synced(temporary: Path, data: bytes, mode: int | None) -> None:
    # "x" makes a new file under the person's own mask, and never follows a planted link.
    with temporary.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if mode is not None:
        temporary.chmod(mode)


def _sync_folder(folder: Path) -> None:
    """Force the new name to the disk, where the system knows how (Windows does not)."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    # The file is whole by now; a file system that cannot sync folders is no failure.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
