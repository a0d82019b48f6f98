"""What was driven live, from the first step on, as inputs that were held."""

from __future__ import annotations

from app.design.driving_edits import Held
from app.simulation.frame import Frame
from app.simulation.inputs import STEP_S, Input


class Recording:
    """It listens to the frames of a live run from its start, and forgets nothing.

    Memory grows with the changes of the input alone.
    """

    def __init__(self) -> None:
        self._steps = 0
        self._held: list[tuple[Input, int]] = []

    def add(self, frame: Frame) -> None:
        """Take up a frame: its input was held for the steps since the frame before."""
        steps, self._steps = frame.steps - self._steps, frame.steps
        if steps <= 0:
            return
        if self._held and self._held[-1][0] == frame.asked:
            steps += self._held.pop()[1]
        self._held.append((frame.asked, steps))

    @property
    def drove(self) -> bool:
        """Whether anything was asked for but rest."""
        return any(asked.a or asked.b for asked, _ in self._held)

    @property
    def seconds(self) -> float:
        """How long it took [s]."""
        return self._steps * STEP_S

    def __len__(self) -> int:
        """Number of inputs, each unlike the one before."""
        return len(self._held)

    @property
    def held(self) -> tuple[Held, ...]:
        """For `driving_edits.recorded`."""
        return tuple(Held(asked.call, asked.a, asked.b, steps * STEP_S) for asked, steps in self._held)
