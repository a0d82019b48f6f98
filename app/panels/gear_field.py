"""A field that holds how one wheel is geared to its motor: a ratio, two numbers, or the teeth of a train."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from app.panels.number_field import NumberField
from app.units import Proportion, Train, parse_gearing, parse_proportion, show_gearing
from geometry.model.motors import Gearing

GEARING_TIP = (
    "Turns of the wheel for each turn of the motor, negative in the other sense: -0.5, or 12:36, which "
    "stays as it is typed. "
    "Or teeth from the motor on: 12-20-36, 10-40. A hyphen where two gears mesh, a comma where the next "
    "gear sits on the same shaft, 80r for a ring gear. From 0.0001 to 1 000 either way."
)
Ask = Callable[[float | None, Train, Proportion | None], bool | str | None]
"""Asks for a ratio, a train or two numbers; of the three one is given."""


class GearField(NumberField):
    """Shows a gearing and asks for another, in the way in which it was typed."""

    def __init__(self, name: str, ask: Ask) -> None:
        self._train: Train = ()
        self._proportion: Proportion | None = None
        self._typed: tuple[Train, Proportion | None] = ((), None)
        self._ask_for = ask
        super().__init__(
            name,
            parse=self._read,
            show=lambda turns: show_gearing(None if self._in_parts else turns, self._train, self._proportion),
            ask=self._ask_gearing,
            step=0.1,
            tip=GEARING_TIP,
        )

    @property
    def _in_parts(self) -> bool:
        return bool(self._train) or self._proportion is not None

    def show_gearing(self, gearing: Gearing | None, subject: object) -> None:
        """Show how a wheel is geared, None where no motor holds it; the subject is motor and wheel."""
        self._train = gearing.train if gearing is not None else ()
        self._proportion = gearing.proportion if gearing is not None else None
        # Without a motor there is nothing to mend.
        self.show_value(gearing.turns if gearing is not None else None, subject if gearing else None)
        if gearing is None:
            self.setPlaceholderText("")

    def _read(self, text: str) -> float:
        found = parse_gearing(text)
        self._typed = (() if isinstance(found, float) else found, parse_proportion(text))
        # A train is asked for by its teeth; the design works out its ratio, and what is wrong with it.
        return found if isinstance(found, float) else 0.0

    def _ask_gearing(self, turns: float) -> bool | str | None:
        train, proportion = self._typed
        plain = not train and proportion is None
        return self._ask_for(turns if plain else None, train, proportion)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step a ratio with the up and down keys; teeth and two numbers have no next ones."""
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            if self._in_parts:
                return
            self._typed = ((), None)
        super().keyPressEvent(event)
