"""The marks of the turn centre, the ideal one and the best fit of the axles, each with its text."""

from __future__ import annotations

from PySide6.QtCore import QRectF
from PySide6.QtGui import QFontMetricsF, QPainter

from app.views.ideal import draw_ideal_centre, ideal_tag
from app.views.scene import Scene
from app.views.tags import Tag, draw_tag, place_tags
from app.views.turning import best_fit_tag, centre_tag, draw_best_fit, draw_centre
from app.views.wheels import Label, draw_labels, label_plates

_Placed = list[tuple[Tag, QRectF]]


def draw_labels_and_centres(painter: QPainter, scene: Scene) -> None:
    """Write beside the wheels, then draw the three marks, the turn centre on top, each with its text."""
    labels = label_plates(scene)  # once: measuring text is what takes long
    draw_labels(painter, scene, labels)
    draw_best_fit(painter, scene)
    draw_ideal_centre(painter, scene)
    draw_centre(painter, scene)
    for tag, plate in centre_tags(scene, labels):
        draw_tag(painter, scene, tag, plate)


def centre_tags(scene: Scene, labels: list[Label] | None = None) -> _Placed:
    """What is written beside the marks, and where; it gives way to the wheels' labels.

    What matters most comes first: the best fit is the first to be left out where room is short.
    """
    found = (centre_tag(scene), ideal_tag(scene), best_fit_tag(scene))
    tags = [tag for tag in found if tag is not None]
    taken = [label.plate for label in (label_plates(scene) if labels is None else labels)]
    return place_tags(tags, taken, scene.camera, QFontMetricsF(scene.font))
