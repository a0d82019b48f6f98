"""A C compiler with all warnings as errors, and sanitizers, to run written headers with.

Where none is here, tests are skipped with a reason; with CI=true they fail instead.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from tests.board import lacks

STRICT = ("-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion")
SANITIZED = ("-fsanitize=undefined,address", "-fno-sanitize-recover=all")
MOST_SECONDS = 600
_NONE = "written C code needs a C compiler with sanitizers: install gcc (and libc6-dev) or clang"


@cache
def _compiler() -> str | None:
    return next((name for name in ("gcc", "cc", "clang") if shutil.which(name)), None)


def compiled(folder: Path, sources: Sequence[Path], *flags: str) -> Path:
    """Compile and link sources, strictly; returns the program.

    Parameters
    ----------
    folder : Path
        Where headers are, and where the program goes.
    sources : sequence of Path
        Translation units.
    *flags : str
        More flags; sanitizers are on unless one of them starts with ``-m``.
    """
    compiler = _compiler()
    if compiler is None:
        lacks(_NONE)
    program = folder / "program"
    sane = () if any(flag.startswith("-m") for flag in flags) else SANITIZED
    command = [compiler, *STRICT, *sane, *flags, f"-I{folder}", *map(str, sources), "-o", str(program), "-lm"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=MOST_SECONDS)
    if "cannot find" in done.stderr and "san" in done.stderr:
        lacks(_NONE)
    assert done.returncode == 0, done.stderr[-3000:]
    return program


def makes_programs_of_32_bits(folder: Path) -> bool:
    """Whether ``-m32`` works here."""
    source = folder / "nothing.c"
    source.write_text("#include <math.h>\nint main(void) { return 0; }\n", encoding="utf-8")
    compiler = _compiler()
    if compiler is None:
        return False
    command = [compiler, "-m32", str(source), "-o", str(folder / "nothing")]
    return subprocess.run(command, capture_output=True).returncode == 0


def run(program: Path, given: str) -> str:
    """What a program prints for what it is given."""
    done = subprocess.run([str(program)], input=given, capture_output=True, text=True, timeout=MOST_SECONDS)
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout
