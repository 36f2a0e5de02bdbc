"""Whether two states of the code write the same bytes: ``same_bytes.py BASE [SITE ...]``.

``BASE`` is a commit. Each site (the samples where none is named) is planned by the code of
``BASE`` and by the code of this tree, each in a process of its own, and all files are compared.
What differs is named; the exit code is the number of sites that differ, 99 at most.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def plan(code: Path, site: Path, folder: Path) -> str:
    """What a plan by one state of the code prints; its files are in the folder."""
    command = [sys.executable, "-m", "siteplan", "plan", str(site), "--out", str(folder), "--force"]
    environment = {**os.environ, "PYTHONPATH": str(code)}
    done = subprocess.run(
        command, cwd=code, env=environment, capture_output=True, text=True, check=False
    )
    return f"exit {done.returncode}\n" + (done.stdout + done.stderr).replace(str(folder), "OUT")


def differences(before: Path, site: Path, folder: Path) -> list[str]:
    """Names of the files that differ, and ``printed`` where the report does."""
    old, new = folder / "old", folder / "new"
    printed = [plan(before, site, old), plan(ROOT, site, new)]
    found = ["printed"] if printed[0] != printed[1] else []
    names = sorted({path.name for side in (old, new) if side.is_dir() for path in side.iterdir()})
    for name in names:
        pair = [side / name for side in (old, new)]
        if not all(path.is_file() for path in pair) or pair[0].read_bytes() != pair[1].read_bytes():
            found.append(name)
    return found


def main() -> int:
    """Print a line for each site."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("base")
    parser.add_argument("sites", nargs="*", type=Path)
    parser.add_argument("--keep", type=Path, help="folder in which both packages stay")
    wanted = parser.parse_args()
    sites = [path.resolve() for path in wanted.sites] or sorted((ROOT / "samples").iterdir())
    with tempfile.TemporaryDirectory() as scratch:
        before = Path(scratch) / "before"
        subprocess.run(
            ["git", "worktree", "add", "--detach", "--quiet", str(before), wanted.base],
            cwd=ROOT,
            check=True,
        )
        try:
            kept = wanted.keep.resolve() if wanted.keep else Path(scratch) / "out"
            with ThreadPoolExecutor(os.cpu_count()) as pool:
                jobs = [
                    pool.submit(differences, before, site, kept / f"{number}-{site.stem}")
                    for number, site in enumerate(sites)
                ]
                results = [job.result() for job in jobs]
        finally:
            subprocess.run(
                ["git", "worktree", "remove", "--force", str(before)], cwd=ROOT, check=True
            )
    for site, found in zip(sites, results, strict=True):
        print(f"{site.name}: {'differs: ' + ', '.join(found) if found else 'the same'}")
    return min(sum(bool(found) for found in results), 99)


if __name__ == "__main__":
    sys.exit(main())
