"""The screening of many lots against the full engines: contradictions, what stays open, speed.

Usage, from the top folder: ``python tests/benchmarks/county.py PARCELS [--need "3 ton"]
[--loads FILE] [--assume house well septic] [--scale 1.0] [--plan 60] [--seed 1] [--streets]
[--rebuild 1000] [--verdicts-only]
[--done FILE --seconds 500] [--compiled] [--copies 1] [--times 1]``,
or with ``--random 50`` instead of PARCELS: the random lots of ``random_lots.py``, with what is on
them and its kinds, but without what their files state beside.

The lots of a file are screened as one chunk; ``--scale`` makes each smaller or larger, and
``--streets`` draws a street along the longest side of each, so that the machine's way in is asked.
``--loads`` takes the tables of a file in place of a need: the length is calculated.
``--compiled`` takes the compiled loops where numba is installed. Speed is that of the quickest of
so many runs (``--times``) over the file's lots, so many times (``--copies``): each but the first
turned, and stretched by up to 3 %. With more runs it is nearer to that of a machine at rest.
So many lots (``--plan``) are planned by the full engines one by one, in plain Python, which is the
baseline of speed. A lot screened as "fits" that is not planned, or the other way round, is told,
and the exit code is 1. Of so many lots (``--rebuild``) every bore and trench claimed is laid out
and measured to the drawn shapes by plain distances, which the scan does not use.

What the full engines say is kept in the file told by ``--done``, a line for each lot and loop type:
a run that ends after ``--seconds`` goes on there with the next call, and what is screened
differently later is held against it anew. ``--done`` belongs to one file of lots, scale and need.
"""

from __future__ import annotations

import argparse
import gc
import json
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np
import pyogrio
import shapely
from scipy.spatial.distance import pdist

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "lots"), str(TESTS.parent)]

from random_sites import write_lot  # noqa: E402

from siteplan.screening import compiled  # noqa: E402
from siteplan.screening.asked import Asked  # noqa: E402
from siteplan.screening.assumed import Known, with_granted  # noqa: E402
from siteplan.screening.cascade import decided  # noqa: E402
from siteplan.screening.chunk import Chunk  # noqa: E402
from siteplan.screening.clean import cleaned  # noqa: E402
from siteplan.screening.full import planned  # noqa: E402
from siteplan.screening.held import lay_bores, lay_trenches  # noqa: E402
from siteplan.screening.judge import DOES_NOT, FITS, UNDECIDED, Judged, judged  # noqa: E402
from siteplan.screening.scan import edges_of  # noqa: E402
from siteplan.screening.terms import ALWAYS, Terms, terms_of, trench_rows  # noqa: E402
from siteplan.site.model import System  # noqa: E402
from siteplan.site.readers.site_file import read_site  # noqa: E402

STREET_OFF_M: Final = 8.0
NEAR_M: Final = 1e-6


def main() -> int:
    """Exit code: 1 where the screening and the full engines contradict one another."""
    asked_for = _asked_for()
    if asked_for.compiled:
        print("compiled:", compiled.load())
    tables = {"exchanger": {"capacity": asked_for.need}}
    if asked_for.loads:
        tables = tomllib.loads(Path(asked_for.loads).read_text(encoding="utf-8"))
    asked = Asked(tables, granted=tuple(asked_for.assume))
    if asked_for.random:
        chunk = _random(asked_for.seed, asked_for.random)
    else:
        sizes = (asked_for.scale, asked_for.copies)
        chunk = _chunk(Path(asked_for.parcels), *sizes, streets=asked_for.streets)
        chunk, _ = with_granted(chunk, asked, Known())
    kinds = (*ALWAYS, "street", *np.unique(chunk.kinds).tolist())
    terms = terms_of(asked, tuple(dict.fromkeys(kinds)))
    judge = decided if asked_for.verdicts_only else judged
    found = _timed(chunk, terms, judge, asked_for.times)
    for system, told in found.items():
        counts = Counter(told.verdict.tolist())
        share = counts[UNDECIDED] / len(chunk)
        print(f"{system}: {dict(counts)}, undecided {share:.1%}")
    wrong = _rebuilt(chunk, terms, found, asked_for.rebuild)
    wrong += _planned(chunk, asked, found, asked_for)
    return 1 if wrong else 0


