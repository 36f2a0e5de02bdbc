"""Which tests are nearest to a file of the package, or to one of its lines."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path
from typing import Any, Final

ROOT = Path(__file__).parents[2]
MOST_TESTS: Final = 4
"""So many test files are run on one change."""
MOST_MAPPED: Final = 16
"""And so many where a map tells which of them run the line."""


def nearest_tests(path: Path) -> list[str]:
    """A file's doctests, then test files by how near they are to it."""
    module = _module(path)
    parts = module.split(".")[1:]
    through = {_module(file) for file in files("siteplan") if module in _imported(file)}
    found = []
    for test in files("tests"):
        if "benchmarks" in test.parts or not test.name.startswith("test_"):
            continue
        there = test.relative_to(ROOT / "tests").with_suffix("").parts
        same = sum(1 for mine, its in zip(parts[:-1], there[:-1], strict=False) if mine == its)
        near = (
            bool(same) and there[-1] == f"test_{parts[-1]}",
            module in _imported(test),
            list(there[:-1]) == parts[:-1],
            bool(through & _imported(test)),
        )
        if any(near):
            found.append(([not one for one in near], -same, str(test.relative_to(ROOT))))
    return [str(path.relative_to(ROOT)), *(name for *_, name in sorted(found)[:MOST_TESTS])]


def running(path: Path, line: int, known: dict[str, Any], seconds: float) -> list[str]:
    """A file's doctests, then the test files that run a line, so many as take so long [s] together.

    Empty where none is known to run it.
    """
    name = str(path.relative_to(ROOT))
    module = _module(path)
    # what a process takes to start is paid once for all
    start = min((told["seconds"] for told in known.values()), default=0.0)
    # what stands outside of all functions runs at the import, and counts with whatever else runs
    inside = _in_a_function(path, line)
    ranked = []
    for test, told in known.items():
        ran = told["lines"].get(name, ())
        if not (line in ran if inside else ran):
            continue
        named = test.endswith(f"/test_{path.stem}.py")
        near = named or module in _imported(ROOT / test)
        # those of the room itself before those that come by it
        own = test.startswith(f"tests/{module.split('.')[1]}/")
        ranked.append((not near, not own, told["seconds"] - start, test))
    chosen: list[str] = []
    for _, _, takes, test in sorted(ranked):
        if takes <= seconds and len(chosen) < MOST_MAPPED:
            chosen.append(test)
            seconds -= takes
    return [name, *chosen] if ranked else []


def _in_a_function(path: Path, line: int) -> bool:
    return any(
        isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line <= (node.end_lineno or 0)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    )


@cache
def files(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


def _module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


@cache
def _imported(path: Path) -> frozenset[str]:
    """Modules that a file imports, also where it names them as parts of their package."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
    return frozenset(found)
