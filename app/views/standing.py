"""What stands on the plan, for texts to avoid: tyres and marks, and lines that had better stay in sight."""

from __future__ import annotations

import numpy as np

from app.views.ground import forward_mark, scale_bar_box
from app.views.ideal import RING_PX, ghost_wheels, ideal_at
from app.views.motor_lines import legend_box, motor_marks
from app.views.placing import Standing
from app.views.scene import CROSS_PX, Scene
from app.views.turning import DIAMOND_PX, arc_paths, best_fit_at, in_sight
from geometry.axes import Floats

RING_OF_SELECTED_PX = 9.0
"""How far the ring of a selected wheel reaches beyond its tyre [px]."""
_AROUND_TYRE_PX = 1.5
_FARTHEST_PX = 1e5
# How much of a hidden line counts, by what it is.
_STRONG, _MISS, _FAINT, _ARC, _BASE, _BODY = 1.0, 1.5, 0.4, 0.5, 0.4, 0.5
_ARC_POINTS = 33
# So much of a line counts what hides the end of an arc, a part of an arrow, or a small mark [px].
_END, _ARROW, _SHY = 400.0, 150.0, 100.0


def standing_of(scene: Scene) -> Standing:
    """All that texts avoid in a scene."""
    camera = scene.camera
    return Standing(camera.width, camera.height, tyres_of(scene), _boxes(scene), lambda: _lines(scene))


def tyres_of(scene: Scene) -> Floats:
    """Tyres as texts avoid them: middle, direction, half length and half width, (N, 6) [px]."""
    view, scale = scene.view, scene.camera.scale
    if not view.design.wheels:
        return np.empty((0, 6))
    half = 0.5 * scale * np.array([(w.diameter_mm, w.width_mm) for w in view.design.wheels]) + _AROUND_TYRE_PX
    half[list(view.selected_wheels)] += RING_OF_SELECTED_PX - _AROUND_TYRE_PX
    # Forward is up, left is left.
    tyres = np.column_stack([scene.contacts, -np.sin(view.heading), -np.cos(view.heading), half])
    if scene.ghosts:
        wheels, contact, heading = ghost_wheels(scene)
        ghosts = np.column_stack([scene.camera.to_screen(contact), -np.sin(heading), -np.cos(heading)])
        tyres = np.concatenate([tyres, np.column_stack([ghosts, half])[wheels]])
    return tyres


def _around(points: Floats, reach: float) -> Floats:
    """Squares about points (M, 2), (M, 4) [px]."""
    return np.concatenate([points - reach, points + reach], axis=1)


def _boxes(scene: Scene) -> Floats:
    """What no text may meet: the centres, ends of axle lines, the scale bar, what floats on the plan."""
    camera = scene.camera
    boxes = [scale_bar_box(scene), *scene.options.obstacles, *scene.passing]
    centre = scene.centre
    if np.isfinite(centre).all():
        if in_sight(scene, centre):
            boxes.append(_square(centre, CROSS_PX + 1.0))
        else:
            tip, direction = scene.edge_arrow
            boxes.append(_square(tip - 6.0 * direction, 8.0))
    ideal, fit = ideal_at(scene), best_fit_at(scene)
    if ideal is not None:
        boxes.append(_square(np.array(ideal), RING_PX + 2.0))
    if fit is not None:
        boxes.append(_square(np.array(fit), DIAMOND_PX + 1.0))
    if scene.options.motors:
        legend = legend_box(scene)
        if legend is not None:
            boxes.append((legend.left(), legend.top(), legend.right(), legend.bottom()))
        marks = motor_marks(scene.view, camera)
        boxes.extend(_square(np.array(mark.at), mark.half + 2.0) for mark in marks)
    parts = [np.array(boxes, dtype=np.float64)]
    if scene.view.design.wheels:
        parts.append(_around(_feet(scene), 4.0))
    return np.concatenate(parts)


def _square(at: Floats, reach: float) -> tuple[float, float, float, float]:
    x, y = float(at[0]), float(at[1])
    return x - reach, y - reach, x + reach, y + reach


def _feet(scene: Scene) -> Floats:
    """Where the axle lines of wheels that drag pass the turn centre, (M, 2) [px]."""
    off = np.array([state in ("slight drag", "drags") for state in scene.view.states], dtype=bool)
    if not off.any():
        return np.empty((0, 2))
    axles = scene.axles
    feet = (axles.start + axles.toward[:, None] * axles.across)[off]
    return np.asarray(feet[np.abs(feet).max(axis=1, initial=0.0) < _FARTHEST_PX])


def _lines(scene: Scene) -> Floats:
    """Points of what texts had better not cover, each with its length by weight, (M, 3) [px]."""
    camera, body = scene.camera, scene.view.design.body_mm
    _, base = camera.to_screen(np.array([scene.view.robot.base.x, 0.0]))
    parts = [
        _sampled(np.array([[0.0, base]]), np.array([[float(camera.width), base]]), 64, _BASE),
        _weighted(forward_mark(scene), _SHY),
    ]
    if body:
        corners = camera.to_screen(np.array(body))
        parts.append(_sampled(corners, np.concatenate([corners[1:], corners[:1]]), 24, _BODY))
        parts.append(_weighted(corners, _SHY))
    if len(scene.view.contacts):
        parts.extend(_axle_points(scene))
        start, tip = scene.arrows
        parts.extend(_weighted(start + share * (tip - start), _ARROW) for share in (0.1, 0.55, 1.0))
        paths = camera.to_screen(arc_paths(scene, _ARC_POINTS))
        step = _ARC * np.abs(np.diff(paths, axis=0)).max(axis=2)
        parts.append(np.concatenate([paths[1:], step[..., None]], axis=-1).reshape(-1, 3))
        if not scene.options.full_circles:
            parts.extend((_weighted(paths[0], _END), _weighted(paths[-1], _END)))
    return np.concatenate(parts)


def _weighted(points: Floats, weight: float) -> Floats:
    """Points (M, 2) that each stand for one length, (M, 3) [px]."""
    return np.column_stack([points, np.full(len(points), weight)])


def _axle_points(scene: Scene) -> list[Floats]:
    """Points of the axle lines, of their parts towards the turn centre, and of what they miss it by."""
    axles = scene.axles
    here = axles.t_in <= axles.t_out
    start, across = axles.start[here], axles.across[here]
    t_in, t_out, toward = axles.t_in[here], axles.t_out[here], axles.toward[here]

    def along(low: Floats, high: Floats, weight: float) -> Floats:
        return _sampled(start + low[:, None] * across, start + high[:, None] * across, 32, weight)

    low, high = np.clip(np.minimum(toward, 0.0), t_in, t_out), np.clip(np.maximum(toward, 0.0), t_in, t_out)
    parts = [along(t_in, t_out, _FAINT), along(low, high, _STRONG - _FAINT)]
    feet = _feet(scene)
    if len(feet) and np.isfinite(scene.centre).all() and np.abs(scene.centre).max() < _FARTHEST_PX:
        parts.append(_sampled(feet, np.broadcast_to(scene.centre, feet.shape), 12, _MISS))
    return parts


def _sampled(start: Floats, end: Floats, count: int, weight: float) -> Floats:
    """Points of straight lines from (M, 2) to (M, 2), so many of each, with their length, (M · count, 3)."""
    share = (np.arange(count) + 0.5) / count
    way = end - start
    points = start[:, None] + share[:, None] * way[:, None]
    length = np.hypot(way[:, 0], way[:, 1])[:, None, None] * (weight / count)
    return np.concatenate([points, np.broadcast_to(length, (*points.shape[:2], 1))], axis=-1).reshape(-1, 3)
