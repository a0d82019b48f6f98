"""Game pads: which ones are plugged in, where their sticks are, and what that asks of the robot.

They are read by pygame-ce, an optional extra that is imported when pads are opened. No window of its library
is wanted: its video goes to a dummy, since without any video its events do not run.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any, NamedTuple

from app.simulation.inputs import Input, sides, stick
from geometry.errors import AxlewrightError

INSTALL = 'python3 .start gamepad   or   pip install ".[gamepad]"'
"""What installs the extra, in the folder of the project."""
MISSING = f"Game pads want pygame-ce, which is not installed. This installs it:   {INSTALL}"
"""What to do where the extra is missing."""
DEAD = 0.15
"""Share of a stick's way to either side of its rest that counts as none: worn springs rest off the middle."""
FULL = 0.95
"""Share of a stick's way that counts as all of it: in its corners a stick does not come further."""
STEPS = 20
"""Steps from rest to full. A hand cannot hold it finer, and a recording keeps each change."""
_LEAVES_A_STEP = 0.6 / STEPS
_MOST_RAW = 32_767
_MOST_NAME = 60
_ENVIRONMENT = {
    "SDL_VIDEODRIVER": "dummy",
    "SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS": "1",
    # Else the library takes the signal that asks the program to end, and it never ends.
    "SDL_NO_SIGNAL_HANDLERS": "1",
    "PYGAME_HIDE_SUPPORT_PROMPT": "1",
}
# As the library numbers them on a pad that it knows: the axes of the two sticks, and all buttons but the
# two under the sticks, which a thumb that pushes hard presses too.
_KNOWN_STICKS = (0, 1), (2, 3)
_KNOWN_BUTTONS = tuple(n for n in range(21) if n not in (7, 8))


class GamePadError(AxlewrightError):
    """Game pads cannot be read; the text says why and what to do."""


class Stick(NamedTuple):
    """Where a stick is, as shares of its way, -1 to 1."""

    ahead: float
    """Positive where it is pushed away from the person."""
    aside: float
    """Positive to the left."""


@dataclass(frozen=True)
class PadState:
    """A pad at one moment."""

    number: int
    """Its own as long as it is plugged in; never that of another."""
    name: str
    left: Stick
    right: Stick
    stop: bool
    """Whether one of its buttons is pressed."""


def installed() -> bool:
    """Whether the extra is there; nothing is loaded to find out."""
    return find_spec("pygame") is not None


def share_of(raw: float) -> float:
    """What an axis counts as: nothing around its rest, then evenly up to all of it.

    Examples
    --------
    >>> share_of(-0.15), share_of(0.55), share_of(-0.97)
    (0.0, 0.5, -1.0)
    """
    way = min(max((abs(raw) - DEAD) / (FULL - DEAD), 0.0), 1.0)
    return round(way if raw > 0 else -way, 9) if way else 0.0


def stepped(share: float, before: float) -> float:
    """The nearest step, or the one of before where a trembling hand has hardly left it.

    Examples
    --------
    >>> stepped(0.528, 0.5), stepped(0.531, 0.5), stepped(0.0, 0.05)
    (0.5, 0.55, 0.0)
    """
    return before if abs(share - before) < _LEAVES_A_STEP else round(share * STEPS) / STEPS


def asked_of(state: PadState, *, one_stick: bool) -> Input:
    """What a pad asks for: throttle and turn of its left stick, or a side speed by each stick."""
    if one_stick:
        return stick(state.left.ahead, state.left.aside)
    return sides(state.left.ahead, state.right.ahead)


