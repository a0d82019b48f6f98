"""What is told where nothing can be written."""

from __future__ import annotations

from geometry.errors import AxlewrightError

NO_WHEELS = "the chassis has no wheels, so there is nothing to export; add some first"
"""Why nothing can be written of an empty chassis, for every format."""


class ExportError(AxlewrightError):
    """Code for the controller that cannot be written as asked; the text says what can."""
