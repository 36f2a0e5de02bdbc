"""Random lots planned and written, each package checked without the package that wrote it.

Usage, from the top folder: ``python tests/benchmarks/random_lots.py [--number 100] [--seed 1]
[--twins 5] [--pictures 10] [--limit 300] [--minutes M] [--log FILE] [--keep FOLDER] [--again]``.
The lots have the seeds from ``--seed`` on. Of every so many (``--twins``) a turned, mirrored,
shifted or renamed twin is planned too: its field should be the same within 2 %. Pictures and print,
which no check reads and which take as long as all planning, are made of every so many
(``--pictures``); the drawing and all tables of each. What was tried stands in the log, one line a
lot; a run with the same log goes on where it was stopped (Ctrl-C, or after ``--minutes``).
``--keep`` keeps the packages, ``--again`` checks those that were kept once more. Exit code 0 where
nothing crashed, hung, was refused or violated a check.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import shutil
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "lots"), str(TESTS.parent)]

from package_checker import violations  # noqa: E402
from random_sites import TWINS, write_lot  # noqa: E402

FINE: Final = ("fits", "does not fit")
ALIKE: Final = 0.02
KNOWN_TO_ALL: Final = 200
"""Seed of a lot that is planned before the first: it takes 3 s."""
Told = dict[str, Any]


def main() -> int:
    """Exit code of the campaign."""
    asked = _asked()
    log = Path(asked.log)
    done: list[Told] = []
    if log.exists():
        done = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    if asked.again:
        return _again(Path(asked.keep))
    known = {(each["seed"], each["twin"]) for each in done}
    _load()
    ends = time.monotonic() + 60.0 * asked.minutes
    try:
        for seed, twin in _lots(asked.seed, asked.number, asked.twins):
            if (seed, twin) not in known:
                if time.monotonic() > ends:
                    raise KeyboardInterrupt
                told = _one(seed, twin, asked)
                done.append(told)
                with log.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(told) + "\n")
                _tell(told)
    except KeyboardInterrupt:
        print(f"stopped; the same command goes on from {log}")
    _table(done)
    return 1 if any(each["sort"] not in FINE for each in done) else 0


def _load() -> None:
    """Load what planning and writing need, once for all lots: libraries, rule books, fonts."""
    from siteplan.plan import plan_site
    from siteplan.site.readers.site_file import read_site

    with tempfile.TemporaryDirectory() as folder:
        plan_site(read_site(write_lot(KNOWN_TO_ALL, Path(folder)))).write(Path(folder) / "package")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--number", type=int, default=100, help="lots, twins not counted")
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--twins", type=int, default=5, help="a twin of every so many; 0: none")
    parser.add_argument(
        "--pictures", type=int, default=10, help="pictures and print of every so many; 0: none"
    )
    parser.add_argument("--minutes", type=float, default=1e9, help="when to stop")
    parser.add_argument(
        "--limit", type=float, default=300.0, help="longest that a lot may take [s]"
    )
    parser.add_argument("--log", default="random-lots.jsonl", help="what was tried")
    parser.add_argument("--keep", default="", help="folder in which packages are kept")
    parser.add_argument("--again", action="store_true", help="check kept packages once more")
    return parser.parse_args()


def _lots(first: int, number: int, every: int) -> Iterator[tuple[int, str]]:
    """Seeds, and of every so many a twin behind it."""
    for seed in range(first, first + number):
        yield seed, ""
        if every and seed % every == 0:
            yield seed, TWINS[seed // every % len(TWINS)]


def _one(seed: int, twin: str, asked: argparse.Namespace) -> Told:
    """What came of one lot, planned in a process of its own."""
    folder = Path(tempfile.mkdtemp(prefix="lot-"))
    if asked.keep:
        folder = Path(asked.keep) / f"{seed}{twin and '-' + twin}"
        shutil.rmtree(folder, ignore_errors=True)
    pictures = bool(asked.pictures) and seed % asked.pictures == 0
    receiver, sender = multiprocessing.Pipe(duplex=False)
    start = time.monotonic()
    # forked: the libraries are loaded once, and what one lot leaves behind is gone with it
    process = multiprocessing.get_context("fork").Process(
        target=_plan, args=(seed, twin, folder, sender, pictures)
    )
    process.start()
    sender.close()
    try:
        told = receiver.recv() if receiver.poll(asked.limit) else {"sort": "too long"}
    except EOFError:
        told = {"sort": "crash", "said": "the process ended without a word"}
    finally:
        process.kill()
        process.join()
    if not asked.keep:
        shutil.rmtree(folder, ignore_errors=True)
    return {"seed": seed, "twin": twin, "seconds": round(time.monotonic() - start, 1), **told}


def _plan(seed: int, twin: str, folder: Path, sender: Connection, pictures: bool) -> None:
    """Plan, write and check a lot; hand on what came of it."""
    from siteplan.errors import InputError
    from siteplan.export import package
    from siteplan.plan import plan_site
    from siteplan.site.readers.site_file import read_site

    if not pictures:
        package.write_set = lambda *_, **__: None
    warnings.simplefilter("error", RuntimeWarning)  # a number that is none is a fault too
    try:
        site = read_site(write_lot(seed, folder, twin))
        plan = plan_site(site)
        plan.write(folder / "package")
        summary = plan.summary()
        found = violations(folder / "package", folder / "site.toml")
        sort = ("fits" if plan.fits else "does not fit") if not found else "violation"
        sender.send({"sort": sort, "said": found[:20], **_figures(summary)})
    except InputError as error:
        sender.send({"sort": "refused", "said": str(error)[:1000]})
    except Exception:
        sender.send({"sort": "crash", "said": traceback.format_exc()[-3000:]})


def _figures(summary: Told) -> Told:
    """What a twin should have too: loop type, elements, length, header."""
    header = summary["header"]
    return {
        "drawn": summary["drawn"], "elements": len(summary["elements"]),
        "length_m": summary["length_provided_m"], "header_m": header["length_m"] if header else 0.0,
        "verdict": summary["fits"],
    }  # fmt: skip


def _again(kept: Path) -> int:
    """Exit code of checking kept packages once more."""
    count = 0
    for folder in sorted(kept.iterdir()):
        if (folder / "package" / "summary.json").exists():
            found = violations(folder / "package", folder / "site.toml")
            count += bool(found)
            for one in found[:8]:
                print(folder.name, one)
    print(f"{count} packages with violations")
    return 1 if count else 0


def _tell(told: Told) -> None:
    if told["sort"] not in FINE:
        print(told["sort"], told["seed"], told["twin"], told.get("said", ""), flush=True)


def differ(one: Told, twin: Told) -> str:
    """In what the field of a twin differs by more than 2 %; empty where in nothing."""
    if "drawn" not in one or "drawn" not in twin:
        return "" if one["sort"] == twin["sort"] else "sort"
    for key in ("verdict", "drawn"):
        if one[key] != twin[key]:
            return key
    for key in ("elements", "length_m", "header_m"):
        if abs(one[key] - twin[key]) > ALIKE * max(one[key], twin[key]):
            return key
    return ""


def _table(done: list[Told]) -> None:
    """How many came out how, how long they took, and which twins differ."""
    lots = [each for each in done if not each["twin"]]
    twins = [each for each in done if each["twin"]]
    if not lots:
        return
    sorts, drawn = (
        Counter(each["sort"] for each in done),
        Counter(each.get("drawn") for each in lots),
    )
    seconds = sorted(each["seconds"] for each in done)
    seeds = [each["seed"] for each in lots]
    print(
        f"\n{len(lots)} lots (seeds {min(seeds)} to {max(seeds)}) and {len(twins)} twins:",
        dict(sorts),
    )
    print("drawn:", {str(key): count for key, count in drawn.items()})
    print(f"seconds a lot: middle {seconds[len(seconds) // 2]:.1f}, most {seconds[-1]:.1f}")
    by_seed = {each["seed"]: each for each in lots}
    pairs = [
        (each, differ(by_seed[each["seed"]], each)) for each in twins if each["seed"] in by_seed
    ]
    apart = [(each["seed"], each["twin"], what) for each, what in pairs if what]
    print(f"twins that differ by more than 2 %: {len(apart)} of {len(pairs)}:", apart)


if __name__ == "__main__":
    sys.exit(main())
