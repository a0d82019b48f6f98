"""Colours, pens and fonts by role, light and dark.

The state colours are taken from Okabe and Ito's set, which stays apart for colour-blind
eyes; the shape of a mark and its words carry the state, the colour only repeats it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFontDatabase, QGuiApplication, QPalette, QPen
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
    ground: str
    grid: str
    grid_strong: str
    body: str
    body_line: str
    ink: str
    faint: str
    label: str
    fixed: str
    steered: str
    caster: str
    tyre_line: str
    select: str
    axle: str
    arc: str
    centre: str
    ghost: str
    """What would suit, beside what the motors do."""
    base_axle: str
    good: str
    slight: str
    bad: str
    banner: str
    good_ground: str
    slight_ground: str
    bad_ground: str
    series: tuple[str, ...]

    def state(self, state: str) -> str:
        """Colour of a wheel's state."""
        return {"slight drag": self.slight, "drags": self.bad}.get(state, self.good)

    def verdict(self, tone: str) -> tuple[str, str]:
        """Colour of a verdict's mark, and of the ground under its words."""
        return {
            "good": (self.good, self.good_ground),
            "slight": (self.slight, self.slight_ground),
            "bad": (self.bad, self.bad_ground),
        }.get(tone, (self.faint, self.banner))

    def wheel(self, kind: str) -> str:
        """Fill colour of a kind of wheel."""
        return {"steered": self.steered, "caster": self.caster}.get(kind, self.fixed)


LIGHT = Theme(
    dark=False,
    ground="#fbfaf6",
    grid="#eeebe1",
    grid_strong="#ddd8c9",
    body="#e9e4d4",
    body_line="#8d8670",
    ink="#22261f",
    faint="#6d7066",
    label="#fbfaf6",
    fixed="#56605a",
    steered="#2f7f74",
    caster="#8a7fa8",
    tyre_line="#1c211d",
    select="#b4256b",
    axle="#4a7fb0",
    arc="#9a8f6a",
    centre="#0a4f86",
    ghost="#6a3d9a",
    base_axle="#a39c86",
    good="#006a4e",
    slight="#9a5f00",
    bad="#b23a00",
    banner="#eef3ea",
    good_ground="#e0efe6",
    slight_ground="#fbeed4",
    bad_ground="#fbe4d9",
    series=("#0072b2", "#d55e00", "#009e73", "#b4256b", "#8a6d00", "#56607a", "#3aa0d8", "#5b3a8c"),
)

DARK = Theme(
    dark=True,
    ground="#1d211f",
    grid="#262b28",
    grid_strong="#363d39",
    body="#2c332f",
    body_line="#8f9a91",
    ink="#eceee8",
    faint="#a3aaa2",
    label="#1d211f",
    fixed="#8b958e",
    steered="#4fb3a5",
    caster="#a99cd0",
    tyre_line="#e6e9e3",
    select="#ff7fb8",
    axle="#6fb1e8",
    arc="#b8ab80",
    centre="#9bd0ff",
    ghost="#cdb0f5",
    base_axle="#7d8378",
    good="#5fd3a8",
    slight="#f0b84a",
    bad="#ff8a5c",
    banner="#26302a",
    good_ground="#17342a",
    slight_ground="#392d14",
    bad_ground="#41241a",
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
    dark = theme.dark
    window, base, button = ("#23282a", "#31393c", "#3b4448") if dark else ("#efefec", "#ffffff", "#e6e6e2")
    role, group = QPalette.ColorRole, QPalette.ColorGroup
    made = QPalette(QColor(button), QColor(window))
    plain = {
        role.Window: window,
        role.Base: base,
        role.AlternateBase: "#373f43" if dark else "#f6f6f3",
        role.Button: button,
        role.ToolTipBase: base,
        role.Highlight: "#2b6f9e" if dark else "#2f6f9f",
        role.HighlightedText: "#ffffff",
        role.Link: theme.centre,
        **dict.fromkeys((role.WindowText, role.Text, role.ButtonText, role.ToolTipText), theme.ink),
    }
    for key, name in plain.items():
        made.setColor(key, QColor(name))
    faded = QColor("#98a19e" if dark else "#8b8f8b")
    made.setColor(role.PlaceholderText, faded)
    for key in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(group.Disabled, key, faded)
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
