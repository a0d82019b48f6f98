"""Rows of the table of actions: the View and Help menus."""

from __future__ import annotations

from functools import partial

from PySide6.QtGui import QKeySequence

from app.window import why_not
from app.window.action_spec import ActionSpec
from app.window.frame import Frame

_Keys = QKeySequence.StandardKey


def _show_help(window: Frame) -> None:
    from app.dialogs.help import show_help

    show_help(window)


def _show_news(window: Frame) -> None:
    from app.dialogs.help import show_news

    show_news(window)


def _show_about(window: Frame) -> None:
    from app.dialogs.help import show_about

    show_about(window)


def _measure(window: Frame) -> None:
    window.middle.measure()
    window.middle.note.tell("Drag from one place to another; Esc ends it.")


def _look_from(window: Frame, side: str) -> None:
    """Show the second view from there, or close it where it looks from there already."""
    window.prefer(elevation="" if window.filing.settings.elevation == side else side)
    if window.filing.settings.elevation:
        window.go_to_stage("lay out")


VIEW_ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec(
        "fit",
        "View",
        "&Fit",
        "Show the whole chassis, and the turn centre where it is near.",
        shortcut="Ctrl+0",
        run=lambda w: w.middle.drawing.fit(),
        tool="Fit",
        on_plan=True,
        spots=("ground", "centre"),
    ),
    ActionSpec(
        "zoom_in",
        "View",
        "Zoom &in",
        "Show it larger.",
        shortcut=_Keys.ZoomIn,
        run=lambda w: w.middle.drawing.zoom(1.25),
    ),
    ActionSpec(
        "zoom_out",
        "View",
        "Zoom &out",
        "Show more of it.",
        shortcut=_Keys.ZoomOut,
        run=lambda w: w.middle.drawing.zoom(0.8),
    ),
    ActionSpec(
        "circles",
        "View",
        "Full &circles",
        "Draw the whole circle of each wheel's path.",
        shortcut="Ctrl+L",
        run=lambda w: w.prefer(full_circles=not w.filing.settings.full_circles),
        checked=lambda s: s.full_circles,
        tool="Full circles",
        gap=True,
    ),
    ActionSpec(
        "labels",
        "View",
        "La&bels",
        "Name, angle and miss beside each wheel.",
        shortcut="Ctrl+B",
        run=lambda w: w.prefer(show_labels=not w.filing.settings.show_labels),
        checked=lambda s: s.show_labels,
    ),
    ActionSpec(
        "ideal",
        "View",
        "I&deal beside as built",
        "Beside what the motors do, show what would suit: dashed wheels, a ring for the turn centre.",
        shortcut="Ctrl+I",
        run=lambda w: w.prefer(show_ideal=not w.filing.settings.show_ideal),
        why_not=why_not.no_motor,
        checked=lambda s: s.show_ideal,
        offered=lambda view: view.motored,
    ),
    ActionSpec(
        "tracks",
        "View",
        "&Tracks of the wheels",
        "In the stage Drive, draw the way of each wheel, with bars across it where it drags, longer the more "
        "it does; without, the line of the robot has them.",
        run=lambda w: w.prefer(show_tracks=not w.filing.settings.show_tracks),
        checked=lambda s: s.show_tracks,
    ),
    ActionSpec(
        "swept",
        "View",
        "S&wept space",
        "In the stage Drive, tint all that body, wheels and parts have passed over since the start.",
        run=lambda w: w.prefer(show_swept=not w.filing.settings.show_swept),
        checked=lambda s: s.show_swept,
    ),
    ActionSpec(
        "measure",
        "View",
        "&Measure",
        "Drag from one place to another, on the plan or in the side or front view: distance and angle are "
        "told; things catch its ends.",
        shortcut="M",
        run=_measure,
        tool="Measure",
        on_plan=True,
        needs_plan=True,
        spots=("ground",),
        gap=True,
    ),
    ActionSpec(
        "side_view",
        "View",
        "&Side view",
        "Show body, wheels and parts from the left side below the plan, and drag parts there.",
        run=partial(_look_from, side="side"),
        checked=lambda s: s.elevation == "side",
        tool="Side",
    ),
    ActionSpec(
        "front_view",
        "View",
        "Fro&nt view",
        "Show body, wheels and parts from the front below the plan, and drag parts there.",
        run=partial(_look_from, side="front"),
        checked=lambda s: s.elevation == "front",
        tool="Front",
    ),
    ActionSpec(
        "system",
        "View",
        "As the &system",
        "Light or dark as the system is.",
        run=lambda w: w.prefer(appearance="system"),
        checked=lambda s: s.appearance == "system",
        group="Appearance",
        gap=True,
        at_start=True,
    ),
    ActionSpec(
        "light",
        "View",
        "&Light",
        "Dark ink on a light ground.",
        run=lambda w: w.prefer(appearance="light"),
        checked=lambda s: s.appearance == "light",
        group="Appearance",
        at_start=True,
    ),
    ActionSpec(
        "dark",
        "View",
        "&Dark",
        "Light ink on a dark ground.",
        run=lambda w: w.prefer(appearance="dark"),
        checked=lambda s: s.appearance == "dark",
        group="Appearance",
        at_start=True,
    ),
    ActionSpec(
        "mm",
        "View",
        "&Millimetres",
        "Lengths in millimetres, and drag in millimetres per metre.",
        run=lambda w: w.prefer(length_unit="mm"),
        checked=lambda s: s.length_unit == "mm",
        group="Lengths",
        at_start=True,
    ),
    ActionSpec(
        "inch",
        "View",
        "&Inches",
        "Lengths in inches, and drag in inches per foot; files stay in millimetres.",
        run=lambda w: w.prefer(length_unit="inch"),
        checked=lambda s: s.length_unit == "inch",
        group="Lengths",
        at_start=True,
    ),
    ActionSpec(
        "layout",
        "View",
        "&Reset the layout",
        "Put every section back as it was at first: its place, its fold and the width of the panel.",
        run=lambda w: w.reset_layout(),
        gap=True,
    ),
    ActionSpec(
        "help",
        "Help",
        "&Help",
        "Your first robot in steps, the stages, each word explained, and the cautions.",
        shortcut=_Keys.HelpContents,
        run=_show_help,
        at_start=True,
    ),
    ActionSpec(
        "welcome",
        "Help",
        "Show the &first steps",
        "Three sentences for a start.",
        run=lambda w: w.prefer(welcome_dismissed=False),
    ),
    ActionSpec(
        "news",
        "Help",
        "What is &new",
        "What each version brought, the newest first.",
        run=_show_news,
        at_start=True,
    ),
    ActionSpec(
        "about",
        "Help",
        "&About Axlewright",
        "Version and licence.",
        run=_show_about,
        gap=True,
        at_start=True,
    ),
)
