"""The code of the robot's controller, run as it is written: the very module that the export gives."""

from __future__ import annotations

import copy
from collections.abc import Set
from dataclasses import replace
from typing import Any, NamedTuple, Protocol

from app.controller.programme import Programme
from app.export.micropython import render
from app.simulation.inputs import Input
from geometry.errors import CommandError
from geometry.model.controller import Part


class Controller(Protocol):
    """What the written module makes; names and calls as in its head."""

    step: int

    def drive(self, left: int, right: int, ms: int) -> tuple[list[int], list[int]]:
        """Answer two side speeds."""

    def stick(self, throttle: int, turn: int, ms: int) -> tuple[list[int], list[int]]:
        """Answer throttle and turn; only with mixing."""


class Answer(NamedTuple):
    """What a call answers."""

    steer: tuple[int, ...]
    """Steering targets, in the outputs' whole numbers."""
    speed: tuple[int, ...]
    """Speeds of the drive motors, or of the two sides."""
    holding: bool
    """Whether the drive waits for the steering."""
    step: int
    """The turn step."""


class RobotCode:
    """A programme as the module that is written of it, ready to start controllers.

    Parameters
    ----------
    programme : Programme
        What the controller gets.
    without : set of Part
        Parts that are left out to see what they do; the design's own settings decide on the rest.
    """

    def __init__(self, programme: Programme, without: Set[Part] = frozenset()) -> None:
        self.programme = replace(programme, parts=programme.parts - without)
        """With the parts that are in the code."""
        self.text = render(self.programme)
        """The module."""
        made: dict[str, Any] = {"__name__": "robot"}
        # Our own text, made of numbers and names that are held to letters and digits.
        exec(compile(self.text, "robot.py", "exec"), made)  # noqa: S102
        self._start = made[f"{programme.controller.prefix}_controller"]

    @property
    def mixes(self) -> bool:
        """Whether the code has the call for one stick."""
        return "mixing" in self.programme.parts

    def started(self) -> Controller:
        """A controller that was just switched on."""
        controller: Controller = self._start()
        return controller

    def call(self, controller: Controller, asked: Input, ms: int) -> Answer:
        """Call it once.

        Raises
        ------
        CommandError
            For a stick where the code does not mix.
        """
        if asked.call == "stick":
            if not self.mixes:
                raise CommandError(
                    "one stick needs the part mixing in the controller's code; put it in, or give side speeds"
                )
            steer, speed = controller.stick(asked.a, asked.b, ms)
        else:
            steer, speed = controller.drive(asked.a, asked.b, ms)
        return Answer(
            tuple(steer), tuple(speed), bool(getattr(controller, "holding", False)), controller.step
        )


def copied(controller: Controller) -> Controller:
    """The same controller as it stands now, which goes on by itself."""
    return copy.deepcopy(controller)
