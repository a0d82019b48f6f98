"""What is no drawing is refused in a sentence; damaged files give a drawing or a sentence, nothing else."""

import io
import random
import re

import ezdxf
import pytest

from app.design.disk import FileError
from app.design.outline_files.drawing import DrawingError
from app.design.outline_files.laying import laid_out
from app.design.outline_files.reading import LARGEST_DRAWING, drawing_of, sketch_of
from tests.effort import effort

SVG = b"""<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
width="100mm" height="50mm" viewBox="0 0 100 50"><g id="body" transform="matrix(1 0 .2 1 3 4)">
<rect x="10" y="10" width="30" height="20" rx="4"/></g><path d="M0 0h10v10h-10z m20 20 a5 5 0 1 0 10 0
a5 5 0 1 0 -10 0z C 1 2 3 4 5 6 s 1 2 3 4 q 1 2 3 4 t 5 6"/><text>a</text>
<use xlink:href="#body" x="5" transform="rotate(30)"/><symbol id="s" viewBox="0 0 10 10">
<ellipse rx="3" ry="2"/>
</symbol><use href="#s" width="20" height="30"/><polygon points="0,0 5,0 5,5"/></svg>"""


def dxf(version="R2000", form="asc"):
    document = ezdxf.new(version)
    msp = document.modelspace()
    if version != "R12":
        msp.add_lwpolyline([(0, 0, 1), (2, 0, 1)], format="xyb", close=True)
        msp.add_ellipse((10, 0), (3, 0), 0.5)
        msp.add_spline([(0, 10), (3, 12), (5, 9)])
        msp.add_rational_spline([(0, 0), (5, 0), (5, 5), (0, 0)], [1, 2, 1, 1])
    msp.add_text("x")
    msp.add_polyline2d([(0, 0, 0.5), (5, 0, 0), (5, 5, -0.3)], format="xyb", close=True)
    block = document.blocks.new("B")
    block.add_circle((0, 0), 1)
    block.add_arc((0, 0), 3, 0, 90)
    msp.add_blockref(
        "B", (30, 0), dxfattribs={"xscale": -2, "row_count": 2, "row_spacing": 5, "rotation": 30}
    )
    if form == "bin":
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


WORDS = [b"nan", b"inf", b"1e308", b"-1e308", b"1e999", b"0", b"-1", b"9" * 30, b"1e-320", b"", b"x"]


def with_bytes(dice, data):
    made = bytearray(data)
    for _ in range(dice.choice([1, 1, 2, 10, 100])):
        at = dice.randrange(len(made) + 1)
        act = dice.randrange(6)
        if act == 0:
            made[at : at + 1] = bytes([dice.randrange(256)])
        elif act == 1:
            made[at:at] = bytes(dice.randrange(256) for _ in range(dice.randrange(1, 9)))
        elif act == 2:
            del made[at : at + dice.randrange(1, 40)]
        elif act == 3:
            made = made[: max(at, 1)]
        else:
            made[at:at] = made[at : at + dice.randrange(1, 2000)]
    return bytes(made)


def with_words(dice, data):
    found = list(re.finditer(rb"-?\d+\.?\d*", data))
    for number in sorted(
        dice.sample(found, min(len(found), dice.choice([1, 3, 20]))), key=lambda one: -one.start()
    ):
        data = data[: number.start()] + dice.choice(WORDS) + data[number.end() :]
    return data


def in_entities(dice, data):
    at = data.find(b"ENTITIES") + 1
    return data[:at] + dice.choice([with_words, with_bytes])(dice, data[at:])


def test_damaged_drawings_give_a_drawing_or_one_clear_error_in_time(caplog):
    dice = random.Random(11)  # noqa: S311 - no secret
    sources = [
        (dxf(), "a.dxf"),
        (dxf("R12"), "b.dxf"),
        (dxf(form="bin"), "c.dxf"),
        (SVG, "d.svg"),
        (SVG, "d.svg"),
    ]
    sketch_of(dxf(), "a.dxf")
    caplog.clear()
    read = refused = 0
    for _ in range(effort(1_500, 21_000)):
        data, name = dice.choice(sources)
        damaged = dice.choice([with_bytes, with_words, in_entities])(dice, data)
        try:
            drawing = laid_out(sketch_of(damaged, name))
        except FileError as error:
            assert name in str(error)  # noqa: PT017 - either way is right
            assert len(str(error)) < 3_000  # noqa: PT017
            refused += 1
        else:
            assert all(outline.area_mm2 > 0 for outline in drawing.outlines)
            assert all(0 < circle.diameter < 1e10 for circle in drawing.circles)
            drawing.told()
            read += 1
    assert read > 100
    assert refused > 100
    assert not caplog.records, "the library's log goes to the terminal, with the bytes of broken files"


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "neither a DXF nor an SVG"),
        (bytes(range(256)) * 40, "neither a DXF nor an SVG"),
        (b"AC1032\x00\x00", "save it as one of these"),
        (b"\x1f\x8b\x08", "not compressed"),
        (b"%PDF-1.7", "neither a DXF nor an SVG"),
        (b"0\nSECTION\n2\nENTITIES\n0\n", "no closed outline"),
        (b"0\nNONSENSE\nhere\n", "cannot be read as a DXF drawing"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00\xff\xff", "cannot be read as a DXF drawing"),
    ],
)
def test_what_is_no_drawing_is_named_with_what_helps(tmp_path, data, why):
    path = tmp_path / "deck.dxf"
    path.write_bytes(data)
    with pytest.raises(DrawingError, match=why) as told:
        drawing_of(path)
    assert "deck.dxf" in str(told.value)


def test_the_content_counts_and_not_the_name(tmp_path):
    path = tmp_path / "deck.dxf"
    path.write_bytes(SVG)
    assert drawing_of(path, 0.5).chord_mm == 0.5


def test_a_huge_file_and_a_missing_one_are_refused(tmp_path):
    path = tmp_path / "deck.svg"
    with pytest.raises(FileError, match="no such file"):
        drawing_of(path)
    path.write_bytes(b"<svg>" + b" " * LARGEST_DRAWING)
    with pytest.raises(FileError, match="larger than 8192 KiB"):
        drawing_of(path)


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"chord_mm": 0}, "chord error must be from 0.001 to 5 mm"),
        ({"chord_mm": float("nan")}, "chord error"),
        ({"scale": 0}, "scale must be from 0.0001 to 10000"),
        ({"join_mm": -1}, "gap to be joined must be from 0 to 10 mm"),
    ],
)
def test_numbers_out_of_range_are_refused(asked, why):
    with pytest.raises(DrawingError, match=why):
        laid_out(sketch_of(SVG, "a.svg"), **asked)


def test_a_chord_error_that_needs_too_many_points_names_the_remedy():
    ellipses = b"".join(b'<ellipse rx="9000" ry="%d"/>' % (4000 + i) for i in range(300))
    with pytest.raises(DrawingError, match="choose a larger one"):
        laid_out(sketch_of(b"<svg>" + ellipses + b"</svg>", "a.svg"), 0.001)
