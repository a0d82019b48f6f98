"""Long work off the window's thread: one outcome, progress that arrives, and no thread left behind."""

import sys
import threading
from threading import Event

import pytest

from app.jobs import Job
from geometry.errors import AxlewrightError


class Heard:
    """What a job told, in order."""

    def __init__(self, job):
        self.outcomes = []
        self.shares = []
        self.threads = set()
        job.progressed.connect(self.shares.append)
        job.progressed.connect(lambda _share: self.threads.add(threading.current_thread()))
        job.ended.connect(lambda: self.outcomes.append("ended"))
        job.done.connect(lambda result: self.outcomes.append(("done", result)))
        job.failed.connect(lambda why: self.outcomes.append(("failed", why)))
        job.cancelled.connect(lambda: self.outcomes.append("cancelled"))


@pytest.fixture
def alive():
    before = set(threading.enumerate())
    return lambda: [thread for thread in threading.enumerate() if thread not in before]


@pytest.fixture
def _no_thread_left(alive):
    yield
    assert alive() == []


pytestmark = pytest.mark.usefixtures("qapp", "_no_thread_left")


def run(qtbot, job):
    heard = Heard(job)
    job.start()
    qtbot.waitUntil(lambda: not job.running)
    return heard


def test_the_result_arrives_once_after_the_thread_is_gone(qtbot, alive):
    job = Job(lambda _progress: 6 * 7)
    seen = []
    job.ended.connect(lambda: seen.append(alive()))
    heard = run(qtbot, job)
    assert heard.outcomes == ["ended", ("done", 42)]
    assert seen == [[]]


def test_the_work_runs_on_another_thread_and_its_progress_arrives_on_this_one(qtbot):
    worker = []

    def work(progress):
        worker.append(threading.current_thread())
        return [progress(n / 4) for n in range(5)]

    heard = run(qtbot, Job(work))
    assert worker[0] is not threading.current_thread()
    assert heard.threads == {threading.current_thread()}
    assert heard.shares == [0.0, 0.25, 0.5, 0.75, 1.0]
    assert heard.outcomes[-1] == ("done", [True] * 5)


def test_progress_is_told_in_hundredths_and_kept_between_nothing_and_all(qtbot):
    heard = run(qtbot, Job(lambda progress: [progress(n / 10_000 - 0.1) for n in range(12_001)] and None))
    assert heard.shares == [n / 100 for n in range(101)]


def test_a_cancelled_job_stops_where_it_next_asks(qtbot):
    asked = Event()
    rounds = []

    def work(progress):
        asked.wait(10)
        while progress(0.5):
            rounds.append(1)
        return "half of it"

    job = Job(work)
    heard = Heard(job)
    job.start()
    job.cancel()
    asked.set()
    qtbot.waitUntil(lambda: not job.running)
    assert heard.outcomes == ["ended", "cancelled"]
    assert rounds == []


def test_an_error_for_the_person_is_told_as_a_sentence(qtbot):
    def work(_progress):
        raise AxlewrightError("wheels[0] is lost; find it")

    assert run(qtbot, Job(work)).outcomes == ["ended", ("failed", "wheels[0] is lost; find it")]


def test_an_error_that_ends_a_cancelled_job_is_no_failure(qtbot):
    go = Event()

    def work(progress):
        go.wait(10)
        if not progress(0.1):
            raise AxlewrightError("was cancelled")

    job = Job(work)
    heard = Heard(job)
    job.start()
    job.cancel()
    go.set()
    qtbot.waitUntil(lambda: not job.running)
    assert heard.outcomes == ["ended", "cancelled"]


def test_an_unforeseen_error_reaches_the_last_net_of_the_window(qtbot, monkeypatch):
    caught = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, _error, _trace: caught.append(kind))
    with qtbot.captureExceptions() as seen:
        heard = run(qtbot, Job(lambda _progress: 1 / 0))
        qtbot.waitUntil(lambda: bool(seen or caught))
    assert [*caught, *(kind for kind, *_ in seen)] == [ZeroDivisionError]
    assert heard.outcomes == ["ended"]


def test_stop_waits_for_the_thread_and_tells_nothing(qtbot, alive):
    begun = Event()

    def work(progress):
        begun.set()
        while progress(0.5):
            pass
        return "too late"

    job = Job(work)
    heard = Heard(job)
    job.start()
    assert begun.wait(10)
    job.stop()
    assert alive() == []
    assert not job.running
    qtbot.wait(20)
    assert heard.outcomes == []
