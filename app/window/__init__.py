"""The one window: it places the parts and joins their signals.

The entries are `start.open_window` and `main_window.MainWindow`; `actions` lists all that menus and keys do.
Nothing here computes, or changes a design but through the document.
"""
