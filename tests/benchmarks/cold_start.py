"""Whole processes, cold: help, and the plan of each residential sample, beside the bare imports."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
RUNS = 5
IMPORTS = (
    "import numpy, shapely, scipy.sparse.csgraph, pyproj, rich.console, ezdxf, "
    "matplotlib.backends.backend_agg"
)
RESIDENTIAL = ("rural-acre", "small-suburban", "tight-lot", "good-aquifer")


def seconds(words: list[str]) -> float:
    """Wall time of one process [s]."""
    start = time.perf_counter()
    subprocess.run(words, check=False, capture_output=True, cwd=ROOT)
    return time.perf_counter() - start


def main() -> None:
    """Print the table: all commands in turn, RUNS times."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        commands = {
            "python, nothing": [python, "-c", "pass"],
            "the imports alone": [python, "-c", IMPORTS],
            "siteplan --help": [python, "-m", "siteplan", "--help"],
        }
        for name in RESIDENTIAL:
            out = ["--out", f"{folder}/{name}", "--force"]
            commands[f"plan {name}"] = [python, "-m", "siteplan", "plan", f"samples/{name}", *out]
        times: dict[str, list[float]] = {name: [] for name in commands}
        for _ in range(RUNS):
            for name, words in commands.items():
                times[name].append(seconds(words))
    base = statistics.median(times["the imports alone"])
    print(f"{'command':<24}{'min s':>8}{'median s':>10}{'max s':>8}{'x imports':>11}")
    for name, found in times.items():
        middle = statistics.median(found)
        print(f"{name:<24}{min(found):8.2f}{middle:10.2f}{max(found):8.2f}{middle / base:11.1f}")


if __name__ == "__main__":
    main()
