"""Hypothesis profiles for all tests; nothing of windows here."""

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
_fallback = "ci" if os.environ.get("CI", "").lower() in {"1", "true"} else "quick"
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", _fallback))
