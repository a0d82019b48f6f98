"""What the editors share: a list of things that are edited one at a time."""

import pytest
from PySide6.QtWidgets import QComboBox

from app.panels.form import list_entries


@pytest.mark.parametrize(
    ("before", "chosen", "after", "then"),
    [
        ([], -1, ["a"], 0),
        (["a", "b"], 0, ["a", "b", "c"], 2),
        (["a", "b", "c"], 1, ["a", "c"], 1),
        (["a", "b", "c"], 2, ["a", "b"], 1),
        (["a", "b"], 1, ["a", "B"], 1),
        (["a", "b"], 1, ["a", "b"], 1),
        (["a"], 0, [], -1),
    ],
)
def test_what_was_added_is_chosen_next_and_else_the_choice_stays(qtbot, before, chosen, after, then):
    box = QComboBox()
    qtbot.addWidget(box)
    box.addItems(before)
    box.setCurrentIndex(chosen)
    list_entries(box, after)
    assert [box.itemText(i) for i in range(box.count())] == after
    assert box.currentIndex() == then
