"""The window, which holds no logic."""
