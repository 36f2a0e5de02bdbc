"""How many slips of one token the nearest tests notice: ``mutation.py [--number 150] [--seed 1]``.

    python tests/benchmarks/mutation.py [--number 150] [--seed 1] [--jobs 2] [--log FILE]
        [--within geometry checks ...] [--only NUMBER ...]

One token of one line of the package is changed (a comparison, an operator, a figure, a sense), in a
copy, and the tests nearest to its file are run on it: those that import the file, the closest by
folder first, and its own doctests. Noticed is what makes one of them fail or run for more than two
minutes. Which lines are changed follows from the seed alone. What nobody noticed is printed with
its number, its line before and after, and the tests that were run; the exit code is 1 where less
than nine in ten were noticed. The log keeps what was done, so that a run can be stopped and go on.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import Final

ROOT = Path(__file__).parents[2]
ROOMS: Final = ("geometry", "checks", "demand", "rules", "layout", "export", "quantities")
MOST_TESTS: Final = 8
"""So many test files are run on one change."""
MOST_SECONDS: Final = 120
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
    parser.add_argument("--within", nargs="+", default=list(ROOMS))
    parser.add_argument("--only", nargs="+", type=int)
    arguments = parser.parse_args()
    chosen = list(enumerate(_chosen(arguments.within, arguments.number, arguments.seed)))
    if arguments.only:
        chosen = [(number, change) for number, change in chosen if number in arguments.only]
    done = _read(arguments.log)
    copies: SimpleQueue[Path] = SimpleQueue()
    with tempfile.TemporaryDirectory() as scratch:
        for job in range(arguments.jobs):
            copies.put(_copied(Path(scratch) / f"copy-{job}"))

        def tried(item: tuple[int, Change]) -> bool:
            number, change = item
            if (key := f"{arguments.seed}/{number}") not in done:
                copy = copies.get()
                noticed, by = _noticed(change, copy)
                copies.put(copy)
                done[key] = noticed
                _log(arguments.log, key, noticed=noticed)
                _tell(number, change, noticed=noticed, by=by)
            return done[key]

        with ThreadPoolExecutor(arguments.jobs) as pool:
            noticed = list(pool.map(tried, chosen))
    share = sum(noticed) / max(len(noticed), 1)
    print(f"seed {arguments.seed}: {sum(noticed)} of {len(noticed)} noticed, {share:.0%}")
    return 0 if share >= 0.9 else 1


def _chosen(rooms: list[str], number: int, seed: int) -> list[Change]:
    """Changes by the seed: of every room as many as it has places, spread over its files."""
    every: list[Change] = []
    for room in rooms:
        for path in sorted((ROOT / "siteplan" / room).rglob("*.py")):
            every += changes_of(path)
    return random.Random(seed).sample(every, min(number, len(every)))


def changes_of(path: Path) -> list[Change]:
    """Every change that a file allows, in the order of its lines."""
    text = path.read_text(encoding="utf-8")
    lines = [line.encode() for line in text.splitlines()]
    found = []
    for node in ast.walk(_without_texts(ast.parse(text))):
        found += [change for change in _at(node, path, lines) if change.of(text) != text]
    return sorted(set(found), key=lambda one: (one.line, one.start, one.becomes))


def _without_texts(tree: ast.Module) -> ast.Module:
    """A module without imports and annotations, where no change has a meaning."""
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            node.returns = None
            for argument in ast.walk(node.args):
                if isinstance(argument, ast.arg):
                    argument.annotation = None
        if isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(value=None, lineno=1, col_offset=0)
    return tree


def _at(node: ast.AST, path: Path, lines: list[bytes]) -> Iterator[Change]:
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        becomes = COMPARED[type(node.ops[0])]
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
        yield from _figure(node, path)
    elif isinstance(node, ast.Call):
        yield from _call(node.func, path)


def _figure(node: ast.Constant, path: Path) -> Iterator[Change]:
    value = node.value
    assert isinstance(value, (int, float))
    if node.lineno != node.end_lineno or node.end_col_offset is None:
        return
    other = (
        not value if isinstance(value, bool) else value + 1 if type(value) is int else value * 1.1
    )
    yield Change(path, node.lineno, node.col_offset, node.end_col_offset, repr(other or 1.0))


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


def nearest_tests(path: Path) -> list[str]:
    """Test files that import a file, the closest by folder first; its doctests before them."""
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    parts = path.relative_to(ROOT / "siteplan").with_suffix("").parts
    found = []
    for test in sorted((ROOT / "tests").rglob("test_*.py")):
        if "benchmarks" in test.parts:
            continue
        imports = f"from {module} import" in test.read_text(encoding="utf-8")
        there = test.relative_to(ROOT / "tests").with_suffix("").parts
        same = sum(1 for mine, its in zip(parts[:-1], there[:-1], strict=False) if mine == its)
        named = there[-1] == f"test_{parts[-1]}"
        if imports or (named and same) or there[:-1] == parts[:-1]:
            found.append(((not named, not imports, -same, str(test)), test))
    tests = [str(test.relative_to(ROOT)) for _, test in sorted(found)][:MOST_TESTS]
    return [str(path.relative_to(ROOT)), *tests]


def _noticed(change: Change, copy: Path) -> tuple[bool, list[str]]:
    """Whether a test notices a change, and the tests that were run."""
    file = copy / change.path.relative_to(ROOT)
    text = change.path.read_text(encoding="utf-8")
    file.write_text(change.of(text), encoding="utf-8")
    tests = nearest_tests(change.path)
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    surroundings = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        ended = subprocess.run(
            command, cwd=copy, env=surroundings, capture_output=True, timeout=MOST_SECONDS,
            check=False,
        )  # fmt: skip
        code = ended.returncode
    except subprocess.TimeoutExpired:
        code = 1
    finally:
        file.write_text(text, encoding="utf-8")
    return code != 0, tests


def _copied(copy: Path) -> Path:
    """A copy of what the tests need."""
    copy.mkdir(parents=True)
    for name in ("siteplan", "tests", "samples", "docs", "pyproject.toml", "README.md"):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, copy / name)
    return copy


def _tell(number: int, change: Change, *, noticed: bool, by: list[str]) -> None:
    where = f"{change.path.relative_to(ROOT)}:{change.line}"
    if noticed:
        print(f"{number}: noticed, {where}", flush=True)
        return
    text = change.path.read_text(encoding="utf-8")
    before, after = (t.splitlines()[change.line - 1].strip() for t in (text, change.of(text)))
    print(
        f"{number}: NOT noticed, {where}\n    {before}\n    {after}\n    {' '.join(by)}", flush=True
    )


def _read(log: Path | None) -> dict[str, bool]:
    if log is None or not log.exists():
        return {}
    lines = log.read_text(encoding="utf-8").splitlines()
    return dict(map(json.loads, lines))


def _log(log: Path | None, key: str, *, noticed: bool) -> None:
    if log is not None:
        with log.open("a", encoding="utf-8") as file:
            file.write(json.dumps([key, noticed]) + "\n")


if __name__ == "__main__":
    sys.exit(main())
