"""Where the camera stands to show the whole chassis, with room for its labels beside what floats."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtGui import QFont, QGuiApplication

from app.picture.view import View
from app.theme import LIGHT
from app.views.camera import Camera
from app.views.placing import Box
from app.views.scene import PlanOptions, Scene
from app.views.wheels import Label, label_plates

FIT_MARGIN_PX = 60
"""What stays free about the chassis where nothing floats."""
# How much smaller the chassis is tried, for its labels to have room, and from where on a name counts alone.
_FIT_SHARES = (1.0, 0.9, 0.8, 0.7, 0.6)
_LEAST_FOR_LINES = 0.8
_FROM_OBSTACLE = 12
# So far from its wheel an axle line is looked at, and at which shares of that [px].
_FARTHEST_PX = 1000.0
_ALONG = np.linspace(0.0, 1.0, 201)
_NO_TEXTS = PlanOptions(labels=False)


def fitted_camera(
    view: View,
    camera: Camera,
    *,
    options: PlanOptions = _NO_TEXTS,
    font: QFont | None = None,
) -> Camera:
    """A camera of the same size that shows the whole chassis, and the turn centre where it is near.

    What floats on the plan is left free at its edge. The chassis is shown smaller where its labels
    would have no room otherwise.
    """
    points = [(w.x_mm, w.y_mm) for w in view.design.wheels] + list(view.design.body_mm)
    if not points:
        points = [(-100.0, -100.0), (100.0, 100.0)]
    pad = 0.1 * view.facts.size
    low, high = np.min(points, axis=0) - pad, np.max(points, axis=0) + pad
    points = [tuple(low), tuple(high)]
    if np.isfinite(view.centre).all() and np.hypot(*view.centre) < 2.2 * view.facts.size:
        points.append(tuple(view.centre))
    whole = camera.fitted(points, _margins(camera, options.obstacles))
    if not options.labels or not view.design.wheels:
        return whole
    on_screen = whole.to_screen(points)
    px, py = (0.5 * (on_screen.min(axis=0) + on_screen.max(axis=0))).tolist()
    font = QGuiApplication.font() if font is None else font
    best, most, count = whole, (-1, -1, -1, -1, -1), len(view.design.wheels)
    for share in _FIT_SHARES:
        smaller = whole.zoomed(share, px, py)
        scene = Scene(view, smaller, LIGHT, options, font)
        labels = label_plates(scene)
        # All labels, none cut short, as many as can be at their wheels; off their own axle lines and with
        # the lines below the names what comes without a much smaller picture.
        names = sum(label.whole_name for label in labels)
        near = sum(label.whole_name and not label.spot.far for label in labels)
        fine = labels if share >= _LEAST_FOR_LINES else []
        clear = sum(not on_own_line(label, scene) for label in fine)
        lines = sum(label.spot.size == 0 for label in fine)
        if (len(labels), names, near, clear, lines) > most:
            best, most = smaller, (len(labels), names, near, clear, lines)
        done = most[1:3] == (count, count) and (most[3:] == (count, count) or share < _LEAST_FOR_LINES)
        if done or (most[1] == count and near < most[2]):
            break
    return best


def on_own_line(label: Label, scene: Scene) -> bool:
    """Whether a label lies on the line from its wheel to the turn centre, which then strikes it through."""
    axles, i = scene.axles, label.row.index
    way = min(max(float(axles.toward[i]), -_FARTHEST_PX), _FARTHEST_PX)
    points = axles.start[i] + _ALONG[:, None] * way * axles.across[i]
    return bool(((points > label.spot.box[:2]) & (points < label.spot.box[2:])).all(axis=1).any())


def _margins(camera: Camera, obstacles: Sequence[Box]) -> list[float]:
    """What stays free at the left, top, right and bottom edge, with the least strip for obstacles [px]."""
    margins = [float(FIT_MARGIN_PX)] * 4
    for left, top, right, bottom in obstacles:
        strips = (right, bottom, camera.width - left, camera.height - top)
        areas = [strip * (camera.height, camera.width)[edge % 2] for edge, strip in enumerate(strips)]
        edge = areas.index(min(areas))
        margins[edge] = max(margins[edge], strips[edge] + _FROM_OBSTACLE)
    return margins
