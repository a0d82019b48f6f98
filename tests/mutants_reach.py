"""Which tests could see an alteration of a module: found by walking the imports, not by fixed names."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import grimp

if TYPE_CHECKING:
    from grimp import ImportGraph

ROOT = Path(__file__).resolve().parents[1]


@cache
def _imports() -> ImportGraph:
    """All imports among program and tests, those within functions too."""
    return grimp.build_graph("app", "geometry", "tests", include_external_packages=True, cache_dir=None)


def module_of(path: Path) -> str:
    """The dotted name of a file's module."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def path_of(module: str) -> Path:
    """The file of a module of the tests."""
    return ROOT.joinpath(*module.split(".")).with_suffix(".py")


@cache
def windowless_tests() -> frozenset[str]:
    """The modules of tests that load no window, without benchmarks."""
    graph = _imports()
    windows = graph.find_downstream_modules("PySide6")
    return frozenset(
        name
        for name in graph.modules
        if name.startswith("tests.")
        and name.rsplit(".", 1)[1].startswith("test_")
        and not name.startswith("tests.benchmarks.")
        and name not in windows
        and path_of(name).exists()  # a second checkout on the path adds its own to this namespace
    )


def tests_by_distance(module: str) -> list[tuple[int, str]]:
    """Every windowless test that reaches a module, by the number of imports between them."""
    graph = _imports()
    found = []
    for name in windowless_tests() & graph.find_downstream_modules(module):
        chain = graph.find_shortest_chain(name, module)
        assert chain is not None
        found.append((len(chain) - 1, name))
    return sorted(found)


def own_tests(path: Path) -> list[Path]:
    """The tests of a file, nearest thing first: its examples, then the tests that bear its name.

    Names are looked up in the folder that mirrors the file's own. ``test_as_built_drives.py`` belongs
    to ``as_built.py``, unless there is an ``as_built_drives.py``. Where no test bears the name, those
    are its own that reach the module by the fewest imports.
    """
    examples = [path] if ">>> " in path.read_text(encoding="utf-8") else []
    folder = ROOT / "tests" / path.relative_to(ROOT).parent
    stems = {sibling.stem for sibling in path.parent.glob("*.py")}
    windowless = windowless_tests()

    def owner(test: Path) -> str:
        name = test.stem.removeprefix("test_")
        fits = [stem for stem in stems if name == stem or name.startswith(f"{stem}_")]
        return max(fits, key=len, default="")

    named = [test for test in sorted(folder.glob("test_*.py")) if owner(test) == path.stem]
    named = [test for test in named if module_of(test) in windowless]
    if not named:
        reaching = tests_by_distance(module_of(path))
        named = [path_of(name) for far, name in reaching if far == reaching[0][0]]
    return examples + named


def wider_tests(path: Path) -> list[Path]:
    """All other windowless tests that reach a file, the nearest first."""
    own = own_tests(path)
    return [test for _, name in tests_by_distance(module_of(path)) if (test := path_of(name)) not in own]
