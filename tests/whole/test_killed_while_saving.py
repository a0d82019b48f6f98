"""A process stopped in the midst of saving leaves the old file or the new one, never a mixture."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.design.files import design_text, read_design, write_design
from app.design.samples import sample_design

ROOT = Path(__file__).parents[2]
LIVES = 200
SMALL, LARGE = sample_design("creek_tricycle"), sample_design("dyke_hauler_eight")

# Forks a saver for each line that it is sent, so that 200 lives cost one start of Python.
SAVER = """
import os, sys
from pathlib import Path
from app import crash
from app.design.files import write_design
from app.design.samples import sample_design
crash.stop_when_asked()
path = Path(sys.argv[1])
pair = sample_design("creek_tricycle"), sample_design("dyke_hauler_eight")
for _ in sys.stdin:
    child = os.fork()
    # Said by the child, since a signal in the midst of a fork is lost.
    child or print(os.getpid(), flush=True)
    while not child:
        for design in pair:
            write_design(path, design, overwrite=True)
    print("gone by", os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="the savers are forked")
@pytest.mark.parametrize(("number", "code"), [(signal.SIGKILL, -9), (signal.SIGTERM, 143)])
def test_two_hundred_stops_in_the_midst_of_saving_leave_a_whole_file_each_time(tmp_path, number, code):
    path = tmp_path / "chassis.json"
    whole = {design_text(design).encode() for design in (SMALL, LARGE)}
    dice = random.Random(7)  # noqa: S311 - moments, not secrets
    found, cut_short = set(), 0
    with subprocess.Popen(
        [sys.executable, "-c", SAVER, str(path)],
        cwd=ROOT,
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as saver:
        for _ in range(LIVES):
            saver.stdin.write("\n")
            saver.stdin.flush()
            child = int(saver.stdout.readline())
            time.sleep(0.002 + dice.random() * 0.03)
            os.kill(child, number)
            assert saver.stdout.readline() == f"gone by {code}\n"
            if path.exists():
                found.add(path.read_bytes())
                assert found <= whole
                assert read_design(path).design in (SMALL, LARGE)
            left_over = [entry for entry in tmp_path.iterdir() if entry != path]
            # What the lives before left was removed by the first write of this one.
            assert len(left_over) <= 1
            cut_short += len(left_over)
    # The stops did come in the midst of saves, and after many: both designs were met, and
    # temporary files that a killed process could not remove any more.
    assert found == whole
    assert cut_short > LIVES // 10 if number == signal.SIGKILL else cut_short == 0
    write_design(path, SMALL, overwrite=True)
    assert list(tmp_path.iterdir()) == [path]
