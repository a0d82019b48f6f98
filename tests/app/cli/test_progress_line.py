import io

import pytest

import app.cli.progress_line as module
from app.cli.progress_line import shown_progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def clock(monkeypatch):
    """Time that stands still until it is moved."""
    now = [100.0]
    monkeypatch.setattr(module.time, "monotonic", lambda: now[0])
    return now


def test_a_share_is_shown_once_and_wiped_at_the_end(clock):
    stream = Terminal()
    with shown_progress(stream) as progress:
        clock[0] += 1.5
        assert all([progress(0.25), progress(0.2501), progress(0.5)])
    parts = stream.getvalue().split("\r")
    assert parts == ["", "axlewright: 25 % done", "axlewright: 50 % done", " " * 21, ""]


def test_short_work_shows_nothing(clock):
    stream = Terminal()
    with shown_progress(stream) as progress:
        clock[0] += 0.9
        assert progress(0.9)
    assert stream.getvalue() == ""


def test_a_file_gets_no_progress(clock):
    stream = io.StringIO()
    with shown_progress(stream) as progress:
        clock[0] += 5.0
        assert progress(0.5)
    assert stream.getvalue() == ""


def stopped_by_hand(stream, clock):
    with shown_progress(stream) as progress:
        clock[0] += 2.0
        progress(0.5)
        raise KeyboardInterrupt


def test_the_line_is_wiped_where_the_work_is_stopped(clock):
    stream = Terminal()
    with pytest.raises(KeyboardInterrupt):
        stopped_by_hand(stream, clock)
    assert "50 %" in stream.getvalue()
    assert stream.getvalue().endswith("\r")
