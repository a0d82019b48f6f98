"""All that a view shows, computed from design, command and selection.

The entry is `view.View`, one frozen picture of the world for every change.
Nothing here draws, and nothing here is kept from one picture to the next.
"""
