"""Notes for other windows which file is open in this one, for as long as it is."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer

from app.design.open_files import SIGN_OF_LIFE_MS, OpenFile
from app.document import Document


class OpenNote(QObject):
    """Follows the file of a document; belongs to it, and is gone with it."""

    def __init__(self, document: Document) -> None:
        super().__init__(document)
        self._document = document
        self._file = OpenFile()
        self._timer = QTimer(self)
        self._timer.setInterval(SIGN_OF_LIFE_MS)
        self._timer.timeout.connect(self._file.live)
        document.file_changed.connect(self._follow)
        document.closed.connect(self._leave)

    def _follow(self) -> None:
        path = self._document.path
        if path is None:
            self._leave()
        else:
            self._file.follow(path)
            if not self._timer.isActive():
                self._timer.start()

    def _leave(self) -> None:
        self._timer.stop()
        self._file.follow(None)

    def tell(self) -> None:
        """Tell the person where another window has the same file open."""
        if self._document.path is not None and self._file.elsewhere():
            self._document.message.emit(
                f"{self._document.path.name} is open in another window too. What is saved last stays; "
                "whoever saves second is asked first."
            )
