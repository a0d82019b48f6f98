"""A person who does anything: random keys, clicks, drags, wheel turns and Tabs on the real window.

    python -m tests.whole.driver --acts 2000 --seed 7      a screen of its own, nothing is seen
    python -m tests.whole.driver --acts 200 --seed 7 --here     on this screen, to look on

The same seed does the same acts as long as the screen looks the same; what a thread of the program has
ready sooner or later can part two runs.
"""

from __future__ import annotations

import argparse
import os
import shlex
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.whole.driver_screen import ROOT, own_screen, why_not

SIZES = ((1280, 800), (1024, 700), (1920, 1080))
"""Screens, in turn by the seed [px]."""
TRIP = 150
"""After so many acts all is undone and redone."""
_PICTURES = Path(tempfile.gettempdir()) / "axlewright-driver"
FAULT, NO_SCREEN = 1, 3


def parsed(words: Sequence[str]) -> argparse.Namespace:
    """The words of the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.whole.driver", description=__doc__)
    parser.add_argument("--acts", type=int, default=2_000, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="of the dice, and which size of screen")
    courses = ("random", "job", "openings")
    about = "random acts; the whole job by keys; or each dialog 50 times, for the memory that it takes"
    parser.add_argument("--course", choices=courses, default="random", help=about)
    parser.add_argument("--here", action="store_true", help="on this screen instead of one of its own")
    parser.add_argument("--pictures", type=Path, default=_PICTURES, help="folder for a picture of a fault")
    about = "leave widgets alone whose words in the report hold these: where a known fault bars the way"
    parser.add_argument("--without", action="append", default=[], metavar="WORDS", help=about)
    parser.add_argument("--work", type=Path, help=argparse.SUPPRESS)
    return parser.parse_args(words)


def main(words: Sequence[str]) -> int:
    """Drive; 0 where all held, 1 after a fault, 3 where no screen can be had."""
    asked = parsed(words)
    if asked.work is not None:
        return drive(asked)
    # Who stops this process stops the screen too.
    signal.signal(signal.SIGTERM, lambda number, _frame: sys.exit(128 + number))
    with tempfile.TemporaryDirectory(prefix="axlewright-") as folder:
        work = Path(folder)
        again = [sys.executable, "-m", "tests.whole.driver", *words, "--work", str(work)]
        if asked.here:
            from tests.whole.driver_screen import surroundings

            return ended(subprocess.run(again, env=surroundings(work), cwd=ROOT).returncode, work)
        if why_not():
            print(why_not())
            return NO_SCREEN
        with own_screen(SIZES[asked.seed % len(SIZES)], work) as environment:
            return ended(subprocess.run(again, env=environment, cwd=ROOT).returncode, work)


def ended(code: int, work: Path) -> int:
    """Tell the last acts of a run that could not tell them itself."""
    if code not in (0, FAULT):
        log = work / "acts.txt"
        lines = log.read_text(encoding="utf-8").splitlines() if log.exists() else []
        print(f"the program ended with {code} at act {len(lines)}; the last acts:")
        print("\n".join(f"  {line}" for line in lines[-30:]))
        return FAULT
    return code


def drive(asked: argparse.Namespace) -> int:
    """Open the program's window in this process, and act on it."""
    from PySide6.QtCore import Qt, QTimer
    from PySide6.QtWidgets import QApplication

    from app.window.start import make_application, open_window
    from tests.whole.driver_choice import Chooser
    from tests.whole.driver_course import course
    from tests.whole.driver_hand import Hand
    from tests.whole.driver_keys import job, openings
    from tests.whole.driver_watch import Watch

    files = asked.work / "files"
    sample = _make_files(files)
    os.chdir(files)
    QApplication.setAttribute(Qt.ApplicationAttribute.AA_DontUseNativeDialogs)
    watch = Watch(asked.work / "acts.txt", pixels=asked.course != "openings")

    def ended(wrong: str) -> None:
        if wrong:
            print(watch.report(wrong, _command(asked, watch.count), asked.pictures), flush=True)
        else:
            print(f"{watch.count} acts with seed {asked.seed}: all held. {watch.told()}", flush=True)
        # At once: whatever is open would ask first, and its event loops lie around this one.
        os._exit(FAULT if wrong else 0)

    def begin() -> None:
        watch.listen()
        watch.follow()
        hand.start()

    if asked.course == "random":
        acts = course(Chooser(asked.seed, files, asked.without), watch, asked.acts, TRIP)
    else:
        acts = job(watch, files) if asked.course == "job" else openings(watch)
    hand = Hand(acts, before=watch.before, after=watch.after, ended=ended)
    QTimer.singleShot(500, make_application(), begin)
    # At the start page most dialogs are greyed: those that are opened over and over want a chassis.
    return open_window(sample if asked.course == "openings" else None)


def _command(asked: argparse.Namespace, acts: int) -> str:
    """The command that comes to the same place again."""
    words = ["python", "-m", "tests.whole.driver", "--seed", str(asked.seed)]
    if asked.course == "random":
        words += ["--acts", str(acts)]
    else:
        words += ["--course", asked.course]
    return shlex.join([*words, *(word for name in asked.without for word in ("--without", name))])


def _make_files(folder: Path) -> Path:
    """Write files to open, one of them broken; give one that is not."""
    from app.design.files import write_design
    from app.design.samples import sample_design
    from sample_chassis import SAMPLES

    folder.mkdir(parents=True, exist_ok=True)
    for sample in SAMPLES[:3]:
        write_design(folder / f"{sample.key}.json", sample_design(sample.key))
    (folder / "broken.json").write_text('{"wheels": [', encoding="utf-8")
    return folder / f"{SAMPLES[0].key}.json"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
