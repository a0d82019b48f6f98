"""The texts beside the centre marks: none covers another, a mark, or what is written at a wheel."""

import itertools

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont

from app.design.facts import Facts
from app.design.references import references_to
from app.design.samples import sample_design
from app.picture.view import Command, View
from app.theme import LIGHT
from app.views import placing
from app.views.camera import Camera
from app.views.centres import centre_tags
from app.views.lettering import lettering
from app.views.placing import Memory, Standing
from app.views.scene import PlanOptions, Scene
from app.views.tags import Tag, piece_of, plate_of
from app.views.turning import centre_tag
from app.views.wheels import label_plates
from tests.app.scouts import RIGHT, scout, steer_motor

MISBUILT = sample_design("misbuilt_scout")
# Two wheels on one motor by an odd ratio: the centre marks lie apart.
ODD = scout(RIGHT, steer_motor("left", {"front left": 1.0, "rear left": -1.6}))


def scene(design, turn, scale=0.9, *, at=(0.0, 100.0), labels=True):
    view = View(Facts(design), Command(turn), references_to("wheel", {0}))
    camera = Camera(*at, scale, 760, 480)
    return Scene(view, camera, LIGHT, PlanOptions(labels=labels), QFont())


def texts(made):
    return [tag.text for tag, _ in centre_tags(made)]


@pytest.mark.parametrize("design", [MISBUILT, ODD], ids=["misbuilt", "odd"])
@pytest.mark.parametrize("turn", [0.0, 0.1, 0.3, 0.4, 0.45, -0.4, -0.5, 0.8, 1.0])
@pytest.mark.parametrize("scale", [0.5, 0.9, 2.0])
def test_no_text_meets_another_or_a_mark_or_a_label(qapp, design, turn, scale):
    made = scene(design, turn, scale)
    placed = centre_tags(made)
    assert placed
    plates = [plate for _, plate in placed]
    still = [label.plate for label in label_plates(made)] + [tag.mark for tag, _ in placed]
    assert not [pair for pair in itertools.combinations(plates, 2) if pair[0].intersects(pair[1])]
    assert not [(plate, other) for plate in plates for other in still if plate.intersects(other)]


def test_all_three_marks_are_named_where_there_is_room(qapp):
    found = texts(scene(ODD, 0.3, 5.0, at=(0.0, 280.0), labels=False))
    assert [text.split(",")[0] for text in found] == ["turn centre", "ideal", "best fit of the axles"]


def test_a_label_steps_aside_from_the_cross_at_the_turn_centre(qapp):
    made = scene(MISBUILT, 0.4)
    cross = centre_tag(made).mark
    beside = {label.row.name: label.plate for label in label_plates(made)}
    assert "middle left" in beside
    assert not [name for name, plate in beside.items() if plate.intersects(cross)]
    # It stays beside its wheel: the cross is nearer than a label is wide.
    assert abs(beside["middle left"].center().y() - cross.center().y()) < 60


def place(tags, taken=(), size=(400, 300)):
    """Where tags stand beside what stands already: pairs of a tag and its plate."""
    letters = lettering(QFont())
    pieces = [piece_of(str(n), tag, letters) for n, tag in enumerate(tags)]
    boxes = np.array([box.getCoords() for box in taken]).reshape(-1, 4)
    spots = placing.place(pieces, Standing(*size, boxes=boxes), Memory()).spots
    return [(tags[int(spot.piece.key)], plate_of(spot)) for spot in spots]


def tag(text, at=(200.0, 150.0), **more):
    return Tag(text, at, 10.0, "#000000", **more)


@pytest.mark.parametrize("above", [False, True])
def test_a_text_stands_on_its_own_side_of_a_mark_where_that_is_free(qapp, above):
    ((_, plate),) = place([tag("centre", above=above)])
    assert (plate.bottom() < 150.0) == above
    assert plate.center().x() == pytest.approx(200.0)


def test_a_text_gives_way_to_what_stands_already(qapp):
    below = QRectF(150.0, 161.0, 100.0, 60.0)
    ((_, plate),) = place([tag("centre")], [below])
    assert plate.bottom() < 150.0


def test_texts_of_marks_at_one_place_stand_apart(qapp):
    placed = place([tag("one"), tag("two"), tag("three")])
    assert len({(plate.x(), plate.y()) for _, plate in placed}) == 3


def test_the_least_important_is_left_out_where_nothing_is_free(qapp):
    placed = place([tag("needed", needed=True), tag("one more")], [QRectF(0.0, 0.0, 400.0, 300.0)])
    assert [found.text for found, _ in placed] == ["needed"]


@pytest.mark.parametrize("at", [(0.0, 0.0), (400.0, 300.0), (400.0, 0.0)])
def test_a_text_stays_within_the_canvas(qapp, at):
    ((_, plate),) = place([tag("at the edge", at)])
    assert QRectF(0.0, 0.0, 400.0, 300.0).contains(plate)
