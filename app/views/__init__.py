"""The plan: the chassis from above, one drawing function a mark, and the gestures of the mouse.

The entry is `canvas.PlanCanvas`.
Nothing here changes a design: a gesture asks the document and shows what it is told.
"""
