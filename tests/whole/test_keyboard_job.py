"""The whole job by keys alone, from the start of the program to the robot's code in a file."""

from __future__ import annotations

import ast
import subprocess
import sys

from app.design.files import read_design
from tests.whole.driver_screen import ROOT, own_screen, surroundings, why_not

HANDLES = ROOT / "tests" / "whole" / "driver_keys.py"


def ran(folder):
    """The course, on a drawn screen where there can be one, else on none."""
    command = [sys.executable, "-m", "tests.whole.driver", "--course", "job", "--work", str(folder)]
    command += ["--pictures", str(folder)]
    if why_not():
        environment = surroundings(folder) | {"QT_QPA_PLATFORM": "offscreen"}
        return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, env=environment)
    with own_screen((1280, 800), folder) as environment:
        return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, env=environment)


def test_the_whole_job_is_done_without_a_mouse(tmp_path):
    done = ran(tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    design = read_design(tmp_path / "files" / "reed_carrier.json").design
    assert design.name == "Reed carrier"
    assert len(design.wheels) == 6
    assert {wheel.diameter_mm for wheel in design.wheels} >= {62.0}
    assert len(design.steer_motors) == 2
    code = (tmp_path / "files" / "reed_carrier.py").read_text(encoding="utf-8")
    compile(code, "reed_carrier.py", "exec")
    assert "Reed carrier" in code


def test_the_job_touches_no_mouse_and_asks_the_window_for_nothing_to_be_done():
    tree = ast.parse(HANDLES.read_text(encoding="utf-8"))
    (job,) = [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == "job"]
    names = {node.id for node in ast.walk(job) if isinstance(node, ast.Name)}
    assert "Mouse" not in names
    asked = {
        node.func.attr
        for node in ast.walk(job)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    }
    assert asked <= {"press", "type", "tab_to", "until", "window"}
