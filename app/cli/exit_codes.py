"""What the program answers to the shell.

- 0: done, and for `check` every wheel is aligned, for `fit` nothing collides
- 1: `check` found a wheel that is not aligned, `fit` two things that collide, or `drive` touched something
- 2: bad input
- 70: an error of the program itself (`app.crash`)
- 129: stopped by a line that hung up (HUP)
- 130: stopped by Ctrl-C
- 143: stopped by the system (TERM)
"""

from __future__ import annotations

ALIGNED, NOT_ALIGNED, BAD_INPUT, STOPPED = 0, 1, 2, 130
FITS, COLLIDES = ALIGNED, NOT_ALIGNED
TOUCHED = 1
