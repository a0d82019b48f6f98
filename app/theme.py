"""Colours, pens and fonts by role, light and dark.

Words keep a contrast of at least 5.1 to 1 to every ground on which they stand. The curves of the
plot are of Okabe and Ito's set, which stays apart for colour-blind eyes; the shape of a mark and
its words carry the state, the colour only repeats it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette, QPen
from PySide6.QtWidgets import QApplication

from app.settings import Appearance

_SCHEMES = {
    "system": Qt.ColorScheme.Unknown,
    "light": Qt.ColorScheme.Light,
    "dark": Qt.ColorScheme.Dark,
}


@dataclass(frozen=True)
class Theme:
    """Colours by role, as text that QColor reads."""

    dark: bool
    window: str
    """Ground of the window: menus, stage bar, turn bar."""
    panel: str
    field: str
    paper: str
    """Ground of the plan and of plots."""
    grid: str
    grid_strong: str
    line: str
    """Between parts of the window."""
    edge: str
    """Round fields and buttons."""
    ink: str
    faint: str
    accent: str
    soft: str
    """Ground of what is selected or switched on."""
    on_accent: str
    good: str
    slight: str
    bad: str
    good_ground: str
    slight_ground: str
    bad_ground: str
    motor: str
    motor_ground: str
    steered: str
    fixed: str
    caster: str
    body: str
    body_line: str
    part: str
    arc: str
    stop: str
    series: tuple[str, ...]

    @property
    def tyre_line(self) -> str:
        """Edge of a tyre."""
        return self.ink

    @property
    def ghost(self) -> str:
        """What would suit, beside what the motors do."""
        return self.motor

    def state(self, state: str) -> str:
        """Colour of a wheel's state."""
        return {"slight drag": self.slight, "drags": self.bad}.get(state, self.good)

    def verdict(self, tone: str) -> tuple[str, str]:
        """Colour of a verdict's mark, and of the ground under its words."""
        return {
            "good": (self.good, self.good_ground),
            "slight": (self.slight, self.slight_ground),
            "bad": (self.bad, self.bad_ground),
        }.get(tone, (self.faint, self.panel))

    def wheel(self, kind: str) -> str:
        """Fill colour of a kind of wheel."""
        return {"steered": self.steered, "caster": self.caster}.get(kind, self.fixed)


LIGHT = Theme(
    dark=False,
    window="#eae8e1",
    panel="#f8f7f2",
    field="#ffffff",
    paper="#fdfcf8",
    grid="#f1efe7",
    grid_strong="#e2dfd3",
    line="#d6d3c7",
    edge="#85837a",
    ink="#1d2320",
    faint="#565b55",
    accent="#14578a",
    soft="#dce8f2",
    on_accent="#ffffff",
    good="#0a6548",
    slight="#875400",
    bad="#8f2500",
    good_ground="#e0efe6",
    slight_ground="#fbeed4",
    bad_ground="#fbe4d9",
    motor="#6a3f8f",
    motor_ground="#ece3f3",
    steered="#1f6b61",
    fixed="#b6bcb7",
    caster="#8a7fa8",
    body="#efebdd",
    body_line="#7f775f",
    part="#dedacb",
    arc="#8f876a",
    stop="#b3261e",
    series=("#0072b2", "#d55e00", "#009e73", "#b4256b", "#8a6d00", "#56607a", "#3aa0d8", "#5b3a8c"),
)

DARK = Theme(
    dark=True,
    window="#141817",
    panel="#1e2322",
    field="#2a302e",
    paper="#121615",
    grid="#1a1f1e",
    grid_strong="#29302d",
    line="#39413e",
    edge="#7f8a85",
    ink="#e8ece7",
    faint="#a8b0aa",
    accent="#86c2ee",
    soft="#20394b",
    on_accent="#0b1820",
    good="#62d5aa",
    slight="#f0bb52",
    bad="#ff9670",
    good_ground="#17342a",
    slight_ground="#392d14",
    bad_ground="#41241a",
    motor="#cdb2f2",
    motor_ground="#33284a",
    steered="#4fb3a5",
    fixed="#48514d",
    caster="#a99cd0",
    body="#232a27",
    body_line="#98a195",
    part="#38413d",
    arc="#8c8567",
    stop="#cc3228",
    series=("#56b4e9", "#ff9b54", "#3fd6a5", "#ff7fb8", "#f0e442", "#b0bccb", "#8fd0ff", "#c3a2f0"),
)


