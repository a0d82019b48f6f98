"""The one window: it joins the signals of its parts, and shows and keeps what the person prefers."""

from __future__ import annotations

import base64

from PySide6.QtCore import QByteArray, QEvent
from PySide6.QtGui import QCloseEvent, QShowEvent

from app.design.facts import Facts
from app.design.made import WHATS, MadeFile, latest
from app.dialogs.fitting import fit_window
from app.document import Document
from app.panels.panel import Panel
from app.picture.view import View
from app.settings import Settings
from app.theme import apply_appearance
from app.window import actions, menus
from app.window.fit_watch import FitWatch
from app.window.focus_ring import FocusRing
from app.window.frame import Frame
from app.window.stages import STAGES, is_shown
from app.window.undo_keys import UndoKeys
from app.words.stage_states import Made, WorkSoFar

_TELLS_A_SECOND = 4
"""How often the verdict of a drive is told anew while it goes on."""


class MainWindow(Frame):
    """The stages of the work, and in each of them plan, panel, verdict and turn."""

    def __init__(self, document: Document, settings: Settings) -> None:
        super().__init__(document, settings)
        self._told_in_drag = False
        self._last_made: tuple[Made, ...] = ()
        self.fit_watch = FitWatch(document)
        self._run_told: tuple[object, ...] = ()
        self._stated: tuple[Facts, tuple[MadeFile, ...], int, int | None] | None = None
        self._waiting = settings.taken_out
        self.action = actions.make_actions(self)
        menus.make_menus(self)
        menus.make_plan_menu(self)
        self.middle.offer(self.action)
        self._join()
        self.apply_settings()
        self._offer(document.view)
        self._show_states(document.view)
        self._show_title()
        self._show_undo()
        self._ring = FocusRing(self, self.canvas)
        self._undo_keys = UndoKeys(self, [self.action["undo"], self.action["redo"]])
        self.resize(1280, 760)
        self._restore()
        self.middle.drawing.setFocus()

    def _join(self) -> None:
        document, middle = self.document, self.middle
        document.message.connect(self.tell)
        document.done.connect(middle.note.tell)
        document.step_done.connect(self._tell_step)
        document.changed.connect(self._offer)
        document.range_changed.connect(self._show_states)
        self.fit_watch.found.connect(self._show_fit)
        middle.course_made.connect(self._join_course)
        document.file_changed.connect(self._show_title)
        # A bound method: a lambda would be called while the stack is taken down.
        document.undo_stack.indexChanged.connect(self._show_undo)
        # What was refused before is over once an edit, or its undoing, is done.
        document.undo_stack.indexChanged.connect(self._forget_told)
        document.opened.connect(middle.note.clear)
        document.opened.connect(self.canvas.fit)
        document.opened.connect(self.show_work)
        self.page_changed.connect(self._show_page)
        self.preferences_changed.connect(self.apply_settings)
        middle.stage_asked.connect(self.go_to_stage)
        middle.side.changed.connect(self._keep_sections)
        middle.widths_changed.connect(lambda: self.filing.change_settings(panel_widths=dict(middle.widths)))
        self.stage_changed.connect(lambda stage: self.filing.change_settings(stage=stage))
        self.stage_changed.connect(self._show_run)
        self.filing.made.connect(self._show_made)
        for drawing in (self.canvas, middle.elevation):
            drawing.numbers_asked.connect(lambda thing: actions.go_to_numbers(self, thing))
        self.canvas.centre_asked.connect(self.action["radius"].trigger)
        middle.plan.empty.action_asked.connect(lambda key: self.action[key].trigger())
        middle.verdict.worst_asked.connect(self.acts.select_worst)
        middle.verdict.worst_turn_asked.connect(document.set_turn)
        middle.first_steps.numbers_asked.connect(self.action["new"].trigger)
        middle.first_steps.dismissed.connect(lambda: self.prefer(welcome_dismissed=True))
        middle.side.panel_made.connect(self._dress)
        for key, section in self.sections.items():
            if section.panel_so_far is not None:
                self._dress(key, section.panel_so_far)

    def _dress(self, key: str, panel: Panel) -> None:
        """Join a panel that was just made, and show in it what the person prefers."""
        panel.action_asked.connect(lambda action: self.action[action].trigger())
        self._apply_to(panel)
        settings = self.filing.settings
        if key == "build":
            self._show_made_in_panel()
        if key == "parts":
            self._show_fit_in_panel()
        if key == "plot":
            from app.panels.plot_panel import PlotPanel

            plots = self.panel(key, PlotPanel)
            if settings.plots is not None:
                plots.choose(settings.plots)
            plots.chosen_changed.connect(lambda: self.filing.change_settings(plots=plots.chosen))
            plots.chosen_changed.connect(lambda: self.sections[key].show_view(self.document.view))

    # Settings --------------------------------------------------------------------------

    def apply_settings(self) -> None:
        """Show what the person prefers."""
        settings = self.filing.settings
        apply_appearance(settings.appearance)
        self.middle.apply_settings(settings)
        self.document.length_unit = settings.length_unit
        for panel in self.middle.side.panels_so_far:
            self._apply_to(panel)
        for section in self.sections.values():
            section.show_view(self.document.view)
        self._show_run()
        for spec in actions.ACTIONS:
            if spec.checked is not None:
                self.action[spec.key].setChecked(spec.checked(settings))
            actions.name_by_symmetry(self.action[spec.key], spec, symmetric=settings.symmetry)

    def _apply_to(self, panel: Panel) -> None:
        panel.symmetric = self.filing.settings.symmetry
        panel.set_unit(self.filing.settings.length_unit)

    def _offer(self, view: View) -> None:
        if view.previewing:
            return  # the end of a drag tells it again
        changed = False
        for spec in actions.ACTIONS:
            if spec.offered is not None:
                action, offered = self.action[spec.key], spec.offered(view)
                changed = changed or action.isVisible() != offered
                action.setVisible(offered)
            if spec.held is not None:
                self.action[spec.key].setChecked(spec.held(view))
        if changed:
            self.middle.show_tools()

    def _show_states(self, view: View) -> None:
        # Another turn of the same chassis changes none of them, and to look up what was made takes its time.
        fit = self.fit_watch.fit
        course = self.middle.course_so_far
        frame = None if course is None else course.session.frame
        touches = None if frame is None else len(frame.contacts)
        of = view.facts, self.filing.settings.made, 0 if fit is None else len(fit.collisions), touches
        if self._stated is not None and of[0] is self._stated[0] and of[1:] == self._stated[1:]:
            return
        self._stated = of
        made = self._made_states() if not view.previewing else self._last_made
        self._last_made = made
        work = WorkSoFar(view.facts, made, of[2], touches)
        self.middle.bar.show_states({spec.key: spec.state(work) for spec in STAGES})

    def _join_course(self) -> None:
        self.middle.session.state_changed.connect(self._show_drive)
        self.middle.session.frame_changed.connect(lambda _frame: self._show_states(self.document.view))
        self.middle.session.state_changed.connect(self._show_run)
        self.middle.session.frame_changed.connect(self._show_run)

    def _show_drive(self) -> None:
        if self.middle.session.state == "preparing":
            self.middle.note.clear()  # what was refused before has no say in the drive that begins
        for section in self.sections.values():
            if section.spec.stage == "drive":
                section.show_view(self.document.view)
        self._show_states(self.document.view)

    def _show_run(self, _what: object = None) -> None:
        """Head the panel with the drive while the stage Drive is shown, told anew four times a second."""
        middle, view = self.middle, self.document.view
        if not middle.driving:
            self._run_told = ()
            middle.verdict.show_run(None)
            return
        session, unit = middle.session, self.filing.settings.length_unit
        frame = session.frame
        now = (0, 0) if frame is None else (len(frame.contacts), int(frame.time_s * _TELLS_A_SECOND))
        told = view.facts, session.state, session.course_name, unit, frame is None, *now
        if told != self._run_told:
            from app.words.run_verdict import run_verdict  # late: a start has no drive to speak of

            self._run_told = told
            middle.verdict.show_run(run_verdict(session.so_far, view.facts, unit))

    def _show_fit(self) -> None:
        for drawing in (self.canvas, self.middle.elevation):
            drawing.show_struck(self.fit_watch.struck)
        if self.sections["parts"].panel_so_far is not None:
            self._show_fit_in_panel()
        self._show_states(self.document.view)

    def _show_fit_in_panel(self) -> None:
        from app.panels.part_table import PartTable

        self.panel("parts", PartTable).show_fit(self.fit_watch.fit, self.fit_watch.design)

    def _made_states(self) -> tuple[Made, ...]:
        found = [latest(self.filing.settings.made, what, self.document.design) for what in WHATS]
        return tuple("yes" if fresh else "no" if one is None else "changed since" for one, fresh in found)

    def _show_made(self) -> None:
        if self.sections["build"].panel_so_far is not None:
            self._show_made_in_panel()
        self._show_states(self.document.view)

    def _show_made_in_panel(self) -> None:
        from app.panels.build_panel import BuildPanel

        self.panel("build", BuildPanel).show_made(self.filing.settings.made)
        self.sections["build"].show_view(self.document.view)  # its head counts them

    def _keep_sections(self) -> None:
        side = self.middle.side
        self.filing.change_settings(unfolded=side.unfolded, taken_out=side.taken_out)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system from light to dark or back."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and getattr(self, "action", None):
            self.middle.refresh_theme()
            menus.dress_menu_bar(self)

    # State -----------------------------------------------------------------------------

    def tell(self, text: str) -> None:
        """Say at the foot of the plan why something was refused, until the next edit."""
        self.middle.note.refuse(text)
        self._told_in_drag = self.document.view.previewing

    def _tell_step(self, text: str) -> None:
        self.middle.note.tell(text, undo=self.document.undo_stack.canUndo())

    def _forget_told(self, _index: int = 0) -> None:
        # The release of a drag is an edit too; why it went no further is still worth reading.
        if not self._told_in_drag:
            self.middle.note.clear()
        self._told_in_drag = False

    def _show_title(self) -> None:
        path = self.document.path
        name = self.document.design.name
        self.setWindowTitle(f"{name} – {path.name if path else 'not saved yet'}[*] – Axlewright")
        self.setWindowFilePath(str(path) if path else "")
        self.setWindowModified(self.document.modified)

    def _show_undo(self, _index: int = 0) -> None:
        stack = self.document.undo_stack
        for key, can, text in (
            ("undo", stack.canUndo(), stack.undoText()),
            ("redo", stack.canRedo(), stack.redoText()),
        ):
            action = self.action[key]
            action.setEnabled(can and not self.at_start)
            action.setText(f"&{key.capitalize()} {text[:1].lower()}{text[1:]}".rstrip())
            action.setIconText(key.capitalize())
        self._show_title()

    def _show_page(self) -> None:
        """Leave only what makes sense where no chassis is in sight."""
        for spec in actions.ACTIONS:
            self.action[spec.key].setEnabled(spec.at_start or not self.at_start)
        for action in self.work_actions:
            action.setEnabled(not self.at_start)
        self._show_undo()

    def _restore(self) -> None:
        settings = self.filing.settings
        if settings.window_geometry:
            self.restoreGeometry(QByteArray.fromBase64(settings.window_geometry.encode()))
        fit_window(self)  # also the first size, and a place that was on another screen
        side = self.middle.side
        if settings.unfolded is not None:
            side.unfold_only(settings.unfolded)
        known = {spec.key for spec in STAGES if is_shown(spec.key)}
        self.middle.widths.update({key: wide for key, wide in settings.panel_widths.items() if key in known})
        if settings.stage in known:
            self.middle.show_stage(settings.stage)
        self._show_made()
        self._show_run()

    def showEvent(self, event: QShowEvent) -> None:
        """Open the windows that sections had, once this one is there."""
        super().showEvent(event)
        waiting, self._waiting = self._waiting, ()
        for key in waiting:
            if key in self.sections:
                self.sections[key].take_out()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes, then remember the window."""
        if not self.filing.may_leave():
            event.ignore()
            return
        self.filing.change_settings(
            window_geometry=base64.b64encode(self.saveGeometry().data()).decode(),
        )
        self.document.close()
        event.accept()
