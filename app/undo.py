"""The one undo command: the design before and after."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtGui import QUndoCommand

from geometry.model.design import Design

_MERGEABLE = 1


class DesignChange(QUndoCommand):
    """Replace one design by another; runs with the same merge key become one step."""

    def __init__(
        self,
        label: str,
        before: Design,
        after: Design,
        show: Callable[[Design], None],
        merge_key: str | None = None,
    ) -> None:
        super().__init__(label)
        self.before = before
        self.after = after
        self.merge_key = merge_key
        self._show = show

    def undo(self) -> None:
        """Show the design as it was."""
        self._show(self.before)

    def redo(self) -> None:
        """Show the design as it became."""
        self._show(self.after)

    def id(self) -> int:
        """Tell Qt whether this step may merge with a neighbour."""
        return -1 if self.merge_key is None else _MERGEABLE

    def mergeWith(self, other: QUndoCommand) -> bool:  # noqa: N802
        """Take over a later step of the same run; Qt never asks across a save."""
        if not isinstance(other, DesignChange) or other.merge_key != self.merge_key:
            return False
        self.after = other.after
        self.setObsolete(self.before == self.after)
        return True
