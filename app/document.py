"""The one mutable object: design, command, selection and undo stack.

Widgets ask it; it answers with one signal that carries the whole picture. An edit is a
function from design to design. While something is dragged the edit is previewed from the
committed design, so that a cancelled drag leaves no trace.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterable
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from app.design import files, recovery
from app.design.facts import Facts
from app.design.places import in_words, short_words
from app.design.references import Reference, Selection, existing, kept
from app.picture.view import Command, View
from app.undo import DesignChange
from app.units import LengthUnit
from geometry.errors import AxlewrightError
from geometry.kinematics.motion import turn_of_radius, turn_of_sides
from geometry.model.design import Design

Edit = Callable[[Design], Design]

AUTOSAVE_MS = 15_000
RANGE_MS = 100
"""How often a drag has the whole range worked out: that takes as long as drawing the step."""
FIRST_TURN = 0.3


class Document(QObject):
    """The design being worked on, and all that remembers anything about it."""

    changed = Signal(object)
    """The `View` to draw; sent after every change of any kind."""
    range_changed = Signal(object)
    """The same after `changed`, for what looks at the whole range; in a drag at most every `RANGE_MS`."""
    message = Signal(str)
    """A sentence for the person: why something was refused, unless the field that asked says it."""
    done = Signal(str)
    """A sentence for the person: what was done beside the design."""
    step_done = Signal(str)
    """A sentence for the person: what the last step did, where undoing it may be wanted at once."""
    file_changed = Signal()
    """The path or the unsaved state changed."""
    opened = Signal()
    """Another design was taken up."""
    closed = Signal()
    """The design was let go of, with its window."""

    def __init__(self, design: Design | None = None, recovery_folder: Path | None = None) -> None:
        super().__init__()
        self._design = design if design is not None else Design()
        self.length_unit: LengthUnit = "mm"
        """Unit of lengths in what is told of a refusal."""
        self._shown = self._design
        self._facts = Facts(self._shown)
        self._command = Command(turn=min(FIRST_TURN, self._design.largest_turn))
        self._selection: Selection = ()
        self._path: Path | None = None
        self._fingerprint: str | None = None
        self._unsaved_start = False
        self._run = 0
        self._heard: list[str] | None = None
        self.undo_stack = QUndoStack(self)
        # Signal to signal: a Python slot would be called while the stack is taken down with its owner.
        self.undo_stack.cleanChanged.connect(self.file_changed)
        self._session = f"{os.getpid()}-{uuid.uuid4().hex[:8]}"
        self._recovery_folder = recovery_folder
        self._autosaved: Design | None = None
        self._not_autosaved: Design | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(AUTOSAVE_MS)
        self._timer.timeout.connect(self.autosave)
        self._timer.start()
        self._view = self._look()
        self._ranged = self._view
        self._pace = QTimer(self)
        self._pace.setSingleShot(True)
        self._pace.setInterval(RANGE_MS)
        self._pace.timeout.connect(self._tell_range)

    # What is -----------------------------------------------------------------------

    @property
    def design(self) -> Design:
        """The committed design."""
        return self._design

    @property
    def view(self) -> View:
        """The picture that is shown."""
        return self._view

    @property
    def command(self) -> Command:
        """What the chassis is asked to do."""
        return self._command

    @property
    def selection(self) -> Selection:
        """What is selected; kept over edits, and over undo and redo."""
        return self._selection

    @property
    def path(self) -> Path | None:
        """Where the design was read from or saved to."""
        return self._path

    @property
    def modified(self) -> bool:
        """True while there is something to lose."""
        return self._unsaved_start or not self.undo_stack.isClean()

    # Editing -----------------------------------------------------------------------

    def edit(self, label: str, change: Edit, merge_key: str | None = None) -> bool:
        """Apply a change as one undo step; tell why and change nothing where it is refused."""
        self.cancel_preview()
        try:
            after = change(self._design)
        except AxlewrightError as error:
            self._refuse(in_words(error, self._design, self.length_unit))
            return False
        if after != self._design:
            key = None if merge_key is None else f"{merge_key}/{self._run}"
            self.undo_stack.push(DesignChange(label, self._design, after, self._commit, key))
        return True

    def answer(self, ask: Callable[[], bool]) -> bool | str:
        """Ask something on behalf of a field.

        Returns
        -------
        bool or str
            True where it was done; else the reason, which is not told as a message then.
        """
        before, self._heard = self._heard, []
        try:
            done = ask()
            heard = self._heard
        finally:
            self._heard = before
        return done or short_words("\n".join(heard))

    def _refuse(self, why: str) -> None:
        if self._heard is None:
            self.message.emit(why)
        else:
            self._heard.append(why)

    def undo(self) -> None:
        """Take the last step back."""
        self.cancel_preview()
        self.undo_stack.undo()

    def redo(self) -> None:
        """Make the step again."""
        self.cancel_preview()
        self.undo_stack.redo()

    def end_run(self) -> None:
        """Let the next edit be a step of its own even if it has the key of the last one."""
        self._run += 1

    def preview(self, change: Edit) -> bool:
        """Show a change without committing it; the last good preview stays where it is refused."""
        try:
            shown = change(self._design)
        except AxlewrightError as error:
            self._refuse(in_words(error, self._design, self.length_unit))
            return False
        if shown != self._shown:
            self._shown = shown
            self._refresh()
        return True

    def commit_preview(self, label: str) -> None:
        """Make what is previewed one undo step; none where it ends as it began."""
        after = self._shown
        if after == self._design:
            self.cancel_preview()
            return
        self.undo_stack.push(DesignChange(label, self._design, after, self._commit))

    def cancel_preview(self) -> None:
        """Show the committed design again."""
        if self._shown is not self._design:
            self._shown = self._design
            self._refresh()

    def _commit(self, design: Design) -> None:
        self._selection = kept(self._selection, self._design, design)
        self._design = self._shown = design
        self._refresh()

    # Command and selection -----------------------------------------------------------

    def set_turn(self, turn: float) -> None:
        """Steer to a turn input; values outside the range in use stop at its end."""
        reach = self._design.largest_turn
        self._set_command(Command(max(-reach, min(reach, turn)), self._command.speed))

    def set_speed(self, speed: float) -> None:
        """Set the speed of the faster side, -1 to 1; negative in reverse."""
        self._set_command(Command(self._command.turn, max(-1.0, min(1.0, speed))))

    def ask_sides(self, left: float, right: float) -> bool:
        """Set both side speeds as shares of full speed; at rest the steering stays."""
        turn, speed = turn_of_sides(left, right)
        if speed[0] == 0:
            self.set_speed(0.0)
            return True
        return self._ask(float(turn[0]), float(speed[0]))

    def ask_ratio(self, ratio: float) -> bool:
        """Set the slower side's share of the faster side, keeping the direction of the turn."""
        if abs(ratio) > 1.0:
            self._refuse(f"The speed ratio must be from -1 to 1 (got {ratio:g}).")
            return False
        size = 0.5 * (1.0 - ratio)
        return self._ask(-size if self._command.turn < 0 else size, self._command.speed)

    def ask_radius(self, radius: float) -> bool:
        """Turn about a point on the base axle, positive to the left [mm]."""
        return self._ask(float(turn_of_radius(radius, self._facts.robot.base)[0]), self._command.speed)

    def ask_turn(self, turn: float) -> bool:
        """Steer to a turn input; tell where it is beyond the range in use."""
        return self._ask(turn, self._command.speed)

    def _ask(self, turn: float, speed: float) -> bool:
        reach = self._shown.largest_turn
        if abs(turn) > reach + 1e-12:
            self._refuse(
                f"That asks for a turn input of {turn:.3f}, but the largest turn of this chassis is "
                f"{reach:g}. Change that under Chassis, or turn less."
            )
            return False
        self._set_command(Command(max(-reach, min(reach, turn)), max(-1.0, min(1.0, speed))))
        return True

    def _set_command(self, command: Command) -> None:
        if command != self._command:
            self._command = command
            self._refresh()

    def select(self, references: Iterable[Reference]) -> None:
        """Select these things, and nothing else; what the design does not have is left out."""
        chosen = existing(references, self._shown)
        if chosen != self._selection:
            self._selection = chosen
            self.end_run()
            self._refresh()

    # Files -------------------------------------------------------------------------

    def start(self, design: Design, *, path: Path | None = None, fingerprint: str | None = None) -> None:
        """Take up another design; the caller has asked about unsaved changes."""
        self.drop_recovery()
        self._path, self._fingerprint = path, fingerprint
        self._unsaved_start = False
        self._begin(design)

    def start_made(self, design: Design) -> None:
        """Take up a design that the person has just made, and would miss."""
        self.start(design)
        self._unsaved_start = True
        self.file_changed.emit()

    def start_recovered(self, design: Design, original: Path | None) -> None:
        """Take up a recovered design, which is unsaved by nature."""
        self.start(design)
        self._unsaved_start = True
        if original is not None and os.path.exists(original):  # noqa: PTH110 - False for a name too long
            self._path = original
            # The file may have moved on since the crash: ask before it is replaced.
            self._fingerprint = "recovered"
        self.file_changed.emit()

    def _begin(self, design: Design) -> None:
        self._design = self._shown = design
        self._selection = ()
        self._command = Command(turn=min(FIRST_TURN, design.largest_turn))
        self.undo_stack.clear()
        self._refresh()
        self.file_changed.emit()
        self.opened.emit()

    def open(self, path: Path) -> None:
        """Read a design from a file.

        Raises
        ------
        AxlewrightError
            If the file cannot be read; nothing changes then.
        """
        opened = files.read_design(path)
        self.start(opened.design, path=opened.path, fingerprint=opened.fingerprint)

    def save(self, path: Path, *, overwrite: bool = False) -> None:
        """Write the design to a file.

        Raises
        ------
        AxlewrightError
            If it cannot be written, or was changed by someone else; the file stays as it was.
        """
        self.cancel_preview()
        expected = self._fingerprint if path == self._path else None
        self._fingerprint = files.write_design(path, self._design, expected=expected, overwrite=overwrite)
        self._path = path
        self._unsaved_start = False
        self.undo_stack.setClean()
        self.drop_recovery()
        self.file_changed.emit()

    def autosave(self) -> bool:
        """Keep a copy of unsaved work for after a crash; drop it where all was taken back.

        Returns
        -------
        bool
            False where a copy was needed and could not be kept.
        """
        if not self.modified:
            self.drop_recovery()
        if self._recovery_folder is None or not self.modified:
            return True
        if self._design is self._autosaved and recovery.still_kept(self._recovery_folder, self._session):
            return True
        try:
            # Whole: the next start may come from another folder.
            original = None if self._path is None else self._path.absolute()
            recovery.write_recovery(self._recovery_folder, self._session, self._design, original)
        except AxlewrightError as error:
            if self._design is not self._not_autosaved:  # tried at each tick, told once for a design
                self._not_autosaved = self._design
                self.message.emit(f"The copy for after a crash could not be kept: {error}")
            return False
        self._autosaved, self._not_autosaved = self._design, None
        return True

    def drop_recovery(self) -> None:
        """Forget the copy for after a crash, since there is nothing left to lose."""
        if self._recovery_folder is not None and self._autosaved is not None:
            recovery.drop_recovery(self._recovery_folder, self._session)
        self._autosaved = self._not_autosaved = None

    def close(self, *, keep_copy: bool = False) -> None:
        """Stop the timer, forget the copy for after a crash unless told to keep it, let go of every step."""
        self._timer.stop()
        self._pace.stop()
        if not keep_copy:
            self.drop_recovery()
        # Steps know the document and it knows them: left to the end of the process, they
        # would be taken down in any order, with signals to windows that are gone.
        self.undo_stack.blockSignals(True)  # noqa: FBT003
        self.undo_stack.clear()
        self.closed.emit()

    # Drawing -----------------------------------------------------------------------

    def _look(self) -> View:
        previewing = self._shown is not self._design
        if self._facts.design is not self._shown or self._facts.previewing != previewing:
            self._facts = Facts(self._shown, previewing=previewing, like=self._facts)
        return View(self._facts, self._command, self._selection, previewing)

    def _refresh(self) -> None:
        reach = self._shown.largest_turn
        if abs(self._command.turn) > reach:
            self._command = Command(max(-reach, min(reach, self._command.turn)), self._command.speed)
        self._view = self._look()
        self.changed.emit(self._view)
        if not (self._view.previewing and self._pace.isActive()):
            self._tell_range()

    def _tell_range(self) -> None:
        if self._ranged is self._view:
            return
        self._ranged = self._view
        if self._view.previewing:
            self._pace.start()
        self.range_changed.emit(self._view)
