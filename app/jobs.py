"""Long work off the window's thread: progress, cancelling, one result, errors told."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal

from geometry.errors import AxlewrightError

Progress = Callable[[float], bool]
"""Told the share that is done, 0 to 1; answers False where the work shall stop."""
Work = Callable[[Progress], Any]

# Progress is told in hundredths: more would only fill the queue of the window.
_STEPS = 100


class Job(QObject):
    """One piece of work on a thread of its own; every signal arrives on the thread of the window.

    After `start` comes exactly one of `done`, `failed` and `cancelled`, unless `stop` was
    called. An error that nobody foresaw is raised on the window's thread, after `ended`, where
    the last net catches it.
    """

    progressed = Signal(float)
    """Share that is done, 0 to 1."""
    ended = Signal()
    """The thread is gone; sent before the outcome."""
    done = Signal(object)
    """The result."""
    failed = Signal(str)
    """Why there is no result, for the person."""
    cancelled = Signal()
    """The work was asked to stop, and did."""
    _over = Signal()

    def __init__(self, work: Work, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._work = work
        self._asked_to_stop = Event()
        self._told = -1
        self._pool: ThreadPoolExecutor | None = None
        self._future: Future[Any] | None = None
        self._over.connect(self._finish, Qt.ConnectionType.QueuedConnection)

    @property
    def running(self) -> bool:
        """Whether the thread is alive."""
        return self._pool is not None

    def start(self) -> None:
        """Begin the work; once only."""
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="job")
        self._future = self._pool.submit(self._work, self._go_on)
        self._future.add_done_callback(lambda _future: self._over.emit())

    def cancel(self) -> None:
        """Ask the work to stop; it does where it next tells its progress."""
        self._asked_to_stop.set()

    def stop(self) -> None:
        """Cancel and wait until the thread is gone; no outcome is told."""
        self.cancel()
        self._future = None
        self._join()

    def _go_on(self, share: float) -> bool:
        step = int(min(max(share, 0.0), 1.0) * _STEPS)
        if step != self._told and not self._asked_to_stop.is_set():
            self._told = step
            self.progressed.emit(step / _STEPS)
        return not self._asked_to_stop.is_set()

    def _join(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True)
            self._pool = None

    def _finish(self) -> None:
        self._join()
        future, self._future = self._future, None
        if future is None:
            return
        self.ended.emit()
        stopped = self._asked_to_stop.is_set()
        try:
            result = future.result()
        except AxlewrightError as error:
            if not stopped:
                self.failed.emit(str(error))
        else:
            if not stopped:
                self.done.emit(result)
        if stopped:
            self.cancelled.emit()
