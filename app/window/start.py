"""Opens the window: application, document, recovery, event loop."""

from __future__ import annotations

import contextlib
import gc
import signal
import socket
import sys
from collections.abc import Iterator
from pathlib import Path

from PySide6.QtCore import QSocketNotifier, QTimer
from PySide6.QtWidgets import QApplication, QMessageBox

from app import crash
from app.design.recovery import recovery_folder
from app.document import Document
from app.plain import plain_box
from app.settings import load_settings
from app.window.main_window import MainWindow


def make_application() -> QApplication:
    """The application, with one style on all systems so that light and dark both read well."""
    application = QApplication.instance()
    if not isinstance(application, QApplication):
        application = QApplication(sys.argv[:1])
    application.setApplicationName("axlewright")
    application.setApplicationDisplayName("")
    application.setStyle("Fusion")
    return application


def open_window(path: Path | None, *, seconds: float | None = None) -> int:
    """Show the window and run until it is closed.

    Parameters
    ----------
    path : Path or None
        Chassis to open; without one the start page is shown.
    seconds : float, optional
        Close after this time without a question, for a start without anybody watching; what was
        not saved is dropped.

    Returns
    -------
    int
        Exit code.
    """
    application = make_application()
    folder = recovery_folder()
    document = Document(recovery_folder=folder)
    window = MainWindow(document, load_settings())
    if path is None:
        window.show_start()
    window.show()
    QTimer.singleShot(0, window, _collect_again)
    if seconds is None:
        QTimer.singleShot(0, window, lambda: window.filing.begin(folder, path))
    elif path is not None:
        QTimer.singleShot(0, window, lambda: window.filing.open_path(path))
    if seconds is None:
        crash.install(lambda text: _tell_trouble(window, text))
    else:
        # Nobody watches: an error must end the process, by the hook that the start installed.
        QTimer.singleShot(int(1000 * seconds), window, lambda: _end(application, document))
    with _stopping_when_asked(application, document):
        return application.exec()


def _collect_again() -> None:
    """Collect garbage from now on, but none of what the start has made: see `app.main.start_swiftly`."""
    gc.freeze()
    gc.enable()


@contextlib.contextmanager
def _stopping_when_asked(application: QApplication, document: Document) -> Iterator[None]:
    """Let a request of the system to stop reach the event loop: no question, and the work is kept aside.

    Python sees a signal only when it runs, and the event loop may wait for long without it. So
    the interpreter writes the signal's number into a socket, at which the event loop looks.
    """
    if not crash.REQUESTS_TO_STOP:
        yield
        return
    inner, outer = socket.socketpair()
    with inner, outer:
        inner.settimeout(0)
        outer.settimeout(0)
        notifier = QSocketNotifier(inner.fileno(), QSocketNotifier.Type.Read)

        def stop() -> None:
            for number in inner.recv(64):
                if number in crash.REQUESTS_TO_STOP:
                    document.autosave()
                    document.close(keep_copy=True)
                    application.exit(crash.stopped_code(number))

        notifier.activated.connect(stop)
        crash.stop_when_asked(lambda _number, _frame: None)  # a save is finished first
        before = signal.set_wakeup_fd(outer.fileno(), warn_on_full_buffer=False)
        try:
            yield
        finally:
            signal.set_wakeup_fd(before)
            notifier.setEnabled(False)


def _end(application: QApplication, document: Document) -> None:
    """End without a question: `quit` would ask the window first, and that asks the person."""
    document.close()
    application.exit(0)


def _tell_trouble(window: MainWindow, text: str) -> None:
    """Show that the program met an error of its own, and how to keep the work."""
    more = "The window goes on. Save your chassis under a new name, then start Axlewright anew."
    plain_box(window, QMessageBox.Icon.Critical, "Axlewright", f"{text}\n\n{more}").exec()
