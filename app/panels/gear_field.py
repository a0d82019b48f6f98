"""A field that holds how one wheel is geared to its motor: a ratio, or the teeth of a train."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from app.panels.number_field import NumberField
from app.units import Train, parse_gearing, show_gearing
from geometry.model.motors import Gearing

GEARING_TIP = (
    "Turns of the wheel for each turn of the motor, negative in the other sense: -0.5, or 1:3. "
    "Or teeth from the motor on: 12-20-36, 10-40. A hyphen where two gears mesh, a comma where the next "
    "gear sits on the same shaft, 80r for a ring gear. From 0.0001 to 1 000 either way."
)


class GearField(NumberField):
    """Shows a gearing and asks for another: with a ratio, or with None and a train."""

    def __init__(self, name: str, ask: Callable[[float | None, Train], bool | str | None]) -> None:
        self._train: Train = ()
        self._typed: Train = ()
        super().__init__(
            name,
            parse=self._read,
            show=lambda turns: show_gearing(None if self._train else turns, self._train),
            ask=lambda turns: ask(None, self._typed) if self._typed else ask(turns, ()),
            step=0.1,
            tip=GEARING_TIP,
        )

    def show_gearing(self, gearing: Gearing | None, subject: object) -> None:
        """Show how a wheel is geared, None where no motor holds it; the subject is motor and wheel."""
        self._train = gearing.train if gearing is not None else ()
        # Without a motor there is nothing to mend.
        self.show_value(gearing.turns if gearing is not None else None, subject if gearing else None)
        if gearing is None:
            self.setPlaceholderText("")

    def _read(self, text: str) -> float:
        found = parse_gearing(text)
        self._typed = () if isinstance(found, float) else found
        # A train is asked for by its teeth; the design works out its ratio, and what is wrong with it.
        return found if isinstance(found, float) else 0.0

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step a ratio with the up and down keys; a train has no next one."""
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            if self._train:
                return
            self._typed = ()
        super().keyPressEvent(event)
