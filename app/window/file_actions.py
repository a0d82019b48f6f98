"""Opening, saving, exporting and recovering, with the questions that go with them."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.design import files, recovery
from app.design.disk import FileError, placed, same_place, write_files
from app.design.made import MOST_KEPT, MadeFile, What, hash_of
from app.design.samples import sample_design
from app.dialogs import questions
from app.document import Document
from app.panels.form import take_typed
from app.settings import Settings, save_settings
from app.units import LengthUnit
from app.window.open_note import OpenNote
from geometry.errors import AxlewrightError
from geometry.model.design import Design

if TYPE_CHECKING:
    from app.dialogs.controller_export import Chosen, CodeFile, Save
    from app.dialogs.export import Export
    from app.dialogs.outline_import import Taken
    from app.dialogs.plan_picture import PictureKind
    from app.views.plan_picture import PlanPicture
    from app.views.scene import Scene

# The exports load what works them out: too much for the first picture.


def ask_export(parent: QWidget, design: Design, rows: int, unit: LengthUnit) -> Export | None:
    """Show the export of the steering table."""
    from app.dialogs import export

    return export.ask_export(parent, design, rows, unit)


def ask_controller_export(parent: QWidget, design: Design, format_key: str, save: Save) -> Chosen | None:
    """Show the export of code for the controller."""
    from app.dialogs import controller_export

    return controller_export.ask_controller_export(parent, design, format_key, save)


def ask_picture(parent: QWidget, picture: PlanPicture, kind: PictureKind) -> PictureKind | None:
    """Show the picture of the plan, and ask for its kind."""
    from app.dialogs import plan_picture

    return plan_picture.ask_picture(parent, picture, kind)


def ask_outline(parent: QWidget, design: Design, path: Path, unit: LengthUnit) -> Taken | None:
    """Show the import of an outline and of openings."""
    from app.dialogs import outline_import

    return outline_import.ask_outline(parent, design, path, unit)


class _Words(NamedTuple):
    """What the questions about a place for an export call it."""

    whole: str
    short: str
    kind: str
    """Of the files that are offered, beside their suffix."""
    suffix: str


class Filing(QObject):
    """What the File menu does. Nothing is lost without a question."""

    made = Signal()
    """Another file was made from the design."""

    def __init__(self, document: Document, parent: QWidget, settings: Settings) -> None:
        super().__init__(parent)
        self._document = document
        self._parent = parent
        self.settings = settings
        self._note = OpenNote(document)

    def change_settings(self, **changes: object) -> None:
        """Change preferences and keep them."""
        self.keep(self.settings.edited(**changes))

    def keep(self, settings: Settings) -> None:
        """Keep preferences; the program goes on where they cannot be kept."""
        self.settings = settings
        try:
            save_settings(settings)
        except AxlewrightError as error:
            self._document.message.emit(f"The preferences could not be kept: {error}")

    # Questions -----------------------------------------------------------------------

    def may_leave(self) -> bool:
        """Ask about unsaved changes; False where the person wants to stay."""
        take_typed(self._parent)
        self._document.cancel_preview()
        if not self._document.modified:
            return True
        answer = questions.ask_unsaved(self._parent, self._document.design.name)
        if answer == "save":
            return self.save()
        return answer == "discard"

    # Acts ----------------------------------------------------------------------------

    def new(self) -> bool:
        """Start with an empty chassis; False where the person stays with what is open."""
        if not self.may_leave():
            return False
        self._document.start(Design())
        return True

    def close(self) -> bool:
        """Let go of the chassis, and show an empty one; False where the person wants to stay."""
        if not self.may_leave():
            return False
        self._document.start(Design())
        return True

    def start_made(self, design: Design) -> bool:
        """Start with a chassis that was made from numbers; False where the person stays with what is open."""
        if not self.may_leave():
            return False
        self._take(design)
        return True

    def _take(self, design: Design) -> None:
        if design.wheels:
            self._document.start_made(design)
        else:
            self._document.start(design)

    def open(self) -> bool:
        """Ask for a file and open it; False where none was opened."""
        if not self.may_leave():
            return False
        path = questions.ask_open(self._parent, self.settings.last_folder)
        return path is not None and self._open(path)

    def open_path(self, path: Path) -> bool:
        """Open a file that was named: a recent one, or from the command line."""
        return self.may_leave() and self._open(path)

    def _open(self, path: Path) -> bool:
        try:
            self._document.open(path)
        except AxlewrightError as error:
            questions.tell(self._parent, "This file cannot be opened", str(error))
            if not os.path.exists(path):  # noqa: PTH110 - False also for a name that the system refuses
                self.keep(self.settings.without_recent(path))
            return False
        self.keep(self.settings.with_recent(path.absolute()))
        self._note.tell()
        return True

    def open_sample(self, key: str) -> bool:
        """Show a sample; saving it asks for a place of its own. False where the person stays."""
        if not self.may_leave():
            return False
        self._document.start(sample_design(key))
        return True

    def save(self) -> bool:
        """Save where the design came from; ask where it has no place yet."""
        path = self._document.path
        return self.save_as() if path is None else self._save(path)

    def save_as(self) -> bool:
        """Ask for a place and save there."""
        start = self._document.path or Path(self.settings.last_folder) / file_name(self._document.design.name)
        path = questions.ask_save(self._parent, start, "Save the chassis", questions.CHASSIS_FILTER, ".json")
        # The file dialog has asked already whether an existing file may be replaced.
        return path is not None and self._save(path, overwrite=path != self._document.path)

    def _save(self, path: Path, *, overwrite: bool = False) -> bool:
        elsewhere = path != self._document.path
        try:
            self._document.save(path, overwrite=overwrite)
        except files.ChangedElsewhereError as error:
            answer = questions.ask_replace(self._parent, str(error))
            if answer == "replace":
                return self._save(path, overwrite=True)
            return answer == "elsewhere" and self.save_as()
        except AxlewrightError as error:
            questions.tell(self._parent, "The chassis was not saved", str(error))
            return False
        self.keep(self.settings.with_recent(path.absolute()))
        self._document.done.emit(f"Saved to {path}.")
        if elsewhere:
            self._note.tell()
        return True

    def save_copy(self) -> bool:
        """Ask for a place and write a copy there; the file that is open stays the one that is worked on."""
        self._document.cancel_preview()
        own, design = self._document.path, self._document.design
        place = own or Path(self.settings.last_folder) / file_name(design.name)
        start = place.with_name(f"{place.stem}_copy{place.suffix}")
        path = questions.ask_save(self._parent, start, "Save a copy", questions.CHASSIS_FILTER, ".json")
        if path is None:
            return False
        try:
            if same_place(path, own):
                raise FileError(f"{path} is the very file that is open; choose another name, or use Save")
            files.write_design(path, design, overwrite=True)
        except AxlewrightError as error:
            questions.tell(self._parent, "The copy was not saved", str(error))
            return False
        self.change_settings(last_folder=str(path.absolute().parent))
        self._document.done.emit(f"Copy saved to {path}.")
        return True

    def import_outline(self) -> bool:
        """Ask for a drawing, and take a body outline or openings from it as one undo step."""
        self._document.cancel_preview()
        path = questions.ask_drawing(self._parent, self.settings.last_folder)
        if path is None:
            return False
        self.change_settings(last_folder=str(path.absolute().parent))
        taken = ask_outline(self._parent, self._document.design, path, self.settings.length_unit)
        if taken is None or not self._document.edit("Import an outline", taken.into):
            return False
        self._document.done.emit(f"Taken from {taken.name}.")
        return True

    def save_picture(self, scene: Scene) -> bool:
        """Show a picture of the plan, and save it in the kind that its suffix names."""
        from app.dialogs.plan_picture import PictureKind
        from app.views.plan_picture import PlanPicture

        picture = PlanPicture(scene)
        chosen = ask_picture(self._parent, picture, PictureKind(self.settings.picture_scale))
        if chosen is None:
            return False
        self.change_settings(picture_scale=chosen.scale)
        name = file_name(self._document.design.name, f"_plan{chosen.suffix}")
        start, title = Path(self.settings.last_folder) / name, "Save the picture of the plan"
        path = questions.ask_save(self._parent, start, title, _picture_filter(chosen.suffix), chosen.suffix)
        if path is None:
            return False
        try:
            data = _picture_bytes(picture, path, chosen)
        except FileError as error:
            questions.tell(self._parent, "The picture was not saved", str(error))
            return False
        if not self.write(self._parent, path, {path.name: data}, "picture"):
            return False
        self.change_settings(last_folder=str(path.absolute().parent))
        self._document.done.emit(f"Picture of the plan saved to {path}.")
        return True

    def copy_picture(self, scene: Scene) -> None:
        """Put a picture of the plan on the clipboard."""
        from app.views.plan_picture import COPIED_SCALE, PlanPicture

        # Pixels alone: data of our own making would be asked for after Python has ended, and crash there.
        QGuiApplication.clipboard().setImage(PlanPicture(scene).image(COPIED_SCALE))
        self._document.done.emit("The picture of the plan is on the clipboard.")

    def export(self) -> bool:
        """Show the export, and write the file that was previewed."""
        self._document.cancel_preview()
        design = self._document.design
        try:
            chosen = ask_export(self._parent, design, self.settings.export_rows, self.settings.length_unit)
        except AxlewrightError as error:
            questions.tell(self._parent, "The table was not saved", str(error))
            return False
        if chosen is None:
            return False
        start = Path(self.settings.last_folder) / file_name(design.name, chosen.suffix)
        words = _Words("steering table", "table", "Steering table", chosen.suffix)
        place = self._save_files(self._parent, chosen.files, start, words)
        if place is None:
            return False
        self.change_settings(export_rows=chosen.rows)
        self.remember("table", place, design)
        self._document.done.emit(f"Table saved to {place}.")
        return True

    def export_code(self) -> bool:
        """Show the export of code for the controller; what was chosen is one undo step."""
        document = self._document
        document.cancel_preview()
        design = document.design
        chosen = ask_controller_export(self._parent, design, self.settings.code_format, self._save_code)
        if chosen is None:
            return False
        self.change_settings(code_format=chosen.format_key)
        return document.edit(
            "Change what the controller gets", lambda d: d.edited(controller=chosen.controller)
        )

    def _save_code(self, parent: QWidget, file: CodeFile) -> bool:
        """Ask for a place and write; the dialog stays open where it was not written."""
        form = file.form
        start = Path(self.settings.last_folder) / next(iter(file.files))
        words = _Words("code for the controller", "code", form.label, form.suffix)
        place = self._save_files(parent, file.files, start, words)
        if place is None:
            return False
        self.remember("code", place, self._document.design)
        self._document.done.emit(f"Code for the controller saved to {place}.")
        return True

    def remember(self, what: What, place: Path, design: Design) -> None:
        """Keep in mind what was made, and from which design."""
        one = MadeFile(
            what=what,
            design=hash_of(design),
            name=design.name,
            place=str(place.absolute())[:4_096],
            at=datetime.now(UTC).isoformat(timespec="seconds"),
        )
        self.change_settings(made=(one, *self.settings.made)[:MOST_KEPT])
        self.made.emit()

    def _save_files(
        self, parent: QWidget, made: Mapping[str, bytes], start: Path, words: _Words
    ) -> Path | None:
        """Ask for a place and write there: a file, or a folder for several; None where it was not written."""
        title, several = f"Save the {words.whole}", len(made) > 1
        if several:
            place = questions.ask_folder(parent, start.parent, title, made)
        else:
            pattern = f"{words.kind} (*{words.suffix});;All files (*)"
            place = questions.ask_save(parent, start, title, pattern, words.suffix)
        if place is None:
            return None
        if not self.write(parent, place, made, words.short):
            return None
        self.change_settings(last_folder=str(place.absolute() if several else place.absolute().parent))
        return place

    def write(self, parent: QWidget, place: Path, made: Mapping[str, bytes], short: str) -> bool:
        """Write files that are no chassis, or tell why not."""
        try:
            for path in placed(place, made):
                self._refuse_chassis(path)
            write_files(place, made)
        except AxlewrightError as error:
            questions.tell(parent, f"The {short} was not saved", str(error))
            return False
        return True

    def _refuse_chassis(self, path: Path) -> None:
        """Never write an export over a chassis, above all not over the one that is open."""
        own = self._document.path
        if same_place(path, own) or files.holds_chassis(path):
            raise FileError(f"{path} is a chassis file, and stays as it is; choose another name")

    def begin(self, folder: Path, named: Path | None) -> bool:
        """Start with what a crash left behind, if the person takes it up, else with the named file.

        Without either, the last file is opened where the person prefers that.

        Returns
        -------
        bool
            Whether any of these was taken up.
        """
        if not self.offer_recovery(folder, named):
            return self._open_last() if named is None else self.open_path(named)
        if named is not None and self._document.path != named.absolute():
            self._document.done.emit(f"{named.name} is not open: the work from before was taken up.")
        return True

    def _open_last(self) -> bool:
        if not self.settings.open_last or not self.settings.recent_files:
            return False
        path = Path(self.settings.recent_files[0])
        if os.path.exists(path):  # noqa: PTH110 - False also for a name that the system refuses
            return self._open(path)
        # Nobody asked for it just now, so no question stands in the way of the start.
        self.keep(self.settings.without_recent(path))
        self._document.message.emit(f"{path.name}, the last file, is not there any more ({path.parent}).")
        return False

    def offer_recovery(self, folder: Path, named: Path | None = None) -> bool:
        """Offer the newest work that a crash left behind; that on the named file before all other."""
        found = recovery.find_recoveries(folder)
        if not found:
            return False
        first = next((one for one in found if same_place(one.original, named)), found[0])
        when = f"{datetime.fromtimestamp(first.saved_at, tz=UTC).astimezone():%d %B %Y at %H:%M}"
        about = _about_named(first, named)
        answer = questions.ask_recover(self._parent, first.design.name, when, len(found) - 1, about)
        if answer == "recover":
            self._document.start_recovered(first.design, first.original)
            if self._document.autosave():  # never without a copy in between
                recovery.drop_recovery(folder, first.session_id)
        elif answer == "drop":
            recovery.drop_recovery(folder, first.session_id)
        return answer == "recover"


def _about_named(found: recovery.Recovery, named: Path | None) -> str:
    """What taking up the copy means for the file that was to be opened."""
    if named is None:
        return ""
    if same_place(found.original, named):
        return f"It is later work on {named.name}, the file that you are opening."
    return f"{named.name} opens if you do not; you can open it afterwards."


def _picture_filter(suffix: str) -> str:
    """The kinds of picture, that of the suffix first."""
    kinds = ["PNG picture (*.png)", "SVG drawing (*.svg)"]
    return ";;".join([*(kinds if suffix == ".png" else kinds[::-1]), "All files (*)"])


def _picture_bytes(picture: PlanPicture, path: Path, chosen: PictureKind) -> bytes:
    """The bytes of a picture, in the kind that the suffix names.

    Raises
    ------
    FileError
        If it names neither.
    """
    suffix = path.suffix.casefold()
    if suffix == ".svg":
        return picture.svg()
    if suffix == ".png":
        return picture.png(max(chosen.scale, 1))
    raise FileError(f"{path.name}: a picture is a .png or a .svg file; choose one of these suffixes")


def file_name(name: str, suffix: str = ".json") -> str:
    """A file name from a chassis name, safe on every system."""
    kept = "".join(c if c.isalnum() or c in "-_" else "_" for c in name.strip()).strip("_")
    return (kept or "chassis") + suffix
