"""The rooms of the house: which folder may ask which, and what each may hold."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("app", "geometry")
# The rooms that may show something; all others are forbidden Qt, late imports included.
MAY_HAVE_QT = {
    "app.dialogs",
    "app.document",
    "app.drive_session",
    "app.icons",
    "app.jobs",
    "app.main",
    "app.panels",
    "app.plain",
    "app.theme",
    "app.undo",
    "app.views",
    "app.window",
}
QT = ("PySide6", "pyqtgraph")
# Paper is the one exception in a room without Qt: it imports it where something is painted.
PAINTS_PAPER = {"app.export.painting", "app.export.pdf", "app.export.png_drawing"}
# How arrays are laid out and solved is for the robot alone.
ASSEMBLES = {
    "MotorArrays",
    "WheelArrays",
    "as_built",
    "base_of",
    "motor_arrays",
    "moved_by",
    "solve",
    "steer_group",
    "wheel_arrays",
}
MOST_FLAT = {"geometry": 8, "app": 12}


@cache
def modules() -> dict[str, Path]:
    """Every module of the program by its dotted name."""
    found = {}
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def tree(name: str) -> ast.Module:
    return ast.parse(modules()[name].read_text(encoding="utf-8"))


def imported(name: str) -> Iterator[tuple[str, str]]:
    """Every import of a module, late ones included, as (module, name); the name is empty for a module."""
    for node in ast.walk(tree(name)):
        if isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield (whole, "") if whole in modules() else (node.module, alias.name)


def room(name: str) -> str:
    """The folder of a module, or the module itself where it stands alone."""
    return ".".join(name.split(".")[:2])


def defined(name: str) -> set[str]:
    """Names that a module makes itself, at its top."""
    made: set[str] = set()
    for node in tree(name).body:
        for inner in [node, *(node.body if isinstance(node, ast.If | ast.Try) else [])]:
            if isinstance(inner, ast.FunctionDef | ast.ClassDef | ast.AsyncFunctionDef):
                made.add(inner.name)
            elif isinstance(inner, ast.Assign):
                made |= {
                    n.id for target in inner.targets for n in ast.walk(target) if isinstance(n, ast.Name)
                }
            elif isinstance(inner, ast.AnnAssign) and isinstance(inner.target, ast.Name):
                made.add(inner.target.id)
    return made


def asked() -> dict[str, set[str]]:
    """Which rooms each room asks."""
    graph: dict[str, set[str]] = defaultdict(set)
    for name in modules():
        for target, _ in imported(name):
            if target in modules() and room(target) != room(name):
                graph[room(name)].add(room(target))
    return graph


def test_no_room_comes_back_to_itself_by_way_of_others() -> None:
    graph = asked()

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        left = [start]
        while left:
            for other in graph[left.pop()] - seen:
                seen.add(other)
                left.append(other)
        return seen

    assert [one for one in list(graph) if one in reached(one)] == []
    assert "geometry.model" in reached("app.window")


@pytest.mark.parametrize("package", PACKAGES)
def test_few_modules_stand_outside_the_folders(package: str) -> None:
    flat = [path.name for path in (ROOT / package).glob("*.py") if path.name != "__init__.py"]
    assert 0 < len(flat) <= MOST_FLAT[package], sorted(flat)


def test_qt_stays_in_the_rooms_that_show_something() -> None:
    found = {name for name in modules() for target, _ in imported(name) if target.split(".")[0] in QT}
    users = {room(name) for name in found - PAINTS_PAPER}
    assert users - MAY_HAVE_QT == set()
    assert len(users) > 5


@pytest.mark.parametrize("name", sorted(PAINTS_PAPER))
def test_what_paints_paper_imports_qt_only_when_it_does(name: str) -> None:
    late = {
        node.module.split(".")[0]
        for function in ast.walk(tree(name))
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.ImportFrom) and node.module
    }
    at_once = {
        node.module.split(".")[0]
        for node in tree(name).body
        if isinstance(node, ast.ImportFrom) and node.module
    }
    assert "PySide6" in late
    assert "PySide6" not in at_once


def test_the_contract_forbids_qt_to_every_other_room() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    (block,) = re.findall(r"needs no window.*?source_modules = \[(.*?)\]", text, flags=re.DOTALL)
    listed = set(re.findall(r'"(app\.\w+)"', block))
    rooms = {room(name) for name in modules() if name.startswith("app.")}
    assert listed == rooms - MAY_HAVE_QT


@pytest.mark.parametrize("name", sorted(modules()))
def test_no_module_takes_what_another_keeps_to_itself(name: str) -> None:
    private = [
        f"{target}.{what}"
        for target, what in imported(name)
        if target in modules() and (what.startswith("_") or target.rsplit(".", 1)[-1].startswith("_"))
    ]
    assert private == []


@pytest.mark.parametrize("name", sorted(modules()))
def test_every_name_is_imported_from_where_it_is_made(name: str) -> None:
    passed_on = [
        f"{target}.{what}"
        for target, what in imported(name)
        if target in modules() and what and what not in defined(target)
    ]
    assert passed_on == []


def test_the_program_asks_the_robot_and_lays_out_no_arrays_itself() -> None:
    found = [
        f"{name}: {what}"
        for name in modules()
        if name.startswith("app.")
        for target, what in imported(name)
        if target.startswith("geometry.") and what in ASSEMBLES
    ]
    assert found == []


@pytest.mark.parametrize("folder", sorted({path.parent for path in modules().values()}), ids=lambda p: p.name)
def test_each_room_says_what_it_answers_its_entry_and_what_it_never_does(folder: Path) -> None:
    told = ast.get_docstring(ast.parse((folder / "__init__.py").read_text(encoding="utf-8"))) or ""
    sentences = [part for part in re.split(r"[.;]\s", told.replace("\n", " ") + " ") if part.strip()]
    assert len(sentences) >= 3, told
    assert "Nothing here" in told


def test_the_searches_find_what_they_look_for() -> None:
    assert ("geometry.kinematics.robot", "robot_of") in set(imported("app.design.facts"))
    assert "Robot" in defined("geometry.kinematics.robot")
    assert "Floats" in defined("geometry.axes")
    assert room("app.views.canvas") == "app.views"
