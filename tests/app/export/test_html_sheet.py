"""The build sheet for a browser: its plan moves as the robot does, and no name is more than a text."""

import base64
import hashlib
import json
import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from app.design.facts import Facts
from app.export.html_sheet import error_words, render, stated_error
from app.sheet.blocks import Heading, Paragraph, Steps, Table
from app.sheet.build_sheet import sheet_of
from geometry.kinematics.alignment import STATES
from geometry.kinematics.robot import robot_of
from geometry.turn_range.range_check import at_turns
from tests.app.sheet_designs import DESIGNS, HOSTILE, crowd, named
from tests.board import MOST_SECONDS, lacks

PAGE = Path(__file__).with_name("page.mjs")
MOST_BYTES = 2_000_000
# What the page itself rounds when it shows a number.
SHOWN_DEG, SHOWN_SPEED, SHOWN_DRAG = 0.0051, 0.00051, 0.051


class Reader(HTMLParser):
    """The tags of a page with their attributes, and its words."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.within = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.within.append(tag)

    def handle_endtag(self, tag):
        while self.within and self.within.pop() != tag:
            pass

    def handle_data(self, data):
        if not {"script", "style"} & set(self.within):
            self.words.append(data)

    def all(self, tag):
        return [attrs for name, attrs in self.tags if name == tag]


def page_of(key):
    return render(sheet_of(Facts(DESIGNS[key]())))


def moved(page, turns, folder):
    """What the page's own script shows at first, at each turn, and after its first button."""
    node = shutil.which("node")
    if node is None:
        lacks("the page's script runs in Node, which is not here: install nodejs")
    (folder / "sheet.html").write_text(page, encoding="utf-8")
    (folder / "turns.json").write_text(json.dumps(list(turns)), encoding="utf-8")
    command = [node, str(PAGE), "sheet.html", "turns.json"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=MOST_SECONDS)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def headings_of(shown):
    """Where the wheels are drawn to point [degrees]."""
    turned = [re.search(r"rotate\((-?[\d.]+)\)", wheel["transform"])[1] for wheel in shown["wheels"]]
    return -np.array([float(angle) for angle in turned])


def fifty_turns(sheet):
    """Turns that are no row of the page: all over the range, and close to both sides of every jump."""
    rows = sheet.live.rows
    reach = rows.turns[-1]
    turns = (reach * np.sin(np.linspace(-1.55, 1.55, 50))).tolist()
    for low in rows.breaks:
        for beside in (1e-8, 1e-6, 1e-3):
            turns += [rows.turns[low] - beside, rows.turns[low + 1] + beside]
    return [turn for turn in turns if abs(turn) <= reach]


MOVING = [key for key in DESIGNS if key != "empty"]


@pytest.mark.parametrize("key", MOVING)
def test_the_slider_shows_each_wheel_as_the_robot_has_it_within_the_stated_error(key, tmp_path):
    sheet = sheet_of(Facts(DESIGNS[key]()))
    turns = fifty_turns(sheet)
    robot = robot_of(sheet.design)
    response = at_turns(robot, turns).response
    stated_deg, stated_speed, stated_drag = stated_error(sheet.live)
    silent = np.isin(response.states, [STATES.index("pivots"), STATES.index("swings round")])
    first, *shown, last = moved(render(sheet), turns, tmp_path)
    assert len(shown) == len(turns) >= 50
    for m, one in enumerate(shown):
        heading = np.degrees(response.solution.heading[m])
        assert np.abs(headings_of(one) - heading).max() <= stated_deg
        steer = np.where(robot.wheels.steered, response.solution.steer[m], response.solution.heading[m])
        told = np.array([float(wheel["angle"].removesuffix("°")) for wheel in one["wheels"]])
        assert np.abs(told - np.degrees(steer)).max() <= stated_deg + SHOWN_DEG
        speed = np.array([wheel["speed"] for wheel in one["wheels"]])
        assert np.abs(speed - response.solution.roll[m]).max() <= stated_speed + SHOWN_SPEED
        drag = np.array([wheel["drag"] for wheel in one["wheels"]])
        due = np.where(silent[m], drag, np.abs(response.alignment.drag[m]))
        assert np.abs(drag - due).max() <= stated_drag + SHOWN_DRAG
    assert first["turn"] == f"{sheet.live.turn:.3f}"
    assert float(last["turn"]) == pytest.approx(sheet.design.largest_turn)


def test_a_wheel_that_flips_stands_on_one_side_or_the_other_and_never_between(tmp_path):
    sheet = sheet_of(Facts(DESIGNS["flips"]()))
    rows = sheet.live.rows
    assert rows.breaks
    low = rows.breaks[0]
    a, b = rows.turns[low], rows.turns[low + 1]
    wheel = int(np.abs(rows.heading[low + 1] - rows.heading[low]).argmax())
    turns = np.linspace(a, b, 11).tolist()
    shown = [headings_of(one)[wheel] for one in moved(render(sheet), turns, tmp_path)[1:-1]]
    ends = rows.heading[low, wheel], rows.heading[low + 1, wheel]
    assert abs(ends[1] - ends[0]) > 100.0
    assert all(min(abs(one - end) for end in ends) < 0.002 for one in shown)


