"""Planning again after one feature moved, beside planning from nothing; and what many lots leave.

``replanning.py times`` plans residential samples and the school, moves one feature by a foot, and
plans again twice: from nothing, and with the plan before. ``replanning.py growth --lots 150``
plans small random lots one after another and prints the resident memory on the way.
"""

from __future__ import annotations

import argparse
import dataclasses
import gc
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import shapely

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "lots")]

from test_random_lots import random_lot  # noqa: E402

from siteplan.errors import InputError  # noqa: E402
from siteplan.plan import SitePlan, plan_site  # noqa: E402
from siteplan.site.model import Feature, Site  # noqa: E402
from siteplan.site.readers.site_file import read_site  # noqa: E402

SAMPLES = ("small-suburban", "rural-acre", "tight-lot", "farm-pond", "school")
RUNS = 3
FOOT = 0.3048
PAGE = 4096


def moved(site: Site, name: str) -> Site:
    """The lot with one feature a foot farther to the east."""

    def there(feature: Feature) -> Feature:
        if feature.id != name:
            return feature
        return dataclasses.replace(feature, shape=shapely.transform(feature.shape, east))

    return dataclasses.replace(site, features=tuple(map(there, site.features)))


def east(points: object) -> object:
    """Points a foot farther to the east."""
    return np.asarray(points) + np.array([FOOT, 0.0])


def timed(work: Callable[[], object]) -> tuple[float, object]:
    """Processor time of one call [s], and what it gave."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def wished(site: Site) -> Iterator[str]:
    """Ids of one feature of each of a few kinds: small things that are moved on a plan."""
    seen = set()
    for feature in site.features:
        if feature.kind in ("tree", "potable well", "septic tank", "fuel tank", "building"):
            if feature.kind not in seen:
                yield feature.id
            seen.add(feature.kind)


def times() -> None:
    """Print a row for each sample and feature moved."""
    print("| lot | moved | keep-outs taken over | from nothing s | again s | share |")
    print("| --- | --- | --- | --- | --- | --- |")
    for sample in SAMPLES:
        site = read_site(ROOT / "samples" / sample)
        before = plan_site(site)
        for name in ("", *wished(site)):
            other = moved(site, name)
            pairs = []
            for _ in range(RUNS):
                fresh, whole = timed(lambda other=other: plan_site(other))
                again, part = timed(
                    lambda other=other, before=before: plan_site(other, earlier=before)
                )
                pairs.append((fresh, again))
            assert isinstance(whole, SitePlan)
            assert isinstance(part, SitePlan)
            assert whole.drawn.layout == part.drawn.layout
            kept = {id(one.shape) for trial in before.trials for one in trial.keep_outs}
            now = [one for trial in part.trials for one in trial.keep_outs]
            same = sum(id(one.shape) in kept for one in now)
            fresh, again = (statistics.median(column) for column in zip(*pairs, strict=True))
            print(
                f"| {sample} | {name or 'nothing'} | {same} of {len(now)} "
                f"| {fresh:.2f} | {again:.2f} | {again / fresh:.2f} |",
                flush=True,
            )


def resident_mb() -> float:
    """Memory of this process that lies in the machine's [MB]; Linux alone tells."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * PAGE / 1e6


def growth(lots: int, *, write: bool) -> None:
    """Print what is resident, and how many sites are alive, as lots are planned."""
    print("| lots | resident MB | sites alive |")
    print("| --- | --- | --- |")
    seeds = iter(random.Random(1).sample(range(10**6), 10 * lots))
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "site.toml"
        for number in range(lots + 1):
            if number % max(1, lots // 6) == 0:
                gc.collect()
                alive = sum(isinstance(one, Site) for one in gc.get_objects())
                print(f"| {number} | {resident_mb():.0f} | {alive} |", flush=True)
            if number < lots:
                plan = plan_site(next_site(path, seeds))
                if write:
                    plan.write(Path(scratch) / "out", force=True)
                del plan


def next_site(path: Path, seeds: Iterator[int]) -> Site:
    """The next random lot that can be read."""
    for seed in seeds:
        path.write_text(random_lot(seed), encoding="utf-8")
        try:
            return read_site(path)
        except InputError:
            continue
    raise RuntimeError("too few random lots can be read")


def main() -> None:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("times", "growth"))
    parser.add_argument("--lots", type=int, default=150)
    parser.add_argument("--write", action="store_true", help="also write each permit package")
    wanted = parser.parse_args()
    if wanted.what == "times":
        times()
    else:
        growth(wanted.lots, write=wanted.write)


if __name__ == "__main__":
    main()
