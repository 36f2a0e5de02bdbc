"""How many slips of one token the nearest tests notice: ``mutation.py [--number 150] [--seed 1]``.

    python tests/benchmarks/mutation.py [--number 150] [--seed 1] [--jobs 2] [--log FILE]
        [--within geometry checks ...] [--only NUMBER ...] [--seconds 60] [--map FILE]

One token of one line of the package is changed (a comparison, an operator, a figure, a sense), in
memory alone (``trials.py``), and the tests nearest to its file are run on it: its own doctests, the
tests that bear its name, those that import it, those of its folder, those that import what imports
it. With a map of which test file runs which line (``--map``, made by ``executed.py``) the nearest
are those that run the very line, those that bear its name or import it before others, then those
of its room, the quickest first, as many as take half of the time together: a test that does not
run a line cannot notice it. Each room gives as many changes as every other, so that a small one
that decides is heard like a large engine; which lines are changed follows from the seed alone.
Noticed is what makes a test fail that passes on the unchanged package, or keeps one test alone
busy for so long that ends unchanged. What nobody noticed is printed with its number, its line
before and after, and the tests that were run; the exit code is 1 where less than nine in ten were
noticed. The log keeps what was done, so that a run can be stopped and go on.

Left out is what changes no behaviour that anybody could ask for: annotations and aliases of types;
decorators (a frozen record, the size of a cache); the package's guards against itself (``assert``,
``strict=`` of zip); a power of ten up to a thousandth (``1e-9``: slack for rounding, whose size
nobody may rely on). Figures that tune an engine stand in a table and not in the code. Between
two measured quantities no lot brings about equality, and the tolerance decides about it: there a
comparison is turned round (``<`` becomes ``>``), not moved by its edge (``<`` becomes ``<=``) as
it is where whole numbers or zero are compared (``1e4`` and ``2.0`` are measures, ``2`` is a count).
"""

from __future__ import annotations

import argparse
import ast
import importlib
import json
import random
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any, Final

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(Path(__file__).parent))

from nearest import files, nearest_tests, running  # noqa: E402
from trials import Trial, try_all  # noqa: E402

ROOMS: Final = ("geometry", "checks", "demand", "rules", "layout", "export", "quantities")
MOST_SECONDS: Final = 60
PRELOADED: Final = ("scipy.optimize", "scipy.spatial", "scipy.sparse", "shapely", "ezdxf", "pytest")
"""Imported once and not for every change."""
LEAST_FIGURE: Final = 1e-3
TURNED: Final = {ast.Lt: ">", ast.LtE: ">", ast.Gt: "<", ast.GtE: "<"}
COMPARED: Final = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.Is: "is not", ast.IsNot: "is", ast.In: "not in", ast.NotIn: "in",
}  # fmt: skip
WORKED: Final = {
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.FloorDiv: "*", ast.Mod: "*",
    ast.Pow: "*", ast.BitAnd: "|", ast.BitOr: "&",
}  # fmt: skip
CALLED: Final = {
    "min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor",
    "sin": "cos", "cos": "sin", "union": "intersection", "intersection": "union",
    "covers": "intersects", "minimum": "maximum", "maximum": "minimum", "argmin": "argmax",
}  # fmt: skip


@dataclass(frozen=True)
class Change:
    """A piece of one line of a file, and what takes its place."""

    path: Path
    line: int
    start: int
    end: int
    becomes: str

    def of(self, text: str) -> str:
        """The file's text with the change."""
        lines = text.splitlines(keepends=True)
        raw = lines[self.line - 1].encode()
        lines[self.line - 1] = (
            raw[: self.start] + self.becomes.encode() + raw[self.end :]
        ).decode()
        return "".join(lines)


