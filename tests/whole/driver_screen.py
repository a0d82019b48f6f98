"""A screen of its own for tests that want the real platform plugin: Xvfb and a window manager."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_MANAGERS = ("openbox", "metacity", "xfwm4", "icewm", "twm")
_SYSTEM_FOLDERS = ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME")
_OF_ANOTHER_SCREEN = ("WAYLAND_DISPLAY", "XAUTHORITY", "QT_SCALE_FACTOR", "QT_SCREEN_SCALE_FACTORS")


def why_not() -> str:
    """Why there can be no screen of its own here; nothing where there can."""
    if not sys.platform.startswith("linux"):
        return "a screen of its own is for Linux alone"
    if shutil.which("Xvfb") is None:
        return "Xvfb draws the screen and is not installed (Debian: apt install xvfb openbox)"
    return ""


@contextlib.contextmanager
def own_screen(size: tuple[int, int], home: Path) -> Iterator[dict[str, str]]:
    """Start a screen and give the environment for a program on it; all is ended afterwards.

    Parameters
    ----------
    size : tuple of int
        Width and height [px].
    home : Path
        Folder that stands for the person's own; preferences and files go there.
    """
    reading, writing = os.pipe()
    command = ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{size[0]}x{size[1]}x24"]
    server = subprocess.Popen(
        [*command, "-nolisten", "tcp"],
        pass_fds=(writing,),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    os.close(writing)
    manager: subprocess.Popen[bytes] | None = None
    try:
        with os.fdopen(reading) as said:
            number = said.readline().strip()
        if not number:
            raise RuntimeError(f"Xvfb did not start (it ended with {server.wait(10)})")
        environment = surroundings(home) | {"DISPLAY": f":{number}", "QT_QPA_PLATFORM": "xcb"}
        found = next(filter(None, map(shutil.which, _MANAGERS)), None)
        if found is not None:
            manager = subprocess.Popen(
                [found],
                env=environment,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        yield environment
    finally:
        for process in (manager, server):
            if process is not None:
                process.terminate()
                process.wait(10)


def surroundings(home: Path) -> dict[str, str]:
    """The environment of a program that knows nothing of this person: no preferences, no files, English."""
    home.mkdir(parents=True, exist_ok=True)
    away = {name: str(home / name.lower()) for name in _SYSTEM_FOLDERS}
    kept = {name: value for name, value in os.environ.items() if name not in _OF_ANOTHER_SCREEN}
    return (
        kept
        | away
        | {
            "HOME": str(home),
            "AXLEWRIGHT_HOME": str(home / "preferences"),
            "AXLEWRIGHT_QUIT_AFTER": "",
            "LC_ALL": "C.UTF-8",
            "PYTHONPATH": str(ROOT),
            "PYTHONFAULTHANDLER": "1",
        }
    )
