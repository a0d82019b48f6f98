"""Light and dark: what carries a meaning can be read on its ground."""

import pytest
from PySide6.QtGui import QColor, QPalette

from app.theme import DARK, LIGHT, apply_appearance, colour, current_theme, pen

THEMES = pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])


def luminance(name):
    """Relative luminance after WCAG 2.2."""
    parts = [QColor(name).redF(), QColor(name).greenF(), QColor(name).blueF()]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(a, b):
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_measured_as_the_guideline_does():
    # Black on white is 21 by definition; #767676 on white is the well-known edge of 4.5.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@THEMES
@pytest.mark.parametrize("role", ["ink", "faint", "accent", "good", "slight", "bad", "motor"])
@pytest.mark.parametrize("ground", ["window", "panel", "field", "paper"])
def test_what_is_read_stands_out(theme, role, ground):
    assert contrast(getattr(theme, role), getattr(theme, ground)) >= 5.1


@THEMES
@pytest.mark.parametrize(
    ("role", "ground"),
    [
        ("ink", "soft"),
        ("accent", "soft"),
        ("on_accent", "accent"),
        ("good", "good_ground"),
        ("slight", "slight_ground"),
        ("bad", "bad_ground"),
        ("motor", "motor_ground"),
        ("ink", "body"),
        ("ink", "part"),
    ],
)
def test_what_is_read_on_a_coloured_ground_stands_out(theme, role, ground):
    assert contrast(getattr(theme, role), getattr(theme, ground)) >= 5.1


@THEMES
@pytest.mark.parametrize("tone", ["good", "slight", "bad", "empty"])
def test_the_verdict_can_be_read_on_its_ground(theme, tone):
    mark, ground = theme.verdict(tone)
    assert contrast(theme.ink, ground) >= 5.1
    assert contrast(mark, ground) >= 5.1


@THEMES
@pytest.mark.parametrize("role", ["accent", "steered", "caster", "tyre_line", "body_line", "edge", "arc"])
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_what_is_drawn_stands_out(theme, role, ground):
    # Fixed tyres are pale: their edge is of the ink.
    assert contrast(getattr(theme, role), getattr(theme, ground)) >= 3.0


@THEMES
def test_the_state_colours_differ_in_lightness_or_hue(theme):
    assert len({theme.good, theme.slight, theme.bad}) == 3
    assert theme.state("drags") == theme.bad
    assert theme.state("slight drag") == theme.slight
    assert theme.state("aligned") == theme.state("pivots") == theme.good


@pytest.mark.parametrize(("appearance", "theme"), [("light", LIGHT), ("dark", DARK)])
def test_an_appearance_sets_the_whole_palette(qapp, appearance, theme):
    apply_appearance(appearance)
    assert current_theme() is theme
    palette = qapp.palette()
    role = QPalette.ColorRole
    for text, ground in (
        (role.WindowText, role.Window),
        (role.Text, role.Base),
        (role.ButtonText, role.Button),
    ):
        assert contrast(palette.color(text).name(), palette.color(ground).name()) >= 4.5
    assert contrast(palette.color(role.HighlightedText).name(), palette.color(role.Highlight).name()) >= 4.5
    apply_appearance("light")


def test_colours_and_pens_are_shared():
    assert colour("#123456") is colour("#123456")
    assert colour("#123456", 30).alpha() == 30
    assert pen("#123456", 2.0) is pen("#123456", 2.0)
    assert pen("#123456").isCosmetic()
