"""What the command line writes, in a process of its own, is to the byte what the window writes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from app.controller.programme import programme_of
from app.design.files import design_text
from app.design.samples import sample_design, sample_text
from app.export.vectors import vectors
from tests.written import CODE_FORMATS, code_text

ROOT = Path(__file__).resolve().parents[2]
KEY = "marsh_scout_motors"


def exported(chassis: Path, *words: str, salt: str = "0") -> bytes:
    """Bytes of the file that ``axlewright export`` writes."""
    out = chassis.with_name("out")
    command = [sys.executable, "-P", "-m", "app.main", "export", str(chassis), *words, "-o", str(out)]
    # Another order of hashes must not show.
    environment = {"PYTHONPATH": str(ROOT), "PYTHONHASHSEED": salt, "AXLEWRIGHT_HOME": str(chassis.parent)}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return out.read_bytes()


@pytest.fixture
def scout(tmp_path):
    path = tmp_path / "scout.json"
    path.write_text(sample_text(KEY), encoding="utf-8")
    return path


@pytest.mark.parametrize("key", [form.key for form in CODE_FORMATS])
def test_the_command_line_writes_the_bytes_of_the_window(key, scout):
    due = code_text(programme_of(sample_design(KEY)), key).encode()
    assert exported(scout, "--format", key) == due
    assert exported(scout, "--format", key, salt="1") == due


def test_options_of_the_command_line_are_the_settings_that_the_chassis_remembers(tmp_path):
    design = sample_design(KEY)
    changes = {"spacing": "even", "error": 0.5, "prefix": "reed", "limiter": False, "mixing": False}
    remembered = design.edited(controller=design.controller.edited(**changes))
    plain, kept = tmp_path / "plain.json", tmp_path / "kept.json"
    plain.write_text(sample_text(KEY), encoding="utf-8")
    kept.write_text(design_text(remembered), encoding="utf-8")
    words = ["--spacing", "even", "--error", "0.5deg", "--prefix", "reed", "--without", "limiter,mixing"]
    due = code_text(programme_of(remembered), "c").encode()
    assert exported(plain, "--format", "c", *words) == due
    assert exported(kept, "--format", "c") == due
    assert exported(plain, "--format", "c") != due


def test_the_vectors_of_the_command_line_are_those_of_the_programme(scout):
    due = vectors(programme_of(sample_design(KEY)), 200, seed=5).encode()
    assert exported(scout, "--vectors", "200", "--seed", "5") == due
