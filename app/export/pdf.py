"""Pages as PDF: lines and arcs at their exact size, text that can be searched and copied, no pictures.

The same pages give the same bytes, wherever and whenever they are written with the same version of Qt.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID
from xml.sax.saxutils import escape

from app import qt_check
from app.controller.export_error import ExportError
from app.drawing.pages import Page
from app.export.painting import paint_drawing, painting_ready
from app.units import MM_PER_INCH

if TYPE_CHECKING:
    from PySide6.QtGui import QFont, QPainter, QPdfWriter

CREATOR = "Axlewright"
_DPI = 1200
_POINTS = 72.0
"""Of an inch."""


def pdf_of(pages: Sequence[Page], title: str) -> bytes:
    """Write pages, each at its size.

    Parameters
    ----------
    pages : sequence of Page
        At least one.
    title : str
        Of the document, as readers show it.

    Raises
    ------
    ExportError
        If Qt, which draws them, does not load here.
    """
    lacking = qt_check.paper_trouble()
    if lacking:
        raise ExportError(lacking)
    try:
        with painting_ready() as font:
            written = _written(pages, title, font)
    except ImportError as error:
        raise ExportError(qt_check.paper_import_trouble(error)) from error
    return settled(written, [(page.width_mm, page.height_mm) for page in pages])


def paint_page(painter: QPainter, page: Page, font: QFont) -> None:
    """Paint a page on a painter whose unit is a millimetre, y up, its origin the page's lower left corner.

    `painting_ready` has the font.
    """
    from PySide6.QtCore import QRectF

    if page.window is not None:
        left, low, right, high = page.window.clip
        painter.save()
        painter.setClipRect(QRectF(left, low, right - left, high - low))
        paint_drawing(painter, page.window.drawing, font)
        painter.restore()
    paint_drawing(painter, page.drawing, font)


def _written(pages: Sequence[Page], title: str, font: QFont) -> bytes:
    from PySide6.QtCore import QBuffer, QIODevice, QUuid
    from PySide6.QtGui import QPainter, QPdfWriter

    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_DPI)
    writer.setTitle(title)
    writer.setCreator(CREATOR)
    number = UUID(bytes=hashlib.sha256(repr((title, pages)).encode()).digest()[:16], version=4)
    writer.setDocumentId(QUuid(f"{{{number}}}"))
    writer.setDocumentXmpMetadata(_about(title, number))
    painter = QPainter()
    for page in pages:
        _lay(writer, page)
        if painter.isActive():
            writer.newPage()
        else:
            painter.begin(writer)
        # Qt's page is a whole number of points high, and it counts from the top: the difference to the true
        # height must not shift what stands on the page.
        tall = writer.pageLayout().fullRectPoints().height()
        painter.resetTransform()
        painter.translate(0.0, tall * _DPI / _POINTS)
        painter.scale(_DPI / MM_PER_INCH, -_DPI / MM_PER_INCH)
        paint_page(painter, page, font)
    painter.end()
    return bytes(buffer.data().data())


def _lay(writer: QPdfWriter, page: Page) -> None:
    from PySide6.QtCore import QMarginsF, QSizeF
    from PySide6.QtGui import QPageSize

    size = QSizeF(page.width_mm, page.height_mm)
    exact = QPageSize.SizeMatchPolicy.ExactMatch
    writer.setPageSize(QPageSize(size, QPageSize.Unit.Millimeter, "", exact))
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))


def _about(title: str, number: UUID) -> bytes:
    """What Qt would write itself with the time of day."""
    return (
        "<?xpacket begin='' id='W5M0MpCehiHzreSzNTczkc9d'?>\n"
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">\n'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title><rdf:Alt>'
        f'<rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title></rdf:Description>\n'
        '<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/" '
        f'xmp:CreatorTool="{CREATOR}"/>\n'
        '<rdf:Description rdf:about="" xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/" '
        f'xmpMM:DocumentID="uuid:{number}"/>\n'
        "</rdf:RDF></x:xmpmeta>\n<?xpacket end='w'?>"
    ).encode()


# What Qt leaves to chance ---------------------------------------------------------------------


class _Edit(NamedTuple):
    start: int
    end: int
    by: bytes


_DATES = re.compile(rb"/(?:Creation|Mod)Date \([^()]*\)\n")
_BOX = re.compile(rb"/(?:Media|Trim)Box \[0 0 [0-9. ]+\]")
_PAGE = re.compile(rb"<<\n/Type /Page\n.*?\n>>", re.DOTALL)
_CMAP = re.compile(rb"begincmap\n.*?\nendcmap", re.DOTALL)
# What glyphs stand for: in a list, or for the first of a run of glyphs.
_TAB = re.compile(rb"(?:\[(?:<\w{4}> )*|\n<\w{4}> <\w{4}> )(<0009>)")


def settled(data: bytes, sizes: Sequence[tuple[float, float]]) -> bytes:
    """Make a PDF of Qt independent of the clock, with exact page boxes and spaces that copy as spaces.

    Parameters
    ----------
    data : bytes
        As `QPdfWriter` writes it.
    sizes : sequence of (float, float)
        Width and height of each page [mm].

    Returns
    -------
    bytes
        With the table of places set right. A part that is not as expected stays as it is.
    """
    table = re.search(rb"\nxref\n0 (\d+)\n", data)
    if table is None:
        return data
    rows = [int(row[:10]) for row in data[table.end() : table.end() + 20 * int(table[1])].splitlines()]
    edits = sorted([*_dates_left_out(data), *_exact_boxes(data, sizes), *_spaces(data)])

    def new_place(old: int) -> int:
        return old + sum(len(edit.by) - (edit.end - edit.start) for edit in edits if edit.end <= old)

    edits += [
        _Edit(place, place + 10, b"%010d" % new_place(row))
        for place, row in zip(range(table.end(), len(data), 20), rows, strict=False)
        if row
    ]
    ending = re.search(rb"startxref\n(\d+)\s", data[table.end() :])
    if ending is not None:
        start, end = (table.end() + place for place in ending.span(1))
        edits.append(_Edit(start, end, b"%d" % new_place(int(ending[1]))))
    made, done = [], 0
    for edit in sorted(edits):
        made += [data[done : edit.start], edit.by]
        done = edit.end
    return b"".join([*made, data[done:]])


def _dates_left_out(data: bytes) -> Iterator[_Edit]:
    head = data.find(b"endobj")  # they are in the first object
    yield from (_Edit(*found.span(), b"") for found in _DATES.finditer(data, 0, head))


def _exact_boxes(data: bytes, sizes: Sequence[tuple[float, float]]) -> Iterator[_Edit]:
    found = list(_PAGE.finditer(data))
    if len(found) != len(sizes):
        return
    for page, size in zip(found, sizes, strict=True):
        width, height = (side * _POINTS / MM_PER_INCH for side in size)
        for box in _BOX.finditer(data, *page.span()):
            name = box[0].split(b" ")[0]
            yield _Edit(*box.span(), b"%s [0 0 %.6f %.6f]" % (name, width, height))


def _spaces(data: bytes) -> Iterator[_Edit]:
    """Say that the sign between words is a space: Qt takes it for a tab, for which the font has the same."""
    for cmap in _CMAP.finditer(data):
        for found in _TAB.finditer(data, *cmap.span()):
            yield _Edit(*found.span(1), b"<0020>")
