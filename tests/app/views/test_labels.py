"""What is written on the plan: on nothing that must stay in sight, at every size of canvas and of letters."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QFont

from app.design.facts import Facts
from app.design.first_chassis import first_chassis
from app.design.first_request import FirstRequest
from app.design.references import references_to
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.theme import LIGHT
from app.views.camera import Camera
from app.views.fit import fitted_camera, on_own_line
from app.views.ground import scale_bar_box
from app.views.lettering import lettering
from app.views.motor_lines import legend_box, motor_marks
from app.views.placing import Memory, place
from app.views.scene import CROSS_PX, PlanOptions, Scene, wheel_corners
from app.views.standing import standing_of
from app.views.wheels import label_plates, place_texts
from geometry.model.design import Design
from geometry.model.wheel import Wheel
from tests.strategies import turns
from tests.windows import KEYS

SIZES = ((520, 430), (800, 560), (1300, 800))
SCALES = (1.0, 1.25, 1.5, 2.0)
TOOLS = (8.0, 8.0, 342.0, 48.0)
ALL = list(KEYS)


def obstacles(size):
    """A group of tools at the top left, and one at the bottom right."""
    wide, tall = size
    return (TOOLS, (wide - 150.0, tall - 48.0, wide - 8.0, tall - 8.0))


def fitted(design, turn, size, scale, *, selected=(0,), floating=None):
    """A scene as Fit shows it."""
    view = View(Facts(design), Command(turn), references_to("wheel", selected))
    font, floating = QFont(), obstacles(size) if floating is None else floating
    font.setPixelSize(round(13 * scale))
    camera = Camera(width=size[0], height=size[1])
    options = PlanOptions(obstacles=tuple(floating))
    camera = fitted_camera(view, camera, options=options, font=font)
    return Scene(view, camera, LIGHT, options, font, ratio=scale)


def chassis(seed, count):
    """Wheels in two or three rows of unlike places, as many as are asked for."""
    rng = np.random.default_rng(seed)
    rows = int(rng.integers(2, 4)) if count > 4 else 2
    per = math.ceil(count / rows)
    pitch, track = float(rng.uniform(70, 140)), float(rng.uniform(150, 500))
    wheels = []
    for n in range(count):
        row, along = n % rows, n // rows
        x = pitch * (along - 0.5 * per) + float(rng.uniform(-4, 4))
        y = track * (row / (rows - 1) - 0.5) + float(rng.uniform(-4, 4))
        kind = ("steered", "steered", "fixed", "caster")[int(rng.integers(0, 4))]
        wheels.append(Wheel(name=f"wheel {n + 1}", x_mm=x, y_mm=y, kind=kind))
    return Design(wheels=tuple(wheels))


def meet(a, b):
    return a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1]


def meets_polygon(box, corners):
    """Whether a rectangle meets a convex polygon (K, 2): they do unless a side of either parts them."""
    own = np.array(list(itertools.product((box[0], box[2]), (box[1], box[3]))))
    sides = np.roll(corners, -1, axis=0) - corners
    for axis in [np.array([1.0, 0.0]), np.array([0.0, 1.0]), *np.stack([-sides[:, 1], sides[:, 0]], axis=1)]:
        a, b = own @ axis, corners @ axis
        if a.max() <= b.min() or b.max() <= a.min():
            return False
    return True


def faults(made):
    """All that a text of a scene meets and should not, in words."""
    texts = place_texts(made)
    spots = {spot.piece.key: spot.box for spot in texts.placed.spots}
    found = [f"{a} meets {b}" for (a, p), (b, q) in itertools.combinations(spots.items(), 2) if meet(p, q)]
    boxes = {"the scale bar": scale_bar_box(made)}
    boxes |= {f"what floats {n}": box for n, box in enumerate((*made.options.obstacles, *made.passing))}
    if np.isfinite(made.centre).all():
        x, y = made.centre.tolist()
        boxes["the cross"] = (x - CROSS_PX, y - CROSS_PX, x + CROSS_PX, y + CROSS_PX)
    tyres = made.camera.to_screen(wheel_corners(made.view))
    for key, box in spots.items():
        found += [f"{key} meets {what}" for what, other in boxes.items() if meet(box, other)]
        found += [f"{key} meets tyre {n}" for n, tyre in enumerate(tyres) if meets_polygon(box, tyre)]
        if box[0] < 0 or box[1] < 0 or box[2] > made.camera.width or box[3] > made.camera.height:
            found.append(f"{key} is out of sight")
    return found


def shown(made):
    """Names that are shown whole."""
    return {label.row.name for label in place_texts(made).labels if label.whole_name}


# Where eight long names in the largest letters are wider than the smallest canvas, some give way.
CRAMPED = {("dyke_hauler_eight", SIZES[0], SCALES[-1])}


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", ALL)
def test_after_fit_no_text_meets_anything_and_all_names_of_a_sample_are_in_sight(qapp, key, size, scale):
    design = sample_design(key)
    for turn in (0.0, 0.2, -0.4, 0.5, 1.0):
        made = fitted(design, max(-design.largest_turn, min(design.largest_turn, turn)), size, scale)
        assert faults(made) == []
        if (key, size, scale) not in CRAMPED:
            assert shown(made) == {wheel.name for wheel in design.wheels}, turn
        assert design.wheels[0].name in shown(made)


def least_shown(count, size, scale):
    """The share of names that a plan of so many wheels has room for at least."""
    if count <= 8 or (count <= 16 and size != SIZES[0]):
        return 1.0
    return 0.5 if (size, scale) == (SIZES[0], SCALES[-1]) else 0.7


@given(
    seed=st.integers(0, 10_000),
    count=st.integers(2, 24),
    turn=turns(),
    size=st.sampled_from(SIZES),
    scale=st.sampled_from(SCALES),
)
def test_no_text_of_any_chassis_meets_anything_after_fit(qapp, seed, count, turn, size, scale):
    design = chassis(seed, count)
    made = fitted(design, turn, size, scale)
    assert faults(made) == []
    names = shown(made)
    assert "wheel 1" in names
    assert len(names) >= least_shown(count, size, scale) * count


LETTERS = {
    "long": [f"carrier of the outer tide gauge, wheel{n:02d}" for n in range(24)],
    "other letters": [
        f"{('πρόσθιος αριστερός', 'передний левый', 'العجلة الأمامية', '前輪左', 'außen')[n % 5]} {n}"
        for n in range(24)
    ],
}


@pytest.mark.parametrize("names", LETTERS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_long_and_unusual_names_meet_nothing_and_can_be_told_apart(qapp, names, size, scale):
    design = chassis(3, 24)
    wheels = zip(design.wheels, LETTERS[names], strict=True)
    design = design.edited(wheels=tuple(wheel.edited(name=name) for wheel, name in wheels))
    made = fitted(design, 0.3, size, scale)
    assert faults(made) == []
    labels = place_texts(made).labels
    texts = [label.lines[0].text for label in labels]
    assert len(set(texts)) == len(texts) >= 12
    letters = lettering(made.font, made.ratio)
    for label in labels:
        assert label.plate.width() >= max(letters.width(line.text, line.style) for line in label.lines)
        assert label.lines[0].text == label.row.name or "…" in label.lines[0].text


@pytest.mark.parametrize("selected", [3, 17])
def test_the_label_of_the_selected_wheel_stays_where_others_give_way(qapp, selected):
    made = fitted(chassis(5, 24), 0.3, SIZES[0], 2.0, selected=(selected,))
    labels = {label.row.index: label for label in place_texts(made).labels}
    assert len(labels) < 24
    assert labels[selected].lines[0][:2] == (f"wheel {selected + 1}", "bold")
    assert not labels[selected].spot.far


def test_the_small_lines_go_before_a_name_does(qapp):
    crowded = fitted(chassis(5, 24), 0.3, SIZES[1], 1.25)
    labels = place_texts(crowded).labels
    assert len(labels) == 24
    assert any(len(label.lines) == 1 for label in labels)
    roomy = fitted(sample_design(KEYS[0]), 0.3, SIZES[2], 1.0)
    assert all(len(label.lines) == 2 for label in place_texts(roomy).labels)


def test_a_wheel_that_drags_tells_its_miss_below_its_name_with_its_mark(qapp):
    made = fitted(sample_design("misbuilt_scout"), 0.3, SIZES[2], 1.0)
    off = [label for label in place_texts(made).labels if label.row.state == "drags"]
    assert off
    for label in off:
        name, below = label.lines
        assert name.text == label.row.name
        assert below.text.startswith("▲ ")
        assert "°  misses " in below.text
        assert below.tone == LIGHT.bad


def test_names_give_way_to_what_floats_on_the_plan(qapp):
    bare = fitted(sample_design(KEYS[0]), 0.3, SIZES[1], 1.0, floating=())
    before = place_texts(bare).labels
    covered = tuple(label.spot.box for label in before)
    after = replace(bare, passing=covered)
    assert faults(after) == []
    assert shown(after) == shown(bare)
    assert all(label.spot.box not in covered for label in place_texts(after).labels)


def hidden_length(made, boxes):
    """How much of the axle lines, as far as the turn centre, lies under some boxes [px]."""
    axles = made.axles
    share = np.linspace(0.0, 1.0, 400)[:, None, None]
    points = axles.start + share * axles.toward[:, None] * axles.across
    step = np.abs(axles.toward) / 400
    under = [((points > b[:2]) & (points < b[2:])).all(axis=-1) for b in boxes]
    return float((np.any(under, axis=0) * step).sum())


def test_labels_step_out_of_the_way_of_lines(qapp):
    hidden = []
    for key, turn in itertools.product(KEYS[:4], (0.3, -0.4)):
        made = fitted(sample_design(key), turn, SIZES[2], 1.0, floating=())
        placed = place_texts(made).placed
        blind = replace(standing_of(made), lines=lambda: np.empty((0, 3)))
        without = place(placed.pieces, blind, Memory()).spots
        hidden.append(
            [hidden_length(made, [spot.box for spot in spots]) for spots in (placed.spots, without)]
        )
    seen, ignored = np.array(hidden).sum(axis=0)
    assert ignored > 100.0
    assert seen < 0.5 * ignored


def replayed(views, size=SIZES[1]):
    """Places of every label over a course of views, drawn one after the other as on a canvas."""
    memory = Memory()
    camera = fitted_camera(views[0], Camera(width=size[0], height=size[1]), options=PlanOptions())
    places = []
    for view in views:
        texts = place_texts(Scene(view, camera, LIGHT, PlanOptions(), QFont(), memory=memory))
        memory.keep(texts.placed)
        places.append({label.row.name: label.spot.place for label in texts.labels})
    return places


def jumps(places):
    """How often each label changes its place."""
    return {
        name: sum(a.get(name) != b.get(name) for a, b in itertools.pairwise(places)) for name in places[0]
    }


@pytest.mark.parametrize("key", ["marsh_scout_six", "dyke_hauler_eight", "misbuilt_scout"])
def test_labels_do_not_jump_to_and_fro_while_the_turn_is_slid(qapp, key):
    facts = Facts(sample_design(key))
    views = [View(facts, Command(turn), references_to("wheel", {0})) for turn in np.linspace(0.0, 0.4, 200)]
    assert max(jumps(replayed(views)).values()) <= 6
    trembling = [views[n] for n in (60, 61) * 40]
    assert max(jumps(replayed(trembling)).values()) <= 1


def test_labels_stay_where_they_are_while_a_wheel_is_dragged_a_little(qapp):
    design = sample_design(KEYS[0])
    views = []
    for step in range(160):
        dx, dy = 3.0 * math.sin(0.4 * step), 3.0 * math.cos(0.7 * step)
        wheel = design.wheels[0]
        moved = (wheel.edited(x_mm=wheel.x_mm + dx, y_mm=wheel.y_mm + dy), *design.wheels[1:])
        views.append(View(Facts(design.edited(wheels=moved)), Command(0.3), references_to("wheel", {0})))
    assert max(jumps(replayed(views)).values()) <= 1


def test_a_label_that_is_in_the_way_moves_at_once_though_places_are_kept(qapp):
    made = fitted(sample_design(KEYS[0]), 0.3, SIZES[1], 1.0)
    made.memory.keep(place_texts(made).placed)
    again = place_texts(made)
    assert not again.placed.anew
    box = again.labels[2].spot.box
    blocked = replace(made, passing=(box,))
    moved = place_texts(blocked)
    assert moved.placed.anew
    assert faults(blocked) == []


def test_after_some_steps_better_places_are_looked_for(qapp):
    made = fitted(sample_design(KEYS[0]), 0.3, SIZES[1], 1.0)
    first = place_texts(made)
    looked = []
    for _ in range(20):
        texts = place_texts(made)
        looked.append(texts.placed.anew)
        made.memory.keep(texts.placed)
        assert [label.spot.place for label in texts.labels] == [label.spot.place for label in first.labels]
    assert looked[0]
    assert 2 <= sum(looked) <= 4


def test_no_wheel_out_of_sight_has_a_label(qapp):
    made = fitted(sample_design(KEYS[0]), 0.3, SIZES[1], 1.0)
    near = replace(made, camera=made.camera.zoomed(6.0, *made.contacts[0].tolist()))
    assert shown(near) == {made.view.rows[0].name}
    assert faults(near) == []


def test_fit_leaves_free_what_floats_for_long_and_a_passing_note_never_moves_the_plan(window):
    canvas = window.canvas
    canvas.fit()
    before = canvas.camera
    note = (8.0, 160.0, 200.0, 200.0)
    canvas.set_passing((note,))
    assert canvas.camera == before
    assert canvas.scene().passing == (note,)
    tools = (0.0, 0.0, float(canvas.width()), 120.0)
    canvas.set_options(replace(canvas.scene().options, obstacles=(tools,)))
    assert canvas.camera != before
    assert canvas.camera.to_screen(wheel_corners(window.document.view))[..., 1].min() > 120.0
    assert faults(canvas.scene()) == []


def test_labels_keep_off_the_marks_of_motors_and_what_they_mean(qapp):
    made = fitted(sample_design("marsh_scout_motors"), 0.3, SIZES[1], 1.0)
    made = replace(made, options=replace(made.options, motors=True))
    legend = legend_box(made).getCoords()
    marks = [np.repeat(mark.at, 2).reshape(2, 2).T.ravel() for mark in motor_marks(made.view, made.camera)]
    assert marks
    halves = [mark.half for mark in motor_marks(made.view, made.camera)]
    boxes = [at + half * np.array([-1, -1, 1, 1]) for at, half in zip(marks, halves, strict=True)]
    for label in place_texts(made).labels:
        assert not meet(label.spot.box, legend)
        assert not [box for box in boxes if meet(label.spot.box, box)]
    assert len(shown(made)) == len(made.view.design.wheels)


@pytest.mark.parametrize("turn", [0.15, -0.15])
def test_a_fitted_plan_of_five_wheels_has_no_label_on_its_own_axle_line(qapp, turn):
    view = View(Facts(first_chassis(FirstRequest(wheels=5)).design), Command(turn=turn))
    plan, options = Camera(width=640, height=570), PlanOptions(obstacles=obstacles((640, 570)))
    camera = fitted_camera(view, plan, options=options, font=qapp.font())
    scene = Scene(view, camera, LIGHT, options, qapp.font())
    labels = label_plates(scene)
    assert len(labels) == 5
    assert not any(on_own_line(label, scene) for label in labels)
