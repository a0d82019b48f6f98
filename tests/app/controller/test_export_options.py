import pytest

from app.controller.export_options import error_of, whole, with_options
from app.design.samples import sample_design
from geometry.errors import AxlewrightError, CommandError

WHOLE = "must be a whole number from 16 to 1000000; or none, for no limit"
SCOUT = sample_design("marsh_scout_motors")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("0.1", (0.1, "deg")),
        ("0,1deg", (0.1, "deg")),
        ("0.25 °", (0.25, "deg")),
        ("5mm", (5.0, "mm_per_m")),
        ("5 mm/m", (5.0, "mm_per_m")),
    ],
)
def test_an_error_is_read_with_its_unit(text, found):
    assert error_of(text) == found


@pytest.mark.parametrize("text", ["", "deg", "x", "5cm", "nan", "5mm5"])
def test_an_error_without_a_number_is_refused(text):
    with pytest.raises(AxlewrightError, match=r"such as 0\.1deg or 5mm"):
        error_of(text)


def test_options_are_laid_over_what_the_chassis_says():
    given = {
        "error": "5mm",
        "spacing": "even",
        "without": "hold,dead-band",
        "prefix": "reed",
        "unit": "degrees",
    }
    design = with_options(SCOUT, given | {"largest_bytes": "900", "speed_error": "2%"})
    settings = design.controller
    assert (settings.error, settings.error_unit, settings.spacing) == (5.0, "mm_per_m", "even")
    assert (settings.hold, settings.dead_band, settings.limiter) == (False, False, True)
    assert (settings.prefix, settings.largest_bytes, settings.method) == ("reed", 900, "table")
    assert settings.speed_error_permille == pytest.approx(20.0)
    assert {motor.unit for motor in design.steer_motors} == {"degrees"}


def test_no_options_leave_the_design_as_it_is():
    assert with_options(SCOUT, dict.fromkeys(("error", "with", "unit"))) == SCOUT


def test_a_limit_on_the_size_can_be_lifted():
    limited = with_options(SCOUT, {"largest_bytes": "900"})
    assert with_options(limited, {"largest_bytes": "none"}) == SCOUT


def test_parts_can_be_put_in_again():
    bare = with_options(SCOUT, {"without": "hold, limiter"})
    assert with_options(bare, {"with": "limiter,hold"}) == SCOUT


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("method", "guess"),
        ("spacing", "odd"),
        ("unit", "turns"),
        ("with", "brakes"),
        ("without", ""),
        ("largest_bytes", "-3"),
        ("largest_bytes", "٣"),
        ("speed_error", "much"),
    ],
)
def test_a_word_that_is_none_of_the_known_ones_is_refused_by_its_option(name, word):
    with pytest.raises(CommandError, match=f"--{name.replace('_', '-')} must be"):
        with_options(SCOUT, {name: word})


@pytest.mark.parametrize(
    ("name", "word", "told"),
    [
        ("error", "50deg", "--error must be at most 45 degrees (got 50)"),
        ("error", "0.0001", "--error must be at least 0.001 degrees (got 0.0001)"),
        ("error", "501mm", "--error must be at most 500 mm of drag per metre (got 501)"),
        ("speed_error", "60%", "--speed-error must be at most 50 percent of full speed (got 60)"),
        ("speed_error", "0", "--speed-error must be at least 0.01 percent of full speed (got 0)"),
        *(
            (
                "largest_bytes",
                word,
                f"--largest-bytes {WHOLE} (got {word!r})",
            )
            for word in ("-1", "15", "1000001", "2.5", "")
        ),
        ("prefix", "a" * 25, "--prefix must be up to 24 letters"),
    ],
)
def test_a_number_out_of_range_is_refused_by_its_option_with_bound_and_unit(name, word, told):
    with pytest.raises(CommandError) as caught:
        with_options(SCOUT, {name: word})
    assert str(caught.value).startswith(told)


@pytest.mark.parametrize(
    ("name", "word"), [("error", "45deg"), ("error", "0.001"), ("error", "500mm"), ("speed_error", "50%")]
)
def test_the_very_bound_is_taken(name, word):
    assert with_options(SCOUT, {name: word}) != SCOUT


@pytest.mark.parametrize("word", ["-5", "0", "101", "99999999999", "9" * 5000, "٣", "1e1", " 3"])
def test_a_whole_number_out_of_range_is_refused_with_its_range(word):
    with pytest.raises(
        CommandError, match=r"^--vectors must be a whole number from 1 to 100 \(got '.{1,43}\)$"
    ):
        whole("vectors", word, 1, 100)


def test_a_part_cannot_be_left_out_and_put_in_at_once():
    with pytest.raises(CommandError, match=r"same part \(got dead_band in both\); leave it out of one"):
        with_options(SCOUT, {"without": "hold,dead-band", "with": "dead_band"})
