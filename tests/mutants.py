"""How much the tests see: alter the code in one place, run the tests, count what they find.

``python -m tests.mutants`` draws 200 alterations by a written seed over all of `geometry` and the
controller's code, tries each in a copy of the project, and prints the share that the tests found and,
with file and line, those that they did not. ``--count 10``, ``--seed 3`` and ``--only FOLDER`` try others.

The alterations are mutmut's, by its own `create_mutations`: its command runs whole files only, and draws
nothing. It leaves out decorated functions, which are few here, and texts of several lines; of those the
templates of the controller's code are altered here, token by token.

An alteration first meets the tests of its own file; one that survives them meets the others that reach
the file and load no window, the nearest first, as many as take a minute together (``--wider SECONDS``),
without those marked slow. POSIX only, as mutmut is.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import difflib
import os
import py_compile
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from typing import TYPE_CHECKING, NoReturn
from xml.etree import ElementTree

from tests.mutants_reach import ROOT, own_tests, path_of, wider_tests

if TYPE_CHECKING:
    from collections.abc import Callable

SEED, COUNT, JOBS, WIDER_SECONDS = 1, 200, 2, 60.0
PLACES = ("geometry", "app/controller", "app/export")
LEFT_BEHIND = ("__pycache__", ".git", ".venv*", ".*_cache", ".hypothesis", ".benchmarks", "build", "dist")
MOST_BYTES = 4 << 30
# In a template the code is text: what is swapped there, and the marks behind which words follow.
SWAPS = {
    " + ": " - ", " - ": " + ", " += ": " -= ", " -= ": " += ", " * ": " + ", " / ": " * ", " // ": " * ",
    " < ": " <= ", " <= ": " < ", " > ": " >= ", " >= ": " > ", " == ": " != ", " != ": " == ",
    " << ": " >> ", " >> ": " << ", " and ": " or ", " or ": " and ", " && ": " || ", " || ": " && ",
    "True": "False", "False": "True", "%if !": "%if ",
}  # fmt: skip
_TOKEN = re.compile("|".join(map(re.escape, sorted(SWAPS, key=len, reverse=True))) + r"|^%if |\b\d+\b")
_COMMENT = re.compile(r"#(?!if|endif|include|define|ifndef).*|/\*.*|^ \*.*")


@dataclass(frozen=True)
class Mutant:
    """A file with one alteration."""

    path: Path
    text: str

    @property
    def line(self) -> int:
        """The first line that differs."""
        before = self.path.read_text(encoding="utf-8").splitlines()
        pairs = zip(before, self.text.splitlines(), strict=False)
        return next((n for n, (a, b) in enumerate(pairs, 1) if a != b), len(before))

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT).as_posix()}:{self.line}"

    def diff(self) -> str:
        """The lines that went and came."""
        before = self.path.read_text(encoding="utf-8").splitlines()
        lines = list(difflib.unified_diff(before, self.text.splitlines(), lineterm="", n=0))[2:]
        return "\n".join(f"    {line}" for line in lines if not line.startswith("@@"))


@dataclass(frozen=True)
class Outcome:
    """What became of a mutant, and who saw it."""

    mutant: Mutant
    seen: bool
    how: str
    seconds: float


# ------------------------------------------------------------------------------ drawing


def altered_files() -> list[Path]:
    """The files to alter, in a fixed order."""
    return sorted(path for place in PLACES for path in (ROOT / place).rglob("*.py"))


def mutants_of(path: Path) -> Sequence[Callable[[], str]]:
    """Every altered text of a file, each written only when asked for."""
    from mutmut.mutation.file_mutation import create_mutations  # late: the map of tests needs none of it

    text = path.read_text(encoding="utf-8")
    module, mutations, *_ = create_mutations(str(path), text)

    def written(i: int) -> str:
        changed = module.deep_replace(mutations[i].original_node, mutations[i].mutated_node)
        return str(getattr(changed, "code"))  # noqa: B009 - a Module, which its stubs do not say

    by_tool = [partial(written, i) for i in range(len(mutations))]
    return by_tool + [partial(str, altered) for altered in _altered_templates(text)]


def _altered_templates(text: str) -> Iterator[str]:
    """A file's text with one token changed in a text of several lines that is given a name."""
    lines = text.splitlines(keepends=True)
    for node in ast.parse(text).body:
        value = node.value if isinstance(node, ast.Assign) else None
        if not (isinstance(value, ast.Constant) and isinstance(value.value, str) and "\n" in value.value):
            continue
        for n in range(value.lineno, (value.end_lineno or value.lineno) - 1):
            line = lines[n]
            code = _COMMENT.sub("", line.rstrip("\n"))
            for found in _TOKEN.finditer(code):
                old = found[0]
                new = SWAPS.get(old) or ("%if !" if old.startswith("%") else str(int(old) + 1))
                altered = line[: found.start()] + new + line[found.end() :]
                yield "".join([*lines[:n], altered, *lines[n + 1 :]])


