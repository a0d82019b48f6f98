"""The last net: an error that nobody foresaw is written down and told in plain words.

Installed as the interpreter's own hook, so it also sees what happens inside Qt's signals,
and no code above it has to catch everything. A request of the system to stop ends the program
tidily, too.
"""

from __future__ import annotations

import contextlib
import os
import platform
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType, TracebackType

# Apart from 1 (a wheel out of line) and 2 (bad input), so that a script can tell them.
EXIT_CODE = 70
INTERRUPTED = 130
# Asked by `kill`, the end of a session, a terminal that is closed. Windows sends neither.
REQUESTS_TO_STOP = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if sys.platform != "win32")


def log_folder() -> Path:
    """The folder of the person's own log; AXLEWRIGHT_HOME moves it, as all of the program's folders."""
    home = os.environ.get("AXLEWRIGHT_HOME")
    if home:
        return Path(home)
    import platformdirs  # late: only wanted when something went wrong

    return Path(platformdirs.user_state_dir("axlewright", appauthor=False))


def install(show: Callable[[str], None] | None = None) -> None:
    """Tell unforeseen errors in sentences instead of a traceback.

    Parameters
    ----------
    show
        Shows the sentences to the person at the window, which then goes on: unsaved work is still
        in it. Without it they are printed and the process ends with `EXIT_CODE`.
    """
    seen: set[str] = set()

    def hook(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            raise SystemExit(INTERRUPTED)
        traced = error.with_traceback(trace)
        if show is None:
            with contextlib.suppress(OSError):  # nowhere to tell it; the code still does
                print(told(traced, log_folder()), file=sys.stderr)
            raise SystemExit(EXIT_CODE)
        # What fails at each redraw is told once; endless boxes would bar the way to saving.
        place = "".join(traceback.format_tb(trace)[-1:])
        if place not in seen:
            seen.add(place)
            show(told(traced, log_folder()))

    sys.excepthook = hook


def _end_tidily(number: int, _frame: FrameType | None) -> None:
    """Leave as an error does, so that whoever writes a file clears its half away."""
    raise SystemExit(stopped_code(number))


def stop_when_asked(stop: Callable[[int, FrameType | None], None] = _end_tidily) -> None:
    """Choose what happens when the system asks the process to stop.

    Parameters
    ----------
    stop
        Called with the signal, between two steps of the interpreter. Unless given it ends the
        process, with the clearing up that any error brings. Requests that whoever started the
        process had it ignore (``nohup``) stay ignored.
    """
    if threading.current_thread() is not threading.main_thread():
        return  # only the main thread may choose
    for request in REQUESTS_TO_STOP:
        if signal.getsignal(request) is not signal.SIG_IGN:
            signal.signal(request, stop)


def stopped_code(number: int) -> int:
    """Exit code of a process that a signal stopped, as shells count it: 143 for TERM."""
    return 128 + number


def told(error: BaseException, folder: Path) -> str:
    """Write the details of an error to a file and say where they are.

    Parameters
    ----------
    error
        What was raised, with its traceback.
    folder
        Where the file goes; made when missing.

    Returns
    -------
    str
        The sentences for the person. When the file cannot be written they hold the details.
    """
    stamp = datetime.now(UTC)
    details = (
        f"{stamp.isoformat(timespec='seconds')}\n"
        f"Python {sys.version.split()[0]} on {platform.platform()}\n"
        f"{''.join(traceback.format_exception(error))}"
    )
    path = folder / f"trouble-{stamp:%Y%m%d-%H%M%S}-{os.getpid()}.txt"
    opening = "Axlewright met an error of its own. Your chassis files are as last saved.\n"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_text(details, encoding="utf-8")
    except OSError as unwritable:
        return f"{opening}The details could not be written down ({unwritable}). They are:\n{details}"
    return (
        f"{opening}The details are in {path}\n"
        "To have it mended, send that file to the makers with a word on what you did just before."
    )
