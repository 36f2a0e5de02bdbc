"""The package's own code as trees, each file read once in a process."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import siteplan

ROOT = Path(siteplan.__file__).parent


@cache
def trees() -> tuple[tuple[Path, ast.Module], ...]:
    """Every module of the package with its syntax tree, in the order of their paths."""
    paths = sorted(ROOT.rglob("*.py"))
    return tuple((path, ast.parse(path.read_text(encoding="utf-8"))) for path in paths)


def nodes(tree: ast.AST) -> list[ast.AST]:
    """Every node of a tree, looked for once however many tests go through them."""
    found: list[ast.AST] | None = getattr(tree, "_nodes", None)
    if found is None:
        found = tree._nodes = list(ast.walk(tree))  # type: ignore[attr-defined]
    return found
