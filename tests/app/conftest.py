"""All tests of the window: no screen, preferences of their own, nothing left alive."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.windows import (
    _no_modal_dialogs,
    _nothing_left_alive,
    answers,
    document,
    home,
    make_document,
    make_window,
    told,
    window,
)

__all__ = [
    "_no_modal_dialogs",
    "_nothing_left_alive",
    "answers",
    "document",
    "home",
    "make_document",
    "make_window",
    "told",
    "window",
]


@pytest.fixture(autouse=True)
def _own_home(home: Path) -> None:
    """No test reads or writes the preferences of whoever runs it."""
