"""Inputs gone wrong, many of each format: none may end in an internal error, a crash or a hang.

Usage, from the top folder: ``python tests/benchmarks/mutated_inputs.py [--each 300] [--only toml]
[--seeds 17 23 ...] [--begin 0] [--fit 20] [--log FILE]``. What was tried stands in the log, one
line a command; a run with the same log goes on where it was stopped. Every mutant is made again by
its format and seed. Exit code 0 where every input was accepted or refused in so many words.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "lots"), str(TESTS.parent)]

from mutants import FORMATS, make  # noqa: E402
from tried import LIMIT_S, Trier  # noqa: E402

FINE = ("accepted", "refused")
FIT_S = 120.0
"""A plan takes its time: only what is read must be quick."""


def main() -> int:
    """Exit code of the campaign."""
    asked = _asked()
    log = Path(asked.log) if asked.log else None
    done: list[dict[str, Any]] = []
    if log is not None and log.exists():
        done = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    known = {(each["name"], each["command"]) for each in done}
    for told in _campaign(asked, known):
        done.append(told)
        if log is not None:
            with log.open("a", encoding="utf-8") as file:
                file.write(json.dumps(told) + "\n")
        if told["sort"] not in FINE:
            print(told["sort"], told["name"], told["command"], f"({told['what']}):")
            print(ascii(told["said"][-300:]))
    _table(done)
    return 1 if any(each["sort"] not in FINE for each in done) else 0


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=300, help="mutants of each format")
    parser.add_argument("--begin", type=int, default=0, help="the first seed")
    parser.add_argument("--only", nargs="+", choices=FORMATS, default=FORMATS)
    parser.add_argument("--seeds", type=int, nargs="+", help="these seeds alone")
    parser.add_argument("--fit", type=int, default=0, help="every so many site files are planned")
    parser.add_argument("--log", help="what was tried; a run goes on from it")
    return parser.parse_args()


def _campaign(asked: argparse.Namespace, known: set[tuple[str, str]]) -> Iterator[dict[str, Any]]:
    seeds = asked.seeds or range(asked.begin, asked.begin + asked.each)
    with Trier() as trier:
        for kind in asked.only:
            for seed in seeds:
                if (f"{kind} {seed}", "inspect") not in known:
                    fit = bool(asked.fit) and seed % asked.fit == 0
                    yield from _one(trier, kind, seed, fit=fit)


def _one(trier: Trier, kind: str, seed: int, *, fit: bool) -> Iterator[dict[str, Any]]:
    folder = Path(tempfile.mkdtemp(prefix="mutant-"))
    try:
        mutant = make(kind, seed, folder, fit=fit)
        for argv in mutant.commands:
            limit_s = FIT_S if argv[0] == "fit" else LIMIT_S
            outcome = trier.try_out(argv, folder, limit_s)
            yield {
                "name": mutant.name, "what": mutant.what, "command": argv[0],
                "sort": outcome.sort, "seconds": round(outcome.seconds, 3), "said": outcome.said,
            }  # fmt: skip
    finally:
        shutil.rmtree(folder)


def _table(done: list[dict[str, Any]]) -> None:
    """How many of each format came out how."""
    sorts = sorted({each["sort"] for each in done} - set(FINE))
    print("\n| format | mutants | commands |", " | ".join((*FINE, *sorts)), "| slowest s |")
    print("| --- |" + " --- |" * (5 + len(sorts)))
    for kind in FORMATS:
        own = [each for each in done if each["name"].split()[0] == kind]
        if own:
            counts = Counter(each["sort"] for each in own)
            cells = [str(counts[sort]) for sort in (*FINE, *sorts)]
            slowest = max(each["seconds"] for each in own if each["command"] != "fit")
            names = len({each["name"] for each in own})
            print(f"| {kind} | {names} | {len(own)} |", " | ".join(cells), f"| {slowest:.1f} |")


if __name__ == "__main__":
    sys.exit(main())