def test_the_turn_centre_is_where_the_robot_turns(tmp_path):
    sheet = sheet_of(Facts(DESIGNS["marsh_scout_six"]()))
    live = sheet.live
    turns = [0.3, -0.45, 0.0, 1.0]
    centre = at_turns(robot_of(sheet.design), turns).response.centre
    _, *shown, _ = moved(render(sheet), turns, tmp_path)
    for m in (0, 1, 3):
        x, y = map(float, re.findall(r"-?[\d.]+", shown[m]["centre"]["transform"]))
        forward, left = centre[m]
        assert x == pytest.approx(live.origin[0] - live.scale * left, abs=0.01)
        assert live.high - y == pytest.approx(live.origin[1] + live.scale * forward, abs=0.01)
    assert shown[2]["centre"]["visibility"] == "hidden"
    assert [one["radius"] for one in shown[2:]] == ["straight ahead", "on the spot"]
    assert shown[0]["radius"] == f"turn radius {centre[0, 1]:.1f} mm to the left"
    assert shown[1]["radius"].endswith("to the right")


def test_without_a_script_the_plan_is_a_picture_with_the_same_numbers(tmp_path):
    page = page_of("marsh_scout_motors")
    first = moved(page, [], tmp_path)[0]
    there = re.findall(r'id="wheel-\d+" transform="translate\([^)]*\) rotate\((-?[\d.]+)\)"', page)
    assert [-float(angle) for angle in there] == pytest.approx(headings_of(first).tolist(), abs=0.001)
    cells = re.findall(r'id="angle-\d+">(-?[\d.]+°)<', page)
    assert cells == [wheel["angle"] for wheel in first["wheels"]]
    assert 'id="controls" hidden' in page
    assert first["controls"] is False


def test_the_page_states_its_error():
    sheet = sheet_of(Facts(DESIGNS["marsh_scout_six"]()))
    heading, *_ = stated_error(sheet.live)
    assert 0 < heading < 0.05
    assert f"off by at most {heading:g}°" in " ".join(Reader(render(sheet)).words)
    assert error_words(sheet.live).count("nothing between") == 0
    assert "nothing between" in error_words(sheet_of(Facts(DESIGNS["flips"]())).live)


@pytest.mark.parametrize("key", DESIGNS)
def test_the_page_is_whole_fetches_nothing_and_stays_small(key):
    page = page_of(key)
    read = Reader(page)
    assert len(page.encode()) < MOST_BYTES
    assert page == page_of(key)
    assert not read.all("img") + read.all("link") + read.all("iframe") + read.all("object")
    scripts = read.all("script")
    assert scripts == ([] if key == "empty" else [{"type": "application/json", "id": "turn-rows"}, {}])
    assert [a for _, attrs in read.tags for a in attrs if a.startswith("on") or a in {"src", "style"}] == []
    assert all(attrs["href"].startswith("#") for attrs in read.all("a"))
    assert "http:" not in page
    assert "https:" not in page
    ids = [attrs["id"] for _, attrs in read.tags if "id" in attrs]
    assert len(set(ids)) == len(ids)
    assert {attrs["href"][1:] for attrs in read.all("a")} <= set(ids)


@pytest.mark.parametrize("key", ["hostile", "foreign", "crowd", "empty"])
def test_every_text_of_the_sheet_is_there_as_text(key):
    sheet = sheet_of(Facts(DESIGNS[key]()))
    words = "".join(Reader(render(sheet)).words).replace("\n", "")
    for block in sheet.blocks:
        match block:
            case Heading() | Paragraph():
                told = [block.text]
            case Steps():
                told = list(block.items)
            case Table():
                told = [cell for row in (block.head, *block.rows) for cell in row]
            case _:
                told = []
        assert [text for text in told if text.replace("\n", "") not in words] == []
    assert sheet.title in words


def test_hostile_names_stay_texts():
    page = render(sheet_of(Facts(named(*HOSTILE))))
    names = [str(n) * len(name) for n, name in enumerate(HOSTILE)]
    plain = render(sheet_of(Facts(named(*names))))
    # The very tags and attributes of the same chassis with plain names; long cells have a class.
    bare, due = (
        [(tag, sorted(set(attrs) - {"class"})) for tag, attrs in Reader(text).tags] for text in (page, plain)
    )
    assert bare == due
    assert page.count("</script>") == plain.count("</script>") == 2
    assert HOSTILE[0] in "".join(Reader(page).words)


def test_the_policy_lets_only_the_pages_own_style_and_script_be():
    page = page_of("reed_cart_four")
    policy = Reader(page).all("meta")[1]["content"]
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)[1]
    script = re.search(r"<script>(.*?)</script>", page, re.DOTALL)[1]
    for text, name in ((style, "style-src"), (script, "script-src")):
        checksum = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name} 'sha256-{checksum}'" in policy
    assert policy.startswith("default-src 'none'")


def test_the_largest_chassis_stays_small():
    page = render(sheet_of(Facts(crowd(64, 200))))
    assert len(page.encode()) < MOST_BYTES
