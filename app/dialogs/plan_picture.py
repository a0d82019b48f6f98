"""The dialog that asks for the kind and the size of a picture of the plan."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QVBoxLayout, QWidget

from app.dialogs.fitting import lay_out
from app.panels.form import choice
from app.plain import plain_label
from app.views.plan_picture import SCALES, PlanPicture

_PREVIEW = QSize(560, 380)
SVG = 0
"""In place of a scale: lines, which have no size."""


@dataclass(frozen=True)
class PictureKind:
    """What was chosen."""

    scale: int
    """How many times as fine as the screen; `SVG` for lines."""

    @property
    def suffix(self) -> str:
        """Of the file that holds it."""
        return ".svg" if self.scale == SVG else ".png"


class PictureDialog(QDialog):
    """Shows the picture, and asks for its kind."""

    def __init__(self, parent: QWidget | None, picture: PlanPicture, kind: PictureKind) -> None:
        super().__init__(parent)
        self.setWindowTitle("Picture of the plan")
        self.kinds = choice("Kind of picture", "Pixels as on the screen, finer pixels, or lines and texts.")
        wide, high = picture.size.width(), picture.size.height()
        for scale in SCALES:
            self.kinds.addItem(f"PNG, {scale * wide} × {scale * high} pixels", scale)
        self.kinds.addItem("SVG, lines and texts to be worked on elsewhere", SVG)
        self.kinds.setCurrentIndex(max(self.kinds.findData(kind.scale), 0))
        label = plain_label("&Kind of picture")
        label.setBuddy(self.kinds)
        shown = plain_label()
        shown.setAccessibleName("The picture as it will be")
        ratio = self.devicePixelRatioF()
        pixels = QPixmap.fromImage(picture.image(ratio))
        fine = pixels.scaled(
            _PREVIEW * ratio,
            Qt.AspectRatioMode.KeepAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )
        fine.setDevicePixelRatio(ratio)
        shown.setPixmap(fine)
        shown.setAlignment(Qt.AlignmentFlag.AlignCenter)
        about = plain_label("What the plan shows now, in light colours on paper. It is not to scale.")
        about.setWordWrap(True)
        content = QWidget()
        layout = QVBoxLayout(content)
        layout.setContentsMargins(0, 0, 0, 0)
        form = QFormLayout()
        form.addRow(label, self.kinds)
        layout.addLayout(form)
        layout.addWidget(shown, 1)
        layout.addWidget(about)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        save = buttons.addButton("&Save…", QDialogButtonBox.ButtonRole.AcceptRole)
        save.setToolTip("Choose the place of the file; the suffix .png or .svg of its name decides.")
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        lay_out(self, content, buttons, QSize(620, 540))
        save.setDefault(True)
        self.kinds.setFocus()

    @property
    def chosen(self) -> PictureKind:
        """What is chosen now."""
        return PictureKind(int(self.kinds.currentData()))


def ask_picture(parent: QWidget, picture: PlanPicture, kind: PictureKind) -> PictureKind | None:
    """Ask for the kind of a picture; None where it was given up."""
    dialog = PictureDialog(parent, picture, kind)
    accepted = dialog.exec()
    chosen = dialog.chosen
    dialog.deleteLater()
    return chosen if accepted else None