def drawn(paths: Sequence[Path], seed: int, count: int) -> tuple[list[Mutant], int]:
    """So many mutants of all that there are, each as likely as another, and how many there are."""
    every = [(path, write) for path in paths for write in mutants_of(path)]
    picked = random.Random(seed).sample(range(len(every)), min(count, len(every)))  # noqa: S311 - no secret
    chosen = (every[i] for i in sorted(picked))
    return [Mutant(path, write()) for path, write in chosen], len(every)


# ------------------------------------------------------------------------------ trying


class Trial:
    """A copy of the project in which mutants are tried one after another."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(*LEFT_BEHIND), dirs_exist_ok=True)
        # By their checksums: an alteration may have the size and, to the second, the time of its file.
        by_checksum = py_compile.PycInvalidationMode.CHECKED_HASH
        for package in ("app", "geometry", "sample_chassis"):
            compileall.compile_dir(folder / package, quiet=2, invalidation_mode=by_checksum)

    def passes(self, tests: Sequence[Path], seconds: float, *more: str, shown: bool = False) -> bool | None:
        """Whether all tests pass; None where they took too long or too much memory."""
        command = [sys.executable, "-m", "pytest", "-x", "-q", "--tb=short", "-p", "no:cacheprovider"]
        command += [*more, *(str(test.relative_to(ROOT)) for test in tests)]
        environment = os.environ | {
            "HYPOTHESIS_PROFILE": "mutants",
            "PYTHONDONTWRITEBYTECODE": "1",
            "PYTHONPATH": str(self.folder),
        }
        child = subprocess.Popen(
            command,
            cwd=self.folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=None if shown else subprocess.DEVNULL,
            stderr=None if shown else subprocess.DEVNULL,
            start_new_session=True,
        )
        end = time.monotonic() + seconds
        while time.monotonic() < end and _memory(child.pid) < MOST_BYTES:
            try:
                # 5: all of them are slow ones, and left out.
                return child.wait(timeout=0.2) in (0, 5)
            except subprocess.TimeoutExpired:
                continue
        os.killpg(child.pid, signal.SIGKILL)
        child.wait()
        return None

    def outcome(self, mutant: Mutant, seconds_of: dict[Path, float], wider_seconds: float) -> Outcome:
        """Try a mutant on the tests of its file, then on others that reach it."""
        begun = time.monotonic()
        place = self.folder / mutant.path.relative_to(ROOT)
        place.write_text(mutant.text, encoding="utf-8")
        try:
            reaching = wider_tests(mutant.path)
            wider = within(reaching, seconds_of, wider_seconds)
            own = own_tests(mutant.path)
            for tests, who, *more in ((own, "own"), (wider, "wider", "-m", "not slow")):
                limit = 60 + 6 * sum(seconds_of.get(test, 0.0) for test in tests)
                passed = self.passes(tests, limit, *more) if tests else True
                if not passed:
                    how = f"by its {who} tests" if passed is False else f"by {who} tests without an end"
                    return Outcome(mutant, True, how, time.monotonic() - begun)
        finally:
            shutil.copyfile(mutant.path, place)
        how = f"by its own and {len(wider)} of {len(reaching)} others"
        return Outcome(mutant, False, how, time.monotonic() - begun)


def within(tests: Sequence[Path], seconds_of: dict[Path, float], most: float) -> list[Path]:
    """Those of the tests, in their order, that fit into a time together."""
    chosen, spent = [], 0.0
    for test in tests:
        seconds = seconds_of.get(test, 0.0)
        if spent + seconds <= most:
            chosen.append(test)
            spent += seconds
    return chosen


def _memory(process: int) -> int:
    """Bytes that a process holds; 0 where the system does not say."""
    try:
        told = Path(f"/proc/{process}/statm").read_text(encoding="ascii")
    except OSError:
        return 0
    return int(told.split()[1]) * os.sysconf("SC_PAGE_SIZE")


def times_of(trial: Trial, tests: Sequence[Path], jobs: int) -> dict[Path, float]:
    """Seconds of each file's tests on the code as it is; ends the run where they do not pass."""
    told = trial.folder / "clean.xml"
    parallel = ("-n", str(jobs), "--dist", "loadfile")
    if not trial.passes(tests, 3600, f"--junitxml={told}", *parallel, shown=True):
        _stop("the tests do not pass on the code as it is: mend that first")
    seconds: dict[Path, float] = {}
    for case in ElementTree.parse(told).iter("testcase"):  # noqa: S314 - our own file
        words = case.get("classname", "").split(".")
        # A class of tests stands behind its module; an example is told by the module alone.
        places = (path_of(".".join(words[:n])) for n in range(len(words), 0, -1))
        path = next((place for place in places if place.exists()), ROOT)
        seconds[path] = seconds.get(path, 0.0) + float(case.get("time", "0"))
    return seconds


