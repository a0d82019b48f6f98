"""How far each wheel was dragged sideways in the drive that is shown, and how much it drags now."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.document import Document
from app.drive_session import session_of
from app.panels.wheel_table import STATE_MARKS, Column, WheelTable
from app.picture.view import View
from app.simulation.frame import Frame
from app.simulation.inputs import STEP_S
from app.units import LengthUnit, decimals, in_length_unit, radians
from app.words.lengths import in_drag_unit
from geometry.model.design import Design

_MM_IN_A_METRE = 1000.0
_EVERY_S = 0.1
"""Of a run's time, from one change of the numbers to the next: none could be read sooner [s]."""


@dataclass(frozen=True)
class DragRow:
    """One wheel."""

    name: str
    kind: str
    dragged: float | None
    """Sideways since the start [mm]; None where nothing is driven."""
    now: float | None
    """Sideways for each metre that its contact goes now [mm]; None where it goes nowhere."""
    state: str
    """aligned, slight drag or drags; empty where it goes nowhere."""


def drag_rows(design: Design, frame: Frame | None) -> tuple[DragRow, ...]:
    """Each wheel of a design at a moment of a run.

    Examples
    --------
    >>> from geometry.model.wheel import Wheel
    >>> drag_rows(Design(wheels=(Wheel(name="L", x_mm=0.0, y_mm=100.0),)), None)
    (DragRow(name='L', kind='fixed', dragged=None, now=None, state=''),)
    """
    if frame is None or len(frame.drag) != len(design.wheels):
        return tuple(DragRow(w.name, w.kind, None, None, "") for w in design.wheels)
    found = []
    moved = zip(design.wheels, frame.drag, frame.side_speeds, frame.wheel_speeds, strict=True)
    for wheel, dragged, side, roll in moved:
        way = math.hypot(side, roll)
        # Less than a tenth of a millimetre a second is rest.
        share = abs(side) / way if way > 0.1 else None
        now = None if share is None else _MM_IN_A_METRE * share
        found.append(DragRow(wheel.name, wheel.kind, dragged, now, _state(design, share)))
    return tuple(found)


def _state(design: Design, share: float | None) -> str:
    if share is None:
        return ""
    slip = math.asin(min(share, 1.0))
    if slip <= radians(design.aligned_within_deg):
        return "aligned"
    return "slight drag" if slip <= radians(design.slight_drag_within_deg) else "drags"


def _dragged(row: DragRow, unit: LengthUnit) -> str:
    if row.dragged is None:
        return "–"
    return f"{in_length_unit(row.dragged, unit):.{decimals(unit, 1)}f}"


def _now(row: DragRow, unit: LengthUnit) -> str:
    if row.now is None:
        return "–"
    mark = "" if row.state == "aligned" else f"{STATE_MARKS[row.state]} "
    return f"{mark}{in_drag_unit(row.now, unit):.{decimals(unit, 1)}f}"


class DragPanel(WheelTable):
    """A row for each wheel, as far as the run was shown."""

    NAME = "Drag of each wheel"
    COLUMNS = (
        Column("Wheel", "Name of the wheel", lambda r, _u: r.name, lambda r: r.name, "middle right"),
        Column(
            "Dragged",
            "How far it was dragged sideways since the start",
            _dragged,
            lambda r: -1.0 if r.dragged is None else r.dragged,
            "10000.0",
            unit="length",
        ),
        Column(
            "Now",
            "Dragged sideways now, for each length that it goes; marked where that is more than aligned",
            _now,
            lambda r: -1.0 if r.now is None else r.now,
            "▲ 1000.0",
            unit="drag",
        ),
    )

    def __init__(self, document: Document) -> None:
        self._session = session_of(document)
        self._told_at = -1.0
        super().__init__(document)
        self._session.frame_changed.connect(self._show_frame)
        self._session.state_changed.connect(self.refresh)

    def rows(self, view: View) -> Sequence[DragRow]:  # type: ignore[override]
        """What each wheel did so far."""
        return drag_rows(view.design, self._session.frame)

    def summary(self, view: View) -> str:  # noqa: ARG002 - the panel's way
        """Nothing: what all wheels dragged stands beside the time, and changes with it."""
        return ""

    def _show_frame(self, frame: Frame | None) -> None:
        now = -1.0 if frame is None else frame.steps * STEP_S
        if self._session.moving and frame is not None and abs(now - self._told_at) < _EVERY_S:
            return
        self._told_at = now
        if self._in_sight():
            self.refresh()
