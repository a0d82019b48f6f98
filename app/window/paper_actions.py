"""Paper and files for other tools: asked where to, worked out off the window's thread, painted, written.

Each holds the same bytes as what its verb writes: `plan`, `gauge`, `sheet` and `export`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QLocale, QObject, Qt
from PySide6.QtWidgets import QProgressDialog, QWidget

from app.design.disk import FileError
from app.design.made import What
from app.dialogs import questions
from app.document import Document
from app.plain import plain_label
from app.window.file_actions import Filing, file_name
from geometry.errors import AxlewrightError
from geometry.model.design import Design
from geometry.progress import Progress, part_of, tell

if TYPE_CHECKING:
    from app.design.facts import Facts
    from app.drawing.elements import Drawing
    from app.export.on_paper import OnPaper
    from app.jobs import Job
    from app.sheet.paper_pages import Paper

# What lays out and what writes is imported once it is asked for: the window opens without it.

_PATIENCE_MS = 300
"""Before a dialog says that something is worked on."""
_SHARE_LAID = 0.9
"""Of the work; the rest is a short end that tells nothing."""


class Laid(NamedTuple):
    """What is worked out, but for what Qt paints."""

    paint: Callable[[], bytes]
    """Gives the whole file; for the window's thread."""
    told: Sequence[str] = ()
    """Notes for the person, as sentences."""


class _Kind(NamedTuple):
    whole: str
    """What messages and the title of a dialog call it."""
    ending: str
    """Of the name that is proposed, before the suffix."""
    forms: tuple[tuple[str, str], ...]
    """Suffix and label of each file that it can be; the first is proposed."""
    lay_out: Callable[[Design, str, Paper, Progress], Laid]
    """Takes the suffix too; raises `AxlewrightError` where it cannot be made."""


def local_paper() -> Paper:
    """Letter where the person's system measures in inches as in the United States, else A4."""
    inches = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return "Letter" if inches else "A4"


class PaperWork(QObject):
    """Makes one file at a time."""

    def __init__(self, document: Document, parent: QWidget, filing: Filing) -> None:
        super().__init__(parent)
        self._document, self._window, self._filing = document, parent, filing
        self._job: Job | None = None
        self.dialog: QProgressDialog | None = None
        """Says how far the work is, once it takes long."""
        document.closed.connect(self.stop)

    @property
    def working(self) -> bool:
        """Whether something is worked out."""
        return self._job is not None

    def make(self, what: What) -> bool:
        """Ask for a place, and begin to make the file; False where it was not begun."""
        document, settings = self._document, self._filing.settings
        if self._job is not None:
            document.message.emit("Another file is being made; wait until it is there.")
            return False
        document.cancel_preview()
        design, kind = document.design, _kinds()[what]
        suffixes = [suffix for suffix, _ in kind.forms]
        start = Path(settings.last_folder) / file_name(design.name, f"_{kind.ending}{suffixes[0]}")
        pattern = ";;".join([*(f"{label} (*{suffix})" for suffix, label in kind.forms), "All files (*)"])
        place = questions.ask_save(self._window, start, f"Save the {kind.whole}", pattern, suffixes[0])
        if place is None:
            return False
        suffix = place.suffix.casefold()
        if suffix not in suffixes:
            self._fail(kind, f"{place.name}: its name must end with {' or '.join(suffixes)}; choose another")
            return False
        work = partial(kind.lay_out, design, suffix, local_paper())
        self._begin(kind, work, partial(self._finish, what, kind, design, place))
        return True

    def stop(self) -> None:
        """Let go of what is worked out; no file is written."""
        if self._job is not None:
            self._job.stop()
            self._ended()

    def _begin(self, kind: _Kind, work: Callable[[Progress], Laid], done: Callable[[Laid], None]) -> None:
        from app.jobs import Job

        job = self._job = Job(work, self)
        dialog = self.dialog = QProgressDialog(self._window)
        dialog.setWindowTitle(f"The {kind.whole}")
        dialog.setLabel(plain_label(f"Working out the {kind.whole} …"))
        dialog.setCancelButtonText("Cancel")
        # A modal one lets events through each time it is told a share, and may be gone when it goes on.
        dialog.setWindowModality(Qt.WindowModality.NonModal)
        dialog.setAutoClose(False)
        dialog.setAutoReset(False)
        dialog.setMinimumDuration(_PATIENCE_MS)
        dialog.setValue(0)  # else the time begins with the first share that is told
        dialog.canceled.connect(job.cancel)
        job.progressed.connect(self._show_share)
        job.ended.connect(self._ended)
        job.done.connect(done)
        job.failed.connect(partial(self._fail, kind))
        job.cancelled.connect(partial(self._tell_cancelled, kind))
        job.start()

    def _show_share(self, share: float) -> None:
        if self.dialog is not None:
            self.dialog.setValue(round(100 * share))

    def _ended(self) -> None:
        job, dialog = self._job, self.dialog
        self._job = self.dialog = None
        if dialog is not None:
            dialog.hide()
            dialog.deleteLater()
        if job is not None:
            job.deleteLater()

    def _finish(self, what: What, kind: _Kind, design: Design, place: Path, laid: Laid) -> None:
        try:
            data = laid.paint()
        except AxlewrightError as error:
            self._fail(kind, str(error))
            return
        if not self._filing.write(self._window, place, {place.name: data}, kind.whole):
            return
        self._filing.change_settings(last_folder=str(place.absolute().parent))
        self._filing.remember(what, place, design)
        notes = "".join(f" {line}" for line in laid.told)
        self._document.done.emit(f"{kind.whole.capitalize()} saved to {place}.{notes}")

    def _fail(self, kind: _Kind, why: str) -> None:
        questions.tell(self._window, f"The {kind.whole} was not saved", why)

    def _tell_cancelled(self, kind: _Kind) -> None:
        self._document.message.emit(f"The {kind.whole} was cancelled; no file was written.")


