"""Hypothesis profiles for all tests; nothing of windows here.

Choose one by the environment variable HYPOTHESIS_PROFILE; ``deep`` takes minutes.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("quick", max_examples=60, deadline=None)
settings.register_profile(
    "ci",
    max_examples=500,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "deep", max_examples=3_000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
_fallback = "ci" if os.environ.get("CI", "").lower() in {"1", "true"} else "quick"
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", _fallback))
