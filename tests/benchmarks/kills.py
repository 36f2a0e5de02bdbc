"""A permit package that is killed while it is written, again and again: whole, or told not to be.

    python tests/benchmarks/kills.py [--number 200] [--seed 1] [--site samples/small-suburban]

A plan is made once. Then a child of this process writes its package, and is killed (SIGKILL):
half the times at a moment drawn by chance, half at a call drawn by chance that changes a name on
disk. Each time the folder is as the time before left it, so that what one run left is what the next
one finds. A package counts as whole where its list of checksums is there and every file agrees with
it. Two plans take turns, so that files of one beside files of the other would show.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from siteplan.export.overwrite import SUMS_FILE, package_files  # noqa: E402
from siteplan.export.together import broken_off, changed_files  # noqa: E402
from siteplan.plan import SitePlan, plan_site  # noqa: E402
from siteplan.site.readers.site_file import read_site  # noqa: E402
from tests.lots.killed import run_killed  # noqa: E402


def main() -> int:
    """Exit code: 1 where a package was neither whole nor told to be broken off."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--number", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--site", type=Path, default=ROOT / "samples" / "small-suburban")
    arguments = parser.parse_args()
    site = read_site(arguments.site)
    plans = [plan_site(site, system=system) for system in ("vertical", "horizontal")]
    with tempfile.TemporaryDirectory() as scratch:
        digests = [_digests(plan, Path(scratch) / f"alone-{at}") for at, plan in enumerate(plans)]
        seconds = _seconds(plans[0], Path(scratch) / "timed")
        chance, seen = random.Random(arguments.seed), Counter[str]()
        folder = Path(scratch) / "at" / "permit"
        for turn in range(arguments.number):
            if turn % 20 == 0:
                shutil.rmtree(folder, ignore_errors=True)
            plan = plans[turn % 2]
            if turn % 4 < 2:
                killed = _killed_in(plan, folder, chance.uniform(0, 1.1 * seconds))
            else:
                killed = run_killed(lambda: _write(plan, folder), chance.randrange(90))  # noqa: B023
            seen["killed" if killed else "ended"] += 1
            seen[_state(folder, digests)] += 1
        print(f"seed {arguments.seed}: " + ", ".join(f"{n} {what}" for what, n in seen.items()))
    return 1 if seen["MIXED"] else 0


def _write(plan: SitePlan, folder: Path) -> None:
    plan.write(folder, force=True)


def _seconds(plan: SitePlan, folder: Path) -> float:
    begun = time.perf_counter()
    _write(plan, folder)
    return time.perf_counter() - begun


def _digests(plan: SitePlan, folder: Path) -> str:
    _write(plan, folder)
    return (folder / SUMS_FILE).read_text(encoding="utf-8")


def _killed_in(plan: SitePlan, folder: Path, seconds: float) -> bool:
    child = os.fork()
    if child == 0:
        try:
            _write(plan, folder)
        finally:
            os._exit(0)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def _state(folder: Path, digests: list[str]) -> str:
    """How a package is found: absent, whole, broken off and told so, or MIXED."""
    present = [name for name in package_files(folder) if (folder / name).exists()]
    if (folder / SUMS_FILE).exists():
        text = (folder / SUMS_FILE).read_text(encoding="utf-8")
        whole = changed_files(folder, SUMS_FILE) == [] and text in digests
        return "whole" if whole and len(present) == len(text.splitlines()) else "MIXED"
    if not present and not broken_off(folder, SUMS_FILE):
        return "absent"
    return "told to be broken off" if broken_off(folder, SUMS_FILE) else "MIXED"


if __name__ == "__main__":
    sys.exit(main())
