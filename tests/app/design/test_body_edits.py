import pytest

from app.design import body_edits, edits
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


def test_without_wheels_a_fitted_body_is_a_rectangle_about_the_origin():
    design = edits.fit_body(Design())
    assert design.body_mm == ((180, 84), (-180, 84), (-180, -84), (180, -84))
    assert edits.body_size(design) == body_edits.FIRST_SIZE_MM


@pytest.mark.parametrize("before", [Design(), Design(wheels=SIX.wheels), BOX, SIX])
@pytest.mark.parametrize(("length", "width"), [(500.0, None), (None, 333.3), (1.0, 12_000.0), (0.1 * 3e3, 7)])
def test_a_body_that_is_given_a_size_has_it(before, length, width):
    after = edits.set_body_size(before, length_mm=length, width_mm=width)
    fitted = before if before.body_mm else edits.fit_body(before)
    wanted = [
        a if a is not None else b for a, b in zip((length, width), edits.body_size(fitted), strict=True)
    ]
    assert edits.body_size(after) == pytest.approx(wanted, abs=2e-9)
    middles = [[max(along) + min(along) for along in zip(*d.body_mm, strict=True)] for d in (fitted, after)]
    assert middles[0] == pytest.approx(middles[1], abs=1e-8)


def test_a_stretched_body_keeps_its_form():
    after = edits.set_body_size(SIX, length_mm=2 * (edits.body_size(SIX)[0] or 0))
    low, high = min(x for x, _ in SIX.body_mm), max(x for x, _ in SIX.body_mm)
    for (x, y), (new_x, new_y) in zip(SIX.body_mm, after.body_mm, strict=True):
        assert (new_x, new_y) == (pytest.approx(2 * x - 0.5 * (low + high)), y)


@pytest.mark.parametrize("size", [0.0, -20.0, 0.99, 12_000.1, float("nan")])
@pytest.mark.parametrize("what", ["length", "width"])
def test_a_body_size_out_of_range_is_refused_by_name(size, what):
    with pytest.raises(DesignError, match=f"body {what} must be from 1 to 12000 mm"):
        edits.set_body_size(BOX, **{f"{what}_mm": size})


def test_a_body_has_no_size_before_it_is_drawn():
    assert edits.body_size(Design()) == (None, None)


def test_a_new_corner_brings_its_partner_along_when_asked():
    both = edits.add_corner(BOX, 0, mirror=True)
    assert both.body_mm == (BOX.body_mm[0], (0.0, 90.0), *BOX.body_mm[1:3], (0.0, -90.0), BOX.body_mm[3])
    assert edits.add_corner(BOX, 2, mirror=True) == both
    # An edge across the centre line is its own partner, and a lopsided body has none.
    assert len(edits.add_corner(BOX, 1, mirror=True).body_mm) == 5
    lopsided = edits.move_corner(BOX, 3, 180.0, -70.0)
    assert len(edits.add_corner(lopsided, 0, mirror=True).body_mm) == 5


def test_the_longest_edge_is_found_and_the_first_of_equals():
    assert body_edits.longest_edge(BOX) == 0
    assert body_edits.longest_edge(edits.move_corner(BOX, 2, -300.0, -90.0)) == 2
    with pytest.raises(DesignError, match="draw a body first"):
        body_edits.longest_edge(Design())
