"""What large lots and drawings take: ``sizes.py [CASE ...] [--seconds 150] [--most 10]``.

    python tests/benchmarks/sizes.py
    python tests/benchmarks/sizes.py bores features --most 1

For each case lots of growing size are planned (without sheets; ``--sheets`` composes and writes
them too), each in a process of its own: corners of the parcel, smooth and rough; corners of a
stream; features; bores; width of the lot; lines added to a drawing that is audited. The largest
size is ``--most`` times the one that a lot of that kind may be asked for; beyond its limits the
program refuses, which is told. Printed are processor seconds, the greatest memory, and seconds for
each thing; "not ended" is a process that took more than ``--seconds`` of the processor.
"""

from __future__ import annotations

import argparse
import math
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

ROOT = Path(__file__).parents[2]
FT: Final = 0.3048
HEAD: Final = """\
[project]
title = "Size"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry]
parcel = {parcel}
[[feature]]
kind = "building"
id = "house"
area = {house}
[[entry]]
id = "E"
at = {entry}
[[feature]]
kind = "street"
id = "street"
line = {street}
[exchanger]
system = "vertical"
length = {{ given = "{length} ft", by = "a designer" }}
[rig]
access = "anywhere"
{more}
"""
Places = list[tuple[float, float]]


def told(places: Places) -> str:
    """Places as a site file has them."""
    return "[" + ", ".join(f"[{x:.3f}, {y:.3f}]" for x, y in places) + "]"


def lot(parcel: Places, middle: tuple[float, float], more: str = "", length: int = 1200) -> str:
    """Site file of a parcel with a house around a place."""
    x, y = middle
    house = [(x, y), (x + 40, y), (x + 40, y + 30), (x, y + 30)]
    south, west = min(y for _, y in parcel) - 20, min(x for x, _ in parcel)
    return HEAD.format(
        parcel=told(parcel), house=told(house), entry=f"[{x + 20}, {y + 30}]", length=length,
        street=told([(west - 50, south), (west + 2 * x, south)]), more=more,
    )  # fmt: skip


def square(size: float) -> Places:
    """Corners of a square with its south-west corner at the origin."""
    return [(0, 0), (size, 0), (size, size), (0, size)]


def ring(count: int, wave: Callable[[float], float]) -> Places:
    """Corners around a place, at a distance of 150 and what the wave gives for the angle."""
    angles = [2 * math.pi * k / count for k in range(count)]
    reach = [150 + wave(angle) for angle in angles]
    return [
        (150 + r * math.cos(a), 150 + r * math.sin(a)) for r, a in zip(reach, angles, strict=True)
    ]


def rough(angle: float) -> float:
    """A line that is rough at all scales, as a contour surveyed from the air."""
    waves = (3, 7, 17, 41, 97, 211, 499, 1013)
    return sum(6 / f**1.2 * math.sin(f * angle + f * f) for f in waves)


def smooth_parcel(count: int) -> str:
    """A parcel of so many corners on a smooth line."""
    return lot(ring(count, lambda angle: 6 * math.sin(7 * angle)), (130, 130))


def rough_parcel(count: int) -> str:
    """A parcel of so many corners on a rough line."""
    return lot(ring(count, rough), (130, 130))


def stream(count: int) -> str:
    """A lot with a stream of so many corners."""
    line = [(20 + 260 * k / count, 230 + rough(2 * math.pi * k / count)) for k in range(count)]
    return lot(square(300), (130, 130), f'[[feature]]\nkind = "stream"\nline = {told(line)}\n')


def features(count: int) -> str:
    """A lot with so many trees, tanks, hydrants and lines, as densely as on others."""
    chance, size, more = random.Random(5), 87.0 * math.sqrt(count), ""
    kinds = ("tree", "fuel tank", "hydrant")
    for number in range(count):
        x = y = size / 2
        while abs(x - size / 2) < 70 and abs(y - size / 2) < 70:
            x, y = chance.uniform(0, size), chance.uniform(0, size)
        if number % 4 == 3:
            end = (x + chance.uniform(-40, 40), y + chance.uniform(-40, 40))
            more += f'[[feature]]\nkind = "water line"\nline = {told([(x, y), end])}\n'
        else:
            more += f'[[feature]]\nkind = "{kinds[number % 3]}"\nat = [{x:.3f}, {y:.3f}]\n'
    return lot(square(size), (size / 2, size / 2), more)


