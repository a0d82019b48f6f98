"""How hard the tests try: short as a rule, long with AXLEWRIGHT_LONG=1, which is read nowhere else.

Hypothesis tries more by its profile, see ``conftest.py``.
"""

from __future__ import annotations

import os

LONG = os.environ.get("AXLEWRIGHT_LONG", "").lower() in {"1", "true"}


def effort(short: int, long: int) -> int:
    """How often to try something."""
    return long if LONG else short
