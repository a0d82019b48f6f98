"""What the window wants from the system, told before Qt loads."""

import subprocess
import sys

import pytest

from app import qt_check

SCREEN = {"DISPLAY": ":0"}


def loader_without(*lacking):
    def load(soname):
        if soname in lacking:
            raise OSError(f"{soname}: cannot open shared object file")

    return load


def all_of(libraries):
    return [library.soname for library in libraries]


def test_without_a_screen_the_command_line_is_offered():
    told = qt_check.trouble({}, "linux", loader_without())
    assert "no screen" in told
    assert "axlewright check FILE" in told


@pytest.mark.parametrize("chosen", ["offscreen", "minimal", "vnc"])
def test_a_chosen_platform_needs_no_screen(chosen):
    assert qt_check.trouble({"QT_QPA_PLATFORM": chosen}, "linux", loader_without()) is None


@pytest.mark.parametrize("platform", ["win32", "darwin"])
def test_elsewhere_than_linux_nothing_is_asked_of_the_system(platform):
    everything = all_of(qt_check.CORE + qt_check.XCB)
    assert qt_check.trouble({}, platform, loader_without(*everything)) is None


def test_nothing_is_told_when_nothing_lacks():
    assert qt_check.trouble(SCREEN, "linux", loader_without(), answers=lambda: True) is None


def test_a_screen_that_does_not_answer_is_named():
    told = qt_check.trouble({"DISPLAY": "far:9"}, "linux", loader_without(), answers=lambda: False)
    assert "DISPLAY=far:9 does not answer" in told


def test_a_second_way_to_the_screen_is_left_to_qt():
    both = {"DISPLAY": "far:9", "WAYLAND_DISPLAY": "wayland-0"}
    assert qt_check.trouble(both, "linux", loader_without(), answers=lambda: False) is None


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only there is the screen asked")
def test_a_screen_that_is_not_there_does_not_answer():
    code = "import sys; from app import qt_check; sys.exit(qt_check._x_screen_answers())"
    done = subprocess.run(
        [sys.executable, "-c", code], env={"DISPLAY": ":97531"}, capture_output=True, text=True
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_a_lacking_library_is_named_with_the_line_that_installs_it():
    told = qt_check.trouble(SCREEN, "linux", loader_without("libxcb-cursor.so.0"))
    assert "libxcb-cursor.so.0" in told
    assert "sudo apt install libxcb-cursor0\n" in told


def test_all_that_lacks_is_told_at_once_and_each_package_once():
    told = qt_check.trouble(
        SCREEN,
        "linux",
        loader_without("libEGL.so.1", "libglib-2.0.so.0", "libgthread-2.0.so.0", "libxcb-xkb.so.1"),
    )
    assert "sudo apt install libegl1 libglib2.0-0 libxcb-xkb1\n" in told


def test_the_tests_platform_wants_no_library_of_a_screen():
    loader = loader_without(*all_of(qt_check.XCB + qt_check.WAYLAND))
    assert qt_check.trouble({"QT_QPA_PLATFORM": "offscreen"}, "linux", loader) is None
    loader = loader_without("libEGL.so.1")
    assert "libegl1" in qt_check.trouble({"QT_QPA_PLATFORM": "offscreen"}, "linux", loader)


@pytest.mark.parametrize("chosen", ["xcb", "xcb:some=option", "wayland;xcb"])
def test_a_chosen_screen_platform_is_examined(chosen):
    lacking = all_of(qt_check.XCB + qt_check.WAYLAND)
    assert qt_check.trouble({"QT_QPA_PLATFORM": chosen}, "linux", loader_without(*lacking)) is not None


def test_one_whole_way_to_the_screen_is_enough():
    both = {"DISPLAY": ":0", "WAYLAND_DISPLAY": "wayland-0"}
    assert qt_check.trouble(both, "linux", loader_without(*all_of(qt_check.XCB))) is None
    assert qt_check.trouble(both, "linux", loader_without(*all_of(qt_check.WAYLAND))) is None
    neither = loader_without("libxcb-cursor.so.0", "libwayland-client.so.0")
    assert "libxcb-cursor0" in qt_check.trouble(both, "linux", neither)


def test_a_failed_import_of_qt_names_the_package():
    told = qt_check.import_trouble(ImportError("libGL.so.1: cannot open shared object file: No such file"))
    assert "sudo apt install libgl1\n" in told


def test_a_failed_import_for_another_reason_keeps_the_systems_words():
    told = qt_check.import_trouble(ImportError("DLL load failed while importing QtWidgets"))
    assert "DLL load failed while importing QtWidgets" in told
    assert "fresh environment" in told


def test_paper_needs_what_qt_itself_links_and_no_screen():
    assert qt_check.paper_trouble("linux", loader_without(*all_of(qt_check.XCB + qt_check.WAYLAND))) is None
    told = qt_check.paper_trouble("linux", loader_without("libEGL.so.1", "libfontconfig.so.1"))
    assert told.startswith("a page cannot be drawn: the system lacks libraries")
    assert "sudo apt install libegl1 libfontconfig1\n" in told
    assert "window" not in told
    assert qt_check.paper_trouble("win32", loader_without("libEGL.so.1")) is None


def test_a_failed_import_for_paper_speaks_of_paper():
    told = qt_check.paper_import_trouble(ImportError("libGL.so.1: cannot open shared object file"))
    assert told.startswith("a page cannot be drawn: ")
    assert "sudo apt install libgl1\n" in told


def test_the_check_itself_loads_no_qt():
    code = "import sys; from app import qt_check; qt_check.trouble(); sys.exit('PySide6' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0
