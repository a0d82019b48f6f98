"""What the program says about itself."""

from importlib.metadata import PackageNotFoundError

import pytest
from PySide6.QtWidgets import QMessageBox

from app.dialogs import help as about


@pytest.fixture
def told(monkeypatch):
    heard = []
    monkeypatch.setattr(QMessageBox, "about", lambda *words: heard.append(words[-1]))
    return heard


def test_the_version_is_told(monkeypatch, told):
    monkeypatch.setattr(about, "version", lambda _name: "7.8.9")
    about.show_about(None)
    assert told[0].startswith("Axlewright 7.8.9\n")


def test_without_an_installation_the_source_folder_is_told(monkeypatch, told):
    def missing(name):
        raise PackageNotFoundError(name)

    monkeypatch.setattr(about, "version", missing)
    about.show_about(None)
    assert told[0].startswith("Axlewright, run from its source folder\n")
