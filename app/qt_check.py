"""What window and paper want from the system, asked before Qt is loaded.

Qt itself ends a process without its libraries by a loader's message or an abort.
Here the same libraries are tried one by one first, and what lacks is told in plain
words. Nothing here imports Qt.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

Loader = Callable[[str], object]


@dataclass(frozen=True)
class Library:
    """A shared library of the system: the loader's name and the Debian package that holds it."""

    soname: str
    debian: str


# From the link lists of Qt's own binaries (QtCore, QtGui, QtDBus, the xcb and wayland plugins).
CORE = (
    Library("libEGL.so.1", "libegl1"),
    Library("libGL.so.1", "libgl1"),
    Library("libfontconfig.so.1", "libfontconfig1"),
    Library("libfreetype.so.6", "libfreetype6"),
    Library("libglib-2.0.so.0", "libglib2.0-0"),
    Library("libgthread-2.0.so.0", "libglib2.0-0"),
    Library("libdbus-1.so.3", "libdbus-1-3"),
    Library("libxkbcommon.so.0", "libxkbcommon0"),
    Library("libX11.so.6", "libx11-6"),
    Library("libz.so.1", "zlib1g"),
    Library("libzstd.so.1", "libzstd1"),
)
XCB = (
    Library("libxcb.so.1", "libxcb1"),
    Library("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
    Library("libxcb-cursor.so.0", "libxcb-cursor0"),
    Library("libxcb-icccm.so.4", "libxcb-icccm4"),
    Library("libxcb-image.so.0", "libxcb-image0"),
    Library("libxcb-keysyms.so.1", "libxcb-keysyms1"),
    Library("libxcb-randr.so.0", "libxcb-randr0"),
    Library("libxcb-render.so.0", "libxcb-render0"),
    Library("libxcb-render-util.so.0", "libxcb-render-util0"),
    Library("libxcb-shape.so.0", "libxcb-shape0"),
    Library("libxcb-shm.so.0", "libxcb-shm0"),
    Library("libxcb-sync.so.1", "libxcb-sync1"),
    Library("libxcb-util.so.1", "libxcb-util1"),
    Library("libxcb-xfixes.so.0", "libxcb-xfixes0"),
    Library("libxcb-xkb.so.1", "libxcb-xkb1"),
    Library("libX11-xcb.so.1", "libx11-xcb1"),
)
WAYLAND = (
    Library("libwayland-client.so.0", "libwayland-client0"),
    Library("libwayland-cursor.so.0", "libwayland-cursor0"),
)

COMMAND_LINE_HINT = (
    "The command line works without it (or with: python3 .start in place of: axlewright):\n"
    "    axlewright check FILE              is every axle in line?\n"
    "    axlewright table FILE -o OUT.csv   the steering table\n"
    "    axlewright --help                  all of it"
)


def trouble(
    environment: Mapping[str, str] | None = None,
    platform: str = sys.platform,
    loader: Loader = ctypes.CDLL,
    answers: Callable[[], bool] | None = None,
) -> str | None:
    """Say what keeps the window from opening on this system, None when nothing is known to.

    Parameters
    ----------
    environment
        The process's environment unless given.
    platform
        As `sys.platform` says it; only ``linux`` is examined, elsewhere Qt brings all it needs.
    loader
        Loads a library by its name and raises `OSError` where it lacks.
    answers
        Whether the X screen lets this program in; asked only where that is the one way.
    """
    variables = os.environ if environment is None else environment
    if not platform.startswith("linux"):
        return None
    chosen = variables.get("QT_QPA_PLATFORM", "")
    on_x, on_wayland = bool(variables.get("DISPLAY")), bool(variables.get("WAYLAND_DISPLAY"))
    if not chosen and not on_x and not on_wayland:
        return _no_window("this session has no screen\n(neither DISPLAY nor WAYLAND_DISPLAY is set).")
    ways = _ways(chosen, on_x=on_x, on_wayland=on_wayland)
    # One complete way to the screen is enough; the first is the one to repair.
    gaps = [_lacking(way, loader) for way in ways]
    lacking = _lacking(CORE, loader) + (gaps[0] if gaps and () not in gaps else ())
    if lacking:
        return _no_window(_gap(lacking))
    if ways == [XCB] and not (answers or _x_screen_answers)():
        screen = variables.get("DISPLAY", "")
        return _no_window(
            f"the screen DISPLAY={screen} does not answer.\n"
            "Is it running, and may this user draw on it (over ssh: ssh -X)?"
        )
    return None


def paper_trouble(platform: str = sys.platform, loader: Loader = ctypes.CDLL) -> str | None:
    """Say what keeps paper from being drawn on this system, which wants Qt but no screen; None if nothing.

    Parameters
    ----------
    platform, loader
        As of `trouble`.
    """
    lacking = _lacking(CORE, loader) if platform.startswith("linux") else ()
    return _no_paper(_gap(lacking)) if lacking else None


def import_trouble(error: ImportError) -> str:
    """Say in plain words why Qt's Python binding could not be loaded.

    Returns
    -------
    str
        Names the library and its package where the loader's text names one known here.
    """
    return _no_window(_import_reason(error))


def paper_import_trouble(error: ImportError) -> str:
    """As `import_trouble`, where it was paper that was to be drawn."""
    return _no_paper(_import_reason(error))


def _import_reason(error: ImportError) -> str:
    text = str(error)
    for library in (*CORE, *XCB, *WAYLAND):
        if library.soname in text:
            return _gap((library,))
    return (
        "PySide6, the part that draws it, does not load here.\n"
        f"The system says: {text}\n"
        "Install the program anew in a fresh environment; if it stays, this system may be too old\n"
        "for it (PySide6 wants a 64-bit system of the last few years)."
    )


def main() -> int:
    """Print what lacks and return 2, or return 0 silently: for those who start the tests."""
    found = trouble()
    if found:
        print(found, file=sys.stderr)
    return 2 if found else 0


def _ways(chosen: str, *, on_x: bool, on_wayland: bool) -> list[tuple[Library, ...]]:
    """The library sets by which Qt may reach the screen here, the one to repair first."""
    if chosen:
        names = [name.split(":")[0] for name in chosen.split(";")]
        if any(name not in {"xcb", "wayland"} for name in names):
            return []
        return [XCB if name == "xcb" else WAYLAND for name in names]
    return [XCB] * on_x + [WAYLAND] * on_wayland


def _x_screen_answers() -> bool:
    """Whether the X screen of this session takes a connection; Qt would abort where it does not."""
    xcb = ctypes.CDLL("libxcb.so.1")
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connection_has_error.argtypes = xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    failed = bool(xcb.xcb_connection_has_error(connection))
    xcb.xcb_disconnect(connection)
    return not failed


def _lacking(libraries: Sequence[Library], loader: Loader) -> tuple[Library, ...]:
    """Those of the libraries that the loader does not find."""
    return tuple(library for library in libraries if not _loads(library.soname, loader))


def _loads(soname: str, loader: Loader) -> bool:
    """Whether the loader finds the library."""
    try:
        loader(soname)
    except OSError:
        return False
    return True


def _gap(lacking: Sequence[Library]) -> str:
    """What is said of libraries that lack, with the line that installs them."""
    names = ", ".join(library.soname for library in lacking)
    packages = " ".join(dict.fromkeys(library.debian for library in lacking))
    return (
        "the system lacks libraries that Qt wants:\n"
        f"    {names}\n"
        "On Debian, Ubuntu and their kin this installs them:\n"
        f"    sudo apt install {packages}\n"
        "On other systems, install the packages that hold these libraries."
    )


def _no_window(reason: str) -> str:
    """A reason, framed by what fails and by what works all the same."""
    return f"Axlewright cannot open its window: {reason}\n{COMMAND_LINE_HINT}"


def _no_paper(reason: str) -> str:
    """A reason, framed by what fails and by what works all the same."""
    return f"a page cannot be drawn: {reason}\nDrawings as SVG or DXF, tables and code need none of this."


if __name__ == "__main__":
    sys.exit(main())
