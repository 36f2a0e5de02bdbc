"""Who knows a loop type by its name: the rooms that are its own, and nobody else."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from sources import nodes, trees

import siteplan
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import loop_types

ROOT = Path(siteplan.__file__).parent
OWN = (
    "vocabulary/loop_types.py",
    "site/loop_options.py",
    "site/options/",
    "available/ground.py",
    "layout/",
    "design/loop_types.py",
    "sheet/details/",
)
"""Where a loop type has what is its own: facts, options, ground, engine, record, detail."""


def names_compared(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Lines that compare something with the name of a loop type, which may be a kind elsewhere."""
    names = tuple(loop_types())
    for node in nodes(tree):
        if isinstance(node, ast.Compare):
            asked, parts = node.left, [node.left, *node.comparators]
        elif isinstance(node, ast.Match):
            asked, parts = node.subject, [case.pattern for case in node.cases]
        else:
            continue
        # a feature may be a pond
        of_a_kind = isinstance(asked, ast.Attribute) and asked.attr == "kind"
        for part in parts:
            for inner in ast.walk(part):
                name = getattr(inner, "value", None)
                if name in names and not (of_a_kind and name in kinds()):
                    yield node.lineno, str(name)


def names_given(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Lines that hand on the name of a loop type which is the name of nothing else."""
    words = set(loop_types()) - set(kinds()) - {"open"}
    for node in nodes(tree):
        if isinstance(node, ast.Constant) and node.value in words:
            yield node.lineno, str(node.value)


def strangers() -> Iterator[tuple[Path, ast.Module]]:
    for path, tree in trees():
        if not path.relative_to(ROOT).as_posix().startswith(OWN):
            yield path, tree


def test_nobody_else_asks_for_the_name_of_a_loop_type() -> None:
    for path, tree in strangers():
        told = [*names_compared(tree), *names_given(tree)]
        assert told == [], path.relative_to(ROOT)


@pytest.mark.parametrize(
    ("code", "told"),
    [
        ('layout.system == "pond"', [(1, "pond")]),
        ('system in ("horizontal", "open")', [(1, "horizontal"), (1, "open")]),
        ('match system:\n    case "open":\n        pass', [(1, "open")]),
        ('feature.kind == "pond"', []),
        ('site.of_kind("pond")', []),
    ],
)
def test_the_guard_sees_a_comparison(code: str, told: list[tuple[int, str]]) -> None:
    assert list(names_compared(ast.parse(code))) == told
