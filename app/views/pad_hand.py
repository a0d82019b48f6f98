"""A hand on a game pad: it drives while the course is in sight in the window that is used, and only then."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QApplication, QWidget

from app.drive_session import WAKE_MS, DriveSession
from app.simulation.game_pad import GamePadError, GamePads, PadState, asked_of
from app.simulation.inputs import Input


class PadHand(QObject):
    """It looks at the pads by a timer, which runs while a pad is chosen and the course is in sight.

    A pad drives once its sticks were seen at rest: one that lies on its stick, or a device that only counts
    as a pad, starts nothing. After a stop, or where the window was left, it has to be at rest again.
    """

    pushed = Signal()
    """`asked` may be another."""

    def __init__(self, session: DriveSession, course: QWidget) -> None:
        super().__init__(course)
        self._session, self._course = session, course
        self._pads = GamePads()
        self._rested: set[int] = set()
        self._used: PadState | None = None
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(WAKE_MS)
        self._timer.timeout.connect(self.look)
        session.state_changed.connect(self.follow)

    @property
    def looking(self) -> bool:
        """Whether pads are looked at."""
        return self._timer.isActive()

    @property
    def asked(self) -> Input | None:
        """What the pad that is in use asks for; None where none is."""
        return None if self._used is None else self._asked_of(self._used)

    def follow(self) -> None:
        """Look at the pads while one is chosen and the course is in sight, and let go of them else."""
        wanted = self._session.hand != "keys" and self._course.isVisible()
        if wanted and not self._pads.opened:
            try:
                self._pads.open()
            except GamePadError as error:
                self._give_up(error)
                return
            self._timer.start()
        elif not wanted and self._pads.opened:
            self._timer.stop()
            self._pads.close()
            self._let_go()
            self._session.show_pads(None)

    def look(self) -> None:
        """See where the sticks are, and drive by them."""
        try:
            pads = {pad.number: pad for pad in self._pads.read()}
        except GamePadError as error:
            self._give_up(error)
            return
        self._session.show_pads(tuple(pad.name for pad in pads.values()))
        if self._used is not None and self._used.number not in pads:
            self._lost(self._used.name)
        elif not self._in_use():
            self._let_go()
        elif any(pad.stop for pad in pads.values()):
            self._let_go()
            if self._session.moving:
                self._session.stop()
        else:
            self._drive(pads)

    def _drive(self, pads: dict[int, PadState]) -> None:
        session = self._session
        still = session.state in ("idle", "paused")
        if still and self._used is not None:
            # The drive ended by other means, or a script did: a stick that is still pushed is no wish.
            self._let_go()
            return
        at_rest = {number for number, pad in pads.items() if not _pushes(self._asked_of(pad))}
        self._rested = (self._rested & pads.keys()) | at_rest
        if self._used is not None:
            self._used = pads[self._used.number]
        else:
            self._used = next((pad for n, pad in pads.items() if n in self._rested - at_rest), None)
            if self._used is None:
                return
            if still and session.design.wheels:
                session.start_live()
        self.pushed.emit()

    def _asked_of(self, pad: PadState) -> Input:
        return asked_of(pad, one_stick=self._session.hand == "one stick" and self._session.mixes)

    def _in_use(self) -> bool:
        """Whether the window of the course is the one that is used, or one of its own tool windows is."""
        active = QApplication.activeWindow()
        while active is not None and active is not self._course.window() and not active.isModal():
            parent = active.parentWidget()
            active = None if parent is None else parent.window()
        return active is self._course.window()

    def _let_go(self) -> None:
        self._rested.clear()
        if self._used is not None:
            self._used = None
            self.pushed.emit()

    def _lost(self, name: str) -> None:
        self._let_go()
        if self._session.state in ("live", "preparing"):
            self._session.stop()
            self._session.refused.emit(
                f"The game pad {name} was pulled out, so the robot was stopped. "
                "Plug it in again, let its sticks rest, and push one to drive anew."
            )

    def _give_up(self, error: GamePadError) -> None:
        """Go back to keys and mouse, and say why."""
        self._timer.stop()
        driving = self._used is not None and self._session.state in ("live", "preparing")
        self._let_go()
        if driving:
            self._session.stop()
        self._session.pads = None
        self._session.drive_by("keys")
        self._session.refused.emit(str(error))


def _pushes(asked: Input) -> bool:
    return bool(asked.a or asked.b)
