"""Icons of our own, drawn from a few lines each on a grid of 16, in a colour of the theme."""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QGuiApplication, QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from app.theme import current_theme

SIZE = 16
"""Side of the grid on which they are drawn."""
_TYRES = "".join(
    f'<rect x="{x}" y="{y}" width="3" height="5" rx="1" fill="{{c}}"/>' for x in (1, 12) for y in (1.5, 9.5)
)
# In a drawing {c} is its colour, and {g} the ground that shines through.
DRAWINGS = {
    # Stages
    "lay out": f'{_TYRES}<rect x="5.7" y="2" width="4.6" height="12" rx="1"/>',
    "motors": '<circle cx="8" cy="8" r="4.5"/><circle cx="8" cy="8" r="1.2" fill="{c}"/>'
    '<path d="M8 1v2.5M8 12.5v2.5M1 8h2.5M12.5 8h2.5"/>',
    "check": '<path d="M1.5 1.5v13h13"/><path d="M4 11l3-4 2.5 2.5 4-6"/>',
    "drive": '<circle cx="8" cy="4" r="2.5"/><path d="M8 6.5v5"/><path d="M3 14.5a5 3 0 0 1 10 0z"/>',
    "build": '<path d="M3.5 1.5h6l3 3v10h-9z"/><path d="M9.5 1.5v3h3M5.5 8h5M5.5 11h5"/>',
    "bench": '<path d="M1.5 8h13M3.5 8v6.5M12.5 8v6.5"/><rect x="5.5" y="2.5" width="5" height="5.5"/>',
    # States
    "done": '<circle cx="8" cy="8" r="7" fill="{c}" stroke="none"/>'
    '<path d="M4.5 8.2l2.5 2.5 4.5-5" stroke="{g}" stroke-width="1.8"/>',
    "begun": '<circle cx="8" cy="8" r="6" stroke-width="1.5"/>'
    '<circle cx="8" cy="8" r="2.8" fill="{c}" stroke="none"/>',
    "open": '<circle cx="8" cy="8" r="6" stroke-width="1.5"/>',
    "wrong": '<path d="M8 1.5L15 14.5H1z" fill="{c}"/>'
    '<path d="M8 6v4.2M8 12.2v.6" stroke="{g}" stroke-width="1.7"/>',
    "slight": '<path d="M8 2L14.5 14H1.5z" stroke-width="1.6"/>',
    "unused": '<path d="M3 8h10" stroke-width="1.8"/>',
    "folder": '<path d="M1.5 3h4.5l1.5 2h7v8.5h-13z"/>',
    "back": '<path d="M7 3L2 8l5 5M2 8h12"/>',
    "remove": '<path d="M4 4l8 8M12 4l-8 8"/>',
    # Tools
    "add": '<path d="M8 2.5v11M2.5 8h11"/>',
    "body": '<path d="M4.5 1.5h7l3 3v7l-3 3h-7l-3-3v-7z"/>',
    "measure": '<path d="M1.5 11L11 1.5l3.5 3.5L5 14.5z"/>'
    '<path d="M4.5 8l1.5 1.5M7 5.5L9 7.5M9.5 3L11 4.5"/>',
    "part": '<rect x="2" y="4" width="12" height="8" rx="0.8"/>',
    "side_view": '<path d="M1 13.5h14"/><rect x="2.5" y="4" width="11" height="5"/>'
    '<circle cx="5" cy="11" r="2.4"/><circle cx="11" cy="11" r="2.4"/>',
    "front_view": '<path d="M1 13.5h14"/><rect x="4.5" y="4" width="7" height="5"/>'
    '<rect x="2" y="7" width="2.5" height="6.5"/><rect x="11.5" y="7" width="2.5" height="6.5"/>',
    "mirror": '<path d="M8 1v14" stroke-dasharray="2 1.5"/><path d="M5.5 4v8l-4-4zM10.5 4v8l4-4z"/>',
    "delete": '<path d="M2 4h12M6 4V2h4v2M3.5 4l1 10.5h7l1-10.5M6.5 7v5M9.5 7v5"/>',
    "symmetry": '<path d="M8 1v14" stroke-dasharray="2 1.5"/>'
    '<rect x="2" y="4" width="3" height="8" rx="1" fill="{c}"/>'
    '<rect x="11" y="4" width="3" height="8" rx="1" fill="{c}"/>',
    "snap": "".join(
        f'<circle cx="{x}" cy="{y}" r="1.1" fill="{{c}}" stroke="none"/>'
        for x in (3, 8, 13)
        for y in (3, 8, 13)
    ),
    "fit": '<path d="M2 5.5V2h3.5M10.5 2H14v3.5M14 10.5V14h-3.5M5.5 14H2v-3.5"/>',
    "zoom_in": '<path d="M8 3v10M3 8h10" stroke-width="1.7"/>',
    "zoom_out": '<path d="M3 8h10" stroke-width="1.7"/>',
    "circles": '<circle cx="8" cy="8" r="6"/><path d="M8 2l2.5-1M8 2l2 2.2"/>',
    "ideal": '<circle cx="8" cy="8" r="5"/><circle cx="8" cy="8" r="1.5" fill="{c}"/>'
    '<path d="M8 1v3M8 12v3M1 8h3M12 8h3"/>',
    "labels": '<path d="M2 4h8l4 4-4 4H2z"/><path d="M4.5 8h3.5"/>',
    "add_steer_motor": '<circle cx="8" cy="8" r="6"/><path d="M8 5v6M5 8h6"/>',
    "add_drive_motor": '<rect x="2" y="2" width="12" height="12" rx="1.5"/><path d="M8 5v6M5 8h6"/>',
    "suggest": '<path d="M5.5 11.5a4.5 4.5 0 1 1 5 0zM6 14.5h4"/>',
    "undo": '<path d="M3 6h7a4 4 0 0 1 0 8H6M6 2.5L2.5 6 6 9.5"/>',
    "redo": '<path d="M13 6H6a4 4 0 0 0 0 8h4M10 2.5L13.5 6 10 9.5"/>',
    "save": '<path d="M2 2h9.5L14 4.5V14H2z"/><path d="M4.5 2v4h6V2M4.5 14V9.5h7V14"/>',
    "find": '<circle cx="6.8" cy="6.8" r="4.5"/><path d="M10.2 10.2l4.3 4.3"/>',
    "export": '<rect x="1.5" y="2.5" width="13" height="11"/><path d="M1.5 6h13M6 2.5v11M1.5 9.7h13"/>',
    "export_code": '<path d="M5 3.5L1 8l4 4.5M11 3.5L15 8l-4 4.5"/>',
    "make_plan": '<path d="M1.5 14.5v-13h13v13z"/><path d="M8 1.5v13M1.5 8h13" stroke-dasharray="1.5 1.5"/>'
    '<circle cx="8" cy="8" r="3.2"/>',
    "make_gauges": '<path d="M1.5 12.5a6.5 6.5 0 0 1 13 0z"/>'
    '<path d="M8 12.5V9M8 6v1M3.6 8.1l.8.8M12.4 8.1l-.8.8"/>',
    "make_sheet": '<path d="M2.5 1.5h11v13h-11z"/>'
    '<path d="M5 4.8l.8.8 1.4-1.6M5 8.8l.8.8 1.4-1.6M9 5h2.5M9 9h2.5M5 12h6.5"/>',
    "make_drawing": '<path d="M8 4.5L4 14.5M8 4.5l4 10M5.4 11a6 6 0 0 0 5.2 0"/>'
    '<circle cx="8" cy="3" r="1.5"/>',
    "own window": '<path d="M6.5 3H2v11h11V9.5M9 2h5v5M14 2L7.5 8.5"/>',
    "folded": '<path d="M6 3.5L10.5 8 6 12.5"/>',
    "unfolded": '<path d="M3.5 6L8 10.5 12.5 6"/>',
}


