"""Outlines and holes from drawings of other programs.

Enter at `reading.drawing_of`, or at `reading.read_sketch` and `laying.laid_out` where one file is looked at
again and again. A sketch is what the file holds, in its own unit and axes, curves as curves; a `Drawing` is
what becomes of it on a chassis: closed outlines and circles in millimetres, and all that was left out.
Nothing here changes a design; `app.design.outline_edits` does.
"""
