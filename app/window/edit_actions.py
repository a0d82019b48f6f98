"""What the Edit and Turn menus do, in terms of the document."""

from __future__ import annotations

from collections.abc import Sequence

from app.design import body_edits, edits, motor_edits, part_edits, selection_edits
from app.design.references import Reference, references_to, selected, selected_wheels
from app.document import Document
from app.picture.view import View
from app.views.canvas import PlanCanvas
from app.views.gestures import add_wheels, snap_step
from geometry.model.design import SAME_POINT_MM, Design
from geometry.model.wheel import Kind

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
        """Add a wheel like the one selected, with symmetry a pair, and select it.

        It stands where the mouse points to on the plan. With the mouse elsewhere a pair makes the next
        axle, and a single wheel stands in the middle of the plan.
        """
        document, mirror = self._document, self._canvas.symmetric
        document.cancel_preview()
        like = min(selected_wheels(document.selection), default=None)
        place = self._canvas.place_for_new()
        if place is None and mirror:
            place = edits.next_axle(document.design, self._canvas.step_for_new(), like)
        x, y = place or self._free_place(document.design)
        add_wheels(document, x, y, like, mirror=mirror)

    def _free_place(self, design: Design) -> tuple[float, float]:
        camera = self._canvas.camera
        step = snap_step(design, free=not self._canvas.snapping) or 1.0
        x, y = edits.snap(camera.x, step), edits.snap(camera.y, step)
        taken = [(w.x_mm, w.y_mm) for w in design.wheels]
        while any(max(abs(px - x), abs(py - y)) < max(SAME_POINT_MM, 5.0) for px, py in taken):
            y -= max(1, round(30 / step)) * step
        return x, y

    def mirror(self) -> None:
        """Copy the selected wheels and parts to the other side, and select the copies."""
        document = self._document
        wheels, parts = selected_wheels(document.selection), selected(document.selection, "part")
        if not self._some((*wheels, *parts)):
            return
        before, known = len(document.design.wheels), len(document.design.packaging.parts)

        def copied(design: Design) -> Design:
            design = edits.duplicate_mirrored(design, wheels) if wheels else design
            return part_edits.duplicate_parts(design, parts, mirrored=True) if parts else design

        if document.edit("Duplicate to the mirrored place", copied):
            new = references_to("wheel", range(before, len(document.design.wheels)))
            document.select((*new, *references_to("part", range(known, known + len(parts)))))

    def delete(self) -> None:
        """Delete all that is selected, with symmetry the partners too."""
        document, mirror = self._document, self._canvas.symmetric
        document.cancel_preview()
        chosen = document.selection
        if not self._some(chosen):
            return
        gone = selection_edits.with_partners(document.design, chosen) if mirror else chosen
        label = f"Delete {selection_edits.counted(gone)}"
        named = selection_edits.named(document.design, gone)
        before = document.design
        if document.edit(label, lambda d: selection_edits.delete(d, gone)):
            bare = selection_edits.bare_motors(before, document.design, gone)
            document.step_done.emit(f"Deleted {named}{bare}.")

    def make_kind(self, kind: Kind) -> None:
        """Make the selected wheels fixed, steered or casters, with symmetry their partners too."""
        self._change_wheels(f"Make {kind}", kind=kind)

    def drive(self) -> None:
        """Let a motor drive the selected wheels, or none where all of them are driven."""
        wheels = self._document.design.wheels
        chosen = selected_wheels(self._document.selection)
        self._change_wheels("Change driven", driven=not all(wheels[i].driven for i in chosen))

    def _change_wheels(self, label: str, **fields: object) -> None:
        document, mirror = self._document, self._canvas.symmetric
        chosen = selected_wheels(document.selection)
        if self._some(chosen):
            document.edit(label, lambda d: edits.change_wheels(d, chosen, mirror=mirror, **fields))

    def add_corner(self) -> None:
        """Add a corner after the selected one, else on the longest edge; without a body, draw one."""
        document, mirror = self._document, self._canvas.symmetric
        document.cancel_preview()
        corner = min(selected(document.selection, "corner"), default=None)
        before = document.design.body_mm
        label = "Add body corner" if before else "Draw body"
        if document.edit(label, lambda d: body_edits.add_corner_after(d, corner, mirror=mirror)) and before:
            new = [i for i, place in enumerate(document.design.body_mm) if place not in before]
            document.select(references_to("corner", new[:1]))

    def draw_body(self) -> None:
        """Draw a body around the wheels where there is none yet."""
        if not self._document.design.body_mm:
            self._document.edit("Draw body", body_edits.fit_body)

    def suggest(self) -> None:
        """Show ways to share steer motors, and take up the one that the person chose."""
        document = self._document
        document.cancel_preview()
        # Late: the window opens sooner without it.
        from app.dialogs.sharing import ask_advice

        groups = ask_advice(self._canvas.window(), document.design, document.length_unit)
        if groups is not None:
            count = "1 steer motor" if len(groups) == 1 else f"{len(groups)} steer motors"
            document.edit(f"Share {count}", lambda d: motor_edits.group_steering(d, groups))

    def one_wheel(self) -> bool:
        """Whether one wheel is selected; tells what to do where it is not."""
        count = len(selected_wheels(self._document.selection))
        if count > 1:
            self._document.message.emit("Select one wheel alone: each has a name of its own.")
        return count == 1 or (count == 0 and self._some(()))

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