def current_theme() -> Theme:
    """Follow the palette that Qt shows, however it was chosen."""
    window = QGuiApplication.palette().color(QPalette.ColorRole.Window)
    return DARK if window.lightness() < 128 else LIGHT


def apply_appearance(appearance: Appearance) -> None:
    """Show light, dark, or what the system has.

    Not every platform follows Qt's colour scheme, so the palette is set here in full.
    """
    application = QApplication.instance()
    if not isinstance(application, QApplication):
        return
    hints = QGuiApplication.styleHints()
    hints.setColorScheme(_SCHEMES[appearance])
    dark = appearance == "dark" or (appearance == "system" and hints.colorScheme() == Qt.ColorScheme.Dark)
    wanted = _palette(DARK if dark else LIGHT)
    if application.palette() != wanted:
        application.setPalette(wanted)


def _palette(theme: Theme) -> QPalette:
    """A whole palette from the roles of a theme."""
    role, group = QPalette.ColorRole, QPalette.ColorGroup
    made = QPalette(QColor(theme.panel), QColor(theme.window))
    plain = {
        role.Window: theme.window,
        role.Base: theme.field,
        role.AlternateBase: theme.panel,
        role.Button: theme.panel,
        role.Mid: theme.line,
        role.ToolTipBase: theme.field,
        role.Highlight: theme.accent,
        role.HighlightedText: theme.on_accent,
        role.Link: theme.accent,
        role.Accent: theme.accent,
        **dict.fromkeys((role.WindowText, role.Text, role.ButtonText, role.ToolTipText), theme.ink),
    }
    for key, name in plain.items():
        made.setColor(key, QColor(name))
    faded = QColor(mixed(theme.faint, theme.panel, 0.75))
    made.setColor(role.PlaceholderText, faded)
    for key in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(group.Disabled, key, faded)
    return made


def panel_palette() -> QPalette:
    """Of a part that lies on the ground of panels."""
    made = QPalette(QGuiApplication.palette())
    made.setColor(QPalette.ColorRole.Window, QColor(current_theme().panel))
    return made


def table_palette() -> QPalette:
    """Of a table or list on a panel: what is selected has a soft ground, and the ink of the rest."""
    theme, role = current_theme(), QPalette.ColorRole
    made = panel_palette()
    made.setColor(role.Base, QColor(theme.panel))
    made.setColor(role.Highlight, QColor(theme.soft))
    made.setColor(role.HighlightedText, QColor(theme.ink))
    return made


SIZES = {"title": 16 / 13, "text": 1.0, "small": 11 / 13}
"""Sizes of letters to that of the text."""


def sized(font: QFont, size: str, *, strong: bool = False) -> QFont:
    """A font of one of the three sizes, by that of the text."""
    made = QFont(font)
    if made.pixelSize() > 0:
        made.setPixelSize(round(made.pixelSize() * SIZES[size]))
    else:
        made.setPointSizeF(made.pointSizeF() * SIZES[size])
    if strong:
        made.setWeight(QFont.Weight.DemiBold)
    return made


@lru_cache(maxsize=512)
def colour(name: str, alpha: int = 255) -> QColor:
    """A colour by name, shared; never change it."""
    made = QColor(name)
    made.setAlpha(alpha)
    return made


@lru_cache(maxsize=512)
def mixed(name: str, ground: str, share: float) -> str:
    """A colour as it looks where it covers a share of a ground, 0 to 1.

    What is drawn at each mouse move is opaque: Qt shares out translucent areas among threads,
    and waits for them.
    """
    over, under = QColor(name), QColor(ground)
    parts = zip(over.getRgb()[:3], under.getRgb()[:3], strict=True)  # type: ignore[index]
    return QColor(*(round(share * a + (1.0 - share) * b) for a, b in parts)).name()


@lru_cache(maxsize=512)
def pen(name: str, width: float = 1.0, style: Qt.PenStyle = Qt.PenStyle.SolidLine, alpha: int = 255) -> QPen:
    """A pen in screen pixels, shared; never change it.

    Its ends are flat: Qt strokes a long line with round ends some ten times slower.
    """
    made = QPen(colour(name, alpha), width, style)
    made.setCosmetic(True)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    made.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return made


def fonts_present() -> bool:
    """False on a system without any font, where no label could be read."""
    return bool(QFontDatabase.families())