def _asked_for() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parcels", nargs="?")
    parser.add_argument("--random", type=int, default=0)
    parser.add_argument("--need", default="3 ton")
    parser.add_argument("--loads")
    parser.add_argument("--assume", nargs="*", default=["house", "well", "septic"])
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--plan", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--streets", action="store_true")
    parser.add_argument("--rebuild", type=int, default=1000)
    parser.add_argument("--verdicts-only", action="store_true")
    parser.add_argument("--done")
    parser.add_argument("--compiled", action="store_true")
    parser.add_argument("--copies", type=int, default=1)
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=500.0)
    return parser.parse_args()


def _chunk(path: Path, scale: float, copies: int, *, streets: bool) -> Chunk:
    """Lots of a file in metres, each around its own corner, and copies of them."""
    _, _, shapes, _ = pyogrio.raw.read(path, columns=[])
    outlines = cleaned(shapely.from_wkb(shapes)).outlines
    kept = outlines[~shapely.is_missing(outlines)]
    solid = [
        shapely.transform(
            shapely.Polygon(each.exterior), lambda xy: (xy - np.floor(xy.min(axis=0))) * scale
        )
        for each in kept
    ]
    lots = np.array(solid + _turned(solid, copies - 1), dtype=object)
    things = np.array(_streets(lots) if streets else [], dtype=object)
    owner = np.arange(len(things), dtype=np.int64)
    kinds = np.full(len(things), "street", dtype="<U24")
    return Chunk(lots, things, owner, kinds, np.full(len(lots), -1, dtype=np.int64))


def _turned(lots: list[shapely.Polygon], copies: int) -> list[shapely.Polygon]:
    """Copies of lots, each turned anyhow and up to 3 % larger or smaller."""
    random, found = np.random.default_rng(0), []
    for lot in lots * copies:
        angle, size = random.uniform(0, 2 * np.pi), random.uniform(0.97, 1.03)
        turn = size * np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        copy = shapely.get_coordinates(lot) @ turn
        found.append(shapely.Polygon(copy - np.floor(copy.min(axis=0))))
    return found


def _random(first: int, count: int) -> Chunk:
    """Random lots of the campaign, from the seed told on, that a site file holds."""
    lots, things, owner, kinds, houses = [], [], [], [], []
    for seed in range(first, first + count):
        with tempfile.TemporaryDirectory() as folder:
            site = read_site(write_lot(seed, Path(folder)))
        at = len(things)
        own = [feature for feature in site.features if feature.shape.geom_type != "MultiPolygon"]
        things += [feature.shape for feature in own]
        owner += [len(lots)] * len(own)
        kinds += [feature.kind for feature in own]
        built = [at + k for k, feature in enumerate(own) if feature.kind == "building"]
        houses.append(built[0] if built else -1)
        lots.append(site.parcel)
    return Chunk(
        np.array(lots, dtype=object), np.array(things, dtype=object), np.array(owner),
        np.array(kinds, dtype="<U24"), np.array(houses),
    )  # fmt: skip


def _streets(lots: np.ndarray) -> list[shapely.LineString]:
    edges, found = edges_of(lots), []
    length = np.hypot(*(edges.ends - edges.starts).T)
    for lot in range(len(lots)):
        own = np.flatnonzero(edges.owner == lot)
        side = own[length[own].argmax()]
        along = (edges.ends[side] - edges.starts[side]) / length[side]
        turn = 1.0 if lots[lot].exterior.is_ccw else -1.0
        out = np.array([along[1], -along[0]]) * turn * STREET_OFF_M
        ends = [edges.starts[side] - 10 * along + out, edges.ends[side] + 10 * along + out]
        found.append(shapely.LineString(ends))
    return found


