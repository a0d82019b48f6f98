"""Rows of the table of actions: the Turn menu."""

from __future__ import annotations

from functools import partial

from app.window import why_not
from app.window.action_spec import ActionSpec
from app.window.frame import Frame


def _type_radius(window: Frame) -> None:
    field = window.middle.turn.radius
    field.setFocus()
    field.selectAll()


TURN_ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec(
        "straight",
        "Turn",
        "&Straight ahead",
        "Turn input 0.",
        shortcut="Ctrl+Up",
        run=lambda w: w.acts.named_turn(0.0),
        on_plan=True,
        spots=("centre",),
    ),
    ActionSpec(
        "radius",
        "Turn",
        "Type the turn r&adius…",
        "Go to the field that says where the turn centre is.",
        run=_type_radius,
        on_plan=True,
        spots=("centre",),
    ),
    ActionSpec(
        "left",
        "Turn",
        "Steer &left",
        "Turn input 0.05 more to the left.",
        shortcut="Ctrl+Left",
        run=lambda w: w.acts.steer(1),
        why_not=partial(why_not.at_the_end, 1),
    ),
    ActionSpec(
        "right",
        "Turn",
        "Steer &right",
        "Turn input 0.05 more to the right.",
        shortcut="Ctrl+Right",
        run=lambda w: w.acts.steer(-1),
        why_not=partial(why_not.at_the_end, -1),
    ),
    ActionSpec(
        "stop_left",
        "Turn",
        "Left side st&opped",
        "Turn input 0.5: turn about the left side's reference point.",
        run=lambda w: w.acts.named_turn(0.5),
        why_not=partial(why_not.beyond_reach, 0.5),
        gap=True,
    ),
    ActionSpec(
        "stop_right",
        "Turn",
        "Right side sto&pped",
        "Turn input -0.5: turn about the right side's reference point.",
        run=lambda w: w.acts.named_turn(-0.5),
        why_not=partial(why_not.beyond_reach, -0.5),
    ),
    ActionSpec(
        "spot_left",
        "Turn",
        "On the spot to the l&eft",
        "Turn input 1: the sides run equally fast in opposite senses.",
        run=lambda w: w.acts.named_turn(1.0),
        why_not=partial(why_not.beyond_reach, 1.0),
    ),
    ActionSpec(
        "spot_right",
        "Turn",
        "On the spot to the ri&ght",
        "Turn input -1: the sides run equally fast in opposite senses.",
        run=lambda w: w.acts.named_turn(-1.0),
        why_not=partial(why_not.beyond_reach, -1.0),
    ),
    ActionSpec(
        "next_mark",
        "Turn",
        "&Next mark to the left",
        "Go to the next place where something happens.",
        shortcut="Ctrl+PgUp",
        run=lambda w: w.acts.next_mark(1),
        why_not=partial(why_not.no_mark_ahead, 1),
        gap=True,
    ),
    ActionSpec(
        "last_mark",
        "Turn",
        "Next &mark to the right",
        "Go to the next place where something happens.",
        shortcut="Ctrl+PgDown",
        run=lambda w: w.acts.next_mark(-1),
        why_not=partial(why_not.no_mark_ahead, -1),
    ),
    ActionSpec(
        "reverse",
        "Turn",
        "Re&verse",
        "Drive backward; every steer angle stays.",
        shortcut="Ctrl+R",
        run=lambda w: w.acts.reverse(),
        gap=True,
        on_plan=True,
        needs_plan=True,
        spots=("centre",),
    ),
)
