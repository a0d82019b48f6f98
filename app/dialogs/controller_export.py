"""The export of code for the controller: choose, see the file and its errors, save it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.controller.programme import Programme, programme_of
from app.dialogs.code_choices import CodeChoices
from app.dialogs.code_view import CodeView
from app.dialogs.fitting import lay_out
from app.export.preview import Preview, preview_of
from app.export.registry import Exporter, Files
from app.jobs import Job, Progress
from app.panels.form import scrolled, take_typed
from app.plain import plain_label
from app.words.remedies import on_screen
from geometry.errors import AxlewrightError, Cancelled
from geometry.model.controller import Controller
from geometry.model.design import Design
from geometry.progress import part_of

_PAUSE_MS = 120
_CHOICES_WIDTH = 420


@dataclass(frozen=True)
class CodeFile:
    """A file that is ready to be saved; some formats make several."""

    files: Files
    form: Exporter


@dataclass(frozen=True)
class Chosen:
    """What the person wants to be remembered."""

    controller: Controller
    format_key: str


Save = Callable[[QWidget, CodeFile], bool]
"""Asks for a place and writes the file; False where it was not written."""


@dataclass(frozen=True)
class _Outcome:
    """What one piece of work came to; the programme serves another format without more work."""

    programme: Programme
    preview: Preview | None
    why_not: str = ""


def work_out(design: Design, key: str, known: Programme | None, progress: Progress) -> _Outcome:
    """Work out a programme, unless it is known, and write it in a format.

    Raises
    ------
    AxlewrightError
        If there is no such programme, or the person has cancelled.
    """
    programme = known if known is not None else programme_of(design, part_of(progress, 0.0, 0.9))
    try:
        return _Outcome(programme, preview_of(programme, key, part_of(progress, 0.9, 1.0)))
    except Cancelled:
        raise
    except AxlewrightError as error:
        return _Outcome(programme, None, str(error))


class ControllerExportDialog(QDialog):
    """Choices on the left; on the right exactly what will be saved, worked out on a thread."""

    def __init__(self, parent: QWidget | None, design: Design, format_key: str, save: Save) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export code for the controller")
        self._design = design
        self._save = save
        self._job: Job | None = None
        self._stale = False
        self._known: Programme | None = None
        self._save_then = False
        self.choices = CodeChoices(design, format_key)
        self.choices.changed.connect(self._restart)
        self.view = CodeView()
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._pause.timeout.connect(self._start)
        self.told = plain_label()
        self.told.setWordWrap(True)
        left = scrolled(self.choices)
        left.setFixedWidth(_CHOICES_WIDTH)
        sides = QHBoxLayout()
        sides.addWidget(left)
        sides.addWidget(self.view, 1)
        content = QWidget()
        inside = QVBoxLayout(content)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.addLayout(sides, 1)
        # Not within what scrolls: it says why a press of a button did nothing.
        lay_out(self, content, self._make_buttons(), QSize(1180, 720), above=self.told)
        self.save.setDefault(True)  # once it is within the dialog, which else chooses by itself
        self.choices.format.setFocus()
        self._tell("")
        self._start()

    def _make_buttons(self) -> QDialogButtonBox:
        roles = QDialogButtonBox.ButtonRole
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.keep = buttons.addButton("Keep choices", roles.AcceptRole)
        self.keep.setToolTip("Remember the choices with the chassis and write no file. Undo takes it back.")
        self.keep.clicked.connect(self._keep)
        self.save = buttons.addButton("Save…", roles.ActionRole)
        self.save.setToolTip("Choose a place, write the file, and remember the choices with the chassis.")
        self.save.clicked.connect(self._ask_save)
        buttons.rejected.connect(self.reject)
        return buttons

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let Enter finish a field; only a press of a button acts."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if not enter or isinstance(self.focusWidget(), QPushButton):
            super().keyPressEvent(event)

    # The preview -------------------------------------------------------------------------

    @property
    def working(self) -> bool:
        """Whether what is shown is behind what is chosen."""
        return self._job is not None or self._pause.isActive()

    def _restart(self) -> None:
        """Work it out again after a short pause: choices often come in a row."""
        self._save_then = False
        self._tell("")
        self.save.setEnabled(True)
        if self._job is not None:
            self._job.cancel()
            self._stale = True
        else:
            self._pause.start()
        self.view.show_busy(busy=True)

    def _start(self) -> None:
        design = self._design.edited(controller=self.choices.controller)
        key, known = self.choices.code_format.key, self._known
        if known is not None and known.design != design:
            known = None
        job = Job(lambda progress: work_out(design, key, known, progress), self)
        job.progressed.connect(self._progressed)
        job.ended.connect(self._ended)
        job.done.connect(self._done)
        job.failed.connect(self._failed)
        self._job, self._stale = job, False
        self.view.show_busy(busy=True)
        job.start()

    def _progressed(self, share: float) -> None:
        if not self._stale:
            self.view.show_progress(share)

    def _ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        if self._stale:
            self._start()
        else:
            self.view.show_busy(busy=False)

    def _done(self, outcome: _Outcome) -> None:
        self._known = outcome.programme
        if outcome.preview is None:
            self._failed(outcome.why_not)
            return
        self.view.show_preview(outcome.preview)
        self.view.show_busy(busy=self.working)
        self.choices.parts.show_sizes(outcome.preview.part_bytes)
        if self._save_then:
            self._save_now()

    def _failed(self, why: str) -> None:
        self.view.show_error(on_screen(why))
        self.view.show_busy(busy=self.working)
        self.save.setEnabled(self.working)
        self.choices.parts.show_sizes(None)
        if self._save_then:
            self._save_then = False
            self._tell("Nothing was saved: with these choices there is no file.")

    def done(self, result: int) -> None:
        """Leave no work behind."""
        super().done(result)
        self._pause.stop()
        if self._job is not None:
            self._job.stop()
            self._job = None

    # Saving ------------------------------------------------------------------------------

    def _tell(self, text: str) -> None:
        self.told.setText(text)
        self.told.setVisible(bool(text))

    def _take_typed(self) -> bool:
        """Finish what is being typed; False while an entry is refused."""
        take_typed(self)
        if not self.choices.refused:
            return True
        self._tell("An entry is refused, as it says there: mend it and try again.")
        return False

    def _keep(self) -> None:
        if self._take_typed():
            self.accept()

    def _ask_save(self) -> None:
        if not self._take_typed():
            return
        if self.working:
            self._save_then = True
            self._tell("It will be saved as soon as it is worked out …")
        else:
            self._save_now()

    def _save_now(self) -> None:
        self._save_then = False
        preview = self.view.preview
        if preview is None:
            self._tell("Nothing can be saved: with these choices there is no file.")
            return
        self._tell("")
        file = CodeFile(preview.files, self.choices.code_format)
        if self._save(self, file):
            self.accept()

    @property
    def chosen(self) -> Chosen:
        """What is chosen now."""
        return Chosen(self.choices.controller, self.choices.code_format.key)


def ask_controller_export(parent: QWidget, design: Design, format_key: str, save: Save) -> Chosen | None:
    """Show the export; None where the person gave up."""
    dialog = ControllerExportDialog(parent, design, format_key, save)
    accepted = dialog.exec() == QDialog.DialogCode.Accepted
    result = dialog.chosen if accepted else None
    dialog.deleteLater()
    return result