def bores(count: int) -> str:
    """A lot with room for so many bores, and as many asked for."""
    size = math.sqrt(count) * 20 + 140
    options = '[vertical]\ndepth = "60 ft"\nspacing = "20 ft"\n'
    return lot(
        [(0, 0), (size, 0), (size, size + 60), (0, size + 60)], (20, 20), options, 60 * count
    )


def wide(feet: int) -> str:
    """A lot so wide, with one house."""
    return lot(square(feet), (feet / 2, feet / 2))


CASES: Final[dict[str, tuple[Callable[[int], str], tuple[int, ...]]]] = {
    "smooth": (smooth_parcel, (500, 5_000, 50_000, 500_000)),
    "rough": (rough_parcel, (500, 5_000, 50_000, 500_000)),
    "stream": (stream, (500, 5_000, 50_000, 500_000)),
    "features": (features, (100, 300, 1_000, 2_000, 20_000)),
    "bores": (bores, (100, 400, 1_000, 5_000, 50_000)),
    "feet-wide": (wide, (528, 1_760, 5_280, 16_700)),
}
"""Name of each case: what makes the lot, and its sizes, the last ten times what was asked for."""
DRAWN: Final = (1_300, 13_000, 130_000, 1_300_000)
"""Lines added to a drawing that is audited."""


def main() -> int:
    """Exit code 0: nothing is judged here."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("cases", nargs="*", default=[*CASES, "audit"])
    parser.add_argument("--seconds", type=int, default=150, help="of the processor, for one lot")
    parser.add_argument("--most", type=int, default=10, choices=(1, 10))
    parser.add_argument("--sheets", action="store_true", help="compose and write the package too")
    parser.add_argument("--one", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        return _plan(asked.one, sheets=asked.sheets)
    with tempfile.TemporaryDirectory() as scratch:
        for name in asked.cases:
            sizes = DRAWN if name == "audit" else CASES[name][1]
            for size in sizes if asked.most > 1 else sizes[:-1]:
                folder = Path(scratch) / f"{name}-{size}"
                folder.mkdir()
                if name == "audit":
                    command = _audited(folder, size)
                else:
                    site = folder / "site.toml"
                    site.write_text(CASES[name][0](size), encoding="utf-8")
                    command = [sys.argv[0], "--one", str(site)]
                    command += ["--sheets"] if asked.sheets else []
                print(f"{name} {size:,}: {_taken(command, asked.seconds, size)}", flush=True)
    return 0


def _audited(folder: Path, lines: int) -> list[str]:
    """The command that audits a plan with so many lines added."""
    import ezdxf

    site, package = ROOT / "samples" / "small-suburban", folder / "package"
    command = [sys.executable, "-m", "siteplan", "plan", str(site), "--out", str(package)]
    subprocess.run([*command, "--quiet"], check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
    document, chance = ezdxf.readfile(package / "plan.dxf"), random.Random(1)
    for _ in range(lines):
        x, y = chance.uniform(-200, 400), chance.uniform(-200, 400)
        ends = (x, y), (x + chance.uniform(-5, 5), y + chance.uniform(-5, 5))
        document.modelspace().add_line(*ends, dxfattribs={"layer": "SURVEY"})
    document.saveas(package / "plan.dxf")
    return ["-m", "siteplan", "audit", str(package / "plan.dxf"), str(site), "--quiet"]


def _taken(command: list[str], seconds: int, size: int) -> str:
    """What a command took, in words."""

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
        resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))

    start, before = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
    ended = subprocess.run(
        [sys.executable, *command], cwd=ROOT, preexec_fn=limit, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    figures = (
        f"{spent:.1f} s, {1e6 * spent / size:,.0f} us each, most so far {after.ru_maxrss >> 10} MB"
    )
    if ended.returncode < 0:
        return f"not ended after {spent:.0f} s ({time.monotonic() - start:.0f} s by the clock)"
    said = (ended.stdout + ended.stderr).strip().splitlines()
    told = {0: "", 1: "; does not pass", 2: f"; refused: {said[-1][:160] if said else ''}"}
    return figures + told.get(ended.returncode, f"; exit {ended.returncode}: {said[-1:]}")


def _plan(path: Path, *, sheets: bool) -> int:
    """Exit code of planning one lot."""
    from siteplan.errors import InputError
    from siteplan.plan import plan_site
    from siteplan.site.readers.site_file import read_site

    try:
        plan = plan_site(read_site(path))
    except InputError as error:
        print(str(error)[:1000])
        return 2
    if sheets:
        plan.write(path.parent / "package")
    return 0 if plan.fits else 1


if __name__ == "__main__":
    sys.path[:0] = [str(ROOT)]
    sys.exit(main())
