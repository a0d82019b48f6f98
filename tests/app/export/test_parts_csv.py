"""The parts list as CSV."""

import csv
import io

import pytest

from app.design.samples import sample_design
from app.export.parts_csv import render
from geometry.model.design import Design
from tests.app.sheet_designs import named


def rows(design):
    return list(csv.DictReader(io.StringIO(render(design))))


def test_every_part_wheel_and_the_body_has_its_line_and_its_mass():
    design = sample_design("marsh_scout_motors")
    found = rows(design)
    assert [row["name"] for row in found] == [
        *(part.name for part in design.packaging.parts),
        *(wheel.name for wheel in design.wheels),
        "Body",
    ]
    masses = [part.mass_kg for part in design.packaging.parts] + [w.mass_kg for w in design.wheels]
    assert [float(row["mass_kg"]) for row in found] == pytest.approx([*masses, design.packaging.body_mass_kg])
    battery = next(row for row in found if row["name"] == "battery")
    assert (battery["length_mm"], battery["width_mm"], battery["height_mm"]) == ("112", "70", "44")
    assert battery["diameter_mm"] == battery["motor"] == ""


def test_names_that_a_spreadsheet_would_work_out_are_kept_as_text():
    found = rows(named("=1+1", "@sum", 'a,"b"'))
    assert [row["name"] for row in found if row["kind"] == "wheel"][:3] == ["'=1+1", "'@sum", 'a,"b"']


def test_an_empty_chassis_has_a_head_alone():
    assert render(Design()).count("\r\n") == 1
