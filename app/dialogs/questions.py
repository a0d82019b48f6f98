"""Short questions to the person; each returns a plain value."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

CHASSIS_FILTER = "Chassis (*.json);;All files (*)"

_Buttons = QMessageBox.StandardButton


def ask_unsaved(parent: QWidget, name: str) -> Literal["save", "discard", "cancel"]:
    """Ask what to do with unsaved changes."""
    answer = QMessageBox.question(
        parent,
        "Unsaved changes",
        f"{name} has changes that are not saved.\nSave them first?",
        _Buttons.Save | _Buttons.Discard | _Buttons.Cancel,
        _Buttons.Save,
    )
    if answer == _Buttons.Save:
        return "save"
    return "discard" if answer == _Buttons.Discard else "cancel"


def ask_replace(parent: QWidget, why: str) -> Literal["replace", "elsewhere", "cancel"]:
    """Ask what to do when a file is not the one that was opened."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle("The file has changed")
    box.setText(why)
    replace = box.addButton("Replace it", QMessageBox.ButtonRole.DestructiveRole)
    elsewhere = box.addButton("Save under another name", QMessageBox.ButtonRole.AcceptRole)
    box.addButton(_Buttons.Cancel)
    box.setDefaultButton(elsewhere)
    box.exec()
    clicked = box.clickedButton()
    if clicked is replace:
        return "replace"
    return "elsewhere" if clicked is elsewhere else "cancel"


def ask_recover(parent: QWidget, name: str, when: str, more: int) -> Literal["recover", "drop", "later"]:
    """Ask whether to take up work that a crash left behind."""
    box = QMessageBox(parent)
    box.setIcon(QMessageBox.Icon.Question)
    box.setWindowTitle("Unsaved work was found")
    kept = "1 older copy is kept" if more == 1 else f"{more} older copies are kept"
    others = f"\n{kept}, to be offered next time." if more else ""
    box.setText(f"The program ended on {when} before {name} was saved.\nTake up that work?{others}")
    recover = box.addButton("Take it up", QMessageBox.ButtonRole.AcceptRole)
    drop = box.addButton("Delete the copy", QMessageBox.ButtonRole.DestructiveRole)
    box.addButton("Ask again later", QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(recover)
    box.exec()
    clicked = box.clickedButton()
    if clicked is recover:
        return "recover"
    return "drop" if clicked is drop else "later"


def ask_open(parent: QWidget, folder: str) -> Path | None:
    """Ask which chassis to open."""
    name, _ = QFileDialog.getOpenFileName(parent, "Open a chassis", folder, CHASSIS_FILTER)
    return Path(name) if name else None


def ask_save(parent: QWidget, start: Path, title: str, pattern: str, suffix: str) -> Path | None:
    """Ask where to save; the suffix is added where none is typed."""
    name, _ = QFileDialog.getSaveFileName(parent, title, str(start), pattern)
    if not name:
        return None
    path = Path(name)
    if path.suffix:
        return path
    path = path.with_suffix(suffix)
    # The dialog asked about the name as it was typed, not about this one.
    if not path.exists():
        return path
    answer = QMessageBox.question(parent, title, f"{path.name} exists already.\nReplace it?")
    return path if answer == _Buttons.Yes else None


def tell(parent: QWidget, title: str, text: str) -> None:
    """Say what went wrong, and wait until it is read."""
    QMessageBox.warning(parent, title, text)