# What is made -----------------------------------------------------------------------------------


def _kinds() -> dict[str, _Kind]:
    from app.export.registry import exporters_of

    rows = [*exporters_of("drawing"), *exporters_of("design")]
    pdf = (".pdf", "Paper, as PDF")
    return {
        "plan": _Kind("full-size plan", "full_size", (pdf,), _plan),
        "gauge": _Kind("sheet of gauges", "gauges", (pdf,), _gauges),
        "sheet": _Kind("build sheet", "build_sheet", ((".html", "Page for a browser"), pdf), _sheet),
        "drawing": _Kind(
            "drawing for other tools", "drawing", tuple((row.suffix, row.label) for row in rows), _drawing
        ),
    }


def _painted(laid: OnPaper, told: Sequence[str] | None = None) -> Laid:
    from app.export.pdf import pdf_of

    return Laid(partial(pdf_of, laid.pages, laid.title), laid.told if told is None else told)


def _plan(design: Design, _suffix: str, paper: Paper, progress: Progress) -> Laid:
    from app.export.on_paper import plan_on_paper

    return _painted(plan_on_paper(design, "plan", paper, progress=progress))


def _gauges(design: Design, _suffix: str, paper: Paper, progress: Progress) -> Laid:
    from app.export.on_paper import gauges_on_paper

    return _painted(gauges_on_paper(design, paper, progress=part_of(progress, 0.0, _SHARE_LAID)))


def _sheet(design: Design, suffix: str, paper: Paper, progress: Progress) -> Laid:
    from app.design.facts import Facts
    from app.sheet.build_sheet import sheet_of

    facts = Facts(design)
    sheet = sheet_of(facts, part_of(progress, 0.0, _SHARE_LAID))
    if suffix == ".pdf":
        from app.export.on_paper import sheet_on_paper

        return _painted(sheet_on_paper(sheet, paper), _verdict(facts))
    from app.export import html_sheet

    data = html_sheet.render(sheet).encode()
    return Laid(lambda: data, _verdict(facts))


def _drawing(design: Design, suffix: str, _paper: Paper, progress: Progress) -> Laid:
    from app.export.registry import exporters_of, files_of

    tell(progress, 0.0)
    row = next(row for row in exporters_of("design") + exporters_of("drawing") if row.suffix == suffix)
    notes: Sequence[str]
    if row.source == "design":
        from app.design.facts import Facts

        value: Design | Drawing = design
        notes = (*(row.notes(design) if row.notes else ()), *_verdict(Facts(design)))
    else:
        from app.export.on_paper import drawn

        drawing = drawn(design, "plan")
        value, notes = drawing, drawing.notes

    def write() -> bytes:
        files = files_of(row, value)
        if len(files) != 1:
            raise FileError(
                f"{row.label} takes {len(files)} files; axlewright export writes them to a folder"
            )
        (data,) = files.values()
        return data

    tell(progress, _SHARE_LAID)
    if row.needs_qt:
        return Laid(write, notes)
    data = write()
    return Laid(lambda: data, notes)


def _verdict(facts: Facts) -> tuple[str, ...]:
    """That the chassis drags, as the verbs tell it."""
    from app.words.alignment_summary import verdict_sentence

    return () if facts.check.aligned else (verdict_sentence(facts),)