def main() -> int:
    """Exit code: 1 where less than nine in ten changes were noticed."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--number", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--log", type=Path)
    parser.add_argument("--seconds", type=int, default=MOST_SECONDS, help="for one change")
    parser.add_argument("--within", nargs="+", default=list(ROOMS))
    parser.add_argument("--only", nargs="+", type=int)
    parser.add_argument("--map", type=Path, help="which test file runs which line")
    arguments = parser.parse_args()
    chosen = dict(enumerate(_chosen(arguments.within, arguments.number, arguments.seed)))
    if arguments.only:
        chosen = {number: chosen[number] for number in arguments.only}
    with tempfile.TemporaryDirectory() as scratch:
        log = arguments.log or Path(scratch) / "log"
        keys = {number: f"{arguments.seed}/{number}" for number in chosen}
        known = json.loads(arguments.map.read_text("utf-8")) if arguments.map else {}
        done = _read(log)
        trials = {
            number: _trial(number, change, known, arguments.seconds / 2)
            for number, change in chosen.items()
            if keys[number] not in done
        }

        def tell(number: int, failed: str | None) -> None:
            _log(log, keys[number], noticed=failed is not None)
            _tell(number, chosen[number], failed, trials[number].tests)

        for library in PRELOADED:
            importlib.import_module(library)
        try_all(list(trials.values()), tell, seconds=arguments.seconds, jobs=arguments.jobs)
        done = _read(log)
    tried = [done[key] for key in keys.values() if key in done]
    share = sum(tried) / max(len(tried), 1)
    print(f"seed {arguments.seed}: {sum(tried)} of {len(tried)} noticed, {share:.0%}")
    return 0 if share >= 0.9 and len(tried) == len(keys) else 1


def _trial(number: int, change: Change, known: dict[str, Any], seconds: float) -> Trial:
    text = change.path.read_text(encoding="utf-8")
    tests = running(change.path, change.line, known, seconds) or nearest_tests(change.path)
    return Trial(number, change.path, text, change.of(text), tests)


def _chosen(rooms: list[str], number: int, seed: int) -> list[Change]:
    """Changes by the seed, room by room in turn; more of them begin with the same."""
    shuffled = []
    for room in rooms:
        every = [change for path in files(f"siteplan/{room}") for change in changes_of(path)]
        random.Random(f"{seed}/{room}").shuffle(every)
        shuffled.append(every)
    in_turn = chain.from_iterable(zip_longest(*shuffled))
    return [change for change in in_turn if change is not None][:number]


def changes_of(path: Path) -> list[Change]:
    """Every change that a file allows, in the order of its lines."""
    text = path.read_text(encoding="utf-8")
    lines = [line.encode() for line in text.splitlines()]
    found = []
    for node in ast.walk(_Behaviour().visit(ast.parse(text))):
        found += [change for change in _at(node, path, lines) if change.of(text) != text]
    return sorted(set(found), key=lambda one: (one.line, one.start, one.becomes))


class _Behaviour(ast.NodeTransformer):
    """A module without what changes no behaviour: see the docstring of this file."""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns = None
        node.decorator_list = []
        return self.generic_visit(node)

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.AST:
        node.decorator_list = []
        return self.generic_visit(node)

    def visit_arg(self, node: ast.arg) -> ast.AST:
        node.annotation = None
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST | None:
        return None if node.value is None else self.visit(node.value)

    def visit_Assert(self, node: ast.Assert) -> None:  # noqa: ARG002
        return None

    def visit_keyword(self, node: ast.keyword) -> ast.AST | None:
        return None if node.arg == "strict" else self.generic_visit(node)

    def visit_Module(self, node: ast.Module) -> ast.AST:
        node.body = [line for line in node.body if not _names_types(line)]
        return self.generic_visit(node)


def _names_types(line: ast.stmt) -> bool:
    return isinstance(getattr(getattr(line, "value", None), "op", None), ast.BitOr)


def _at(node: ast.AST, path: Path, lines: list[bytes]) -> Iterator[Change]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        moved = COMPARED[type(node.ops[0])]
        becomes = moved if _counted(node) else TURNED.get(type(node.ops[0]), moved)
        yield from _between(node.left, node.comparators[0], becomes, path, lines)
    elif isinstance(node, ast.BinOp) and type(node.op) in WORKED:
        yield from _between(node.left, node.right, WORKED[type(node.op)], path, lines)
    elif isinstance(node, ast.BoolOp):
        becomes = "or" if isinstance(node.op, ast.And) else "and"
        yield from _between(node.values[0], node.values[1], becomes, path, lines)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        width = 4 if isinstance(node.op, ast.Not) else 1
        yield Change(path, node.lineno, node.col_offset, node.col_offset + width, "")
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
        yield from _figure(node, path, lines)
    elif isinstance(node, ast.Call):
        yield from _call(node.func, path)


def _counted(node: ast.Compare) -> bool:
    """Whether a comparison is with zero, another whole number, or a count of things."""
    return any(
        (isinstance(side, ast.Constant) and (isinstance(side.value, int) or not side.value))
        or (isinstance(side, ast.Call) and getattr(side.func, "id", "") == "len")
        for side in (node.left, node.comparators[0])
        if not (isinstance(side, ast.Constant) and not isinstance(side.value, (int, float)))
    )


def _figure(node: ast.Constant, path: Path, lines: list[bytes]) -> Iterator[Change]:
    value = node.value
    assert isinstance(value, (int, float))
    if node.lineno != node.end_lineno or node.end_col_offset is None:
        return
    written = lines[node.lineno - 1][node.col_offset : node.end_col_offset]
    if written.startswith(b"1e-") and value <= LEAST_FIGURE:
        return
    if isinstance(value, bool):
        other = not value
    else:
        other = value + 1 if isinstance(value, int) else value * 1.1 or 1.0
    yield Change(path, node.lineno, node.col_offset, node.end_col_offset, repr(other))


def _call(name: ast.expr, path: Path) -> Iterator[Change]:
    said = name.id if isinstance(name, ast.Name) else getattr(name, "attr", "")
    if said in CALLED and name.end_lineno is not None and name.end_col_offset is not None:
        end = name.end_col_offset
        yield Change(path, name.end_lineno, end - len(said), end, CALLED[said])


def _between(
    left: ast.expr, right: ast.expr, becomes: str, path: Path, lines: list[bytes]
) -> Iterator[Change]:
    """The sign between two expressions of one line, brackets aside."""
    if left.end_lineno != right.lineno or left.end_col_offset is None:
        return
    start, end = left.end_col_offset, right.col_offset
    between = lines[right.lineno - 1][start:end].decode()
    sign = between.strip(" ()")
    if sign:
        at = start + between.index(sign)
        yield Change(path, right.lineno, at, at + len(sign), becomes)


def _tell(number: int, change: Change, failed: str | None, tests: Sequence[str]) -> None:
    where = f"{change.path.relative_to(ROOT)}:{change.line}"
    if failed:
        print(f"{number}: noticed, {where}, by {failed}", flush=True)
        return
    text = change.path.read_text(encoding="utf-8")
    before, after = (t.splitlines()[change.line - 1].strip() for t in (text, change.of(text)))
    print(
        f"{number}: NOT noticed, {where}\n    {before}\n    {after}\n    {' '.join(tests)}",
        flush=True,
    )


def _read(log: Path) -> dict[str, bool]:
    if not log.exists():
        return {}
    return dict(map(json.loads, log.read_text(encoding="utf-8").splitlines()))


def _log(log: Path, key: str, *, noticed: bool) -> None:
    with log.open("a", encoding="utf-8") as file:
        file.write(json.dumps([key, noticed]) + "\n")


if __name__ == "__main__":
    sys.exit(main())
