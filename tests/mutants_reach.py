"""Which tests could see an alteration of a module: found by walking the imports, not by fixed names."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grimp import ImportGraph

ROOT = Path(__file__).resolve().parents[1]


@cache
def _imports() -> ImportGraph:
    """All imports among program and tests, those within functions too."""
    import grimp  # a developer's tool, which those who only run the tests need not have

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


def own_tests(path: Path) -> list[Path]:
    """The tests of a file: its examples, then the tests that bear its name. There may be none.

    Names are looked up in the folder that mirrors the file's own. ``test_as_built_drives.py`` belongs
    to ``as_built.py``, unless there is an ``as_built_drives.py``.
    """
    examples = [path] if ">>> " in path.read_text(encoding="utf-8") else []
    stems = {sibling.stem for sibling in path.parent.glob("*.py")}

    def owner(test: Path) -> str:
        name = test.stem.removeprefix("test_")
        fits = [stem for stem in stems if name == stem or name.startswith(f"{stem}_")]
        return max(fits, key=len, default="")

    named = [test for test in sorted(_mirror(path).glob("test_*.py")) if owner(test) == path.stem]
    return examples + [test for test in named if module_of(test) in windowless_tests()]


def wider_tests(path: Path) -> list[Path]:
    """All other windowless tests that reach a file: by the fewest imports, then in the nearest folder."""
    graph, module, own, mirror = _imports(), module_of(path), own_tests(path), _mirror(path)

    def distance(test: Path) -> tuple[int, int, Path]:
        chain = graph.find_shortest_chain(module_of(test), module)
        shared = sum(a == b for a, b in zip(test.parts, mirror.parts, strict=False))
        return len(chain or ()), -shared, test

    reaching = windowless_tests() & graph.find_downstream_modules(module)
    return sorted({path_of(name) for name in reaching} - set(own), key=distance)


def _mirror(path: Path) -> Path:
    return ROOT / "tests" / path.relative_to(ROOT).parent
