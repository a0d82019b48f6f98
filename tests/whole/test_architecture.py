"""Rules of the house that no linter holds."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("app", "geometry", "sample_chassis")
SHIPPED = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))
STARTER = sorted((ROOT / ".start").glob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
CHECKED = [path for path in TESTS if path.name.startswith("test_")]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "LICENSE",
    "app",
    "geometry",
    "tests",
    "sample_chassis",
}
# Some 400 and 40 lines are the habit; past these a reader is lost.
MOST_LINES_OF_A_FILE = 600
# Docstrings do not count: they state units, shapes and errors at length.
MOST_LINES_OF_A_FUNCTION = 60
# A factor that turns units may stand only here: one place for each side of the program.
# Where typed text, and where a design with its motors, become numbers.
TURNS_DEGREES = {
    "app/units.py",
    "geometry/kinematics/robot.py",
    "geometry/model/part_outline.py",
    "geometry/model/wheel_arrays.py",
    "geometry/packaging/solids.py",
    "geometry/transmission/scale.py",
    "geometry/turning_space/outlines.py",
}
TURNS_INCHES = {"app/units.py"}


def name(path):
    return path.relative_to(ROOT).as_posix()


def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def names_of(node):
    """Dotted names of a handler's exceptions: `except (A, b.C)` gives A and C."""
    parts = node.elts if isinstance(node, ast.Tuple) else [node]
    return {part.attr if isinstance(part, ast.Attribute) else getattr(part, "id", "") for part in parts}


def too_wide(path):
    """Lines of handlers that catch everything and keep it; to clean up and raise again is no catch."""
    handlers = [node for node in ast.walk(tree(path)) if isinstance(node, ast.ExceptHandler)]
    wide = [h for h in handlers if h.type is None or names_of(h.type) & {"Exception", "BaseException"}]
    return [h.lineno for h in wide if ast.unparse(h.body[-1]) != "raise"]


