"""What a design gives on paper, for command line and window alike: pages, their title, notes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias, TypedDict, Unpack

from geometry.progress import Progress, tell, unwatched

if TYPE_CHECKING:
    from app.drawing.elements import Drawing
    from app.drawing.pages import Orientation, Page, Scale
    from app.sheet.blocks import Sheet
    from app.sheet.paper_pages import Paper
    from geometry.model.design import Design

# Each is imported once it is asked for: one needs nothing of the others.

_SHARE_BEFORE = 0.1
"""Told as done before each drawing, so that the work can be stopped there."""
View: TypeAlias = Literal["plan", "side", "front"]
SUBJECTS: dict[View, str] = {
    "plan": "Plan, seen from above",
    "side": "Side view",
    "front": "Front view",
}
"""What each view is called on its pages."""


class Laying(TypedDict, total=False):
    """How a plan is laid on paper, as `app.drawing.pages.pages_of` takes it."""

    scale: Scale
    tiles: bool | None
    orientation: Orientation | None
    overlap: float


class OnPaper(NamedTuple):
    """Pages that `app.export.pdf.pdf_of` writes."""

    pages: Sequence[Page]
    title: str
    """Of the file."""
    told: Sequence[str] = ()
    """Notes for the person, as sentences."""


def drawn(design: Design, view: View, scale: float = 1.0) -> Drawing:
    """Draw a view of a design at a scale of paper by full size."""
    if view == "plan":
        from app.drawing.plan import plan_of

        return plan_of(design, scale=scale)
    from app.drawing.elevation import elevation_of

    return elevation_of(design, view, scale=scale)


def plan_on_paper(
    design: Design,
    view: View = "plan",
    paper: str = "A4",
    *,
    progress: Progress = unwatched,
    **how: Unpack[Laying],
) -> OnPaper:
    """Lay a view of a design on paper.

    Raises
    ------
    PaperError
        If it does not go on this paper in this way.
    Cancelled
        If `progress` returned False.
    """
    from app.drawing.pages import pages_of

    def draw(scale: float) -> Drawing:
        tell(progress, _SHARE_BEFORE)
        return drawn(design, view, scale)

    paged = pages_of(draw, paper, subject=SUBJECTS[view], **how)
    return OnPaper(paged.pages, f"{design.name}: {view}", paged.told)


def gauges_on_paper(
    design: Design, paper: str = "A4", *, hole_mm: float = 3.0, progress: Progress = unwatched
) -> OnPaper:
    """Lay all gauges of a design on paper, each from a page of its own on.

    Raises
    ------
    AxlewrightError
        If no wheel is steered, or the paper is none.
    Cancelled
        If `progress` returned False.
    """
    from app.drawing.gauge import gauges_of
    from app.drawing.pages import pages_of

    drawings = gauges_of(design, hole_mm=hole_mm, progress=progress)
    laid = [pages_of(drawing, paper, subject="Gauge, seen from above") for drawing in drawings]
    told = dict.fromkeys(line for one in laid for line in one.told)
    return OnPaper([page for one in laid for page in one.pages], f"{design.name}: gauges", tuple(told))


def sheet_on_paper(sheet: Sheet, paper: Paper = "A4") -> OnPaper:
    """Lay a build sheet on paper."""
    from app.sheet.paper_pages import sheet_pages

    return OnPaper(sheet_pages(sheet, paper), f"{sheet.title}: build sheet")
