"""How hard the tests try: short as a rule, long with AXLEWRIGHT_LONG=1; no other place reads these variables.

Hypothesis tries more by its profile, see ``conftest.py``.
"""

from __future__ import annotations

import os

LONG = os.environ.get("AXLEWRIGHT_LONG", "").lower() in {"1", "true"}


DRIVES = LONG or os.environ.get("AXLEWRIGHT_DRIVE", "") == "1"
"""Whether the window is driven at random on a drawn screen: from `.ci/run` alone, since it takes minutes."""


def effort(short: int, long: int) -> int:
    """How often to try something."""
    return long if LONG else short
