"""All tests of the window keep preferences of their own; the fixtures are in `tests.fixtures`."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _own_home(home: Path) -> None:
    """No test reads or writes the preferences of whoever runs it."""
