"""The person's preferences: how they like the window, never anything of a design."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import Any, Literal

import platformdirs
from pydantic import Field

from app.design.disk import FileError, read_bytes, write_bytes
from app.design.made import MOST_KEPT, MadeFile
from app.design.parsing import ParsingError, bounded, loaded
from app.units import LengthUnit
from geometry.errors import DesignError
from geometry.model.frozen import Frozen, built

Appearance = Literal["system", "light", "dark"]

NAME = "axlewright"
FILE_NAME = "settings.json"
MOST_RECENT = 10
VERSION: Literal[1] = 1


class Settings(Frozen):
    """Preferences, immutable and always valid."""

    version: Literal[1] = VERSION
    appearance: Appearance = "system"
    length_unit: LengthUnit = "mm"
    last_folder: str = Field("", max_length=4_096)
    recent_files: tuple[str, ...] = Field((), max_length=MOST_RECENT)
    symmetry: bool = True
    snap: bool = True
    full_circles: bool = False
    show_labels: bool = True
    show_ideal: bool = True
    show_tracks: bool = True
    """Whether each wheel leaves a track where the robot is driven."""
    show_swept: bool = True
    """Whether the space that the robot swept is shown there."""
    elevation: Literal["", "side", "front"] = ""
    """From where the second view looks; empty for none."""
    welcome_dismissed: bool = False
    export_rows: int = Field(201, ge=2, le=100_001)
    made: tuple[MadeFile, ...] = Field((), max_length=MOST_KEPT)
    stage: str = Field("lay out", max_length=20)
    unfolded: tuple[str, ...] | None = Field(None, max_length=40)
    taken_out: tuple[str, ...] = Field((), max_length=40)
    plots: tuple[str, ...] | None = Field(None, max_length=20)
    panel_widths: dict[str, int] = Field(default_factory=dict, max_length=20)
    code_format: str = Field("micropython", max_length=40)
    open_last: bool = False
    """Whether a start without a file opens the last one."""
    picture_scale: int = Field(2, ge=0, le=8)
    """Of the last picture of the plan: how many times as fine as the screen; 0 for lines."""
    window_state: str = Field("", max_length=400_000, description="of docks, which older versions had")
    window_geometry: str = Field("", max_length=400_000, description="base64")

    def with_recent(self, path: Path) -> Settings:
        """Put a file at the head of the recent ones, and its folder in mind."""
        text = str(path)
        recent = (text, *(other for other in self.recent_files if other != text))[:MOST_RECENT]
        return self.edited(recent_files=recent, last_folder=str(path.parent))

    def without_recent(self, path: Path) -> Settings:
        """Forget a file that can no longer be opened."""
        return self.edited(recent_files=tuple(p for p in self.recent_files if p != str(path)))


def settings_folder() -> Path:
    """Folder of the preferences; the variable AXLEWRIGHT_HOME moves it."""
    home = os.environ.get("AXLEWRIGHT_HOME")
    return Path(home) if home else Path(platformdirs.user_config_dir(NAME, appauthor=False))


def load_settings(folder: Path | None = None) -> Settings:
    """Read the preferences; a broken file gives the defaults and is kept aside as ``.broken``."""
    path = (folder or settings_folder()) / FILE_NAME
    try:
        values = loaded(read_bytes(path).decode("utf-8-sig"))
        version = values.get("version")
        newer = isinstance(version, int) and version > VERSION
        return _known(values) if newer else built(Settings, bounded(values))
    except (FileError, ParsingError, DesignError, UnicodeDecodeError):
        # Preferences never stop the program from starting; a missing file has nothing to keep.
        with contextlib.suppress(OSError):
            path.replace(path.with_name(FILE_NAME + ".broken"))
        return Settings()


def save_settings(settings: Settings, folder: Path | None = None) -> None:
    """Write the preferences, whole or not at all.

    Raises
    ------
    FileError
        If the system refuses.
    """
    chosen = folder or settings_folder()
    with contextlib.suppress(OSError):  # writing tells why
        chosen.mkdir(parents=True, exist_ok=True)
    # In ASCII: the name of a recent file may hold bytes that are no UTF-8.
    write_bytes(chosen / FILE_NAME, (json.dumps(settings.model_dump(), indent=2) + "\n").encode())


def _known(values: dict[str, Any]) -> Settings:
    """Take what a newer version's preferences have in common with these."""
    settings = Settings()
    for key, value in bounded(values).items():
        if key != "version" and key in Settings.model_fields:
            with contextlib.suppress(DesignError):
                settings = settings.edited(**{key: value})
    return settings
