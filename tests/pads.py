"""A stand-in for pygame-ce: its documented calls for pads, which refuse what the real ones refuse.

Sticks, plugs and buttons take effect once events are taken, as with the real one.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.machinery import ModuleSpec
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

ADDED, REMOVED = 1541, 1542


class PygameError(RuntimeError):
    """As `pygame.error`."""


@dataclass
class FakePad:
    """A pad in the hand of a test: axes from -1 to 1, right and towards the person positive."""

    name: str = "Marsh Pad"
    known: bool = True
    axes: list[float] = field(default_factory=lambda: [0.0] * 6)
    buttons: list[bool] = field(default_factory=lambda: [False] * 12)
    number: int = -1

    def push(self, *, x: float = 0.0, y: float = 0.0, right_x: float = 0.0, right_y: float = 0.0) -> None:
        """Hold the sticks there."""
        self.axes[:4] = [x, y, right_x, right_y]


class FakePygame:
    """The module with its parts `display`, `event`, `joystick` and `_sdl2.controller`."""

    error = PygameError
    JOYDEVICEADDED, JOYDEVICEREMOVED = ADDED, REMOVED

    def __init__(self) -> None:
        self.running: set[str] = set()
        self.began_with: dict[str, str] = {}
        self.plugged: list[FakePad] = []
        self.broken = ""
        self._wanted: list[FakePad] = []
        self._next = 0
        self.display = SimpleNamespace(init=self._init_display, quit=self._quit("display"))
        self.event = SimpleNamespace(get=self._events)
        self.joystick = SimpleNamespace(
            init=self._init_joystick, quit=self._quit("joystick"), get_count=self._count, Joystick=self._pad
        )
        self.controller = SimpleNamespace(
            init=lambda: self.running.add("controller"),
            quit=self._quit("controller"),
            is_controller=lambda index: self._at(index).known,
            Controller=self._controller,
        )

    # What a hand does --------------------------------------------------------------------------

    def plug(self, pad: FakePad) -> FakePad:
        """Plug a pad in; it has a number that no pad had before."""
        pad.number, self._next = self._next, self._next + 1
        self._wanted.append(pad)
        return pad

    def pull(self, pad: FakePad) -> None:
        """Pull a pad out."""
        self._wanted.remove(pad)

    # What the module does ----------------------------------------------------------------------

    def _init_display(self) -> None:
        self.began_with = dict(os.environ)
        if os.environ.get("SDL_VIDEODRIVER") != "dummy":
            raise PygameError("No available video device")
        self.running.add("display")

    def _init_joystick(self) -> None:
        if self.broken:
            raise PygameError(self.broken)
        self.running.add("joystick")
        self.plugged = list(self._wanted)

    def _quit(self, part: str) -> Callable[[], None]:
        return lambda: self.running.discard(part)

    def _wants(self, part: str) -> None:
        if part not in self.running:
            name = {"display": "video"}.get(part, part)
            raise PygameError(f"{name} system not initialized")

    def _events(self) -> list[Any]:
        self._wants("display")
        if self.broken:
            raise PygameError(self.broken)
        came = [SimpleNamespace(type=ADDED) for pad in self._wanted if pad not in self.plugged]
        went = [SimpleNamespace(type=REMOVED) for pad in self.plugged if pad not in self._wanted]
        if "joystick" in self.running:
            self.plugged = list(self._wanted)
        return [SimpleNamespace(type=1536), *came, *went]

    def _count(self) -> int:
        self._wants("joystick")
        return len(self.plugged)

    def _at(self, index: int) -> FakePad:
        self._wants("joystick")
        if not 0 <= index < len(self.plugged):
            raise PygameError("Invalid joystick device number")
        return self.plugged[index]

    def _pad(self, index: int) -> Any:
        pad = self._at(index)
        return SimpleNamespace(
            get_instance_id=lambda: pad.number,
            get_name=lambda: pad.name,
            get_numaxes=lambda: len(pad.axes),
            get_numbuttons=lambda: len(pad.buttons),
            get_axis=lambda n: _of(pad.axes, n, "Invalid joystick axis"),
            get_button=lambda n: _of(pad.buttons, n, "Invalid joystick button"),
        )

    def _controller(self, index: int) -> Any:
        self._wants("controller")
        pad = self._at(index)
        if not pad.known:
            raise PygameError("Invalid index")

        def axis(number: int) -> int:
            if not 0 <= number < 6:
                raise PygameError(f"Invalid axis: {number}")
            value = pad.axes[number]
            return int(value * (32_767 if value > 0 else 32_768))

        def button(number: int) -> bool:
            if not 0 <= number < 21:
                raise PygameError(f"Invalid button: {number}")
            return number < len(pad.buttons) and pad.buttons[number]

        return SimpleNamespace(get_axis=axis, get_button=button)


def _of(values: list[Any], number: int, wrong: str) -> Any:
    if not 0 <= number < len(values):
        raise PygameError(wrong)
    return values[number]


@pytest.fixture
def pygame(monkeypatch: pytest.MonkeyPatch) -> FakePygame:
    """Stand in for the real module, which is never loaded."""
    made = FakePygame()
    module, inner, controller = (
        ModuleType(name) for name in ("pygame", "pygame._sdl2", "pygame._sdl2.controller")
    )
    for name in ("error", "JOYDEVICEADDED", "JOYDEVICEREMOVED", "display", "event", "joystick"):
        setattr(module, name, getattr(made, name))
    vars(controller).update(vars(made.controller))
    inner.controller = controller  # type: ignore[attr-defined]
    for part in (module, inner, controller):
        part.__spec__ = ModuleSpec(part.__name__, None)
        monkeypatch.setitem(sys.modules, part.__name__, part)
    return made


@pytest.fixture
def no_pygame(monkeypatch: pytest.MonkeyPatch) -> None:
    """The extra is not installed."""
    monkeypatch.setattr("app.simulation.game_pad.find_spec", lambda _name: None)
    monkeypatch.setitem(sys.modules, "pygame", None)
