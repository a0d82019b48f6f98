"""What is true of a steered chassis: pure functions over frozen models and arrays.

Nothing here knows of windows, files or text formats. Read `axes` first, then
`chassis`, `motion`, `solve`, `alignment`, `sweep` and `decisive` in that order.
"""
