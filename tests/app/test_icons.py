"""Each icon leaves a trace, light and dark, and every stage, state and tool has one."""

from typing import get_args

import numpy as np
import pytest
from PySide6.QtGui import QColor, QIcon

from app.icons import DRAWINGS, SIZE, icon, picture_of, shared_picture
from app.theme import DARK, LIGHT, apply_appearance
from app.window.middle import ZOOM
from app.window.stages import STAGES
from app.words.stage_states import Mark
from tests.picture import pixels

THEMES = {"light": LIGHT, "dark": DARK}


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("key", DRAWINGS)
@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_each_drawing_leaves_a_trace_of_its_colour_within_its_square(qapp, key, theme, ratio):
    roles = THEMES[theme]
    found = pixels(picture_of(key, roles.ink, roles.panel, ratio).toImage())
    side = round(SIZE * ratio)
    assert found.shape == (side, side, 4)
    strong = found[found[..., 3] > 150.0]
    assert len(strong) >= 6 * ratio, "nothing to be seen"
    assert len(strong) < 0.8 * side * side, "a mere block"
    ink = np.array(QColor(roles.ink).getRgb()[:3], float)
    assert np.abs(strong[:, :3] - ink).max(axis=1).min() < 40.0
    # What runs over the edge would be cut there.
    edge = np.concatenate([found[0, :, 3], found[-1, :, 3], found[:, 0, 3], found[:, -1, 3]])
    assert edge.max() < 255.0


def test_every_drawing_differs_from_each_other(qapp):
    seen = {}
    for key in DRAWINGS:
        image = pixels(picture_of(key, "#000000", "#ffffff", 2.0).toImage()).tobytes()
        assert image not in seen, f"{key} looks like {seen[image]}"
        seen[image] = key


def test_every_stage_state_and_tool_has_a_drawing(window):
    wanted = {spec.key for spec in STAGES} | set(get_args(Mark)) | set(ZOOM) | {"undo", "redo", "save"}
    wanted |= {tool for spec in STAGES for part in spec.tools for tool in part}
    assert wanted - set(DRAWINGS) == set()
    for stage in window.middle.bar.buttons:
        window.go_to_stage(stage)
        groups = (window.middle.plan.tools, window.middle.plan.zoom)
        for button in (*window.middle.bar.tools, *(b for group in groups for b in group.buttons)):
            assert not button.icon().isNull(), button.text()


def test_an_unknown_drawing_is_an_error(qapp):
    with pytest.raises(KeyError):
        picture_of("unknown", "#000000", "#ffffff", 1.0)


def test_a_picture_is_made_once(qapp):
    assert shared_picture("fit", "#102030", "#ffffff", 1.0) is shared_picture(
        "fit", "#102030", "#ffffff", 1.0
    )


@pytest.mark.parametrize("name", THEMES)
def test_an_icon_has_the_colours_of_now_for_plain_on_and_greyed(qapp, name):
    apply_appearance(name)
    try:
        roles = THEMES[name]
        made = icon("zoom_in")
        for mode, state, wanted in (
            (QIcon.Mode.Normal, QIcon.State.Off, roles.ink),
            (QIcon.Mode.Normal, QIcon.State.On, roles.accent),
            (QIcon.Mode.Disabled, QIcon.State.Off, roles.faint),
        ):
            found = pixels(made.pixmap(SIZE, SIZE, mode, state).toImage())
            strongest = found[np.unravel_index(found[..., 3].argmax(), found.shape[:2])]
            assert np.abs(strongest[:3] - QColor(wanted).getRgb()[:3]).max() < 25.0
    finally:
        apply_appearance("system")
