"""What holds for each writer of drawings, and what a drawing keeps on its way out and back in."""

import io
import os
import subprocess
import sys
from pathlib import Path
from typing import get_args
from xml.etree import ElementTree as ET

import ezdxf
import numpy as np
import pytest

from app.controller.export_error import ExportError
from app.design.outline_files.laying import laid_out
from app.design.outline_files.reading import sketch_of
from app.drawing.elements import Circle, Drawing, Element
from app.export.drawing_parts import one_line
from app.export.registry import exporter, exporters_of, files_of
from tests.app.export.drawn import CUT, HOSTILE, ONE_OF, PAGE, alone, named
from tests.written import only_file

ROWS = exporters_of("drawing")
ROOT = Path(__file__).resolve().parents[3]
pytestmark = pytest.mark.usefixtures("qapp")


def written(key, drawing, **chosen):
    return only_file(files_of(exporter("drawing", key), drawing, **chosen))


@pytest.mark.parametrize("kind", get_args(Element), ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_every_writer_writes_every_kind_of_element(row, kind):
    with_it = only_file(files_of(row, alone(ONE_OF[kind])))
    without = only_file(files_of(row, Drawing("reed", (PAGE,))))
    assert with_it != without
    # Another one of its kind is not the same: it is not only said that something is there.
    other = alone(ONE_OF[kind])
    moved = Drawing(other.name, (PAGE, other.moved(3.0, 2.0).elements[1]))
    assert only_file(files_of(row, moved)) not in {with_it, without}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_every_writer_says_plainly_that_there_is_nothing_to_draw(row):
    with pytest.raises(ExportError, match="nothing to draw yet; add wheels or a body first"):
        files_of(row, Drawing("empty", ()))


@pytest.mark.parametrize("key", ["dxf", "svg"])
def test_where_nothing_is_to_be_cut_that_is_said(key):
    with pytest.raises(ExportError, match="nothing to cut yet; give the chassis a body first"):
        written(key, Drawing("cut", ()), cut=True)


@pytest.mark.parametrize("scale", [0.002, 0.3, 1.0, 40.0], ids=["half a mm", "60 mm", "full", "9 m"])
@pytest.mark.parametrize("key", ["dxf", "svg"])
def test_outline_and_holes_of_any_size_come_back_to_a_millionth_of_a_millimetre(key, scale):
    drawing = CUT.moved(1.5, -2.25, scale)
    found = laid_out(sketch_of(written(key, drawing, cut=False), "plan"), 0.02)
    assert (found.unit, found.open_paths) == ("mm, as the file states", ())
    # Forward is up: x of the chassis is y of paper, and y its x the other way round.
    wanted = sorted(
        (e.centre[1], -e.centre[0], 2 * e.radius, e.role) for e in drawing.elements if isinstance(e, Circle)
    )
    ring = (60 * scale - 2.25, 14 * scale - 1.5, 12 * scale, "opening")
    circles = sorted((c.x, c.y, c.diameter, c.layer) for c in found.circles)
    assert [c[3] for c in circles] == [c[3] for c in sorted([*wanted, ring])]
    np.testing.assert_allclose([c[:3] for c in circles], [c[:3] for c in sorted([*wanted, ring])], atol=1e-6)
    body = next(outline for outline in found.outlines if outline.layer == "outline")
    points = body.points
    for corner in drawing.elements[0].corners:
        place = np.array([corner.y, -corner.x])
        assert np.hypot(*(points - place).T).min() < 1e-6
    assert {path.layer for path in found.outlines} == {"outline", "opening"}


def test_both_formats_give_the_same_area_back():
    areas = [
        [outline.area_mm2 for outline in laid_out(sketch_of(written(key, CUT), "plan"), 0.001).outlines]
        for key in ("dxf", "svg")
    ]
    np.testing.assert_allclose(*areas, rtol=1e-5)
    # The slot: a rectangle and two half circles of radius 4.
    assert areas[0][1] == pytest.approx(40 * 8 + np.pi * 16, rel=1e-4)


@pytest.mark.parametrize("text", HOSTILE)
def test_no_name_breaks_out_of_svg(text):
    data = written("svg", named(text)).decode()
    root = ET.fromstring(data)  # noqa: S314 - what this program wrote
    tame = ET.fromstring(written("svg", named("tame")))  # noqa: S314
    assert [element.tag for element in root.iter()] == [element.tag for element in tame.iter()]
    assert [sorted(e.attrib) for e in root.iter()] == [sorted(e.attrib) for e in tame.iter()]
    texts = [e.text for e in root.iter() if e.tag.endswith(("title", "}text"))]
    assert texts == [one_line(text)] * 3
    assert "<!" not in data
    assert data.count("<?") == 1


@pytest.mark.parametrize("text", HOSTILE)
def test_no_name_breaks_out_of_dxf(text):
    data = written("dxf", named(text)).decode()
    document = ezdxf.read(io.StringIO(data))
    faults = document.audit()
    assert (faults.errors, faults.fixes) == ([], [])
    tame = ezdxf.read(io.StringIO(written("dxf", named("tame")).decode()))
    assert [e.dxftype() for e in document.modelspace()] == [e.dxftype() for e in tame.modelspace()]
    assert data.count("\n") == written("dxf", named("tame")).decode().count("\n")
    shown = [e.plain_text() for e in document.modelspace().query("TEXT")]
    # A blank parts what would be a code; nothing else is changed.
    assert [one.replace(" ", "") for one in shown] == [one_line(text).replace(" ", "")] * 2


@pytest.mark.parametrize("text", HOSTILE)
def test_no_name_keeps_a_picture_from_being_painted(text):
    assert written("png", named(text), dpi=60).startswith(b"\x89PNG")


def test_a_name_of_control_signs_is_told_sign_by_sign():
    assert one_line("a\nb\x07\ud800\u202e潮 é") == "aU+000AbU+0007U+D800U+202E潮 é"


WRITING = """
import sys, datetime
from app.export.registry import exporters_of, files_of
from tests.app.export.drawn import CUT, HOSTILE, ONE_OF, PAGE
from app.drawing.elements import Drawing, Text
import hashlib
texts = tuple(Text("text", (0, 9 * k), text, 3.0) for k, text in enumerate(HOSTILE))
drawing = Drawing(HOSTILE[0], (PAGE, *CUT.elements, *ONE_OF.values(), *texts))
for row in exporters_of("drawing"):
    for name, data in files_of(row, drawing).items():
        print(row.key, name, hashlib.sha256(data).hexdigest())
"""


def test_the_same_drawing_is_the_same_bytes_in_any_process_place_zone_and_language(tmp_path):
    answers = []
    for seed, zone, language in (("1", "Pacific/Kiritimati", "C"), ("77", "America/Noronha", "de_DE.UTF-8")):
        home = tmp_path / seed
        home.mkdir()
        environment = {
            **{key: value for key, value in os.environ.items() if not key.startswith(("QT_", "DISPLAY"))},
            "PYTHONHASHSEED": seed,
            "TZ": zone,
            "LANG": language,
            "LC_ALL": language,
            "HOME": str(home),
            "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path]),
        }
        done = subprocess.run(
            [sys.executable, "-c", WRITING], cwd=home, env=environment, capture_output=True, text=True
        )
        assert (done.returncode, done.stderr) == (0, "")
        answers.append(done.stdout)
    assert answers[0] == answers[1]
    assert len(answers[0].splitlines()) >= len(ROWS)