def picture_of(key: str, colour: str, ground: str, ratio: float) -> QPixmap:
    """One icon of 16 px in a colour, where a pixel has so many device pixels in a row.

    Raises
    ------
    KeyError
        If no drawing has the key.
    """
    body = DRAWINGS[key].replace("{c}", colour).replace("{g}", ground)
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIZE} {SIZE}"><g fill="none" '
        f'stroke="{colour}" stroke-width="1.3" stroke-linecap="round" '
        f'stroke-linejoin="round">{body}</g></svg>'
    )
    side = round(SIZE * ratio)
    made = QPixmap(side, side)
    made.fill(Qt.GlobalColor.transparent)
    painter = QPainter(made)
    QSvgRenderer(QByteArray(text.encode())).render(painter, QRectF(0, 0, side, side))
    painter.end()
    made.setDevicePixelRatio(ratio)
    return made


@lru_cache(maxsize=256)
def shared_picture(key: str, colour: str, ground: str, ratio: float) -> QPixmap:
    """The same, made once."""
    return picture_of(key, colour, ground, ratio)


def icon(key: str, *, faint: bool = False) -> QIcon:
    """An icon for buttons and menus in the colours of now: plain, switched on, and greyed."""
    theme = current_theme()
    made = QIcon()
    # Of other screens than there are, which come later, Qt makes them larger or smaller.
    for ratio in {screen.devicePixelRatio() for screen in QGuiApplication.screens()}:
        for mode, state, colour in (
            (QIcon.Mode.Normal, QIcon.State.Off, theme.faint if faint else theme.ink),
            (QIcon.Mode.Normal, QIcon.State.On, theme.accent),
            (QIcon.Mode.Disabled, QIcon.State.Off, theme.faint),
        ):
            made.addPixmap(shared_picture(key, colour, theme.panel, ratio), mode, state)
    return made
