"""The motors panel with motors in it."""

from tests.motored import driving, panel, steered

__all__ = ["driving", "panel", "steered"]