def _timed(
    chunk: Chunk, terms: Terms, judge: Callable[[Chunk, Terms], dict[System, Judged]], times: int
) -> dict[System, Judged]:
    # as each process of a run: what is loaded is not gone through again and again
    gc.freeze()
    for name, count in (("cold", 1), ("warm", times)):
        spent = []
        for _ in range(count):
            used = time.process_time()
            found = judge(chunk, terms)
            spent.append(time.process_time() - used)
        rates = sorted(len(chunk) / each for each in spent)
        best, middle = rates[-1], rates[len(rates) // 2]
        told = f"{best:,.0f} lots per processor second at best of {count}, {middle:,.0f} as a rule"
        print(f"{name}: {len(chunk)} lots, {told}")
    return found


def _rebuilt(chunk: Chunk, terms: Terms, found: dict[System, Judged], most: int) -> int:
    """How many lots' claimed elements lie too near to something, by plain distances."""
    wrong = 0
    rows = trench_rows(terms)
    bores, trenches = found["vertical"], found["horizontal"]
    spacing = {"vertical": terms.exchanger.vertical.spacing_m, "horizontal": rows.spacing_m}
    laid = {
        "vertical": lay_bores(bores.areas, bores.held, spacing["vertical"]),
        "horizontal": lay_trenches(trenches.areas, trenches.held, rows),
    }
    hung = {system: told.hung for system, told in found.items()}
    for system, part in (("vertical", "bore"), ("horizontal", "trench")):
        asked = terms.parts[part]
        for lot in range(min(most, len(chunk))):
            ends = np.concatenate([
                each.lines[each.owner == lot] for each in (laid[system], hung[system])
            ])  # fmt: skip
            shapes = shapely.linestrings(ends) if part == "trench" else shapely.points(ends[:, 0])
            away = [(chunk.outlines[lot].exterior, asked.line_m)]
            away += [
                (chunk.things[k], asked.things_m[kind])
                for k in np.flatnonzero(chunk.owner == lot)
                if (kind := str(chunk.kinds[k])) in asked.things_m
            ]
            near = any((shapely.distance(shapes, it) < far - NEAR_M).any() for it, far in away)
            near |= not shapely.covers(chunk.outlines[lot], shapes).all()
            near |= _apart(shapes, ends, part) < spacing[system] - NEAR_M
            claimed = found[system].least[lot]
            held = len(ends) if part == "bore" else float(shapely.length(shapes).sum())
            if near or abs(held - claimed) > NEAR_M * max(1.0, claimed):
                wrong += 1
                print(f"REBUILT: {system}, lot {lot}: claimed {claimed}, laid {held}, near {near}")
        print(f"rebuilt: {system}, {min(most, len(chunk))} lots, {wrong} wrong")
    return wrong


def _apart(shapes: np.ndarray, ends: np.ndarray, part: str) -> float:
    if len(ends) < 2:
        return np.inf
    if part == "bore":
        return float(pdist(ends[:, 0]).min())
    tree = shapely.STRtree(shapes)
    one, other = tree.query(shapes, predicate="dwithin", distance=20.0)
    pairs = one < other
    return float(shapely.distance(shapes[one[pairs]], shapes[other[pairs]]).min(initial=np.inf))


def _planned(
    chunk: Chunk, asked: Asked, found: dict[System, Judged], told: argparse.Namespace
) -> int:
    """How many verdicts the full engines contradict."""
    picked = np.random.default_rng(told.seed).permutation(len(chunk))[: told.plan]
    known = _known(told)
    tally, wrong = Counter[tuple[str, str, str]](), 0
    begin, used, fresh = time.perf_counter(), time.process_time(), 0
    for lot in picked.tolist():
        for system, each in found.items():
            key = f"{lot} {system}"
            if key not in known and time.perf_counter() - begin < told.seconds:
                known[key] = planned(chunk, lot, asked, system)
                fresh += 1
                _keep(told, key, known[key])
            said, (fits, why) = str(each.verdict[lot]), known.get(key, (None, "not planned yet"))
            words = {None: "no plan", True: FITS, False: DOES_NOT}
            tally[system, said, words[fits] if key in known else why] += 1
            if said in (FITS, DOES_NOT) and fits is not None and (said == FITS) is not fits:
                wrong += 1
                print(f"CONTRADICTION: {system}, lot {lot}: {said}, planned: {fits} {why}")
    for verdicts, count in sorted(tally.items()):
        print("  screened / planned:", *verdicts, count)
    if fresh:
        rate = fresh / (time.process_time() - used)
        print(f"baseline, one by one: {rate:.2f} loop types of a lot per processor second")
    print(f"{wrong} contradictions")
    return wrong


def _known(told: argparse.Namespace) -> dict[str, tuple[bool | None, str]]:
    """What the full engines said in earlier runs, by lot and loop type."""
    if not (told.done and Path(told.done).exists()):
        return {}
    lines = Path(told.done).read_text(encoding="utf-8").splitlines()
    return {key: (fits, why) for key, fits, why in map(json.loads, lines)}


def _keep(told: argparse.Namespace, key: str, said: tuple[bool | None, str]) -> None:
    if told.done:
        with Path(told.done).open("a", encoding="utf-8") as file:
            file.write(json.dumps([key, *said]) + "\n")


if __name__ == "__main__":
    sys.exit(main())
