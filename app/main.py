"""The start: the command line for its verbs, else the window. Qt is imported only for the window."""

from __future__ import annotations

import difflib
import gc
import math
import os
import stat
import sys
from collections.abc import Sequence
from pathlib import Path

from app import crash, qt_check
from app.cli.command_line import run
from app.cli.exit_codes import BAD_INPUT
from app.cli.registry import verb_names
from app.cli.streams import complain, ready_streams
from app.design.disk import named_file, reason_of
from geometry.errors import AxlewrightError

FLAGS_OF_COMMAND_LINE = ("-h", "--help", "--version")


class StartError(AxlewrightError):
    """The program cannot start in the way that was asked for."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    argv
        The words after the program's name, those of the process unless given.

    Returns
    -------
    int
        0 when all is well, 1 when `check` finds a wheel out of line, 2 on bad input or where no
        window can open, 130 after Ctrl-C, 143 when the system asked to stop; `app.crash.EXIT_CODE` on
        an error of the program itself.
    """
    crash.install()
    ready_streams()
    crash.stop_when_asked()
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        if words and (words[0] in verb_names() or words[0] in FLAGS_OF_COMMAND_LINE):
            return run(words)
        return _window(_file_of(words), _seconds_to_live())
    except KeyboardInterrupt:
        return crash.INTERRUPTED
    except AxlewrightError as error:
        complain(str(error))
        return BAD_INPUT


def _file_of(words: list[str]) -> Path | None:
    """The one file that the window shall open, None for a start without one."""
    if words[:1] == ["--"]:
        words = words[1:]
    elif words and words[0].startswith("-"):
        raise StartError(f"{words[0]} is no option of axlewright. See: axlewright --help")
    if not words:
        return None
    near = difflib.get_close_matches(words[0].casefold(), verb_names(), n=1)
    hint = f" Did you mean: axlewright {near[0]}" if near else " See: axlewright --help"
    if len(words) > 1 and near and words[0].isalpha() and not os.path.exists(words[0]):  # noqa: PTH110
        raise StartError(f"{words[0]} is no command of axlewright.{hint}")
    if len(words) > 1:
        raise StartError(
            f"axlewright opens one file at a time (got {len(words)}: {', '.join(words)}).\n"
            "A name with spaces needs quotes. See: axlewright --help"
        )
    path = named_file(words[0])
    try:
        folder = stat.S_ISDIR(path.stat().st_mode)
    except FileNotFoundError:
        raise StartError(f"{path}: there is no such file and no such command.{hint}") from None
    except (OSError, ValueError) as error:
        raise StartError(f"cannot open {path}: {reason_of(error)}") from error
    if folder:
        raise StartError(f"cannot open {path}: it is a folder; choose a file")
    return path


def _seconds_to_live() -> float | None:
    """How long the window stays open by itself: for trials without a person, unset as a rule."""
    text = os.environ.get("AXLEWRIGHT_QUIT_AFTER", "")
    if not text:
        return None
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0 <= seconds < math.inf:
        raise StartError(f"AXLEWRIGHT_QUIT_AFTER must be a number of seconds from 0 (got {text!r})")
    return seconds


def _window(path: Path | None, seconds: float | None) -> int:
    """Open the window, or say why it cannot open here."""
    trouble = qt_check.trouble()
    if trouble:
        raise StartError(trouble)
    start_swiftly()
    try:
        # Late: the command line must not pay for Qt, nor need it.
        try:
            import PySide6.QtWidgets  # noqa: F401  its libraries may lack, which is the person's to mend
        except ImportError as error:
            raise StartError(qt_check.import_trouble(error)) from error
        from app.window.start import open_window

        return open_window(path, seconds=seconds)
    finally:
        gc.enable()


def start_swiftly() -> None:
    """Load what has nothing to do with Qt, and collect no garbage until the window is there.

    Once its binding is loaded, it reads the source of each module that comes after. Nearly all objects
    that a start makes are there to stay: looking through them for garbage took an eighth of it.
    `app.window.start` collects again.
    """
    gc.disable()
    import app.design.body_edits
    import app.design.open_files
    import app.design.recovery
    import app.design.samples
    import app.design.selection_edits
    import app.settings
    import app.views.following
    import app.views.placing
    import app.views.tips
    import app.words.motor_words
    import app.words.stage_states
    import app.words.verdict  # noqa: F401


if __name__ == "__main__":
    sys.exit(main())
