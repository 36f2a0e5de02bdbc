"""The module table: imports point down, third parties are fenced, names are public and sorted."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import places
import pytest
from sources import nodes, trees

import siteplan

ROOT = Path(siteplan.__file__).parent
MODULES = sorted(ROOT.rglob("*.py"))

ROW = re.compile(r"^\| (\d+) \| (`[^|]+`) \|", re.MULTILINE)
"""A row of the table of rooms in DEVELOPERS.md: level, and the rooms that stand on it."""

SUBROOMS = {
    "geometry": ("tolerance", "offset", "distance", "points", "lines", "ways"),
    "site": ("model", "options", "readers"),
    "layout": ("elements", "model", "header", "piping", "trenches", "bores"),
    "sheet": (
        "marks",
        "model",
        "style",
        "content",
        "place",
        "plan_view",
        "tables",
        "details",
        "pages",
    ),
}  # fmt: skip
"""Rooms within rooms, from the ground up: each imports only those before it."""


def levels() -> dict[str, int]:
    """Level of each room, as DEVELOPERS.md says."""
    text = (places.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return {
        room.removesuffix("/").removesuffix(".py"): int(level)
        for level, rooms in ROW.findall(text)
        for room in re.findall(r"`([^`]+)`", rooms)
    }


LEVELS = levels()

WEB = {
    f"siteplan.web.{name}"
    for name in ("app", "document", "guard", "intake", "own_rules", "serve", "session", "written")
}
"""The server and what it changes."""

FENCES = {
    "pyproj": {"siteplan.site.frame", "siteplan.site.likely_systems"},
    "geopandas": {"siteplan.site.readers.geodata", "siteplan.site.readers.geoparquet"},
    "pyarrow": {"siteplan.screening.parquet", "siteplan.site.readers.geoparquet"},
    "pyogrio": {
        "siteplan.screening.outputs",
        "siteplan.screening.parquet",
        "siteplan.screening.sources",
        "siteplan.site.readers.geodata",
    },
    "ezdxf": {
        "siteplan.audit.drawing",
        "siteplan.export.drawing.document",
        "siteplan.export.drawing.items",
        "siteplan.export.drawing.layouts",
        "siteplan.export.drawing.texts",
        "siteplan.export.dxf",
        "siteplan.site.readers.dxf_curves",
        "siteplan.site.readers.survey_dxf",
    },
    "matplotlib": {
        "siteplan.export.county_map",
        "siteplan.export.curve",
        "siteplan.export.fonts",
        "siteplan.export.picture",
    },
    "PIL": set(),
    "reportlab": {"siteplan.export.pdf"},
    "rich": {
        "siteplan.cli.county_bar",
        "siteplan.cli.length",
        "siteplan.cli.report",
        "siteplan.cli.rules",
    },
    "fluids": {"siteplan.hydraulics.friction"},
    "dask": set(),
    "distributed": {"siteplan.screening.cluster"},
    "numba": {"siteplan.screening.compiled"},
    "pypdf": set(),
    "starlette": WEB,
    "uvicorn": WEB,
    "tomlkit": WEB,
    "websockets": set(),
}


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module: str) -> str:
    """Room of a module: the folder or file below ``siteplan``; the package itself is the door."""
    return module.split(".")[1] if "." in module else "__init__"


@cache
def imports_of(path: Path) -> tuple[str, ...]:
    found: list[str] = []
    for node in nodes(dict(trees())[path]):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
    return tuple(found)


def test_the_table_of_rooms_names_every_room_and_no_other() -> None:
    rooms = {path.stem for path in ROOT.iterdir() if path.suffix == ".py" or path.is_dir()}
    assert set(LEVELS) == rooms - {"__pycache__", "py"}


def all_imports() -> Iterator[tuple[str, str]]:
    """Each module with each that it imports."""
    return ((name_of(path), imported) for path in MODULES for imported in imports_of(path))


def goes_down(module: str, imported: str) -> bool:
    room, other = room_of(module), room_of(imported)
    if imported.split(".", maxsplit=1)[0] != "siteplan" or room in (other, "__init__"):
        return True
    # the version and the public names: the door is open to whoever stands above it
    return LEVELS[other] < LEVELS[room] or imported == "siteplan"


def test_imports_go_to_rooms_on_lower_levels() -> None:
    assert [pair for pair in all_imports() if not goes_down(*pair)] == []
    assert not goes_down("siteplan.geometry.offset", "siteplan.site.model")


@pytest.mark.parametrize("room", SUBROOMS)
def test_imports_within_a_room_go_to_rooms_before(room: str) -> None:
    order = SUBROOMS[room]
    for path in (ROOT / room).rglob("*.py"):
        here = path.relative_to(ROOT / room).with_suffix("").parts[0]
        for imported in imports_of(path):
            parts = imported.split(".")
            if parts[:2] != ["siteplan", room] or here not in order or parts[2] == here:
                continue
            if parts[2] in order:
                assert order.index(parts[2]) < order.index(here), f"{path} imports {imported}"


def test_the_table_names_rooms_within_a_room_in_the_order_of_imports() -> None:
    text = (places.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room, order in SUBROOMS.items():
        (row,) = (line for line in text.splitlines() if re.match(rf"\| \d+ \| `{room}/` ", line))
        named = [name for name in re.findall(r"`(\w+)/`", row) if name != room]
        assert named == [name for name in order if (ROOT / room / name).is_dir()]


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


def is_fenced_off(module: str, imported: str) -> bool:
    fence = FENCES.get(imported.split(".", maxsplit=1)[0])
    return fence is not None and module not in fence


def test_third_parties_stay_behind_their_fence() -> None:
    assert [pair for pair in all_imports() if is_fenced_off(*pair)] == []
    assert is_fenced_off("siteplan.geometry.offset", "ezdxf.math")


def test_the_checks_know_neither_the_engines_nor_their_areas() -> None:
    values = {
        "siteplan.layout.elements",
        "siteplan.layout.model",
        "siteplan.layout.outfall",
        "siteplan.layout.pit",
        "siteplan.layout.piping_model",
    }
    engines = {name_of(p) for p in (ROOT / "layout").rglob("*.py")} - values
    for path in (ROOT / "checks").rglob("*.py"):
        forbidden = {"siteplan.available.area", *engines} - {"siteplan.layout"}
        assert not forbidden & set(imports_of(path))


def test_public_names_are_sorted_and_load() -> None:
    assert sorted(siteplan.__all__) == siteplan.__all__
    for name in siteplan.__all__:
        assert getattr(siteplan, name) is not None


def lines_of_code(node: ast.FunctionDef | ast.AsyncFunctionDef, lines: list[str]) -> int:
    """Lines of a function's body without its docstring, comments and empty lines."""
    documented = ast.get_docstring(node) is not None
    first = node.body[1 if documented and len(node.body) > 1 else 0].lineno
    written = (line.strip() for line in lines[first - 1 : node.end_lineno])
    return sum(bool(line) and not line.startswith("#") for line in written)


def test_files_and_functions_stay_short() -> None:
    long = []
    for path, tree in trees():
        lines = path.read_text(encoding="utf-8").splitlines()
        long += [f"{name_of(path)}: {len(lines)} lines"] if len(lines) > 400 else []
        long += [
            f"{name_of(path)}.{node.name}"
            for node in nodes(tree)
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
            and lines_of_code(node, lines) > 40
        ]
    assert long == []


def test_one_fixture_starts_every_browser_so_that_its_mark_finds_all_that_need_one() -> None:
    tests = places.ROOT / "tests"
    library = "play" + "wright"
    named = [
        path for path in tests.rglob("*.py")
        if "benchmarks" not in path.parts and library in path.read_text(encoding="utf-8")
    ]  # fmt: skip
    assert named == [tests / "conftest.py"]
    ran = (places.ROOT / ".ci/run").read_text(encoding="utf-8")
    assert "pytest -n auto -m 'browser or thorough'" in ran
