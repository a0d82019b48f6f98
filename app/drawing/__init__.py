"""Drawings: what is on paper and in files for other tools, as lines, arcs and texts in millimetres.

Enter at the modules that make one, such as `plan.plan_of`; a `Drawing` is plain data, and the writers of
`app.export` take any. Nothing here knows Qt, a file format, or a size of paper that it does not ask for.
"""
