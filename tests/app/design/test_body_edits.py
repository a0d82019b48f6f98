import pytest

from app.design import edits
from app.design.samples import sample_design
from geometry.errors import DesignError
from geometry.model.design import Design
from geometry.model.wheel import Wheel

SIX = sample_design("marsh_scout_six")
BOX = SIX.edited(body_mm=((180.0, 90.0), (-180.0, 90.0), (-180.0, -90.0), (180.0, -90.0)))


def test_a_moved_corner_takes_its_partner_along_only_when_asked():
    alone = edits.move_corner(BOX, 0, 200.0, 70.0)
    both = edits.move_corner(BOX, 0, 200.0, 70.0, mirror=True)
    assert alone.body_mm == ((200.0, 70.0), *BOX.body_mm[1:])
    assert both.body_mm == ((200.0, 70.0), *BOX.body_mm[1:3], (200.0, -70.0))


def test_a_corner_on_the_centre_line_moves_alone():
    nosed = edits.add_corner(BOX, 3)
    assert nosed.body_mm[4] == (180.0, 0.0)
    assert edits.move_corner(nosed, 4, 220.0, 0.0, mirror=True).body_mm == (*BOX.body_mm, (220.0, 0.0))


def test_an_outline_that_would_cross_itself_is_refused():
    with pytest.raises(DesignError, match="must not cross itself"):
        edits.move_corner(BOX, 0, 0.0, -200.0)


def test_a_new_corner_is_the_middle_of_its_edge():
    assert edits.add_corner(BOX, 0).body_mm[1] == (0.0, 90.0)


def test_a_body_keeps_three_corners():
    triangle = edits.delete_corner(BOX, 1)
    assert len(triangle.body_mm) == 3
    with pytest.raises(DesignError, match="at least 3 corners"):
        edits.delete_corner(triangle, 0)


def test_overhangs_run_from_the_outermost_kingpins_to_the_ends_of_the_body():
    assert edits.overhangs(BOX) == (48.0, 48.0)
    assert edits.overhangs(Design()) == (None, None)
    assert edits.overhangs(Design(wheels=BOX.wheels)) == (None, None)


@pytest.mark.parametrize("end", ["front", "rear"])
@pytest.mark.parametrize("mm", [0.0, 12.5, 100.0, -10.0])
def test_an_overhang_that_is_set_is_measured_back(end, mm):
    moved = edits.set_overhang(BOX, end, mm)
    front, rear = edits.overhangs(moved)
    assert (front, rear) == ((mm, 48.0) if end == "front" else (48.0, mm))


def test_only_the_outermost_corners_move_with_an_overhang():
    before = sample_design("marsh_scout_six")
    after = edits.set_overhang(before, "front", 60.0)
    changed = [i for i, (a, b) in enumerate(zip(before.body_mm, after.body_mm, strict=True)) if a != b]
    assert [before.body_mm[i][0] for i in changed] == [180.0, 180.0]


def test_without_body_or_wheels_there_is_no_overhang_to_set():
    with pytest.raises(DesignError, match="draw a body first"):
        edits.set_overhang(Design(wheels=SIX.wheels), "front", 10.0)
    with pytest.raises(DesignError, match="without wheels"):
        edits.set_overhang(Design(body_mm=BOX.body_mm), "front", 10.0)
    with pytest.raises(DesignError, match="draw a body first"):
        edits.add_corner(Design(), 0)


def test_a_fitted_body_goes_round_all_wheels_with_a_margin():
    design = Design(wheels=(Wheel(name="a", x_mm=10.0, y_mm=5.0, diameter_mm=40.0, width_mm=10.0),))
    assert edits.fit_body(design, 1.0).body_mm == ((31, 11), (-11, 11), (-11, -1), (31, -1))
    with pytest.raises(DesignError, match="add one first"):
        edits.fit_body(Design())
