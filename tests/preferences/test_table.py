"""Every preference is bound once, by the module and under the name that the table gives."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator

import pytest
from sources import ROOT, nodes, trees

from siteplan.preferences.table import (
    count_of,
    counts_of,
    figure_of,
    figures_of,
    preferences,
    preferences_in,
)

READERS = {function.__name__ for function in (count_of, counts_of, figure_of, figures_of)}


def asked() -> Iterator[tuple[str, str]]:
    """Module below ``siteplan`` and preference, for every place in the code that asks for one."""
    for path, tree in trees():
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        for node in nodes(tree):
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(node, ast.Call) and isinstance(called, ast.Name) and called.id in READERS:
                (name,) = node.args
                assert isinstance(name, ast.Constant), f"{module}: a name that is worked out"
                yield module, str(name.value)


def test_every_preference_is_bound_once_by_its_own_module() -> None:
    assert Counter(asked()) == Counter((name.rpartition(".")[0], name) for name in preferences())


def test_preferences_are_bound_when_a_module_is_loaded_and_not_when_it_works() -> None:
    for path, tree in trees():
        for function in nodes(tree):
            if isinstance(function, ast.FunctionDef):
                calls = (node.func for node in ast.walk(function) if isinstance(node, ast.Call))
                names = {name.id for name in calls if isinstance(name, ast.Name)}
                assert not names & READERS, f"{path}: {function.name}"


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("3", r"a\.b: write \{ value = \.\.\., for = "),
        ("{ value = 3 }", r"a\.b: write"),
        ('{ value = 3, for = "Tries.", unit = "m" }', r"a\.b: write"),
        ('{ value = 3, for = " " }', r"a\.b: say in one line what it is for"),
        ('{ value = "3", for = "Tries." }', r"a\.b: '3' is no number"),
        ('{ value = true, for = "Tries." }', r"a\.b: True is no number"),
        ('{ value = [], for = "Tries." }', r"a\.b: \[\] is no number"),
        ('{ value = [1, 2.0], for = "Tries." }', r"a\.b: \[1, 2\.0\] is no number"),
    ],
)
def test_a_row_that_is_no_preference_is_refused(row: str, fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        preferences_in(f"[a]\nb = {row}")


def test_a_preference_of_another_type_is_refused() -> None:
    with pytest.raises(TypeError, match="is no whole number"):
        count_of("layout.header.network.crossing_cost")
    with pytest.raises(TypeError, match="is no number with a decimal point"):
        figure_of("layout.block.blocks_routed")
    with pytest.raises(TypeError, match="one number where several are meant"):
        figures_of("layout.block.blocks_routed")
    with pytest.raises(TypeError, match="are no whole numbers"):
        counts_of("layout.bores.inclined.spreads")
    with pytest.raises(TypeError, match="have no decimal point"):
        figures_of("layout.windows.spare_columns")