def long_functions(path, most=MOST_LINES_OF_A_FUNCTION):
    functions = [
        node for node in ast.walk(tree(path)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    return [f"{name(path)}: {f.name}" for f in functions if lines_of_code(f) > most]


def lines_of_code(function):
    first = function.body[0]
    told = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    docstring = first.end_lineno - first.lineno + 1 if told else 0
    return function.end_lineno - function.lineno + 1 - docstring


def turns_degrees(path):
    """Whether the code itself turns degrees to radians or back."""
    for node in ast.walk(tree(path)):
        called = node.func if isinstance(node, ast.Call) else None
        if isinstance(called, ast.Attribute) and isinstance(called.value, ast.Name):
            owner, what = called.value.id, called.attr
            if owner in {"math", "np", "numpy"} and what in {"degrees", "radians", "deg2rad", "rad2deg"}:
                return True
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div | ast.Mult):
            sides = {ast.unparse(node.left), ast.unparse(node.right)}
            if any(re.fullmatch(r"180(\.0)?", side) for side in sides) and any(
                "pi" in side for side in sides
            ):
                return True
    return False


def turns_inches(path):
    numbers = [node.value for node in ast.walk(tree(path)) if isinstance(node, ast.Constant)]
    return any(isinstance(number, float) and number in {25.4, 2.54, 0.0254} for number in numbers)


def functions_of(path):
    return [node for node in ast.walk(tree(path)) if isinstance(node, ast.FunctionDef)]


def called_by(function):
    """Last names of all that a function calls: `a.b()` gives b."""
    calls = [node.func for node in ast.walk(function) if isinstance(node, ast.Call)]
    return {call.attr if isinstance(call, ast.Attribute) else getattr(call, "id", "") for call in calls}


def cannot_fail(paths):
    """Tests that neither assert nor call what does: a function of the tests, or one that is known to."""
    functions = [(path, function) for path in paths for function in functions_of(path)]
    judges = {"raises", "warns", "fail", "benchmark", "check_schema"}
    judges |= {f.name for _, f in functions if any(isinstance(node, ast.Assert) for node in ast.walk(f))}
    judges |= {call for _, f in functions for call in called_by(f) if call.startswith("assert_")}
    more = judges
    while more:
        more = {f.name for _, f in functions if called_by(f) & judges} - judges
        judges |= more
    return [
        f"{p.name}: {f.name}" for p, f in functions if f.name.startswith("test_") and f.name not in judges
    ]


def wall_times(path):
    """Lines that read a clock for measuring; what they compare fails on a busy machine."""
    clocks = {"perf_counter", "perf_counter_ns", "monotonic", "monotonic_ns"}
    names = [node for node in ast.walk(tree(path)) if isinstance(node, ast.Attribute | ast.Name)]
    return [n.lineno for n in names if (n.attr if isinstance(n, ast.Attribute) else n.id) in clocks]


def test_every_test_can_fail():
    assert cannot_fail(TESTS) == []


@pytest.mark.parametrize(
    "path", [p for p in TESTS if "benchmarks" not in p.parts and p.name.startswith("test_")], ids=name
)
def test_only_benchmarks_measure_time(path):
    assert wall_times(path) == []


def test_the_searches_find_tests_that_cannot_fail_and_clocks(tmp_path):
    bad = tmp_path / "test_bad.py"
    bad.write_text(
        "import time\n"
        "def held(x):\n    assert x\n"
        "def run(x):\n    return held(x)\n"
        "def test_a():\n    run(1)\n"
        "def test_b():\n    print(1)\n"
        "def test_c():\n    np.testing.assert_allclose(1, 1)\n"
        "def test_d():\n    with pytest.raises(OSError):\n        time.perf_counter()\n"
    )
    assert cannot_fail([bad]) == ["test_bad.py: test_b"]
    assert wall_times(bad) == [14]


def kept_by_others(path):
    """What a file takes from another of the tests though its name begins with an underscore."""
    imports = [node for node in ast.walk(tree(path)) if isinstance(node, ast.ImportFrom)]
    ours = [node for node in imports if (node.module or "").split(".")[0] == "tests"]
    return [alias.name for node in ours for alias in node.names if alias.name.startswith("_")]


@pytest.mark.parametrize("path", TESTS, ids=name)
def test_no_test_takes_what_another_keeps_to_itself(path):
    assert kept_by_others(path) == []


def test_a_test_without_a_window_loads_no_window_for_the_fixtures_of_others():
    code = (
        "import sys; sys.path.insert(0, ''); import tests.conftest, tests.fixtures; "
        "print(*sorted(m for m in sys.modules if m.split('.')[0] in ('PySide6', 'pyqtgraph', 'app')))"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.split() == []


def test_the_top_level_holds_only_what_a_newcomer_expects():
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text(encoding="utf-8").split()]
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert there - TOP_LEVEL - set(ignored) - {p.name for p in ROOT.glob("*.egg-info")} == set()


def test_the_searches_below_find_files():
    assert {"app", "geometry", "sample_chassis"} == {name(path).split("/")[0] for path in SHIPPED}
    assert len(TESTS) > 10


@pytest.mark.parametrize("path", [*SHIPPED, *STARTER, *TESTS], ids=name)
def test_each_file_is_short_enough_to_read_in_one_sitting(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES_OF_A_FILE


@pytest.mark.parametrize("path", [*SHIPPED, *STARTER], ids=name)
def test_each_function_fits_on_a_screen(path):
    assert long_functions(path) == []


@pytest.mark.parametrize("path", [*SHIPPED, *STARTER], ids=name)
def test_no_handler_catches_everything(path):
    assert too_wide(path) == []


@pytest.mark.parametrize("path", SHIPPED, ids=name)
def test_units_are_turned_in_one_place(path):
    assert not turns_degrees(path) or name(path) in TURNS_DEGREES
    assert not turns_inches(path) or name(path) in TURNS_INCHES


@pytest.mark.parametrize("path", SHIPPED, ids=name)
def test_each_module_says_what_it_is_for(path):
    assert ast.get_docstring(tree(path)) or path.read_text(encoding="utf-8").strip() == ""


@pytest.mark.parametrize("path", [*SHIPPED, *STARTER, *TESTS], ids=name)
def test_no_path_of_one_machine_is_written_down(path):
    # Put together here, so that this file does not hold what it looks for.
    places = "|".join(["/work" + "/", "/home" + "/", "/Users" + "/", "/root" + "/"])
    assert re.findall(places, path.read_text(encoding="utf-8")) == []


def test_how_hard_the_tests_try_is_read_in_one_place():
    word = "AXLEWRIGHT" + "_LONG"
    readers = [path for path in TESTS if f'environ.get("{word}"' in path.read_text(encoding="utf-8")]
    assert [name(path) for path in readers] == ["tests/effort.py"]


def test_the_searches_find_what_they_look_for(tmp_path):
    bad = tmp_path / "bad.py"
    bad.write_text(
        "import math\n"
        "def f():\n    try:\n        pass\n    except (ValueError, Exception):\n        pass\n"
        "try:\n    pass\nexcept BaseException:\n    raise\n"
        "x = math.degrees(1)\ny = 2 * 25.4\n"
    )
    assert too_wide(bad) == [5]
    assert turns_degrees(bad)
    assert turns_inches(bad)
    bad.write_text("import time\nfrom time import monotonic\nstart = time.perf_counter()\n")
    assert wall_times(bad)
    bad.write_text("from tests.windows import KEYS, _late\nfrom app.units import _of_the_program\n")
    assert kept_by_others(bad) == ["_late"]
    factor = tmp_path / "factor.py"
    factor.write_text("import math\nz = 1 * (math.pi / 180)\n")
    assert turns_degrees(factor)
    good = tmp_path / "good.py"
    good.write_text("import math\nx = math.tau / 2\ntry:\n    y = 1\nexcept ValueError:\n    y = 180\n")
    assert (too_wide(good), turns_degrees(good), turns_inches(good)) == ([], False, False)


def test_the_readme_opens_with_one_paragraph_and_the_two_commands():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    title, paragraph, *_ = text.split("\n\n")
    assert title == "# Axlewright"
    assert paragraph.startswith("Axlewright ")
    assert "`python3 .start`" in text
    assert "`python3 .start tests`" in text


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", ".github/CONTRIBUTING.md"])
def test_each_file_that_the_pages_show_exists(page):
    text = (ROOT / page).read_text(encoding="utf-8")
    links = [link for link in re.findall(r"\]\(([^)#]+)\)", text) if "://" not in link]
    assert [link for link in links if not ((ROOT / page).parent / link).exists()] == []


@pytest.mark.parametrize("package", ["app", "geometry"])
def test_the_map_names_every_room(package):
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = [path for path in (ROOT / package).iterdir() if not path.name.startswith("__")]
    names = {path.name + "/" * path.is_dir() for path in rooms if path.is_dir() or path.suffix == ".py"}
    assert {room for room in names if f"`{room}`" not in text} == set()


def test_the_readme_and_the_check_name_the_same_libraries():
    from app import qt_check

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (line,) = re.findall(r"sudo apt install (.+)", text)
    known = {library.debian for library in qt_check.CORE + qt_check.XCB}
    assert set(line.split()) <= known
    assert "libxcb-cursor0" in line.split()


def test_no_part_is_asked_for_in_one_version_only():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    groups = [project["dependencies"], *project["optional-dependencies"].values()]
    assert [part for group in groups for part in group if "==" in part] == []


def test_every_example_in_a_docstring_is_run():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    places = [ROOT / place for place in project["tool"]["pytest"]["ini_options"]["testpaths"]]
    with_examples = [path for path in SHIPPED if ">>> " in path.read_text(encoding="utf-8")]
    assert len(with_examples) > 5
    unrun = [path for path in with_examples if not any(path.is_relative_to(place) for place in places)]
    assert [name(path) for path in unrun] == []
