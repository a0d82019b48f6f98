"""What the plot can show of motors, and the limits of drag, held against geometry."""

import numpy as np
import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.design.facts import Facts
from app.panels.quantities import QUANTITIES, curves_of
from app.theme import current_theme
from geometry.kinematics.drive_speeds import speed_limit
from geometry.kinematics.motion import from_turn
from tests.app.panels.test_plot_panel import see
from tests.app.scouts import BOTH, DRIVES, FRONT, LEFT, REAR, RIGHT, scout, steer_motor

PLAIN = ["Steer angle", "Rolling speed", "Miss", "Drag"]
ROOM = [
    *("Turning circles", "Inner radius", "Right-angled lane", "Kerb gap", "Tail swing", "Inner wheel"),
    "Off-tracking",
]
COUNTS = RIGHT.edited(unit="counts", counts_per_turn=4000.0)


def curves(design, name, unit="mm"):
    return curves_of(Facts(design), next(q for q in QUANTITIES if q.name == name), unit)


def built(design, turns):
    facts = Facts(design)
    return facts, facts.robot.at(from_turn(turns, facts.robot.base))


def offered(design):
    return [quantity.name for quantity in QUANTITIES if quantity.offered(design)]


def ticked(plot):
    """What the list of plots offers."""
    return [action.text() for action in plot.quantities.menu().actions() if action.isVisible()]


def test_what_needs_motors_is_offered_only_where_there_are_some():
    assert offered(scout()) == [*PLAIN, *ROOM]
    assert offered(scout(FRONT)) == [*PLAIN, "Motor position, degrees", "Turn radius error", *ROOM]
    assert offered(scout(*DRIVES)) == [*PLAIN, "Turn radius error", "Largest speed", "Lengthwise slip", *ROOM]
    assert offered(scout(COUNTS, LEFT))[4:6] == ["Motor position, degrees", "Motor position, counts"]


def test_motor_positions_are_those_that_the_motors_are_told():
    design = scout(COUNTS, LEFT)
    for name, motor, k in (("counts", COUNTS, 0), ("degrees", LEFT, 1)):
        found = curves(design, f"Motor position, {name}")
        assert found.names == (motor.name,)
        assert name in found.axis
        facts, here = built(design, found.turns)
        assert found.values[:, 0] == pytest.approx(facts.robot.motors.scales[k].command(here.shaft[:, k]))


def test_a_motor_whose_wheels_flip_has_a_gap_there():
    design = scout(steer_motor("right", {"front right": 1.0, "rear right": -0.9}), LEFT)
    jumps = [mark.turn for mark in Facts(design).landmarks if mark.kind == "flip"]
    assert jumps
    found = curves(design, "Motor position, degrees")
    gaps = found.turns[~np.isfinite(found.values[:, 0])]
    assert all(np.abs(gaps - turn).min() < 0.002 for turn in jumps)
    assert np.isfinite(found.values[:, 1]).all()


def test_the_error_of_the_radius_is_how_much_wider_it_turns():
    design = scout(FRONT, REAR)
    found = curves(design, "Turn radius error")
    facts, here = built(design, found.turns)
    twist = here.solution.motion.twist
    with np.errstate(divide="ignore", invalid="ignore"):
        asked = facts.robot.base.half_track * (1 / np.abs(found.turns) - 1)
        error = np.abs(twist[:, 0] / twist[:, 2]) - asked
    near = asked <= 10 * facts.size
    assert found.values[near, 0] == pytest.approx(error[near], abs=1e-6)
    assert np.isnan(found.values[~near, 0]).all()
    assert (~near).sum() > 10
    inch = curves(design, "Turn radius error", "inch")
    assert inch.values[near] * 25.4 == pytest.approx(found.values[near])
    assert inch.axis.endswith(", inch")
    assert np.nanmax(np.abs(curves(scout(RIGHT, LEFT), "Turn radius error").values)) < 1e-6


