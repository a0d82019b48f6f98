"""The panels: one row each, from which the window makes sections, menu, keys and help.

A row imports its panel inside a function: what is not shown need not be loaded, and the check of the layers
sees the import.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from app.document import Document
from app.panels.panel import Panel

Stage = Literal["lay out", "motors", "check", "drive", "build", "bench"]
"""Steps of the work on a robot, in their order."""


@dataclass(frozen=True)
class PanelSpec:
    """One panel."""

    key: str
    title: str
    stage: Stage
    shortcut: str | None
    """Key that goes to it; None for none."""
    rests: bool
    """Whether it works nothing out while it is out of sight, and catches up when it is seen."""
    make: Callable[[Document], Panel]
    unfolded: bool = False
    """Whether its section is unfolded until the person folds it."""


def _wheels(document: Document) -> Panel:
    from app.panels.wheel_table import PlaceTable

    return PlaceTable(document)


def _this_turn(document: Document) -> Panel:
    from app.panels.wheel_table import TurnTable

    return TurnTable(document)


def _wheel(document: Document) -> Panel:
    from app.panels.wheel_editor import WheelEditor

    return WheelEditor(document)


def _swing(document: Document) -> Panel:
    from app.panels.wheel_editor import SwingEditor

    return SwingEditor(document)


def _body(document: Document) -> Panel:
    from app.panels.body_editor import BodyEditor

    return BodyEditor(document)


def _chassis(document: Document) -> Panel:
    from app.panels.chassis_editor import ChassisEditor

    return ChassisEditor(document)


def _parts(document: Document) -> Panel:
    from app.panels.part_table import PartTable

    return PartTable(document)


def _part(document: Document) -> Panel:
    from app.panels.part_editor import PartEditor

    return PartEditor(document)


def _room(document: Document) -> Panel:
    from app.panels.part_editor import RoomEditor

    return RoomEditor(document)


def _inside(document: Document) -> Panel:
    from app.panels.inside_editor import InsideEditor

    return InsideEditor(document)


def _drive(document: Document) -> Panel:
    from app.panels.drive_panel import DrivePanel

    return DrivePanel(document)


def _drag(document: Document) -> Panel:
    from app.panels.drag_panel import DragPanel

    return DragPanel(document)


def _course(document: Document) -> Panel:
    from app.panels.course_panel import CoursePanel

    return CoursePanel(document)


def _script(document: Document) -> Panel:
    from app.panels.script_panel import ScriptPanel

    return ScriptPanel(document)


def _plot(document: Document) -> Panel:
    from app.panels.plot_panel import PlotPanel

    return PlotPanel(document)


def _working(document: Document) -> Panel:
    from app.panels.working_panel import WorkingPanel

    return WorkingPanel(document)


def _measures(document: Document) -> Panel:
    from app.panels.measures_panel import MeasuresPanel

    return MeasuresPanel(document)


def _build(document: Document) -> Panel:
    from app.panels.build_panel import BuildPanel

    return BuildPanel(document)


def _motors(document: Document) -> Panel:
    from app.panels.motors_panel import MotorsPanel

    return MotorsPanel(document)


PANELS: tuple[PanelSpec, ...] = (
    PanelSpec("wheels", "Wheels", "lay out", "Alt+1", rests=False, make=_wheels, unfolded=True),
    PanelSpec("wheel", "Wheel", "lay out", "Alt+2", rests=False, make=_wheel, unfolded=True),
    PanelSpec("swing", "Travel and trail", "lay out", "Alt+3", rests=False, make=_swing),
    PanelSpec("body", "Body", "lay out", "Alt+4", rests=False, make=_body),
    PanelSpec("chassis", "Chassis", "lay out", "Alt+5", rests=False, make=_chassis),
    PanelSpec("motors", "Motors", "motors", "Alt+6", rests=True, make=_motors, unfolded=True),
    PanelSpec(
        "this turn", "Wheels at this turn", "check", "Alt+7", rests=True, make=_this_turn, unfolded=True
    ),
    PanelSpec("plot", "Over the whole range", "check", "Alt+8", rests=True, make=_plot, unfolded=True),
    PanelSpec("working", "Working", "check", "Alt+9", rests=True, make=_working),
    PanelSpec("measures", "Measures", "check", "Alt+Shift+9", rests=True, make=_measures),
    PanelSpec("build", "What to make", "build", "Alt+0", rests=True, make=_build, unfolded=True),
    PanelSpec("drive", "Drive by", "drive", None, rests=True, make=_drive, unfolded=True),
    PanelSpec("drag", "Drag of each wheel", "drive", None, rests=True, make=_drag),
    PanelSpec("course", "Course", "drive", None, rests=True, make=_course),
    PanelSpec("script", "Script", "drive", None, rests=True, make=_script, unfolded=True),
    PanelSpec("inside", "Inside of the body", "lay out", None, rests=True, make=_inside),
    PanelSpec("parts", "Parts", "lay out", None, rests=True, make=_parts),
    PanelSpec("part", "Part", "lay out", None, rests=True, make=_part),
    PanelSpec("room", "Room around the part", "lay out", None, rests=True, make=_room),
)
"""In the order of the sections of each stage."""
