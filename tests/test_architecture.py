"""The module table: imports point down, third parties are fenced, names are public and sorted."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import siteplan

ROOT = Path(siteplan.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))

# Longest prefix wins. DEVELOPERS.md shows the same table.
LEVELS = {
    "siteplan.errors": 0,
    "siteplan.units": 0,
    "siteplan.heat_units": 0,
    "siteplan.reading": 1,
    "siteplan.geometry": 1,
    "siteplan.rules.model": 1,
    "siteplan.site.energy": 1,
    "siteplan.site.trench_kinds": 1,
    "siteplan.site.piping": 1,
    "siteplan.site.project": 1,
    "siteplan.site.machines": 1,
    "siteplan.site.model": 2,
    "siteplan.site.kinds": 2,
    "siteplan.layout.model": 2,
    "siteplan.layout.piping_model": 2,
    "siteplan.checks.model": 2,
    "siteplan.demand.model": 2,
    "siteplan.rules": 3,
    "siteplan.flow": 3,
    "siteplan.site": 4,
    "siteplan.access": 5,
    "siteplan.available": 5,
    "siteplan.demand": 5,
    "siteplan.frontage": 4,
    "siteplan.layout": 6,
    "siteplan.checks": 6,
    "siteplan.depth_remarks": 7,
    "siteplan.grounds": 7,
    "siteplan.joint_remarks": 7,
    "siteplan.attempt": 7,
    "siteplan.bore_remarks": 7,
    "siteplan.even_trenches": 7,
    "siteplan.more_pipe": 7,
    "siteplan.pipe_remarks": 7,
    "siteplan.pipe_summary": 8,
    "siteplan.pipe_words": 7,
    "siteplan.plausible": 7,
    "siteplan.remarks": 7,
    "siteplan.rig_remarks": 7,
    "siteplan.room_remarks": 7,
    "siteplan.requirements": 7,
    "siteplan.settling": 7,
    "siteplan.takeoff": 7,
    "siteplan.trial": 7,
    "siteplan.choice": 8,
    "siteplan.weighing": 8,
    "siteplan.sheet": 8,
    "siteplan.smaller_rig": 8,
    "siteplan.sensitivity": 8,
    "siteplan.length_study": 8,
    "siteplan.export": 9,
    "siteplan.summary": 9,
    "siteplan.plan": 10,
    "siteplan.audit": 10,
    "siteplan.cli": 11,
    "siteplan.__main__": 12,
    "siteplan": 12,
}

FENCES = {
    "pyproj": {"siteplan.site.frame"},
    "ezdxf": {"siteplan.audit.drawing", "siteplan.export.dxf"},
    "matplotlib": {"siteplan.export.curve", "siteplan.export.fonts", "siteplan.export.picture"},
    "PIL": {"siteplan.export.picture"},
    "reportlab": {"siteplan.export.pdf"},
    "rich": {"siteplan.cli.length", "siteplan.cli.report", "siteplan.cli.rules"},
    "fluids": {"siteplan.flow.pressure"},
    "pypdf": set(),
}


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def level_of(module: str) -> int:
    while module not in LEVELS:
        module = module.rpartition(".")[0]
    return LEVELS[module]


def imports_of(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_point_down_the_module_table(path: Path) -> None:
    module = name_of(path)
    for imported in imports_of(path):
        if imported.startswith("siteplan") and imported != "siteplan" and module != "siteplan":
            assert level_of(imported) <= level_of(module), f"{module} imports {imported}"


def test_imports_make_no_cycle() -> None:
    graph = {
        name_of(path): {name for name in imports_of(path) if name.startswith("siteplan.")}
        for path in MODULES
        if name_of(path) != "siteplan"
    }
    done: set[str] = set()

    def visit(module: str, trail: tuple[str, ...]) -> None:
        assert module not in trail, " -> ".join((*trail, module))
        if module not in done:
            for imported in graph.get(module, ()):
                visit(imported, (*trail, module))
            done.add(module)

    for module in graph:
        visit(module, ())
    assert done


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_third_parties_stay_behind_their_fence(path: Path) -> None:
    module = name_of(path)
    for imported in imports_of(path):
        fence = FENCES.get(imported.split(".")[0])
        assert fence is None or module in fence, f"{module} imports {imported}"


def test_the_checks_know_neither_the_engines_nor_their_areas() -> None:
    values = {"siteplan.layout.model", "siteplan.layout.piping_model"}
    engines = {name_of(p) for p in (ROOT / "layout").glob("*.py")} - values
    for path in (ROOT / "checks").glob("*.py"):
        forbidden = {"siteplan.available", *engines} - {"siteplan.layout"}
        assert not forbidden & set(imports_of(path))


def test_public_names_are_sorted_and_load() -> None:
    assert sorted(siteplan.__all__) == siteplan.__all__
    for name in siteplan.__all__:
        assert getattr(siteplan, name) is not None


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_files_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 400
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            assert (node.end_lineno or 0) - node.lineno <= 60, node.name
