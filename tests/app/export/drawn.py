"""Hand-made drawings for the tests of their writers."""

import math

from app.drawing.elements import Arc, Circle, Corner, Dimension, Drawing, Element, Line, Outline, Text

ONE_OF = {
    Line: Line("axle line", (5, 5), (60, 30)),
    Arc: Arc("sweep", (40, 40), 20, 0.4, -2.5),
    Circle: Circle("opening", (50, 45), 12),
    Outline: Outline("wheel", (Corner(10, 10), Corner(70, 12, 0.4), Corner(40, 60, -0.3))),
    Text: Text("text", (12, 40), "front left", 6.0, "left", 0.3),
    Dimension: Dimension((10, 10), (80, 10), 0.0, 30.0, "70"),
}
"""One of each kind, all within the page."""
PAGE = Outline("frame", (Corner(0, 0), Corner(100, 0), Corner(100, 80), Corner(0, 80)))

# A body with round corners and a bay, holes, and a slot of two half circles.
BODY = Outline(
    "outline",
    (
        Corner(-80, -120),
        Corner(60, -120, math.tan(math.pi / 8)),
        Corner(80, -100),
        Corner(80, -20, -0.9),
        Corner(80, 30),
        Corner(80, 120),
        Corner(-80, 120),
    ),
)
HOLES = (
    Circle("kingpin", (-60.25, 100.125), 2.0),
    Circle("kingpin", (60.25, 100.125), 2.0),
    Circle("opening", (1 / 3, -2 / 7), 12.3456789),
)
SLOT = Outline("opening", (Corner(-30, -60), Corner(10, -60, 1.0), Corner(10, -52), Corner(-30, -52, 1.0)))
RING = Outline("opening", (Corner(-20, 60, 1.0), Corner(-8, 60, 1.0)))
CUT = Drawing("cut", (BODY, *HOLES, SLOT, RING))

HOSTILE = (
    "</text></svg><script>alert(1)</script>",
    "]]> <!-- &amp; &#0; <!DOCTYPE x> <?x ?>",
    "%%c %%u50%%% %%d",
    "a\nb\r\n  0\nLINE\n  8\n0",
    "{\\H5;big} \\P \\U+0041 \\u+0041 \\M+18140 \\",
    "^J ^ ^M^.",
    "\" ' ` onload='x'",
    "bell \x07 nul \x00 escape \x1b",
    "lone \ud800 left \u202e by",
    "潮 Ἀθήνα قارب \U0001f6a4",
    "two  blanks   ",
)


def alone(element: Element) -> Drawing:
    """A drawing of a page and one thing on it."""
    return Drawing("reed", (PAGE, element))


def named(text: str) -> Drawing:
    """A drawing whose every text is this one."""
    return Drawing(
        text, (PAGE, Text("text", (50, 40), text, 4.0, "middle"), Dimension((0, 0), (9, 0), 0.0, 9.0, text))
    )
