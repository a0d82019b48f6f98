"""Game pads are read: with a stand-in whose pads a test holds, and once with the real library."""

import ctypes
import os
import signal
import subprocess
import sys
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.simulation.game_pad import (
    DEAD,
    FULL,
    GamePadError,
    GamePads,
    PadState,
    Stick,
    asked_of,
    installed,
    share_of,
    stepped,
)
from app.simulation.inputs import sides, stick
from tests.pads import FakePad

REAL = pytest.mark.skipif(find_spec("pygame") is None, reason="pygame-ce is not installed")


@pytest.fixture
def pads(pygame):
    made = GamePads()
    made.open()
    yield made
    made.close()


def only(pads):
    (state,) = pads.read()
    return state


# What a stick counts as ------------------------------------------------------------------------


@given(st.floats(-DEAD, DEAD))
def test_a_stick_about_its_rest_counts_as_none(raw):
    assert share_of(raw) == 0.0


@given(st.floats(FULL, 1.0))
def test_a_stick_near_its_end_counts_as_full(raw):
    assert (share_of(raw), share_of(-raw)) == (1.0, -1.0)


def test_between_them_it_grows_evenly_from_nothing():
    shares = [share_of(DEAD + k * (FULL - DEAD) / 8) for k in range(9)]
    assert shares == pytest.approx([k / 8 for k in range(9)])


@given(st.floats(-1, 1), st.integers(-20, 20))
def test_a_step_is_the_nearest_but_for_a_tremble(share, before):
    found = stepped(share, before / 20)
    assert abs(found * 20 - round(found * 20)) < 1e-9
    assert abs(found - share) <= 0.6 / 20 + 1e-9


def test_a_trembling_hand_between_two_steps_makes_no_changes():
    held, seen = 0.5, []
    for tremble in (0.524, 0.526, 0.522, 0.528) * 50:
        held = stepped(tremble, held)
        seen.append(held)
    assert set(seen) == {0.5}


def test_a_slow_push_to_the_end_makes_as_many_changes_as_there_are_steps():
    held, seen = 0.0, [0.0]
    for k in range(2_001):
        held = stepped(share_of(k / 2_000), held)
        seen.append(held)
    assert sum(a != b for a, b in pairwise(seen)) == 20
    assert seen[-1] == 1.0


# What is read ----------------------------------------------------------------------------------


def test_nothing_is_loaded_before_pads_are_opened():
    code = "import sys, app.simulation.game_pad as g; g.installed(); sys.exit('pygame' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code]).returncode == 0


def test_without_the_extra_the_error_says_the_command(no_pygame):
    assert not installed()
    with pytest.raises(GamePadError, match=r"python3 \.start gamepad"):
        GamePads().open()


def test_an_extra_that_does_not_load_says_why(pygame, monkeypatch):
    monkeypatch.setattr("app.simulation.game_pad.find_spec", lambda _name: object())
    monkeypatch.setitem(sys.modules, "pygame", None)
    with pytest.raises(GamePadError, match=r"does not load .*installs it anew"):
        GamePads().open()


def test_a_system_without_pads_says_so_and_leaves_nothing_running(pygame):
    pygame.broken = "no such device"
    pads = GamePads()
    with pytest.raises(GamePadError, match="no game pads to read: no such device"):
        pads.open()
    assert not pads.opened
    assert pygame.running == set()


def test_pads_that_were_not_opened_are_refused():
    with pytest.raises(GamePadError, match="only while they are open"):
        GamePads().read()


def test_the_library_finds_its_settings_and_other_programs_do_not(pygame, monkeypatch):
    monkeypatch.setenv("SDL_VIDEODRIVER", "x11")
    monkeypatch.delenv("SDL_NO_SIGNAL_HANDLERS", raising=False)
    GamePads().open()
    assert pygame.began_with["SDL_VIDEODRIVER"] == "dummy"
    assert pygame.began_with["SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS"] == "1"
    assert pygame.began_with["SDL_NO_SIGNAL_HANDLERS"] == "1"
    assert os.environ["SDL_VIDEODRIVER"] == "x11"
    assert "SDL_NO_SIGNAL_HANDLERS" not in os.environ


def test_pads_come_and_go_and_the_others_stay(pads, pygame):
    assert pads.read() == ()
    first, second = pygame.plug(FakePad("First")), pygame.plug(FakePad("Second"))
    assert [state.name for state in pads.read()] == ["First", "Second"]
    number = pads.read()[1].number
    pygame.pull(first)
    second.push(y=-1.0)
    (left,) = pads.read()
    assert (left.name, left.number, left.left.ahead) == ("Second", number, 1.0)
    pygame.pull(second)
    assert pads.read() == ()


def test_a_pad_that_was_there_before_is_found(pygame):
    pygame.plug(FakePad("Early"))
    pads = GamePads()
    pads.open()
    assert only(pads).name == "Early"
    pads.close()
    assert pygame.running == set()


