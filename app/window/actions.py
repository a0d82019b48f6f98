"""The table of actions that menus, tool bar, keys and tests share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow

from app.panels.form import take_typed

Handler = Callable[[], object]
_Keys = QKeySequence.StandardKey
MENUS = ("File", "Edit", "Turn", "View", "Help")


@dataclass(frozen=True)
class ActionSpec:
    """One thing that the person can do."""

    key: str
    menu: str
    text: str
    tip: str
    shortcut: str | _Keys | None = None
    checkable: bool = False
    group: str = ""
    """Actions of one group exclude each other; the group names a submenu."""
    tool: str = ""
    """Text on the tool bar; empty for none."""
    gap: bool = False
    """True where a line stands before it."""


ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec("new", "File", "&New chassis", "Start with an empty chassis.", _Keys.New),
    ActionSpec("open", "File", "&Open…", "Open a chassis file.", _Keys.Open, tool="Open"),
    ActionSpec("save", "File", "&Save", "Save the chassis.", _Keys.Save, tool="Save", gap=True),
    ActionSpec("save_as", "File", "Save &as…", "Save the chassis under another name.", "Ctrl+Shift+S"),
    ActionSpec(
        "export",
        "File",
        "&Export steering table…",
        "Choose the rows, see the table, save it.",
        "Ctrl+E",
        gap=True,
        tool="Export table",
    ),
    ActionSpec(
        "export_code",
        "File",
        "Export code for the &controller…",
        "Choose how exact and how large, see the code and its errors, save it.",
        "Ctrl+Shift+E",
    ),
    ActionSpec("quit", "File", "&Quit", "Leave the program.", "Ctrl+Q", gap=True),
    ActionSpec("undo", "Edit", "&Undo", "Take the last change back.", _Keys.Undo, tool="Undo"),
    ActionSpec("redo", "Edit", "&Redo", "Make the change again.", _Keys.Redo, tool="Redo"),
    ActionSpec(
        "add",
        "Edit",
        "&Add a wheel",
        "Add a wheel in the middle of the plan.",
        "Ins",
        gap=True,
        tool="Add wheel",
    ),
    ActionSpec(
        "mirror",
        "Edit",
        "&Duplicate to the mirrored place",
        "Copy the selected wheels to the other side.",
        "Ctrl+D",
        tool="Mirror",
    ),
    ActionSpec("delete", "Edit", "Dele&te", "Delete the selected wheels.", "Del", tool="Delete"),
    ActionSpec("select_all", "Edit", "Select a&ll wheels", "Select every wheel.", _Keys.SelectAll, gap=True),
    ActionSpec(
        "select_worst",
        "Edit",
        "Select the &worst wheel",
        "Select the wheel with the largest slip angle.",
        "Ctrl+Shift+W",
    ),
    ActionSpec("next_wheel", "Edit", "Select the ne&xt wheel", "Go round the wheels.", "Ctrl+."),
    ActionSpec(
        "symmetry",
        "Edit",
        "S&ymmetry",
        "The partner on the other side follows every change.",
        "Ctrl+Shift+M",
        checkable=True,
        tool="Symmetry",
        gap=True,
    ),
    ActionSpec(
        "snap",
        "Edit",
        "Snap to the &grid",
        "Places snap to the hole pattern, or to whole millimetres. Alt while dragging leaves it.",
        "Ctrl+G",
        checkable=True,
        tool="Snap",
    ),
    ActionSpec(
        "add_steer_motor",
        "Edit",
        "Add a &steer motor",
        "Add a motor that turns the selected wheels, or the next steered one without a motor.",
        gap=True,
    ),
    ActionSpec(
        "add_drive_motor",
        "Edit",
        "Add a dri&ve motor",
        "Add a motor that drives the selected wheels, or the next driven one without a motor.",
    ),
    ActionSpec(
        "suggest",
        "Edit",
        "Suggest s&haring motors…",
        "Find the best way to share few steer motors among the steered wheels.",
    ),
    ActionSpec("straight", "Turn", "&Straight ahead", "Turn input 0.", "Ctrl+Up"),
    ActionSpec("left", "Turn", "Steer &left", "Turn input 0.05 more to the left.", "Ctrl+Left"),
    ActionSpec("right", "Turn", "Steer &right", "Turn input 0.05 more to the right.", "Ctrl+Right"),
    ActionSpec(
        "stop_left",
        "Turn",
        "Left side st&opped",
        "Turn input 0.5: turn about the left side's reference point.",
        gap=True,
    ),
    ActionSpec(
        "stop_right",
        "Turn",
        "Right side sto&pped",
        "Turn input -0.5: turn about the right side's reference point.",
    ),
    ActionSpec(
        "spot_left",
        "Turn",
        "On the spot to the l&eft",
        "Turn input 1: the sides run equally fast in opposite senses.",
    ),
    ActionSpec(
        "spot_right",
        "Turn",
        "On the spot to the ri&ght",
        "Turn input -1: the sides run equally fast in opposite senses.",
    ),
    ActionSpec(
        "next_mark",
        "Turn",
        "&Next mark to the left",
        "Go to the next place where something happens.",
        "Ctrl+PgUp",
        gap=True,
    ),
    ActionSpec(
        "last_mark",
        "Turn",
        "Next &mark to the right",
        "Go to the next place where something happens.",
        "Ctrl+PgDown",
    ),
    ActionSpec("reverse", "Turn", "Re&verse", "Drive backward; every steer angle stays.", "Ctrl+R", gap=True),
    ActionSpec(
        "fit",
        "View",
        "&Fit",
        "Show the whole chassis, and the turn centre where it is near.",
        "Ctrl+0",
        tool="Fit",
    ),
    ActionSpec("zoom_in", "View", "Zoom &in", "Show it larger.", _Keys.ZoomIn),
    ActionSpec("zoom_out", "View", "Zoom &out", "Show more of it.", _Keys.ZoomOut),
    ActionSpec(
        "circles",
        "View",
        "Full &circles",
        "Draw the whole circle of each wheel's path.",
        "Ctrl+L",
        checkable=True,
        tool="Full circles",
        gap=True,
    ),
    ActionSpec(
        "labels", "View", "La&bels", "Name, angle and miss beside each wheel.", "Ctrl+B", checkable=True
    ),
    ActionSpec(
        "ideal",
        "View",
        "I&deal beside as built",
        "Beside what the motors do, show what would suit: dashed wheels, a ring for the turn centre.",
        "Ctrl+I",
        checkable=True,
    ),
    ActionSpec(
        "system",
        "View",
        "As the &system",
        "Light or dark as the system is.",
        checkable=True,
        group="Appearance",
        gap=True,
    ),
    ActionSpec("light", "View", "&Light", "Dark ink on a light ground.", checkable=True, group="Appearance"),
    ActionSpec("dark", "View", "&Dark", "Light ink on a dark ground.", checkable=True, group="Appearance"),
    ActionSpec("mm", "View", "&Millimetres", "Lengths in millimetres.", checkable=True, group="Lengths"),
    ActionSpec(
        "inch",
        "View",
        "&Inches",
        "Lengths in inches; files stay in millimetres.",
        checkable=True,
        group="Lengths",
    ),
    ActionSpec(
        "layout", "View", "&Reset the layout", "Put every panel back where it was at first.", gap=True
    ),
    ActionSpec(
        "help",
        "Help",
        "&Words and cautions",
        "Each word explained, with a picture; and the cautions.",
        _Keys.HelpContents,
    ),
    ActionSpec("welcome", "Help", "Show the &first steps", "Three sentences for a start."),
    ActionSpec("news", "Help", "What is &new", "What each version brought, the newest first."),
    ActionSpec("about", "Help", "&About Axlewright", "Version and licence.", gap=True),
)


def _act(window: QMainWindow, handler: Handler, _on: object = None) -> None:
    take_typed(window)
    handler()


def make_actions(window: QMainWindow, handlers: Mapping[str, Handler]) -> dict[str, QAction]:
    """Make every action of the table, bound to its handler.

    Raises
    ------
    KeyError
        If an action has no handler.
    """
    made = {}
    for spec in ACTIONS:
        action = QAction(spec.text, window)
        action.setObjectName(spec.key)
        action.setCheckable(spec.checkable)
        if spec.shortcut is not None:
            if isinstance(spec.shortcut, str):
                action.setShortcut(QKeySequence(spec.shortcut))
            else:
                action.setShortcuts(spec.shortcut)
        keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        action.setToolTip(f"{spec.tip} ({keys})" if keys else spec.tip)
        action.setStatusTip("")
        action.triggered.connect(partial(_act, window, handlers[spec.key]))
        if spec.tool:
            action.setIconText(spec.tool)
        made[spec.key] = action
    return made
