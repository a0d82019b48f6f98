import re

import pytest

from app.controller.programme import programme_of
from app.design.samples import sample_design
from app.export.c_header import render
from tests.app.export.robots import BARE, flipping, sample
from tests.unpacked import unpacked

ALL = [(method, spacing) for method in ("table", "formula") for spacing in ("free", "even")]


def code_of(text):
    """The text without its comments."""
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


@pytest.mark.parametrize(("method", "spacing"), ALL)
def test_a_table_needs_stdint_alone_and_a_formula_math_too(method, spacing):
    text = render(programme_of(flipping(method=method, spacing=spacing)))
    included = re.findall(r"#include <(.*)>", text)
    assert included == (["stdint.h"] if method == "table" else ["math.h", "stdint.h"])
    if method == "table":
        assert not re.search(r"\b(double|float|malloc|long|[0-9]+\.[0-9])", code_of(text))


def test_the_header_may_be_included_twice():
    lines = [line for line in render(programme_of(flipping())).splitlines() if line.startswith("#")]
    assert lines[0] == "#ifndef chassis_CONTROLLER_H"
    assert lines[1] == "#define chassis_CONTROLLER_H"
    assert lines[-1] == "#endif"


@pytest.mark.parametrize(("method", "spacing"), ALL)
def test_every_name_outside_of_functions_begins_with_the_prefix(method, spacing):
    code = code_of(render(programme_of(flipping(method=method, spacing=spacing, prefix="Reed2"))))
    functions = re.findall(r"^static inline \w+ (\w+)\(", code, flags=re.MULTILINE)
    types = re.findall(r"^} (\w+);", code, flags=re.MULTILINE)
    places = re.findall(r"^    (\w+) = \d+,?$", code, flags=re.MULTILINE)
    assert len(functions) > 6
    assert len(types) == 2
    assert len(places) == 2 + 2 + 2
    assert all(name.startswith("Reed2_") for name in (*functions, *types, *places))


def test_every_array_is_constant_or_the_callers():
    for line in code_of(render(programme_of(flipping(spacing="even")))).splitlines():
        if "static" in line and "[" in line and "(" not in line:
            assert line.strip().startswith("static const")


def test_the_numbers_in_the_header_are_those_of_the_table():
    programme = programme_of(sample("marsh_scout_motors"))
    text = render(programme)
    body = re.search(r"values\[\d+\]\[4\] = \{\n(.*?)\n    \};", text, flags=re.DOTALL)[1]
    rows = [[int(n) for n in re.findall(r"-?\d+", line)] for line in body.splitlines()]
    assert rows == programme.table.values.tolist()
    nodes = re.search(r"nodes\[\d+\] = \{\n(.*?)\n    \};", text, flags=re.DOTALL)[1]
    assert [int(n) for n in re.findall(r"-?\d+", nodes)] == programme.table.nodes.tolist()


@pytest.mark.parametrize("part", ["mixing", "scaling", "clamp", "limiter", "hold", "dead_band"])
def test_a_part_that_is_left_out_leaves_no_trace(part):
    traces = {
        "mixing": "_stick(",
        "scaling": "tops[",
        "clamp": "low[",
        "limiter": "state->at[i]",
        "hold": "holding",
        "dead_band": "<= 50",
    }
    with_it = code_of(render(programme_of(flipping(**{**BARE, part: True}))))
    without = code_of(render(programme_of(flipping(**BARE))))
    assert traces[part] in with_it
    assert traces[part] not in without


@pytest.mark.parametrize("name", ["*/ int x; /*", "/*/", "*/*", "**//", "a\\", "??/", "\u202e", "/", "*"])
def test_no_name_ends_or_opens_a_comment(name):
    design = unpacked(sample_design("marsh_scout_motors"))
    motor = design.steer_motors[0].edited(name=name)
    named = render(programme_of(design.edited(name=name, steer_motors=(motor, *design.steer_motors[1:]))))
    assert named.count("/*") == named.count("*/") == render(programme_of(design)).count("*/")
    assert not re.search(r"\\$", named, flags=re.MULTILINE)
    assert "\u202e" not in named


def test_the_same_chassis_gives_the_same_text():
    assert render(programme_of(flipping())) == render(programme_of(flipping()))


def test_two_even_rows_over_the_whole_range_fit_their_numbers():
    tricycle = sample_design("creek_tricycle")
    stiff = tuple(
        wheel.edited(travel_min_deg=-3.0, travel_max_deg=3.0) if wheel.kind == "steered" else wheel
        for wheel in tricycle.wheels
    )
    controller = tricycle.controller.edited(spacing="even", error=5.0)
    programme = programme_of(tricycle.edited(wheels=stiff, controller=controller))
    assert [segment.step for segment in programme.table.segments] == [32_768]
    assert "static const int32_t segments[1][3] = {{-16384, 32768, 0}};" in render(programme)
