"""The marks of the turn centre, the ideal one and the best fit of the axles, and all texts of the plan."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.views.ideal import draw_ideal_centre
from app.views.scene import Scene
from app.views.tags import Tag, draw_tag, plate_of
from app.views.turning import draw_best_fit, draw_centre
from app.views.wheels import draw_labels, place_texts


def draw_labels_and_centres(painter: QPainter, scene: Scene) -> None:
    """Write beside the wheels, then draw the three marks, the turn centre on top, each with its text."""
    texts = place_texts(scene)
    draw_labels(painter, scene, texts.labels)
    draw_best_fit(painter, scene)
    draw_ideal_centre(painter, scene)
    draw_centre(painter, scene)
    for tag, spot in texts.tags:
        draw_tag(painter, scene, tag, spot)
    scene.memory.keep(texts.placed)


def centre_tags(scene: Scene) -> list[tuple[Tag, QRectF]]:
    """What is written beside the marks, and where."""
    return [(tag, plate_of(spot)) for tag, spot in place_texts(scene).tags]