class GamePads:
    """All pads that are plugged in, read together; they come and go while it runs."""

    def __init__(self) -> None:
        self._pygame: Any = None
        self._known: Any = None
        self._pads: dict[int, _Pad] = {}

    @property
    def opened(self) -> bool:
        """Whether pads can be read."""
        return self._pygame is not None

    def open(self) -> None:
        """Begin to read pads.

        Raises
        ------
        GamePadError
            Where the extra is missing or does not load, or the system gives no pads.
        """
        if self.opened:
            return
        if not installed():
            raise GamePadError(MISSING)
        with _environment():
            try:
                import pygame  # late: an extra, and for those alone who choose a pad
            except (ImportError, OSError) as error:
                raise GamePadError(
                    f"pygame-ce is there but does not load ({error}). This installs it anew:   {INSTALL}"
                ) from error
            self._pygame = pygame
            try:
                pygame.display.init()
                pygame.joystick.init()
                self._known = _known_pads()
            except pygame.error as error:
                self.close()
                raise GamePadError(f"This system gives no game pads to read: {error}.") from error
        self._rescan()

    def close(self) -> None:
        """Let go of all pads, and of what reads them."""
        pygame, self._pygame = self._pygame, None
        self._pads = {}
        if pygame is None:
            return
        if self._known is not None:
            self._known.quit()
            self._known = None
        pygame.joystick.quit()
        pygame.display.quit()

    def read(self) -> tuple[PadState, ...]:
        """Where all pads are now, in the order of their plugs.

        Raises
        ------
        GamePadError
            Where pads are not opened, or cannot be read any more.
        """
        pygame = self._pygame
        if pygame is None:
            raise GamePadError("Game pads are read only while they are open.")
        try:
            came_or_went = pygame.JOYDEVICEADDED, pygame.JOYDEVICEREMOVED
            # All events are taken, so that none pile up.
            if any(event.type in came_or_went for event in pygame.event.get()):
                self._rescan()
            return tuple(pad.read() for pad in self._pads.values())
        except pygame.error as error:
            self.close()
            raise GamePadError(f"The game pads cannot be read any more: {error}.") from error

    def _rescan(self) -> None:
        """Take up what is plugged in now; a pad that stays keeps its place and where it was."""
        pygame, found = self._pygame, {}
        for index in range(pygame.joystick.get_count()):
            with suppress(pygame.error):  # pulled out meanwhile: the next event tells
                pad = pygame.joystick.Joystick(index)
                number = pad.get_instance_id()
                found[number] = self._pads.get(number) or _Pad(pad, self._known_pad(index))
        self._pads = found

    def _known_pad(self, index: int) -> Any:
        known = self._known is not None and self._known.is_controller(index)
        return self._known.Controller(index) if known else None


class _Pad:
    """One pad, with what it last counted as.

    On a pad that the library knows, sticks and buttons have numbers of their own. On any other the first
    two axes are taken for the left stick, the next two for the right one, and every button stops.
    """

    def __init__(self, pad: Any, known: Any) -> None:
        self._pad, self._known = pad, known
        name = " ".join(str(pad.get_name()).split())[:_MOST_NAME] or "game pad"
        self._last = PadState(pad.get_instance_id(), name, Stick(0.0, 0.0), Stick(0.0, 0.0), stop=False)

    def read(self) -> PadState:
        before = self._last
        left, right = (
            Stick(stepped(share_of(-self._axis(y)), old.ahead), stepped(share_of(-self._axis(x)), old.aside))
            for (x, y), old in zip(_KNOWN_STICKS, (before.left, before.right), strict=True)
        )
        self._last = PadState(before.number, before.name, left, right, stop=self._pressed())
        return self._last

    def _axis(self, number: int) -> float:
        """Of an axis, -1 to 1: to the right or to the person is positive."""
        if self._known is not None:
            return float(self._known.get_axis(number)) / _MOST_RAW
        return float(self._pad.get_axis(number)) if number < self._pad.get_numaxes() else 0.0

    def _pressed(self) -> bool:
        if self._known is not None:
            return any(self._known.get_button(n) for n in _KNOWN_BUTTONS)
        return any(self._pad.get_button(n) for n in range(self._pad.get_numbuttons()))


def _known_pads() -> Any:
    """What knows how common pads are laid out; None where this pygame comes without."""
    try:
        from pygame._sdl2 import controller  # late, as pygame itself
    except ImportError:
        return None
    controller.init()
    return controller


@contextmanager
def _environment() -> Iterator[None]:
    """What the library wants to find as it begins; programs that we start must not."""
    before = {name: os.environ.get(name) for name in _ENVIRONMENT}
    os.environ.update(_ENVIRONMENT)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
