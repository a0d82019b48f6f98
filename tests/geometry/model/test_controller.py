import pytest

from geometry.errors import DesignError
from geometry.model.controller import PARTS, Controller, prefix_rule
from geometry.model.design import Design


@pytest.mark.parametrize("prefix", ["chassis", "a", "Scout2", "left_arm_3", "x" * 24])
def test_a_plain_name_is_a_prefix(prefix):
    assert prefix_rule(prefix) == ""
    assert Controller(prefix=prefix).prefix == prefix


@pytest.mark.parametrize(
    "prefix",
    [
        "",
        "2x",
        "_x",
        "x_",
        "a__b",
        "a b",
        "a-b",
        "é",
        "x" * 25,
        "x\n",
        "while",
        "int",
        "class",
        "None",
        "match",
    ],
)
def test_what_python_or_c_would_not_take_is_no_prefix(prefix):
    assert prefix_rule(prefix).startswith("must")
    with pytest.raises(DesignError, match="prefix must"):
        Design().controller.edited(prefix=prefix)


def test_an_error_counts_degrees_up_to_a_limit_and_drag_further():
    settings = Controller()
    with pytest.raises(DesignError, match=r"error must be at most 45 where it counts degrees \(got 60\)"):
        settings.edited(error=60.0)
    assert settings.edited(error=60.0, error_unit="mm_per_m").error == 60.0


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("error", 0.0),
        ("speed_error_permille", 0.0),
        ("largest_bytes", 0),
        ("dead_band_permille", 0),
        ("hold_within_deg", 0.0),
        ("creep_permille", 1001),
        ("method", "guess"),
        ("spacing", "odd"),
    ],
)
def test_a_setting_out_of_range_is_refused_with_its_place(field, value):
    with pytest.raises(DesignError, match=f"^{field} must"):
        Controller().edited(**{field: value})


def test_every_part_is_a_switch_that_is_on_at_first():
    assert all(getattr(Controller(), part) is True for part in PARTS)
