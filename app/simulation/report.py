"""What a run came to, in words for people and in plain values for machines."""

from __future__ import annotations

from typing import Any

from app.simulation.frame import Contact, Frame
from app.units import degrees, show_number
from geometry.model.design import Design

EMPTY_PLANE = "an empty plane"


def values_of(design: Design, script: str, course: str | None, frame: Frame) -> dict[str, Any]:
    """Give what a run came to as plain values for JSON, with the unit in each name."""
    x, y, heading = frame.pose
    return {
        "chassis": design.name,
        "script": script,
        "course": course,
        "time_s": frame.time_s,
        "distance_mm": frame.distance,
        "end_x_mm": x,
        "end_y_mm": y,
        "end_heading_deg": degrees(heading),
        "drag_mm": sum(frame.drag),
        "drag_of_wheels": [
            {"wheel": wheel.name, "drag_mm": drag}
            for wheel, drag in zip(design.wheels, frame.drag, strict=True)
        ],
        "contacts": [_contact_values(contact) for contact in frame.contacts],
    }


def _contact_values(contact: Contact) -> dict[str, Any]:
    return {
        "time_s": contact.time_s,
        "x_mm": contact.x_mm,
        "y_mm": contact.y_mm,
        "what": contact.what,
        "name": contact.name,
        "obstacle": contact.obstacle + 1,
        "kind": contact.kind,
        "move": contact.move + 1 if contact.move >= 0 else None,
    }


def text_of(design: Design, script: str, course: str | None, frame: Frame) -> str:
    """Write it in lines."""
    x, y, heading = frame.pose
    turned = show_number(degrees(heading), 2)
    widest = max((len(wheel.name) for wheel in design.wheels), default=0)
    lines = [
        f"{design.name}: {script} on {course or EMPTY_PLANE}",
        "",
        f"Time      {show_number(frame.time_s, 3)} s",
        f"Distance  {show_number(frame.distance, 1)} mm, of the middle of the base axle",
        f"End       x {show_number(x, 1)} mm, y {show_number(y, 1)} mm, heading {turned}°",
        f"Drag      {show_number(sum(frame.drag), 1)} mm sideways, all wheels together",
        *(
            f"  {wheel.name:<{widest}}  {show_number(drag, 1)} mm"
            for wheel, drag in zip(design.wheels, frame.drag, strict=True)
        ),
        "",
    ]
    if course is None:
        lines.append("Nothing stood in its way.")
    elif not frame.contacts:
        lines.append("NOTHING TOUCHED.")
    else:
        lines.append(f"TOUCHED: {len(frame.contacts)}")
        lines += [f"  {contact_words(contact)}" for contact in frame.contacts]
    return "\n".join(lines) + "\n"


def contact_words(contact: Contact) -> str:
    """Say when, where and by what an obstacle is touched.

    Examples
    --------
    >>> contact_words(Contact(1.25, 100.0, -20.5, "wheel", "front left", 0, "wall", 2))
    'at 1.25 s, in move 3, front left touches wall 1 at x 100 mm, y -20.5 mm'
    """
    what = "the body" if contact.what == "body" else contact.name
    when = f", in move {contact.move + 1}," if contact.move >= 0 else ""
    start = f"at {show_number(contact.time_s, 3)} s{when}" if contact.time_s > 0 else "from the start"
    where = f"x {show_number(contact.x_mm, 1)} mm, y {show_number(contact.y_mm, 1)} mm"
    return f"{start} {what} touches {contact.kind} {contact.obstacle + 1} at {where}"