def tried(mutants: Sequence[Mutant], jobs: int, wider_seconds: float, folder: Path) -> list[Outcome]:
    """Try all mutants, some at a time."""
    trials: SimpleQueue[Trial] = SimpleQueue()
    for n in range(jobs):
        trials.put(Trial(folder / f"copy{n}"))
    needed = {test for mutant in mutants for test in (*own_tests(mutant.path), *wider_tests(mutant.path))}
    print(f"Running the {len(needed)} files of tests that reach them, on the code as it is", flush=True)
    first = trials.get()
    seconds_of = times_of(first, sorted(needed), jobs)
    trials.put(first)
    done: list[Outcome] = []

    def one(mutant: Mutant) -> Outcome:
        trial = trials.get()
        try:
            found = trial.outcome(mutant, seconds_of, wider_seconds)
        finally:
            trials.put(trial)
        done.append(found)
        word = "seen" if found.seen else "SURVIVED"
        print(f"{len(done):4} {word:8} {mutant} {found.how}, {found.seconds:.0f} s", flush=True)
        return found

    with ThreadPoolExecutor(jobs) as pool:
        return list(pool.map(one, mutants))


# ------------------------------------------------------------------------------ the command


def _stop(sentence: str) -> NoReturn:
    print(sentence, file=sys.stderr)
    raise SystemExit(2)


def main(words: Sequence[str] | None = None) -> int:
    """Draw, try, tell."""
    parser = argparse.ArgumentParser("python -m tests.mutants", description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("--seed", type=int, default=SEED, help=f"where the draw starts ({SEED})")
    parser.add_argument("--count", type=int, default=COUNT, help=f"how many to draw ({COUNT})")
    parser.add_argument("--jobs", type=int, default=JOBS, help=f"how many at a time ({JOBS})")
    parser.add_argument(
        "--wider", type=float, default=WIDER_SECONDS, help="seconds for the tests of other files (60)"
    )
    parser.add_argument("--only", type=Path, action="append", help="a file or folder in place of all")
    parser.add_argument("--list", action="store_true", help="only show what is drawn")
    chosen = parser.parse_args(words)
    only = [(ROOT / place).resolve() for place in chosen.only or [ROOT]]
    paths = [path for path in altered_files() if any(path.is_relative_to(place) for place in only)]
    if not paths:
        _stop(f"nothing to alter there: choose among {', '.join(PLACES)}")
    begun = time.monotonic()
    mutants, most = drawn(paths, chosen.seed, chosen.count)
    print(f"{len(mutants)} of {most} alterations in {len(paths)} files, seed {chosen.seed}", flush=True)
    if chosen.list:
        for mutant in mutants:
            print(f"{mutant}\n{mutant.diff()}")
        return 0
    with tempfile.TemporaryDirectory() as folder:
        found = tried(mutants, chosen.jobs, chosen.wider, Path(folder))
    survivors = [outcome.mutant for outcome in found if not outcome.seen]
    for mutant in survivors:
        print(f"\nsurvived: {mutant}\n{mutant.diff()}")
    seen, minutes = len(found) - len(survivors), (time.monotonic() - begun) / 60
    print(f"\nseen {seen} of {len(found)}, {seen / len(found):.0%}; {minutes:.0f} minutes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
