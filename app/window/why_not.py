"""Why an action would change nothing now, as sentences; empty where it can be used."""

from __future__ import annotations

from app.design.motor_edits import MotorKind, wheels_for
from app.design.references import selected, selected_wheels
from app.window.edit_actions import mark_ahead
from app.window.frame import Frame

_NO_WHEEL = "There is no wheel yet."


def no_plan(window: Frame) -> str:
    """Of what works on the plan, where the course stands in its place."""
    return "The plan is not in sight: go to the stage Lay out first." if window.middle.driving else ""


def nothing_to_undo(window: Frame) -> str:
    """Of taking a step back."""
    return "" if window.document.undo_stack.canUndo() else "There is nothing to take back."


def nothing_to_redo(window: Frame) -> str:
    """Of making a step again."""
    return "" if window.document.undo_stack.canRedo() else "No step was taken back."


def no_wheel(window: Frame) -> str:
    """Of all that needs a wheel."""
    return "" if window.document.design.wheels else _NO_WHEEL


def no_wheel_selected(window: Frame) -> str:
    """Of what works on selected wheels."""
    chosen = selected_wheels(window.document.selection)
    return no_wheel(window) or ("" if chosen else "Select a wheel first, on the plan or in the table.")


def nothing_to_mirror(window: Frame) -> str:
    """Of copying to the other side."""
    selection = window.document.selection
    some = selected_wheels(selection) or selected(selection, "part")
    return "" if some else "Select a wheel or a part first, on the plan or in a table."


def nothing_selected(window: Frame) -> str:
    """Of what works on all that is selected."""
    return "" if window.document.selection else "Select a wheel, a body corner or a part first."


def no_steered_wheel(window: Frame) -> str:
    """Of sharing steer motors."""
    steered = any(wheel.kind == "steered" for wheel in window.document.design.wheels)
    return "" if steered else "There is no steered wheel."


def no_wheel_for(kind: MotorKind, window: Frame) -> str:
    """Of another motor."""
    document = window.document
    able = wheels_for(document.design, kind, selected_wheels(document.selection))
    does = "steered wheel" if kind == "steer" else "wheel"
    return "" if able else f"No {does} is left for another {kind} motor."


def beyond_reach(turn: float, window: Frame) -> str:
    """Of a named turn."""
    reach = window.document.design.largest_turn
    return "" if abs(turn) <= reach else f"The largest turn of this chassis is {reach:g}."


def at_the_end(way: int, window: Frame) -> str:
    """Of steering further; 1 is to the left."""
    document = window.document
    there = way * document.command.turn >= document.design.largest_turn
    return "The largest turn is reached." if there else ""


def no_mark_ahead(way: int, window: Frame) -> str:
    """Of going to the next mark; 1 is to the left."""
    side = "left" if way > 0 else "right"
    return (
        ""
        if mark_ahead(window.document.view, way) is not None
        else f"There is no mark further to the {side}."
    )


def no_motor(window: Frame) -> str:
    """Of what compares with the motors."""
    return "" if window.document.view.motored else "There is no motor yet."
