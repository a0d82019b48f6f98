"""A real MicroPython to run written code on: its WebAssembly build, inside Node.

``python -m tests.board`` fetches it, with npm, into the folder of the virtual environment (where
there is none, into the folder for temporary files). Tests that want it do so by themselves. Where
Node, npm or the network lack, they are skipped with a reason; with CI=true they fail instead.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import NoReturn

import pytest

PACKAGE = "@micropython/micropython-webassembly-pyscript"
VERSION = "^1.27"
MOST_SECONDS = 600
_PLACE = sys.prefix if sys.prefix != sys.base_prefix else tempfile.gettempdir()
FOLDER = Path(_PLACE) / "axlewright-board"

RUNNER = """\
import { readFileSync } from "node:fs";
import { loadMicroPython } from "@micropython/micropython-webassembly-pyscript";
const [program, ...files] = process.argv.slice(2);
const lines = [];
const board = await loadMicroPython({ stdout: (line) => lines.push(line), linebuffer: true });
for (const file of files) board.FS.writeFile("/" + file.split(/[\\\\/]/).pop(), readFileSync(file, "utf8"));
board.runPython(readFileSync(program, "utf8"));
process.stdout.write(lines.map((line) => line + "\\n").join(""));
"""


class NoBoardError(Exception):
    """What lacks, and how to get it."""


def required() -> bool:
    """Whether a test may not be skipped for want of a tool."""
    return os.environ.get("CI", "").lower() in {"1", "true"}


def lacks(reason: str) -> NoReturn:
    """Skip the test that runs, loudly; fail it in CI."""
    if required():
        pytest.fail(f"{reason}; CI may not skip this", pytrace=False)
    pytest.skip(reason)


def fetched() -> Path:
    """Folder with the board in it, fetched where it lacks.

    Raises
    ------
    NoBoardError
        If Node or npm lack, or the package cannot be fetched.
    """
    for tool in ("node", "npm"):
        if shutil.which(tool) is None:
            raise NoBoardError(
                f"MicroPython runs in Node, but {tool} is not here: install nodejs and npm"
            )
    runner = FOLDER / "run.mjs"
    if not (FOLDER / "node_modules" / PACKAGE / "package.json").exists():
        FOLDER.mkdir(parents=True, exist_ok=True)
        npm = [shutil.which("npm") or "npm", "install", "--no-audit", "--no-fund", "--prefix", str(FOLDER)]
        done = subprocess.run([*npm, f"{PACKAGE}@{VERSION}"], capture_output=True, text=True, timeout=300)
        if done.returncode:
            said = done.stderr.strip().splitlines()[:3]
            raise NoBoardError(f"npm could not fetch {PACKAGE}: {' '.join(said)}")
    if not runner.exists() or runner.read_text(encoding="utf-8") != RUNNER:
        runner.write_text(RUNNER, encoding="utf-8")
    return FOLDER


@cache
def _folder_or_reason() -> Path | str:
    try:
        return fetched()
    except (NoBoardError, OSError, subprocess.SubprocessError) as error:
        return str(error)


def micropython(program: Path, *files: Path) -> str:
    """Run a program on the board.

    Parameters
    ----------
    program : Path
        MicroPython text.
    *files : Path
        Copied to the board's top folder, where the program may import and open them.

    Returns
    -------
    str
        What it printed.
    """
    folder = _folder_or_reason()
    if isinstance(folder, str):
        lacks(folder)
    done = subprocess.run(
        ["node", "run.mjs", str(program), *map(str, files)],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=MOST_SECONDS,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def plain_python(program: Path, *files: Path) -> str:
    """Run the same on this Python, in a process of its own that sees nothing of the project."""
    for file in files:
        if file.parent != program.parent:
            shutil.copy(file, program.parent)
    done = subprocess.run(
        [sys.executable, "-I", "-W", "error", str(program.name)],
        cwd=program.parent,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=MOST_SECONDS,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


if __name__ == "__main__":
    try:
        print(f"MicroPython is in {fetched()}")
    except NoBoardError as error:
        sys.exit(str(error))
