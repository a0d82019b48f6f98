"""Bytes on disk: whole or not at all, and every failure in a plain sentence."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import secrets
import stat
import time
from collections.abc import Mapping
from pathlib import Path

from app.design.owner import writer_ended, writer_mark
from geometry.errors import AxlewrightError

LARGEST_FILE = 1024 * 1024
# A file that is being written: who writes it, and a random part. Earlier versions did not say who.
_TEMPORARY = re.compile(r"\.axlewright-(?:([0-9a-f]{8}-[0-9]{1,10}-[0-9]{1,18})-)?[0-9a-f]{16}\.tmp")
# No write takes so long: a temporary file of this age is left over, whoever made it [s].
_SURELY_LEFT = 3600.0
_PRIVATE = 0o600


class FileError(AxlewrightError):
    """A file that cannot be read or written; the text says what is safe."""


# What the system says, in words of the person, with what helps.
_REASONS = {
    errno.EBADF: "the output was closed by whoever started this program",
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


def fingerprint(data: bytes) -> str:
    """SHA-256 of bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


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


def write_bytes(path: Path, data: bytes, *, private: bool = False) -> None:
    """Replace a file as a whole: a kill at any moment leaves the old or the new one.

    The new bytes go to a temporary file in the same folder, are forced to the disk, and
    take the place of the old file in one step. A link is followed to its target, and the
    permission bits of the old file are kept. What a killed process left of an earlier write in
    that folder is removed.

    Parameters
    ----------
    path : Path
        Where to; a link is followed.
    data : bytes
        The new content.
    private : bool
        Whether nobody else may read it, whatever the old file allowed.

    Raises
    ------
    FileError
        If it cannot be written; the old file is untouched then, and nothing is left over.
    """
    try:
        target = Path(os.path.realpath(path))
        mode = _mode_of(target)
        _remove_left_over(target.parent)
        temporary = target.with_name(f".axlewright-{writer_mark()}-{secrets.token_hex(8)}.tmp")
        try:
            _write_synced(temporary, data, _PRIVATE if private else mode)
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


def placed(place: Path, files: Mapping[str, bytes]) -> dict[Path, bytes]:
    """Where files go: a single one to the place itself, several into the folder of that name.

    Examples
    --------
    >>> [str(path) for path in placed(Path("arm"), {"a.py": b""})]
    ['arm']
    >>> [path.name for path in placed(Path("arm"), {"a.py": b"", "b.py": b""})]
    ['a.py', 'b.py']
    """
    if len(files) == 1:
        (data,) = files.values()
        return {place: data}
    return {place / name: data for name, data in files.items()}


def write_files(place: Path, files: Mapping[str, bytes]) -> None:
    """Write files to where `placed` says, each as a whole; the folder for several is made where it lacks.

    Raises
    ------
    FileError
        If one cannot be written, or a file stands where the folder should; those written before it stay.
    """
    if len(files) > 1:
        try:
            place.mkdir(exist_ok=True)
        except FileExistsError as error:
            raise FileError(
                f"{place} is a file, and {len(files)} files need a folder; choose another name"
            ) from error
        except (OSError, ValueError) as error:
            raise FileError(f"cannot make the folder {place}: {reason_of(error)}") from error
    for path, data in placed(place, files).items():
        write_bytes(path, data)


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
    # A new file under the person's own mask, never a planted link. It allows nobody more than it
    # will in the end, not even while it is written.
    temporary.touch(0o666 if mode is None else mode & 0o666 | stat.S_IWUSR, exist_ok=False)
    with temporary.open("r+b") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if mode is not None and stat.S_IMODE(temporary.stat().st_mode) != mode:
        with contextlib.suppress(PermissionError):  # disks without such bits refuse
            temporary.chmod(mode)


def _remove_left_over(folder: Path) -> None:
    """Remove temporary files of this program whose writers were killed."""
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            found = _TEMPORARY.fullmatch(entry.name)
            if found is not None and entry.is_file(follow_symlinks=False) and _is_left_over(entry, found[1]):
                with contextlib.suppress(OSError):
                    Path(entry).unlink()


def _is_left_over(entry: os.DirEntry[str], writer: str | None) -> bool:
    if writer is not None and writer_ended(writer):
        return True
    return abs(time.time() - entry.stat(follow_symlinks=False).st_mtime) > _SURELY_LEFT


def make_private_folder(folder: Path) -> None:
    """Make a folder that only the person can look into, with the folders above that lack.

    Raises
    ------
    OSError
        If the system refuses.
    """
    lacking = [one for one in (folder, *folder.parents) if not one.exists()]
    for one in reversed(lacking):
        one.mkdir(mode=0o700, exist_ok=True)


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
