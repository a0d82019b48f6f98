"""What the Edit and Turn menus do, in terms of the document."""

from __future__ import annotations

from collections.abc import Sequence

from app.design import edits, motor_edits, selection_edits
from app.design.references import Reference, references_to, selected_wheels
from app.dialogs.sharing import ask_advice
from app.document import Document
from app.picture.view import View
from app.views.canvas import PlanCanvas
from app.views.gestures import snap_step
from geometry.model.design import SAME_POINT_MM, Design

_STEP = 0.05


def mark_ahead(view: View, way: int) -> float | None:
    """Turn input of the next landmark; 1 is to the left, None where there is none."""
    now = view.command.turn
    ahead = [mark.turn for mark in view.facts.landmarks if way * (mark.turn - now) > 1e-9]
    return min(ahead, key=lambda turn: abs(turn - now), default=None)


class Acts:
    """Acts on the selected wheels, and named turns."""

    def __init__(self, document: Document, canvas: PlanCanvas) -> None:
        self._document = document
        self._canvas = canvas

    def add(self) -> None:
        """Add a wheel at the middle of the plan, like the one selected, and select it."""
        document = self._document
        like = min(selected_wheels(document.selection), default=None)
        x, y = self._free_place(document.design)
        if document.edit("Add wheel", lambda d: edits.add_wheel(d, x, y, like)):
            document.select((Reference("wheel", len(document.design.wheels) - 1),))

    def _free_place(self, design: Design) -> tuple[float, float]:
        camera = self._canvas.camera
        step = snap_step(design, free=not self._canvas.snapping) or 1.0
        x, y = edits.snap(camera.x, step), edits.snap(camera.y, step)
        taken = [(w.x_mm, w.y_mm) for w in design.wheels]
        while any(max(abs(px - x), abs(py - y)) < max(SAME_POINT_MM, 5.0) for px, py in taken):
            y -= max(1, round(30 / step)) * step
        return x, y

    def mirror(self) -> None:
        """Copy the selected wheels to the other side, and select the copies."""
        document = self._document
        chosen = selected_wheels(document.selection)
        if not self._some(chosen):
            return
        before = len(document.design.wheels)
        if document.edit("Duplicate to the mirrored place", lambda d: edits.duplicate_mirrored(d, chosen)):
            document.select(references_to("wheel", range(before, len(document.design.wheels))))

    def delete(self) -> None:
        """Delete all that is selected."""
        chosen = self._document.selection
        if self._some(chosen):
            label = f"Delete {selection_edits.counted(chosen)}"
            if self._document.edit(label, lambda d: selection_edits.delete(d, chosen)):
                self._document.step_done.emit(f"{label.replace('Delete', 'Deleted', 1)}.")

    def suggest(self) -> None:
        """Show ways to share steer motors, and take up the one that the person chose."""
        document = self._document
        document.cancel_preview()
        groups = ask_advice(self._canvas.window(), document.design)
        if groups is not None:
            count = "1 steer motor" if len(groups) == 1 else f"{len(groups)} steer motors"
            document.edit(f"Share {count}", lambda d: motor_edits.group_steering(d, groups))

    def _some(self, chosen: Sequence[object]) -> bool:
        if not chosen:
            self._document.message.emit("Select a wheel first, on the plan or in the table.")
        return bool(chosen)

    def select_all(self) -> None:
        """Select every wheel."""
        self._document.select(references_to("wheel", range(len(self._document.design.wheels))))

    def select_worst(self) -> None:
        """Select the wheel with the largest slip angle in the range, of aligned ones at this turn."""
        view = self._document.view
        found = view.facts.check.worst
        worst = view.verdict.worst if found is None else found.wheel
        if worst is None:
            self._document.message.emit("There is no wheel yet.")
        else:
            self._document.select((Reference("wheel", worst),))

    def steer(self, way: int) -> None:
        """Steer one step; 1 is to the left."""
        self._document.set_turn(round(self._document.command.turn + way * _STEP, 9))

    def named_turn(self, turn: float) -> None:
        """Steer to a turn, or tell that it is beyond the range in use."""
        self._document.ask_turn(turn)

    def next_mark(self, way: int) -> None:
        """Go to the next landmark; 1 is to the left."""
        turn = mark_ahead(self._document.view, way)
        if turn is not None:
            self._document.set_turn(turn)

    def reverse(self) -> None:
        """Change the sign of both side speeds."""
        speed = self._document.command.speed
        self._document.set_speed(-speed if speed else -1.0)
