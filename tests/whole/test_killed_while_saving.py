"""A process killed in the midst of saving leaves the old file or the new one, never a mixture."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.design.files import design_text, read_design
from app.design.samples import sample_design

ROOT = Path(__file__).parents[2]
LIVES = 200
SMALL, LARGE = sample_design("creek_tricycle"), sample_design("dyke_hauler_eight")

# Forks a saver for each line that it is sent, so that 200 lives cost one start of Python.
SAVER = """
import os, sys
from pathlib import Path
from app.design.files import write_design
from app.design.samples import sample_design
path = Path(sys.argv[1])
pair = sample_design("creek_tricycle"), sample_design("dyke_hauler_eight")
for _ in sys.stdin:
    child = os.fork()
    while not child:
        for design in pair:
            write_design(path, design, overwrite=True)
    print(child, flush=True)
    os.waitpid(child, 0)
    print("gone", flush=True)
"""


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="the savers are forked")
def test_two_hundred_kills_in_the_midst_of_saving_leave_a_whole_file_each_time(tmp_path):
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
            os.kill(child, signal.SIGKILL)
            assert saver.stdout.readline() == "gone\n"
            if path.exists():
                found.add(path.read_bytes())
                assert found <= whole
                assert read_design(path).design in (SMALL, LARGE)
            left_over = [entry for entry in tmp_path.iterdir() if entry != path]
            cut_short += len(left_over)
            for entry in left_over:
                entry.unlink()
    # The kills did come in the midst of saves, and after many: both designs were met, and
    # temporary files that nobody could remove any more.
    assert found == whole
    assert cut_short > LIVES // 10
