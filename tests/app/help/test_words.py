"""The picture is true, and the page explains what the screens and files say."""

from __future__ import annotations

import math
import re
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from app.cli.command_line import run
from app.controller.code_outputs import FULL
from app.controller.programme import programme_of
from app.controller.runtime import Runtime
from app.controller.steering_table import table_of
from app.design.files import write_design
from app.design.samples import sample_design
from app.panels.registry import PANELS
from app.units import parse_gearing
from geometry.kinematics.alignment import HALF_PATCH, STATES, alignment_of, contacts
from geometry.kinematics.ideal import solve
from geometry.kinematics.motion import from_radius, from_turn
from geometry.model.base_axle import base_of
from geometry.model.controller import PARTS
from geometry.model.design import Design
from geometry.model.motors import ratio_of_train
from geometry.model.wheel import Wheel
from geometry.model.wheel_arrays import wheel_arrays

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
    "word",
    [*STATES, "turn input", "speed ratio", "flip", "change of ends", "jump", "travel end", "caster", "rank"],
)
def test_the_page_explains(word: str) -> None:
    assert word in _explained()


def test_the_page_explains_every_column_of_the_table_and_every_flag() -> None:
    columns = table_of(sample_design("creek_tricycle"), [0.0]).columns
    for column in columns:
        generic = re.sub(r"^(front|rear_left|rear_right|tail_caster)_", "NAME_", column)
        assert f"<tt>{generic}</tt>" in PAGE, column
    for flag in ("flipped", "jumps", "travel_end", "no_angle", "swings", "pivots", "drags"):
        assert f"<tt>{flag}</tt>" in PAGE


def explanation(word: str) -> str:
    """What the page says of a word, in one line."""
    rows = re.findall(r"<b>([^<]*)</b></td><td>(.*?)</td>", PAGE, flags=re.DOTALL)
    found = [told for words, told in rows if word == words or word in words.split(", ")]
    assert found, word
    return " ".join(found[0].split())


def test_the_page_tells_the_patch_that_counts_as_covering_the_centre() -> None:
    said = explanation("pivots")
    assert f"at most {100 * HALF_PATCH:g} % of the wheel's diameter" in said
    across = Design(
        wheels=(
            Wheel(name="wide", x_mm=0.0, y_mm=99.0, width_mm=20.0),
            Wheel(name="L", x_mm=0.0, y_mm=100.0),
            Wheel(name="R", x_mm=0.0, y_mm=-100.0),
        )
    )
    for x, y, pivots in ((2.9, 99.0, True), (3.1, 99.0, False), (2.9, 89.0, False)):
        moved = across.edited(
            wheels=(across.wheels[0].edited(x_mm=x, y_mm=y), *across.wheels[1:]), base_axle_x_mm=0.0
        )
        wheels = wheel_arrays(moved)
        motion = from_radius(100.0, base_of(moved))
        found = alignment_of(wheels, solve(wheels, motion))
        assert bool(found.pivots[0, 0]) is pivots
    assert "less than half the tyre's width from the contact point" in said


def test_the_page_tells_that_casters_alone_swing_round_in_reverse() -> None:
    assert "only a caster swings round until it trails again" in " ".join(PAGE.split())
    design = sample_design("creek_tricycle")
    forward, back = (
        solve(wheel_arrays(design), from_turn([0.3], base_of(design), speed)) for speed in (1.0, -1.0)
    )
    caster = wheel_arrays(design).caster
    assert (forward.steer[0, ~caster] == back.steer[0, ~caster]).all()
    assert (forward.roll[0, ~caster] == -back.roll[0, ~caster]).all()
    assert (forward.roll[0, caster] == back.roll[0, caster]).all()
    assert (np.abs(forward.heading[0, caster] - back.heading[0, caster]) > 1.0).all()


def test_the_page_tells_on_which_side_a_lateral_offset_lies() -> None:
    assert "left for right-hand wheels too" in explanation("lateral offset")
    right = Design(wheels=(Wheel(name="R", x_mm=0.0, y_mm=-100.0, lateral_offset_mm=-15.0),))
    _, y = contacts(wheel_arrays(right), [[0.0]])
    assert y[0, 0] == -115.0


