"""Hypothesis profiles for all tests, and the fixtures of those that open the window.

``quick`` is the one for work, ``ci`` tries the same in every run, ``long`` goes with AXLEWRIGHT_LONG=1, and
``mutants`` only looks for any failure at all. HYPOTHESIS_PROFILE chooses one by name.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, Phase, settings

from tests.effort import LONG

pytest_plugins = ["tests.fixtures", "tests.pads"]

TOO_SLOW = [HealthCheck.too_slow]
settings.register_profile("quick", max_examples=60, deadline=None)
settings.register_profile(
    "ci",
    max_examples=200,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=TOO_SLOW,
)
settings.register_profile("long", max_examples=1_000, deadline=None, suppress_health_check=TOO_SLOW)
settings.register_profile(
    "mutants",
    max_examples=60,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=TOO_SLOW,
)
_fallback = "ci" if os.environ.get("CI", "").lower() in {"1", "true"} else "quick"
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "long" if LONG else _fallback))
