"""Dialogs, each a function that asks the person and returns plain values.

The entries are the functions named `ask_...` and `show_...`.
Nothing here changes a document.
"""