def test_the_page_tells_where_the_base_axle_lies_without_fixed_wheels() -> None:
    assert "mean of the steered wheels by load, and with casters alone x = 0" in explanation("base axle")
    steered = [
        Wheel(name=f"{x:g}", x_mm=x, y_mm=50.0, kind="steered", load_share=share)
        for x, share in ((0.0, 1.0), (90.0, 2.0))
    ]
    assert base_of(Design(wheels=tuple(steered))).x == pytest.approx(60.0)
    casters = tuple(wheel.edited(kind="caster") for wheel in steered)
    assert base_of(Design(wheels=casters)).x == 0.0


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


def test_the_page_begins_with_a_first_robot_then_the_stages_then_the_words() -> None:
    order = re.findall(r'<h2><a name="(\w+)">', PAGE)
    assert order[:5] == ["first", "care", "stages", "picture", "words"]


@pytest.mark.parametrize(
    "caution", ["off the ground", "low speed", "fingers", "Fuse", "Not for road vehicles"]
)
def test_the_cautions_stand_at_the_very_top(caution: str) -> None:
    top = " ".join(PAGE[: PAGE.index('name="first"')].split())
    assert caution.replace("off the ground", "wheels off the ground") in top


def test_the_page_tells_what_each_stage_is_for_and_what_its_marks_mean() -> None:
    stages = PAGE[PAGE.index('name="stages"') : PAGE.index('name="picture"')]
    told = {spec.stage.capitalize() for spec in PANELS} | {"Build"}
    assert set(re.findall(r"<h3><a name=\"\w+\"></a>(.*?)</h3>", stages)) == told
    for mark in ("tick", "ring with a dot", "ring", "hollow triangle", "filled triangle", "dash"):
        assert f"<b>{mark}</b>" in stages


def test_the_page_speaks_of_no_tab_dock_or_tool_bar() -> None:
    assert not re.search(r"\b(\w+ tab|on the tabs|docks?|tool bar)\b", PAGE)


@pytest.mark.parametrize(
    "word",
    [
        *("steer motor", "drive motor", "gear train", "ring gear", "backlash", "play", "step", "zero"),
        *("reading", "shared steering", "as built", "lengthwise slip", "largest speed", "off course"),
        *("fitted table", "formula", "rows, free or even", "largest error, bound", "prefix", "dead band"),
        *("limiter", "hold", "creep", "vectors", "fingerprint"),
    ],
)
def test_the_page_explains_the_word_of_motors_and_code(word: str) -> None:
    assert len(explanation(word)) > 20


def test_the_page_explains_every_part_of_the_code() -> None:
    for part in PARTS:
        assert explanation(part.replace("_", " "))


def test_the_gear_trains_on_the_page_are_read_as_it_says() -> None:
    for typed, ratio in (("12-20-36, 10-40", -1 / 12), ("20-80r", 1 / 4)):
        assert f"<tt>{typed}</tt>" in PAGE
        train = parse_gearing(typed)
        assert not isinstance(train, float)
        assert ratio_of_train(train) == pytest.approx(ratio)
    assert "a ratio of -1/12" in " ".join(PAGE.split())


def test_the_page_tells_the_range_of_inputs_and_what_the_code_believes_at_first() -> None:
    assert f"from -{FULL} to {FULL}" in " ".join(PAGE.split())
    programme = programme_of(sample_design("creek_tricycle"))
    straight = programme.chassis.values(np.zeros(1))[0, : len(programme.steer)]
    assert Runtime(programme).at == pytest.approx(straight, abs=programme.bound[0])
    assert "takes the steering to stand straight ahead" in PAGE


@pytest.mark.parametrize("words", ["--format micropython", "--vectors 1000"])
def test_the_commands_of_the_page_are_understood(tmp_path: Path, words: str) -> None:
    command = re.search(rf"<tt>axlewright (export FILE {words} -o OUT)</tt>", PAGE)
    assert command
    chassis, out = tmp_path / "chassis.json", tmp_path / "out"
    write_design(chassis, sample_design("creek_tricycle"))
    places = {"FILE": str(chassis), "OUT": str(out)}
    assert run([places.get(word, word) for word in command[1].split()]) == 0
    assert out.stat().st_size > 1_000


@pytest.mark.parametrize(
    "caution", ["swings by half a turn", "must stop the motors by itself", "come on top"]
)
def test_the_page_carries_the_caution_beside_the_code(caution: str) -> None:
    assert caution in PAGE[PAGE.index('name="code"') :]


def test_each_word_is_explained_once() -> None:
    words = re.findall(r"<td[^>]*><b>(.*?)</b></td>", PAGE)
    assert sorted(words) == sorted(set(words))
