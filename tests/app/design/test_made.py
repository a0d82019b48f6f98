"""What was made from a design is known by a hash of it, so that an older file is told."""

import json

from app.design import edits
from app.design.files import design_from_text, design_text
from app.design.made import MOST_KEPT, WHATS, MadeFile, hash_of, latest
from app.design.samples import sample_design
from app.dialogs.export import Export
from app.settings import Settings, load_settings, save_settings
from tests.windows import KEYS

DESIGN = sample_design(KEYS[0])
MOVED = edits.move_wheels(DESIGN, {0: (133.0, 120.0)})


def made(design=DESIGN, what="table", place="here.csv"):
    return MadeFile(
        what=what, design=hash_of(design), name=design.name, place=place, at="2031-05-04T10:00:00"
    )


def test_the_same_design_has_the_same_hash_however_it_came_about():
    again = design_from_text(design_text(DESIGN), "again.json")
    back = edits.move_wheels(MOVED, {0: (DESIGN.wheels[0].x_mm, DESIGN.wheels[0].y_mm)})
    assert hash_of(again) == hash_of(back) == hash_of(DESIGN)
    assert len({hash_of(d) for d in (DESIGN, MOVED, DESIGN.edited(notes="mud"))}) == 3


def test_nothing_was_made_of_another_kind_or_chassis():
    assert latest((), "table", DESIGN) == (None, False)
    assert latest((made(what="code"),), "table", DESIGN) == (None, False)
    assert latest((made(MOVED.edited(name="Another")),), "table", DESIGN) == (None, False)


def test_a_file_is_fresh_until_the_design_changes_and_again_when_it_is_undone():
    files = (made(),)
    assert latest(files, "table", DESIGN) == (files[0], True)
    assert latest(files, "table", MOVED) == (files[0], False)


def test_a_fresh_file_comes_before_a_newer_one_of_another_state():
    newer, older = made(MOVED, place="new.csv"), made(place="old.csv")
    assert latest((newer, older), "table", DESIGN) == (older, True)
    assert latest((newer, older), "table", MOVED) == (newer, True)


def test_of_two_old_files_the_newest_is_told():
    other = DESIGN.edited(notes="reed")
    files = (made(MOVED, place="new.csv"), made(place="old.csv"))
    assert latest(files, "table", other) == (files[0], False)


def test_what_was_made_is_kept_with_the_preferences(tmp_path):
    files = tuple(made(what=what) for what in WHATS)
    save_settings(Settings(made=files), tmp_path)
    assert load_settings(tmp_path).made == files
    assert json.loads((tmp_path / "settings.json").read_text())["made"][0]["what"] == WHATS[0]


def test_each_export_is_remembered_the_newest_first_and_no_more_than_are_kept(window, answers, tmp_path):
    answers.give("ask_export", Export({"t.csv": b"x"}, 5, ".csv"))
    answers.give("ask_save", *(tmp_path / f"{number}.csv" for number in range(MOST_KEPT + 2)))
    for _ in range(MOST_KEPT + 2):
        assert window.filing.export()
    kept = load_settings().made
    assert [one.place for one in kept] == [
        str(tmp_path / f"{number}.csv") for number in reversed(range(2, MOST_KEPT + 2))
    ]
    assert {(one.what, one.design, one.name) for one in kept} == {("table", hash_of(DESIGN), DESIGN.name)}


def test_what_could_not_be_written_was_not_made(window, answers, tmp_path):
    answers.give("ask_export", Export({"t.csv": b"x"}, 5, ".csv"), None)
    answers.give("ask_save", tmp_path / "nowhere" / "t.csv")
    answers.give("tell", None)
    assert not window.filing.export()
    assert load_settings().made == ()
