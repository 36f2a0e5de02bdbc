"""Whether surroundings change a byte of a permit package: ``same_everywhere.py [SITE ...]``.

    python tests/benchmarks/same_everywhere.py [--seeds 24] [--python PYTHON ...] [--jobs 2]

Each site (the samples where none is named) is planned once for each hash seed. From one run to
the next time zone, locale, threads of the numeric libraries, folder of the site, home, user and
interpreter change too. All packages must have the checksums (``package.sha256``) of the first.
Locales that this machine lacks are named and left out. The exit code is the number of runs that
differ, 99 at most.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ROOT = Path(__file__).parents[2]
ZONES: Final = ("UTC", "America/St_Johns", "Pacific/Kiritimati", "Asia/Kathmandu")
LOCALES: Final = ("C.UTF-8", "C", "POSIX", "de_DE.UTF-8", "fr_FR.UTF-8", "tr_TR.UTF-8")
RUN: Final = """\
import locale, sys
# a program around the library may have set it, which Python itself leaves alone
locale.setlocale(locale.LC_ALL, "")
from siteplan.cli import main
sys.exit(main())
"""
THREADS: Final = ("1", "8")
THREAD_KEYS: Final = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True)
class Surroundings:
    """What may change from one run to the next."""

    seed: int
    zone: str
    locale: str
    threads: str
    python: str

    def environment(self, home: Path) -> dict[str, str]:
        """Variables of a process in these surroundings."""
        kept = {key: os.environ[key] for key in ("PATH", "SYSTEMROOT") if key in os.environ}
        threads = dict.fromkeys(THREAD_KEYS, self.threads)
        return kept | threads | {
            "PYTHONHASHSEED": str(self.seed), "TZ": self.zone, "LC_ALL": self.locale,
            "LANG": self.locale, "HOME": str(home), "USER": f"user{self.seed}",
            "PYTHONPATH": str(ROOT), "MPLCONFIGDIR": str(home),
        }  # fmt: skip


def main() -> int:
    """Exit code: how many runs differ."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("sites", nargs="*", type=Path)
    parser.add_argument("--seeds", type=int, default=24)
    parser.add_argument("--python", nargs="+", default=[sys.executable])
    parser.add_argument("--jobs", type=int, default=2)
    arguments = parser.parse_args()
    sites = arguments.sites or sorted(path.parent for path in ROOT.glob("samples/*/site.toml"))
    locales = _there(LOCALES)
    every = [
        Surroundings(
            seed,
            ZONES[seed % len(ZONES)],
            locales[seed % len(locales)],
            THREADS[seed // 2 % len(THREADS)],
            arguments.python[seed % len(arguments.python)],
        )
        for seed in range(arguments.seeds)
    ]
    differ = 0
    for site in sites:
        with ThreadPoolExecutor(arguments.jobs) as pool:
            sums = list(pool.map(lambda at: _checksums(site, at), every))  # noqa: B023
        other = [at for at, told in zip(every, sums, strict=True) if told != sums[0]]
        print(f"{site.name}: {len(every) - len(other)} of {len(every)} the same", flush=True)
        for at in other:
            print(f"  not: {at}")
        differ += len(other)
    return min(differ, 99)


def _there(locales: tuple[str, ...]) -> list[str]:
    """Those locales that this machine has."""
    told = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=False).stdout
    known = {line.strip().lower().replace("-", "") for line in told.splitlines()}
    lacking = [name for name in locales if name.lower().replace("-", "") not in known]
    if lacking:
        print(f"not on this machine: {', '.join(lacking)}")
    return [name for name in locales if name not in lacking]


def _checksums(site: Path, at: Surroundings) -> str:
    """Checksums of the package of a site planned in some surroundings."""
    with tempfile.TemporaryDirectory(prefix=f"run {at.seed} ä ") as scratch:
        copy = Path(scratch) / ("d" * (1 + at.seed)) / site.name
        shutil.copytree(site, copy)
        out = Path(scratch) / "out"
        command = [at.python, "-c", RUN, "plan", str(copy), "--quiet", "--out", str(out)]
        ended = subprocess.run(
            command, cwd=copy.parent, env=at.environment(Path(scratch)), capture_output=True,
            text=True, check=False,
        )  # fmt: skip
        if ended.returncode not in (0, 1):
            return f"exit code {ended.returncode}: {ended.stderr}"
        return (out / "package.sha256").read_text(encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
