"""How each role looks on paper, and what its layer is called in files: one row each."""

from __future__ import annotations

from typing import NamedTuple

from app.drawing.elements import Role


class Layer(NamedTuple):
    """How what has one role is drawn."""

    key: str
    """Its name in files: letters, digits and underscores."""
    ink: str
    """Colour as #rrggbb."""
    width: float
    """Of its lines [mm]."""
    dash: tuple[float, ...] = ()
    """Lengths of ink and gap in turn [mm]; nothing for a full line."""
    ground: str = "#ffffff"
    """Colour of what is filled."""


LAYERS: dict[Role, Layer] = {
    "frame": Layer("frame", "#6b6f6b", 0.18),
    "sweep": Layer("sweep", "#8f876a", 0.18, (2.0, 1.2)),
    "outline": Layer("outline", "#1d2320", 0.5, ground="#f4f0e3"),
    "opening": Layer("opening", "#1d2320", 0.35),
    "part": Layer("part", "#6a5f3a", 0.25, ground="#ebe3cf"),
    "wheel": Layer("wheel", "#1d2320", 0.35, ground="#d5dbd7"),
    "axle line": Layer("axle_line", "#14578a", 0.18, (6.0, 1.2, 1.0, 1.2)),
    "kingpin": Layer("kingpin", "#8f2500", 0.25),
    "axle": Layer("axle", "#8f2500", 0.25, (4.0, 1.0, 0.8, 1.0)),
    "centre": Layer("centre", "#14578a", 0.35),
    "dimension": Layer("dimension", "#35506b", 0.18, ground="#35506b"),
    "gauge": Layer("gauge", "#1d2320", 0.25, ground="#1d2320"),
    "text": Layer("text", "#1d2320", 0.18),
}
"""From the ground up."""
