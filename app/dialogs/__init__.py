"""Dialogs, each a function that returns plain values."""
