"""The picture is true, and the page explains what the screens and files say."""

from __future__ import annotations

import math
import re
from importlib import resources
from xml.etree import ElementTree

import numpy as np
import pytest

from app.design.samples import sample_design
from app.export.table import table_of
from geometry.alignment import STATES
from geometry.chassis import base_of, wheel_arrays
from geometry.motion import from_radius
from geometry.solve import solve

SVG = "{http://www.w3.org/2000/svg}"
# Places in the picture are written to a hundredth of a pixel.
NEAR_PX = 0.05


def _read(name: str) -> str:
    return resources.files("app.help").joinpath(name).read_text(encoding="utf-8")


PAGE = _read("words.html")
PICTURE = ElementTree.fromstring(_read("words.svg"))  # noqa: S314 - our own file


def _lines(prefix: str) -> dict[str, np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    found = {}
    for item in PICTURE.iter(f"{SVG}line"):
        name = item.get("id", "")
        if name.startswith(prefix):
            ends = [[float(item.get(f"{axis}{n}", "nan")) for axis in "xy"] for n in (1, 2)]
            found[name.removeprefix(prefix)] = np.array(ends)
    return found


def _point(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    item = next(item for item in PICTURE.iter(f"{SVG}circle") if item.get("id") == name)
    return np.array([float(item.get("cx", "nan")), float(item.get("cy", "nan"))])


def _gap(line: np.ndarray[tuple[int, int], np.dtype[np.float64]], point: np.ndarray) -> float:  # type: ignore[type-arg]
    (ax, ay), (bx, by) = line
    px, py = point
    return abs((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / math.hypot(bx - ax, by - ay)


def test_every_axle_line_of_the_picture_meets_the_marked_turn_centre() -> None:
    lines = _lines("axle-")
    assert len(lines) == 6
    for name, line in lines.items():
        assert _gap(line, _point("turn-centre")) < NEAR_PX, name
    assert _gap(_lines("base-")["axle"], _point("turn-centre")) < NEAR_PX


def test_the_axle_line_of_the_inset_misses_its_centre() -> None:
    assert _gap(_lines("inset-")["axle"], _point("inset-centre")) > 30


def test_the_picture_has_the_steer_angles_that_the_solver_finds() -> None:
    design = sample_design("marsh_scout_six")
    heading = solve(wheel_arrays(design), from_radius(300.0, base_of(design))).heading[0]
    lines = _lines("axle-")
    for wheel, angle in zip(design.wheels, heading, strict=True):
        (ax, ay), (bx, by) = lines[wheel.name.replace(" ", "-")]
        assert math.atan2(by - ay, -(bx - ax)) == pytest.approx(angle, abs=1e-3), wheel.name


def test_no_text_of_the_picture_is_smaller_than_eleven_pixels() -> None:
    sizes = [float(item.get("font-size", "0")) for item in PICTURE.iter(f"{SVG}text")]
    assert len(sizes) > 20
    assert min(sizes) >= 11


@pytest.mark.parametrize(
    "word",
    [
        "turn centre",
        "turn radius R",
        "base axle",
        "axle line",
        "wheelbase",
        "track",
        "half-track h",
        "kingpin",
        "steer angle",
        "slip angle",
        "miss",
        "trail",
        "lateral offset",
        "toe-in",
        "rolling direction",
    ],
)
def test_the_picture_labels(word: str) -> None:
    assert word in {item.text for item in PICTURE.iter(f"{SVG}text")}


def _explained() -> str:
    return " ".join(re.findall(r"<td[^>]*><b>(.*?)</b></td>", PAGE, flags=re.DOTALL))


@pytest.mark.parametrize(
    "word", [*STATES, "turn input", "speed ratio", "flip", "travel end", "caster", "rank"]
)
def test_the_page_explains(word: str) -> None:
    assert word in _explained()


def test_the_page_explains_every_column_of_the_table_and_every_flag() -> None:
    columns = table_of(sample_design("creek_tricycle"), [0.0]).columns
    for column in columns:
        generic = re.sub(r"^(front|rear_left|rear_right|tail_caster)_", "NAME_", column)
        assert f"<tt>{generic}</tt>" in PAGE, column
    for flag in ("flipped", "travel_end", "no_angle", "drags"):
        assert f"<tt>{flag}</tt>" in PAGE


def test_every_link_of_the_page_has_a_place_to_go() -> None:
    links = re.findall(r'href="#(\w+)"', PAGE)
    assert len(links) >= 6
    assert set(links) <= set(re.findall(r'name="(\w+)"', PAGE))


def test_the_page_fixes_no_colour_that_could_vanish_in_the_dark() -> None:
    assert not re.search(r"color|background|#[0-9a-f]{6}", PAGE, flags=re.IGNORECASE)


@pytest.mark.parametrize(
    "caution",
    [
        "off the ground",
        "fingers",
        "Fuse",
        "low speed",
        "licensed",
        "Not for road vehicles",
        "carrying people",
    ],
)
def test_the_page_carries_the_caution(caution: str) -> None:
    assert caution in PAGE
