"""The package's layout: imports go downward, outside libraries have rooms, files stay small."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "planner"

ROWS = (
    {"units", "errors", "demo_data", "__init__"},
    {"numerics"},
    {"ball"},
    {"course"},
    {"golfer"},
    {"strategy"},
    {"report", "store"},
    {"planning"},
    {"page", "benchmark", "acceptance"},
    {"cli"},
)
"""From the lowest row to the highest; a part imports from rows below it and from itself."""

LIBRARY_ROOMS = {
    "altair": ("page", "report"),
    "dask": ("planning",),
    "distributed": ("planning",),
    "contourpy": ("report",),
    "geopandas": ("course",),
    "numba": ("numerics", "strategy"),
    "pyproj": ("acceptance", "course"),
    "reportlab": ("report",),
    "quantecon": ("acceptance",),
    "rich": ("benchmark", "cli", "report"),
    "sklearn": ("acceptance",),
    "sqlalchemy": ("store",),
    "sqlite3": ("store",),
    "streamlit": ("page",),
    "tomlkit": ("golfer",),
    "tomllib": ("acceptance", "golfer"),
    "typer": ("cli",),
}
"""Libraries that only some parts may know."""

FILES_AND_CRS = {"geopandas", "io", "json", "os", "pathlib", "pyproj", "sqlite3", "tomllib"}
"""What strategy must not reach, not even through what it imports."""

GOLF_WORDS = re.compile(
    r"\b(golf\w*|clubs?|balls?|fairways?|greens?|bunkers?|tees?|putt\w*|swings?|shots?|strokes?"
    r"|penalt\w+|handicaps?|bogey|carry|dogleg|caddie|par|pin)\b",
    re.IGNORECASE,
)
MAX_LINES = 500
VAGUE_NAMES = {"utils", "util", "common", "core", "helpers", "helper", "misc", "tools"}
ROOT_ENTRIES = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "app.py",
    "planner",
    "tests",
    "courses_demo",
    ".ci",
    ".gitignore",
    ".streamlit",
}


def module_files() -> dict[str, Path]:
    """Files of the package by module name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(part for part in parts if part != "__init__") or "planner"] = path
    return found


MODULES = module_files()


def part_of(module: str) -> str:
    """Part of the package a module belongs to."""
    names = module.split(".")
    if len(names) == 1:
        return "__init__"
    return names[1]


def row_of(module: str) -> int:
    """Row of a module, 0 the lowest."""
    return next(row for row, parts in enumerate(ROWS) if part_of(module) in parts)


@cache
def imports_of(module: str) -> frozenset[str]:
    """Every module imported anywhere in a module, as full names."""
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    return frozenset(_imported(tree))


def _imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide the row they reach"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield whole if whole in MODULES else str(node.module)


def inner_imports(module: str) -> set[str]:
    """Modules of this package that a module imports."""
    return {name for name in imports_of(module) if name in MODULES}


def test_every_module_stands_in_a_row() -> None:
    parts = set().union(*ROWS)
    assert {module for module in MODULES if part_of(module) not in parts} == set()


def test_imports_name_modules_that_exist() -> None:
    unknown = {
        (module, name)
        for module in MODULES
        for name in imports_of(module)
        if name.split(".")[0] == "planner" and name not in MODULES
    }
    assert unknown == set()


def test_imports_go_downward() -> None:
    upward = [
        f"{module} imports {name}"
        for module in MODULES
        for name in inner_imports(module)
        if part_of(module) != part_of(name) and row_of(name) >= row_of(module)
    ]
    assert upward == []


def test_there_is_no_cycle() -> None:
    open_modules: list[str] = []
    done: set[str] = set()

    def visit(module: str) -> None:
        assert module not in open_modules, " -> ".join([*open_modules, module])
        if module in done:
            return
        open_modules.append(module)
        for name in sorted(inner_imports(module)):
            visit(name)
        open_modules.pop()
        done.add(module)

    for module in MODULES:
        visit(module)
    assert done == set(MODULES)


@pytest.mark.parametrize("library", sorted(LIBRARY_ROOMS))
def test_library_stays_in_its_room(library: str) -> None:
    outside = [
        module
        for module in MODULES
        if library in {name.split(".")[0] for name in imports_of(module)}
        and part_of(module) not in LIBRARY_ROOMS[library]
    ]
    assert outside == []


def test_only_one_module_changes_coordinate_systems() -> None:
    users = {module for module in MODULES if "pyproj" in imports_of(module)}
    # Checked against geodesics there, which needs no coordinate system.
    assert users - {"planner.acceptance.other_libraries"} == {"planner.course.projection"}


def test_strategy_reaches_no_file_and_no_coordinate_system() -> None:
    reached = {module for module in MODULES if part_of(module) == "strategy"}
    waiting = sorted(reached)
    while waiting:
        for name in inner_imports(waiting.pop()) - reached:
            reached.add(name)
            waiting.append(name)
    touching = {
        (module, name)
        for module in reached
        for name in imports_of(module)
        if name.split(".")[0] in FILES_AND_CRS
    }
    assert touching == set()
    opening = [
        module for module in reached if re.search(r"(?<![\w.])open\(", MODULES[module].read_text())
    ]
    assert opening == []


def test_numerics_knows_no_golf() -> None:
    words = {
        (module, match.group(0))
        for module, path in MODULES.items()
        if part_of(module) == "numerics"
        for match in GOLF_WORDS.finditer(path.read_text(encoding="utf-8"))
    }
    assert words == set()


def test_files_stay_small() -> None:
    paths = [*MODULES.values(), ROOT / "app.py"]
    counts = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in paths
    }
    assert {name: count for name, count in counts.items() if count > MAX_LINES} == {}


def test_no_module_has_a_vague_name() -> None:
    names = {name for module in MODULES for name in module.split(".")}
    assert names & VAGUE_NAMES == set()


def test_root_holds_only_what_was_agreed() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    entries = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert entries <= ROOT_ENTRIES
