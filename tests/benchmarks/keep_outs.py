"""Available area among 2,000 features, beside a plain buffer-and-union of the same shapes."""

from __future__ import annotations

import dataclasses
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.area import available_area
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Feature, Site
from siteplan.site.readers.site_file import read_site

ROOT = Path(__file__).parent.parent.parent
COUNT = 2000
RUNS = 5
SIDE_M = 600.0


def crowded() -> Site:
    """A square parcel with 2,000 trees, wells, lines and sheds, from a fixed seed."""
    site = read_site(ROOT / "samples" / "small-suburban")
    rng = np.random.default_rng(1)
    features = []
    for number, (x, y) in enumerate(rng.uniform(0, SIDE_M, (COUNT, 2))):
        kind, shape = [
            ("tree", shapely.Point(x, y)),
            ("potable well", shapely.Point(x, y)),
            ("water line", shapely.LineString([(x, y), (x + 9, y + 4), (x + 12, y + 15)])),
            ("building", shapely.box(x, y, x + 6, y + 4)),
        ][number % 4]
        features.append(Feature(f"f{number}", kind, shape, use="private"))
    parcel = shapely.box(0, 0, SIDE_M, SIDE_M)
    return dataclasses.replace(site, parcel=parcel, features=tuple(features))


def plain(site: Site) -> BaseGeometry:
    """What an ordinary buffer does: inscribed arcs, so every setback a little short."""
    rules = rules_of(site)
    pieces = []
    for feature in site.features:
        rule = rules.deciding("bore", feature)
        if rule is not None:
            pieces.append(feature.shape.buffer(rule.distance_m, quad_segs=32))
    return site.parcel.difference(shapely.union_all(pieces))


def median_seconds(work: Callable[[], object]) -> float:
    """Median wall time of RUNS calls [s]."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Print both times."""
    site = crowded()
    rules = rules_of(site)
    ours = median_seconds(lambda: available_area(site, rules, "bore"))
    theirs = median_seconds(lambda: plain(site))
    print(f"{COUNT} features: available area {ours:.2f} s, plain buffers {theirs:.2f} s")


if __name__ == "__main__":
    main()
