"""Who wrote a file of this program: which start of which process, and whether it still runs.

A process number alone does not tell: the next process may get it, at once in a container. The
moment at which its process started does, together with the boot that the moment is counted from.
The machine's name is asked only where the machine has no mark of its own, since names change.
"""

from __future__ import annotations

import hashlib
import math
import os
import platform
import secrets
import sys
import time
from functools import lru_cache
from pathlib import Path

from geometry.model.frozen import Frozen

# A process that cannot be asked about is taken for ended once its file was left alone for so long [s].
_SILENT_ELSEWHERE = 7 * 24 * 3600.0
# The same where it has a table of process numbers of its own on this machine: a few missed signs of life.
_SILENT_BESIDE = 600.0
# Starts nearer to each other than this are one [s]; numbers are not used again so soon.
_SAME_START = 0.5
# Tells this process from an earlier one of the same number where no start is known.
_PROCESS = secrets.token_hex(8)


class Owner(Frozen):
    """One start of one process; an empty text is a mark that the system does not give."""

    process: str
    """Random for each process."""
    pid: int
    host: str
    """The machine's name, which may change."""
    machine: str = ""
    """Made from the mark that the system's installation has."""
    boot: str = ""
    """One start of the machine, as the kernel calls it (Linux)."""
    process_table: str = ""
    """The table that `pid` counts in: a container has one of its own (Linux)."""
    started: float | None = None
    """When the process started [s]: since boot on Linux, else since 1970."""


def this_process() -> Owner:
    """The owner of what this process writes."""
    return _this(os.getpid())  # asked anew: a fork has another number


@lru_cache(maxsize=2)
def _this(pid: int) -> Owner:
    started = start_of(pid)
    return Owner(
        process=_PROCESS,
        pid=pid,
        host=platform.node(),
        machine=_machine(),
        boot=_line(Path("/proc/sys/kernel/random/boot_id")),
        process_table=_process_table(),
        started=None if started is None or math.isnan(started) else started,
    )


def may_still_run(owner: Owner, heard: float) -> bool:
    """Whether the process that wrote a file may still run; True in doubt.

    Parameters
    ----------
    owner : Owner
        What the file says of its writer.
    heard : float
        Its last sign of life, in seconds of `time.time`. It counts only where the process cannot
        be asked about: on another machine, or in another container of this one.
    """
    here = this_process()
    silent = abs(time.time() - heard)  # a clock that was set back gives no eternal life
    same_boot = owner.boot != "" and owner.boot == here.boot
    if same_boot and owner.process_table != here.process_table:
        return silent < _SILENT_BESIDE
    if not same_boot and not _same_machine(owner, here):
        return silent < _SILENT_ELSEWHERE
    if owner.boot and here.boot and not same_boot:
        return False  # the machine was started anew since
    if owner.pid == here.pid:
        return owner.process == here.process
    started = start_of(owner.pid)
    if started is None:
        return False
    if owner.started is None or math.isnan(started):
        return silent < _SILENT_ELSEWHERE  # by the number alone
    return abs(started - owner.started) < _SAME_START


def _same_machine(one: Owner, other: Owner) -> bool:
    if one.machine and other.machine:
        return one.machine == other.machine
    return one.host == other.host


def writer_mark() -> str:
    """Say in the letters of a file name which process writes; `writer_ended` reads it."""
    here = this_process()
    hundredths = 0 if here.started is None else round(100 * here.started)
    return f"{_place(here)}-{here.pid}-{hundredths}"


def writer_ended(mark: str) -> bool:
    """Whether the process of a mark has ended for sure; False in doubt, above all for one elsewhere."""
    place, pid, hundredths = mark.split("-")
    if place != _place(this_process()):
        return False
    started = start_of(int(pid))
    if started is None:
        return True
    return abs(started - int(hundredths) / 100) >= _SAME_START if int(hundredths) else False


def _place(owner: Owner) -> str:
    """Where a process number means one process: letters that differ from place to place."""
    return _digest(f"{owner.machine or owner.host} {owner.boot} {owner.process_table}")[:8]


def start_of(pid: int) -> float | None:
    """When the process of a number started.

    Parameters
    ----------
    pid : int
        Its number.

    Returns
    -------
    float or None
        Seconds, since boot on Linux (proc(5), field 22 of ``stat``), else since 1970. Not a number
        where it runs and nothing tells; None where no such process runs, or only its number is
        still held.
    """
    if pid <= 0:
        return None
    if sys.platform == "linux" and Path("/proc/self/stat").exists():
        return _start_on_linux(pid)
    return _start_elsewhere(pid)


def _start_on_linux(pid: int) -> float | None:
    try:
        words = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except (FileNotFoundError, ProcessLookupError):
        return None
    except OSError:
        return math.nan
    # The name of the program stands in brackets and may hold anything; state and start follow it.
    state, *rest = words.rpartition(")")[2].split()
    return None if state in {"Z", "X"} else int(rest[18]) / os.sysconf("SC_CLK_TCK")


def _start_elsewhere(pid: int) -> float | None:
    import psutil  # late: only wanted where the system itself has no file that tells

    try:
        process = psutil.Process(pid)
        return None if process.status() == psutil.STATUS_ZOMBIE else float(process.create_time())
    except (psutil.NoSuchProcess, OverflowError):
        return None
    except (psutil.Error, OSError):
        return math.nan


def _machine() -> str:
    """A mark of this installation, empty where the system has none; never the system's own mark.

    machine-id(5) asks not to let that one out, but what is made from it for one program. It also
    says that an image that was never started may hold the word "uninitialized".
    """
    if sys.platform == "win32":
        mark = _mark_on_windows()
    elif sys.platform == "darwin":
        mark = _mark_on_macos()
    else:
        mark = _line(Path("/etc/machine-id")) or _line(Path("/var/lib/dbus/machine-id"))
    return _digest(f"axlewright {mark}")[:16] if mark not in {"", "uninitialized"} else ""


def _mark_on_windows() -> str:
    if sys.platform == "win32":
        import winreg

        try:
            with winreg.OpenKey(winreg.HKEY_LOCAL_MACHINE, r"SOFTWARE\Microsoft\Cryptography") as key:
                return str(winreg.QueryValueEx(key, "MachineGuid")[0])
        except OSError:
            pass
    return ""


def _mark_on_macos() -> str:
    """Ask gethostuuid(2), which fills 16 bytes, and waits at most as long as it is told."""
    import ctypes  # late: only wanted there

    mark = (ctypes.c_ubyte * 16)()
    second = (ctypes.c_long * 2)(1, 0)  # struct timespec
    try:
        failed = ctypes.CDLL(None).gethostuuid(mark, second)
    except (OSError, AttributeError):
        return ""
    return "" if failed else bytes(mark).hex()


def _process_table() -> str:
    try:
        return str(Path("/proc/self/ns/pid").readlink())
    except OSError:
        return ""


def _line(path: Path) -> str:
    """The one line of a small file of the system, empty where there is none."""
    try:
        return path.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
