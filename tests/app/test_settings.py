import json
from pathlib import Path

import pytest

from app.controller.steering_table import MOST_ROWS
from app.design.disk import FileError
from app.design.samples import sample_design
from app.settings import FILE_NAME, MOST_RECENT, Settings, load_settings, save_settings, settings_folder
from geometry.errors import DesignError
from tests.windows import KEYS


def test_without_a_file_the_defaults_hold(tmp_path):
    assert load_settings(tmp_path) == Settings()


def test_saved_settings_come_back(tmp_path):
    mine = Settings(
        appearance="dark",
        length_unit="inch",
        last_folder="/größe",
        recent_files=("a.json", "b.json"),
        symmetry=False,
        snap=False,
        full_circles=True,
        show_labels=False,
        welcome_dismissed=True,
        export_rows=11,
        window_state="AAAA",
        window_geometry="BBBB",
    )
    save_settings(mine, tmp_path / "deep" / "er")
    assert load_settings(tmp_path / "deep" / "er") == mine


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b"[]",
        b'{"appearance": "pink"}',
        b'{"export_rows": 1}',
        b'{"colour": 1}',
        b"[" * 99_999,
    ],
)
def test_a_broken_file_gives_defaults_and_is_kept_aside(tmp_path, broken):
    (tmp_path / FILE_NAME).write_bytes(broken)
    assert load_settings(tmp_path) == Settings()
    assert (tmp_path / (FILE_NAME + ".broken")).read_bytes() == broken
    assert not (tmp_path / FILE_NAME).exists()


def test_a_newer_versions_file_is_used_as_far_as_it_is_understood(tmp_path):
    text = json.dumps(
        {"version": 2, "appearance": "dark", "length_unit": "furlong", "wings": 2, "snap": False}
    )
    (tmp_path / FILE_NAME).write_text(text)
    assert load_settings(tmp_path) == Settings(appearance="dark", snap=False)
    assert (tmp_path / FILE_NAME).read_text() == text


def test_a_folder_that_may_not_be_read_gives_defaults(tmp_path, monkeypatch):
    def deny(*_args, **_kwargs):
        raise PermissionError(13, "denied")

    save_settings(Settings(snap=False), tmp_path)
    for name in ("stat", "replace"):
        monkeypatch.setattr(Path, name, deny)
    assert load_settings(tmp_path) == Settings()


def test_a_place_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="is a file, not a folder"):
        save_settings(Settings(), tmp_path / "file")


def test_a_variable_moves_the_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("AXLEWRIGHT_HOME", str(tmp_path))
    assert settings_folder() == tmp_path
    save_settings(Settings(snap=False))
    assert load_settings().snap is False
    monkeypatch.delenv("AXLEWRIGHT_HOME")
    assert settings_folder().name.casefold() == "axlewright"


def test_recent_files_are_newest_first_and_few(tmp_path):
    settings = Settings()
    for i in range(MOST_RECENT + 3):
        settings = settings.with_recent(tmp_path / f"{i}.json")
    settings = settings.with_recent(tmp_path / "5.json")
    assert len(settings.recent_files) == MOST_RECENT
    assert [Path(p).name for p in settings.recent_files[:3]] == ["5.json", "12.json", "11.json"]
    assert settings.last_folder == str(tmp_path)
    assert len(settings.without_recent(tmp_path / "5.json").recent_files) == MOST_RECENT - 1


def test_as_many_rows_are_remembered_as_a_table_may_have():
    assert Settings().edited(export_rows=MOST_ROWS).export_rows == MOST_ROWS


def test_settings_out_of_range_are_refused():
    with pytest.raises(DesignError, match="export_rows must be at most 100001"):
        Settings().edited(export_rows=100_002)


# The stages ---------------------------------------------------------------------------------


def test_preferences_of_the_window_with_docks_open_and_lead_to_the_first_stage(
    make_window, make_document, home
):
    old = {
        "version": 1,
        "appearance": "dark",
        "length_unit": "inch",
        "symmetry": False,
        "window_state": "AAAA/wAAAAD9AAAAAgAAAAEAAAGQ",
        "window_geometry": "",
    }
    (home / "settings.json").write_text(json.dumps(old))
    settings = load_settings()
    assert (settings.appearance, settings.length_unit, settings.symmetry) == ("dark", "inch", False)
    assert not (home / "settings.json.broken").exists()
    assert (settings.stage, settings.unfolded, settings.taken_out, settings.panel_widths) == (
        "lay out",
        None,
        (),
        {},
    )
    window = make_window(make_document(sample_design(KEYS[0])), settings)
    assert window.middle.side.stage == "lay out"
    assert window.middle.side.unfolded == window.middle.side.first_unfolded()


def test_the_stage_and_its_sections_are_kept(make_window, make_document):
    window = make_window(make_document(sample_design(KEYS[0])))
    window.action["stage check"].trigger()
    window.sections["working"].head.click()
    window.sections["plot"].out.click()
    kept = load_settings()
    assert kept.stage == "check"
    assert "working" in kept.unfolded
    assert kept.taken_out == ("plot",)
    again = make_window(make_document(sample_design(KEYS[0])), kept)
    assert again.middle.side.stage == "check"
    assert again.sections["working"].unfolded
    assert again.middle.side.taken_out == ("plot",)


@pytest.mark.parametrize(
    "kept",
    [
        {"stage": "bench"},
        {"stage": "a stage of later"},
        {"unfolded": ("wheels", "a panel of later")},
        {"taken_out": ("a panel of later",)},
        {"panel_widths": {"a stage of later": 300, "bench": 300}},
        {"panel_widths": {"lay out": -50}},
        {"panel_widths": {"lay out": 100_000}},
    ],
)
def test_what_this_window_has_not_is_no_trouble(make_window, make_document, kept):
    save_settings(Settings(**kept))
    window = make_window(make_document(sample_design(KEYS[0])), load_settings())
    assert window.middle.side.stage == "lay out"
    assert window.middle.side.taken_out == ()
    assert window.middle.plan.width() >= 240
    assert window.middle.side.width() >= 240
    assert window.panels["wheels"].isVisible()


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("stage", 3),
        ("stage", "x" * 21),
        ("unfolded", "wheels"),
        ("taken_out", [1]),
        ("panel_widths", {"lay out": "wide"}),
        ("made", [{"what": "bridge", "design": "0"}]),
    ],
)
def test_a_key_of_the_stages_that_cannot_be_gives_the_defaults_and_keeps_the_file(home, key, value):
    (home / "settings.json").write_text(json.dumps({"version": 1, key: value}))
    assert load_settings() == Settings()
    assert (home / "settings.json.broken").exists()
