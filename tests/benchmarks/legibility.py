"""Looks at the sheets of random lots for text that cannot be read.

``python tests/benchmarks/legibility.py --lots 200`` composes the full set of each lot and prints
every fault with the seed of its lot; ``--first`` says with which seed to begin.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "lots")]

from random_sheets import drawn_lot, faults_of  # noqa: E402
from test_random_lots import random_lot  # noqa: E402


def main() -> None:
    """Print what is found, and how long it took."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lots", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    wanted = parser.parse_args()
    counts: Counter[str] = Counter()
    start, sets = time.process_time(), 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(wanted.first, wanted.first + wanted.lots):
            content = drawn_lot(seed, random_lot(seed), Path(folder))
            if content is None:
                continue
            sets += 1
            for number, fault in faults_of(content, print):
                counts[fault.code] += 1
                print(f"lot {seed} {content.site.sheet.size} {number}: {fault}", flush=True)
    seconds = time.process_time() - start
    print(f"{sets} sets of {wanted.lots} lots, {sum(counts.values())} faults: {dict(counts)}")
    print(f"{seconds / max(sets, 1):.2f} s of processor time a set")


if __name__ == "__main__":
    main()
