"""Chassis that lack something, for tests of what is measured and shown."""

from __future__ import annotations

from geometry.model.design import Design

BARE = Design(name="Bare body", body_mm=((180, 130), (-180, 130), (-180, -130), (180, -130)))
"""A body of 360 x 260 mm without wheels, whose measures are known by hand."""
