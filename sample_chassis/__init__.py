"""Chassis to start from, each a case that matters; files beside this one."""

from __future__ import annotations

from typing import NamedTuple


class Sample(NamedTuple):
    """One sample: the key names its file ``<key>.json``."""

    key: str
    title: str
    sentence: str


SAMPLES: tuple[Sample, ...] = (
    Sample(
        "marsh_scout_six",
        "Marsh scout, six wheels",
        "Four steered corners and a driven middle axle: every axle meets the turn centre.",
    ),
    Sample(
        "reed_cart_four",
        "Reed cart, four wheels, front steer",
        "Two steered wheels in front of a driven rear axle, with travel that sets the tightest turn.",
    ),
    Sample(
        "mudflat_carrier_four",
        "Mudflat carrier, four wheels, all steer",
        "All four wheels steer about a base axle that the builder chose half-way between them.",
    ),
    Sample(
        "creek_tricycle",
        "Creek tricycle, one steered wheel",
        "One steered wheel with a little trail leads two driven wheels, and a caster follows.",
    ),
    Sample(
        "dyke_hauler_eight",
        "Dyke hauler, eight wheels",
        "Two fixed axles in the middle cannot agree on a centre: the check shows the drag.",
    ),
    Sample(
        "marsh_scout_motors",
        "Marsh scout with four motors",
        "Two motors drive the middle wheels, two steer the four corners: shared, and still exact.",
    ),
    Sample(
        "crowded_scout",
        "Crowded scout, with a collision",
        "The controller was mounted too low above the battery: the fit names the two, and the way out.",
    ),
    Sample(
        "misbuilt_scout",
        "Misbuilt scout, with a mistake",
        "One middle wheel was bolted one hole off: the check finds the two that share no axle line.",
    ),
)
