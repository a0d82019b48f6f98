from __future__ import annotations

import pytest

from geometry.errors import Cancelled
from geometry.progress import part_of, tell, unwatched


def test_work_that_nobody_watches_goes_on():
    tell(unwatched, 0.5)
    assert unwatched(0.5)


def test_work_that_shall_stop_is_cancelled():
    with pytest.raises(Cancelled):
        tell(lambda share: share < 0.5, 0.5)
    tell(lambda share: share < 0.5, 0.4)


def test_a_part_of_a_part_fills_its_shares():
    told = []
    inner = part_of(part_of(lambda share: not told.append(share), 0.2, 0.6), 0.5, 1.0)
    inner(0.0)
    inner(1.0)
    assert told == pytest.approx([0.4, 0.6])
