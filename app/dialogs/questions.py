"""Short questions to the person; each returns a plain value."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Literal, TypeAlias, TypeVar

from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.plain import plain_box

CHASSIS_FILTER = "Chassis (*.json);;All files (*)"
DRAWING_FILTER = "Drawings (*.dxf *.svg *.DXF *.SVG);;All files (*)"

Answer = TypeVar("Answer", bound=str)
_Buttons = QMessageBox.StandardButton
_Roles = QMessageBox.ButtonRole
_Choices: TypeAlias = dict[Answer, tuple[str, QMessageBox.ButtonRole]]
"""Each answer with the words on its button."""


def ask_unsaved(parent: QWidget, name: str) -> Literal["save", "discard", "cancel"]:
    """Ask what to do with unsaved changes."""
    text = f"{name} has changes that are not saved.\nSave them first?"
    box = plain_box(parent, QMessageBox.Icon.Question, "Unsaved changes", text)
    box.setStandardButtons(_Buttons.Save | _Buttons.Discard | _Buttons.Cancel)
    box.setDefaultButton(_Buttons.Save)
    answer = _shown(box)
    if answer == _Buttons.Save:
        return "save"
    return "discard" if answer == _Buttons.Discard else "cancel"


def ask_replace(parent: QWidget, why: str) -> Literal["replace", "elsewhere", "cancel"]:
    """Ask what to do when a file is not the one that was opened."""
    buttons: _Choices[Literal["replace", "elsewhere", "cancel"]] = {
        "elsewhere": ("Save under another name", _Roles.AcceptRole),
        "replace": ("Replace it", _Roles.DestructiveRole),
        "cancel": ("Cancel", _Roles.RejectRole),
    }
    return _ask(parent, QMessageBox.Icon.Warning, ("The file has changed", why), buttons)


def ask_recover(
    parent: QWidget, name: str, when: str, more: int, about: str = ""
) -> Literal["recover", "drop", "later"]:
    """Ask whether to take up work that a crash left behind; `about` says what becomes of a named file."""
    kept = "1 other copy is kept" if more == 1 else f"{more} other copies are kept"
    others = f"\n{kept}, to be offered next time." if more else ""
    named = f"\n{about}" if about else ""
    text = f"The program ended on {when} before {name} was saved.{named}\nTake up that work?{others}"
    buttons: _Choices[Literal["recover", "drop", "later"]] = {
        "recover": ("Take it up", _Roles.AcceptRole),
        "drop": ("Delete the copy", _Roles.DestructiveRole),
        "later": ("Ask again later", _Roles.RejectRole),
    }
    return _ask(parent, QMessageBox.Icon.Question, ("Unsaved work was found", text), buttons)


def _ask(
    parent: QWidget, icon: QMessageBox.Icon, words: tuple[str, str], buttons: _Choices[Answer]
) -> Answer:
    """Ask with a title and a text; the first button is the default, the last the answer to Esc."""
    box = plain_box(parent, icon, *words)
    made = {answer: box.addButton(text, role) for answer, (text, role) in buttons.items()}
    first, *_, last = made
    box.setDefaultButton(made[first])
    box.setEscapeButton(made[last])
    box.exec()
    clicked = box.clickedButton()
    return next((answer for answer, button in made.items() if button is clicked), last)


def _shown(box: QMessageBox) -> int:
    """Show a box until it is answered; the standard button that was pressed."""
    answer = box.exec()
    box.deleteLater()
    return answer


def ask_open(parent: QWidget, folder: str) -> Path | None:
    """Ask which chassis to open."""
    name, _ = QFileDialog.getOpenFileName(parent, "Open a chassis", folder, CHASSIS_FILTER)
    return Path(name) if name else None


def ask_drawing(parent: QWidget, folder: str) -> Path | None:
    """Ask which drawing to import."""
    name, _ = QFileDialog.getOpenFileName(parent, "Import an outline", folder, DRAWING_FILTER)
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
    if not os.path.exists(path):  # noqa: PTH110 - False also for a name that the system refuses
        return path
    text = f"{path.name} exists already.\nReplace it?"
    return path if _agreed(parent, title, text) else None


def _agreed(parent: QWidget, title: str, text: str) -> bool:
    box = plain_box(parent, QMessageBox.Icon.Question, title, text)
    box.setStandardButtons(_Buttons.Yes | _Buttons.No)
    return _shown(box) == _Buttons.Yes


def ask_folder(parent: QWidget, start: Path, title: str, names: Iterable[str]) -> Path | None:
    """Ask for the folder of several files; None also where files of these names are to stay."""
    found = QFileDialog.getExistingDirectory(parent, title, str(start))
    if not found:
        return None
    folder = Path(found)
    there = [name for name in names if (folder / name).exists()]
    if not there:
        return folder
    text = f"These exist already in {folder.name}: {', '.join(there)}.\nReplace them?"
    return folder if _agreed(parent, title, text) else None


def tell(parent: QWidget, title: str, text: str) -> None:
    """Say what went wrong, and wait until it is read."""
    if text.startswith("cannot "):  # any other text may begin with the name of a file, which stays as it is
        text = text[:1].upper() + text[1:]
    _shown(plain_box(parent, QMessageBox.Icon.Warning, title, text))