@pytest.mark.parametrize("known", [True, False])
def test_ahead_and_to_the_left_are_positive(pads, pygame, known):
    pad = pygame.plug(FakePad(known=known))
    pad.push(x=-1.0, y=-0.55, right_x=1.0, right_y=0.55)
    assert only(pads) == PadState(pad.number, "Marsh Pad", Stick(0.5, 1.0), Stick(-0.5, -1.0), stop=False)


def test_a_pad_of_one_stick_has_no_right_one(pads, pygame):
    pad = pygame.plug(FakePad(known=False, axes=[0.0, 0.0], buttons=[]))
    pad.axes[:] = [0.0, -1.0]
    assert only(pads).left == (1.0, 0.0)
    assert only(pads).right == (0.0, 0.0)


@pytest.mark.parametrize(
    ("known", "button", "stops"), [(True, 0, True), (True, 7, False), (True, 8, False), (False, 7, True)]
)
def test_a_button_stops_unless_it_lies_under_a_stick(pads, pygame, known, button, stops):
    pad = pygame.plug(FakePad(known=known))
    pad.buttons[button] = True
    assert only(pads).stop is stops


def test_a_name_is_one_line_of_some_length(pads, pygame):
    pygame.plug(FakePad("  Marsh\n pad " + "x" * 300))
    pygame.plug(FakePad(""))
    long, none = pads.read()
    assert long.name.startswith("Marsh pad x")
    assert len(long.name) == 60
    assert none.name == "game pad"


def test_pads_that_cannot_be_read_any_more_say_so_and_are_closed(pads, pygame):
    pygame.broken = "gone"
    with pytest.raises(GamePadError, match="cannot be read any more: gone"):
        pads.read()
    assert not pads.opened
    assert pygame.running == set()


def test_one_stick_is_throttle_and_turn_and_two_are_the_sides():
    state = PadState(0, "pad", Stick(0.5, -0.25), Stick(-1.0, 0.75), stop=False)
    assert asked_of(state, one_stick=True) == stick(0.5, -0.25)
    assert asked_of(state, one_stick=False) == sides(0.5, -1.0)


# The real library ------------------------------------------------------------------------------


@REAL
def test_the_real_library_opens_without_a_window_and_closes():
    code = (
        "import pygame, signal\n"
        "from app.simulation.game_pad import GamePads\n"
        "for _ in range(2):\n"
        "    pads = GamePads(); pads.open(); print(len(pads.read()), pygame.display.get_driver(), "
        "pygame.display.get_surface(), signal.getsignal(signal.SIGTERM).name)\n"
        "    pads.close(); print(pygame.display.get_init(), pygame.joystick.get_init())\n"
    )
    bare = {name: text for name, text in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=bare)
    assert done.returncode == 0, done.stderr
    lines = [line.split(maxsplit=1) for line in done.stdout.splitlines() if not line.startswith("pygame")]
    assert [line[1] for line in lines] == ["dummy None SIG_DFL", "False"] * 2


@REAL
@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no signal that asks a program to end")
def test_the_real_library_lets_the_program_be_ended():
    code = (
        "import time\nfrom app.simulation.game_pad import GamePads\n"
        "pads = GamePads(); pads.open(); pads.read(); print('open', flush=True); time.sleep(20)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as child:
        while "open" not in child.stdout.readline():
            assert child.poll() is None
        child.send_signal(signal.SIGTERM)
        assert child.wait(timeout=15) == -signal.SIGTERM


@REAL
def test_a_pad_of_the_real_library_is_read_plugged_in_and_pulled_out():
    import pygame as real

    found = sorted((Path(real.__file__).parents[1] / "pygame_ce.libs").glob("libSDL2-2*"))
    if not found:
        pytest.skip("the library that pygame-ce brings is not where a pad can be made in it")
    pads = GamePads()
    pads.open()
    try:
        inside = ctypes.CDLL(str(found[0]))
        inside.SDL_JoystickOpen.restype = ctypes.c_void_p
        before = len(pads.read())
        made = inside.SDL_JoystickAttachVirtual(1, 6, 15, 0)
        assert made >= 0
        hand = ctypes.c_void_p(inside.SDL_JoystickOpen(made))
        inside.SDL_JoystickSetVirtualAxis(hand, 1, ctypes.c_int16(-32_768))
        inside.SDL_JoystickSetVirtualAxis(hand, 3, ctypes.c_int16(32_767))
        state = pads.read()[-1]
        assert (state.left, state.right, state.stop) == (Stick(1.0, 0.0), Stick(-1.0, 0.0), False)
        inside.SDL_JoystickSetVirtualButton(hand, 7, 1)
        assert not pads.read()[-1].stop
        inside.SDL_JoystickSetVirtualButton(hand, 0, 1)
        assert pads.read()[-1].stop
        inside.SDL_JoystickDetachVirtual(made)
        assert len(pads.read()) == before
    finally:
        pads.close()
