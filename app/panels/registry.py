"""The panels: one row each, from which the window makes docks, menu, keys and help.

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
    """Whether it works nothing out while it is behind another, and catches up when it is seen."""
    make: Callable[[Document], Panel]


def _wheels(document: Document) -> Panel:
    from app.panels.wheel_table import WheelTable

    return WheelTable(document)


def _wheel(document: Document) -> Panel:
    from app.panels.wheel_editor import WheelEditor

    return WheelEditor(document)


def _body(document: Document) -> Panel:
    from app.panels.body_editor import BodyEditor

    return BodyEditor(document)


def _chassis(document: Document) -> Panel:
    from app.panels.chassis_editor import ChassisEditor

    return ChassisEditor(document)


def _plot(document: Document) -> Panel:
    from app.panels.plot_panel import PlotPanel

    return PlotPanel(document)


def _working(document: Document) -> Panel:
    from app.panels.working_panel import WorkingPanel

    return WorkingPanel(document)


def _motors(document: Document) -> Panel:
    from app.panels.motors_panel import MotorsPanel

    return MotorsPanel(document)


PANELS: tuple[PanelSpec, ...] = (
    PanelSpec("wheels", "Wheels", "lay out", "Alt+1", rests=False, make=_wheels),
    PanelSpec("wheel", "Wheel", "lay out", "Alt+2", rests=False, make=_wheel),
    PanelSpec("body", "Body", "lay out", "Alt+3", rests=False, make=_body),
    PanelSpec("chassis", "Chassis", "lay out", "Alt+4", rests=False, make=_chassis),
    PanelSpec("plot", "Plot", "check", "Alt+5", rests=True, make=_plot),
    PanelSpec("working", "Working", "check", "Alt+6", rests=True, make=_working),
    PanelSpec("motors", "Motors", "motors", "Alt+7", rests=True, make=_motors),
)
"""In the order of tabs and menu; the first one has a place of its own above the tabs."""