def test_the_largest_speed_is_that_of_the_slowest_motor_and_none_faster_than_straight_ahead():
    design = scout(BOTH)
    found = curves(design, "Largest speed")
    facts, here = built(design, found.turns)
    limit = speed_limit(facts.robot.motors, here.drive)
    ahead = np.pi * 60.0 * BOTH.usable_rpm / 60.0
    assert found.values[:, 0] == pytest.approx(np.minimum(limit, ahead) / 1000.0)
    assert "metres per second" in found.axis


def test_lengthwise_slip_is_that_of_the_wheels_that_motors_drive():
    found = curves(scout(BOTH), "Lengthwise slip")
    assert found.names == ("middle left", "middle right")
    row = int(np.abs(found.turns - 0.2).argmin())
    assert found.values[row, 0] > 1.0 > -1.0 > found.values[row, 1]
    assert np.nanmax(np.abs(curves(scout(*DRIVES), "Lengthwise slip").values)) < 1e-6


def test_ideal_angles_are_drawn_where_the_motors_give_others():
    found = curves(scout(FRONT, REAR), "Steer angle")
    assert found.ideal is not None
    assert found.axis.endswith("ideal")
    _, here = built(scout(FRONT, REAR), found.turns)
    there = np.isfinite(found.ideal)
    assert found.ideal[there] == pytest.approx(np.degrees(here.ideal.steer)[there])
    off = np.abs(np.degrees(here.solution.steer - here.ideal.steer)) > 0.05
    assert there[off].all()
    assert not there[:, [2, 3]].any()
    assert not there[np.abs(found.turns) < 1e-6].all(axis=1).any()
    for design in (scout(), scout(RIGHT, LEFT)):
        plain = curves(design, "Steer angle")
        assert plain.ideal is None
        assert "ideal" not in plain.axis


def test_the_limits_of_drag_are_those_of_the_design():
    design = scout().edited(aligned_within_deg=1.0, slight_drag_within_deg=30.0)
    limits = curves(design, "Drag").limits
    assert [value for value, _ in limits] == pytest.approx([17.4524, 500.0], abs=1e-4)
    assert [name for _, name in limits] == ["aligned", "slight drag"]
    assert curves(design, "Miss").limits == ()


def test_the_limits_are_drawn_within_the_range(make_window, make_document):
    window = make_window(make_document(scout()))
    plot = see(window)
    plot.choose(["Drag"])
    QApplication.processEvents()
    chart, limits = plot.chart, plot.chart.curves.limits
    assert chart.heights[1] > limits[1][0]
    image = chart.viewport().grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), dtype=np.uint32).reshape(image.height(), -1) & 0xFFFFFF
    theme = current_theme()
    for (value, _), tone in zip(limits, (theme.slight, theme.bad), strict=True):
        rows = np.flatnonzero((raw == int(tone[1:], 16)).sum(axis=1) > 100)
        assert np.abs(rows - chart.pixel_of(0.0, value).y()).min() <= 1.5


def test_the_list_follows_the_motors_and_keeps_what_is_chosen(make_window, make_document):
    window = make_window(make_document(scout(FRONT, *DRIVES)))
    plot = see(window)
    plot.choose(["Drag"])
    window.document.edit("No motors", lambda d: d.edited(steer_motors=(), drive_motors=()))
    assert ticked(plot) == [*PLAIN, *ROOM]
    assert plot.chosen == ("Drag",)
    window.document.undo()
    plot.choose(["Lengthwise slip"])
    assert plot.chart.curves.names == ("middle left", "middle right")
    window.document.redo()
    assert plot.chosen == ()
    assert plot.chart.curves.names == ()
    window.document.undo()
    assert plot.chosen == ("Lengthwise slip",)


def test_the_chart_tells_the_ideal_beside_the_value_under_the_mouse(make_window, make_document):
    window = make_window(make_document(scout(FRONT, REAR)))
    plot = see(window)
    shown = plot.chart.curves
    row = int(np.abs(shown.turns - 0.6).argmin())
    at = plot.chart.pixel_of(shown.turns[row], shown.values[row, 0])
    assert f", ideal {shown.ideal[row, 0]:.2f}"[:12] in plot.chart.text_at(at)
    low, high = plot.chart.heights
    assert low <= np.nanmin(shown.ideal)
    assert np.nanmax(shown.ideal) <= high
