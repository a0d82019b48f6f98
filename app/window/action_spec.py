"""What one row of the table of actions says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtGui import QKeySequence

from app.picture.view import View
from app.settings import Settings
from app.views.picking import SPOTS, Spot
from app.window.frame import Frame


@dataclass(frozen=True)
class ActionSpec:
    """One thing that the person can do."""

    key: str
    menu: str
    text: str
    tip: str
    run: Callable[[Frame], object]
    """What it does; finished typing is taken up before."""
    shortcut: str | QKeySequence.StandardKey | None = None
    more_shortcuts: tuple[str, ...] = ()
    """Keys that do the same on every system."""
    checked: Callable[[Settings], bool] | None = None
    """Whether it is ticked; None where it has no tick."""
    offered: Callable[[View], bool] | None = None
    """Whether it is shown with such a picture; None where it always is."""
    why_not: Callable[[Frame], str] | None = None
    """Why it would change nothing now, a sentence; empty where it can be used. None where it always can."""
    at_start: bool = False
    """Whether it can be used on the start page, where no chassis is in sight."""
    group: str = ""
    """Names a submenu; those of one with `checked` exclude each other."""
    tool: str = ""
    """Its short text among the tools on the plan and in the bar; empty for that of the menu."""
    gap: bool = False
    """True where a line stands before it."""
    on_plan: bool = False
    """True where the menus of the plan have it too."""
    needs_plan: bool = False
    """True where it works on what the plan alone shows: it is refused where the course is in its place."""
    spots: tuple[Spot, ...] = SPOTS
    """What must be under the mouse, or be selected, for the plan's menu to have it."""
    held: Callable[[View], bool] | None = None
    """Whether it is ticked with such a picture; None where it has no such tick."""
    alone: tuple[str, str] | None = None
    """Its text and its short text while symmetry is off; None where they stay."""
