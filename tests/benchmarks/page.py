"""Frames while a thing is dragged on the page of `siteplan edit`, and time to each stage after it.

The server is the command itself, in a process of its own, as people have it.

``page.py [FOLDER] [--lots 20] [--seed 1]`` opens every lot of a folder (the samples where none is
given) in headless Chromium, drags a thing drawn by chance for a second, lets go, and prints the
frames on the way, what lies between two second opinions and how many came a second, and the seconds
from letting go to each stage. Where there are fewer lots than asked for, they are taken again with
another thing and another way. ``--plan`` waits for the full plan too, before and after: the loop
type drawn is then one that the plan draws. ``others`` is when the last of the loop types beside the
drawn one is laid out and checked; where one is asked for there are none. ``laid`` is told of wells,
and of a first layout whose length does not agree with what it needs. Bores that straight rows do
not hold are told in rows and again with free places: the first counts. Beside the seconds that a
watch shows stand the processor seconds of the child alone, which other work on the machine makes no
longer; it has worked on the lot before the drag, as the page's own has.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from itertools import count, pairwise
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

from playwright.sync_api import Page, sync_playwright

from siteplan.vocabulary.loop_types import loop_types
from siteplan.web.engine import PRELOADED
from siteplan.web.stages import Job, Telling, staged_plan
from siteplan.web.work import BESIDE

ROOT = Path(__file__).parent.parent.parent
STAGES = ("area", "quick", "laid", "drawn", "others", "plan")
LEGS, STEPS = 12, 8
"""A drag goes so many straight legs, each in so many moves of the mouse, one a frame."""
FAR_M = 4.0
"""How far a thing is dragged at most [m]."""
WANTED_S = 0.5
PATIENCE_MS = 240_000
FRAMES = """() => {
    window.frames_at = [];
    const next = (time) => {
        window.frames_at.push(time);
        window.going = requestAnimationFrame(next);
    };
    window.going = requestAnimationFrame(next);
}"""
STOP = "() => { cancelAnimationFrame(window.going); return window.frames_at; }"
MARKS = "() => performance.getEntriesByType('mark').map((each) => [each.name, each.startTime])"
SPOT = """([x, y]) => {
    const there = new DOMPoint(x, y).matrixTransform(
        document.getElementById("world").getScreenCTM());
    return [there.x, there.y];
}"""


class Started:
    """The command in a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "siteplan", "edit", str(folder), "--no-browser"],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )  # fmt: skip
        found = (re.search(r"http://\S+", line) for line in self.process.stdout or ())
        self.address = next(address[0] for address in found if address)

    def lot(self) -> dict[str, Any]:
        """The lot as the page has it."""
        base, _, token = self.address.partition("#")
        with urlopen(Request(f"{base}lot", headers={"x-siteplan-token": token})) as told:
            lot: dict[str, Any] = json.load(told)
        return lot

    def stop(self) -> None:
        """Stop it and wait for its end."""
        self.process.send_signal(signal.SIGINT)
        self.process.wait()


def others_of(lot: dict[str, Any]) -> int:
    """How many loop types are laid out beside the first one."""
    wanted = lot["settings"].get("exchanger") or {}
    asked = wanted.get("system") in loop_types()
    return 0 if asked else len(loop_types()) - 1


def lots_of(folder: Path, number: int) -> Iterator[tuple[int, Path]]:
    """Folders with a site file, over and over, each time with another number."""
    known = sorted(path.parent for path in folder.glob("*/site.toml"))
    for turn in count():
        for place, path in enumerate(known):
            if turn * len(known) + place >= number:
                return
            yield turn, path


def measured(page: Page, served: Started, rng: random.Random, *, whole: bool) -> dict[str, Any]:
    """Frames [ms] and seconds to each stage of one drag."""
    page.goto(served.address)
    page.wait_for_selector("body[data-ready=yes]")
    last = "plan" if whole else "drawn"
    _wait(page, last, after=0)
    things = [each for each in served.lot()["things"] if each["points"] and each["ref"]]
    shown = [each for each in things if _is_on(served.lot()["parcel"]["rings"][0], each)]
    points = [each for each in shown if len(each["points"]) == 1]
    thing = rng.choice(points or shown)
    page.click(f"#list button:text-is('{thing['id']}')")
    frames, opinions = _dragged(page, thing, rng)
    names = [name for name, _ in page.evaluate(MARKS)]
    if "released" not in names:
        return {"thing": thing["id"], "frames": frames, "opinions": opinions}
    known = names.index("released")
    _wait(page, last, after=known)
    lot = served.lot()
    expected = others_of(lot)
    if expected and whole:
        _wait(page, "others", after=known, times=expected)
    marks = page.evaluate(MARKS)[known:]
    # of the others the last one counts; all of them stand in the full plan as well
    told = {**dict(reversed(marks)), **{n: t for n, t in marks if n == "stage others"}}
    times = {stage: (told[f"stage {stage}"] - told["released"]) / 1000
             for stage in STAGES if f"stage {stage}" in told}  # fmt: skip
    area = lot["stages"].get("area", {})
    system = area.get("system", "")
    return {"thing": thing["id"], "frames": frames, "opinions": opinions, **times, "system": system}


def _is_on(parcel: list[list[float]], thing: dict[str, Any]) -> bool:
    """Whether a thing lies within the bounds of the lot: a neighbour's well may not be shown."""
    return all(
        min(line) <= at <= max(line)
        for point in thing["points"]
        for at, line in zip(point, zip(*parcel, strict=True), strict=True)
    )


def _wait(page: Page, stage: str, *, after: int, times: int = 1) -> None:
    """Wait until a stage is told so often, or will not be, after so many marks."""
    page.wait_for_function(
        """([known, stage, times]) => {
            const marks = performance.getEntriesByType("mark").slice(known);
            const names = marks.map((each) => each.name);
            return names.filter((name) => name === `stage ${stage}`).length >= times
                || names.includes("stage plan") || names.includes("stage faults");
        }""",
        arg=[after, stage, times], timeout=PATIENCE_MS,
    )  # fmt: skip


def _dragged(
    page: Page, thing: dict[str, Any], rng: random.Random
) -> tuple[list[float], list[float]]:
    """Drag a thing on a crooked way and let go: milliseconds between frames, between opinions."""
    x, y = page.evaluate(SPOT, thing["points"][0])
    to_x, to_y = page.evaluate(
        SPOT, [axis + rng.uniform(-FAR_M, FAR_M) for axis in thing["points"][0]]
    )
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12, y + 9)
    page.evaluate(FRAMES)
    for leg in range(1, LEGS + 1):
        share = leg / LEGS
        to = x + (to_x - x) * share + 6 * (leg % 5), y + (to_y - y) * share
        page.mouse.move(*to, steps=STEPS)
    times = page.evaluate(STOP)
    page.mouse.move(to_x, to_y)
    page.mouse.up()
    heard = [at for name, at in page.evaluate(MARKS) if name == "opinion"]
    return _gaps(times), _gaps(heard)


def _a_second(gaps: list[float]) -> float:
    """How many came a second, of the milliseconds between them."""
    return 1000 * len(gaps) / sum(gaps) if gaps else 0.0


def _gaps(times: list[float]) -> list[float]:
    return sorted(after - before for before, after in pairwise(times))


class EnoughError(Exception):
    """All stages wanted are told."""


def child_seconds(before: Path, job: Job, last: str, pipe: Connection) -> None:
    """Send processor seconds from a job's begin to each stage, up to the last one wanted.

    The lot as it was before is planned first, as it is while the page is looked at.
    """
    quiet = Telling(lambda *_: None, lambda _: None)
    does = BESIDE.get(job.share, staged_plan)
    known = does(Job(str(before), staged=False, drawn=job.drawn, share=job.share), quiet)
    times: dict[str, float] = {}
    systems: set[str] = set()
    began = time.process_time()

    def told(stage: str, what: Any) -> None:
        now = time.process_time() - began
        if stage != "other":
            times[stage] = now
        elif what["system"] not in systems:  # told again where free places are looked for
            systems.add(what["system"])
            times["others"] = now
        if stage in (last, "faults"):
            raise EnoughError

    with suppress(EnoughError):
        does(job, Telling(told, lambda _: None), known)
    pipe.send(times)


def in_a_child(before: Path, path: Path, system: str, *, whole: bool) -> dict[str, float]:
    """Processor seconds to each stage, in a child as the page has them."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PRELOADED)
    last = "plan" if whole else "drawn"
    found: dict[str, float] = {}
    for share in ("rows", "others", "drawn"):
        job = Job(str(path), system, share=share)
        here, there = context.Pipe()
        child = context.Process(target=child_seconds, args=(before, job, last, there))
        child.start()
        found |= here.recv()
        child.join()
    return found


def _row(name: str, told: dict[str, Any]) -> str:
    frames = told["frames"]
    most = frames[int(0.95 * len(frames))]
    shown = [f"{statistics.median(frames):.0f} / {most:.0f} / {frames[-1]:.0f}"]
    gaps = told["opinions"]
    shown.append(f"{statistics.median(gaps):.0f} / {_a_second(gaps):.0f}" if gaps else "-")
    shown += [
        f"{told[stage]:.2f} ({told['cpu'].get(stage, 0):.2f})" if stage in told else "-"
        for stage in STAGES
    ]
    return f"| {name} | {told['thing']} | {told.get('system', '')} | {' | '.join(shown)} |"


def main() -> None:
    """Print a row for each lot, and the medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=ROOT / "samples")
    parser.add_argument("--lots", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plan", action="store_true", help="wait for the full plan as well")
    wanted = parser.parse_args()
    print(f"| lot | dragged | loop type | frame median / 95 % / longest ms | "
          f"opinion median ms / a second | {' s (cpu) | '.join(STAGES)} s (cpu) |")  # fmt: skip
    print("| --- " * (5 + len(STAGES)) + "|")
    found = []
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as scratch:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        for number, (turn, path) in enumerate(lots_of(wanted.folder, wanted.lots)):
            folder = Path(scratch) / str(number)
            shutil.copytree(path, folder)
            served, page = Started(folder), browser.new_page()
            rng = random.Random(f"{wanted.seed} {turn} {path.name}")
            told = measured(page, served, rng, whole=wanted.plan)
            page.close()
            served.stop()
            file = folder / "site.toml"
            told["cpu"] = in_a_child(
                path / "site.toml", file, told.get("system", ""), whole=wanted.plan
            )
            found.append(told)
            print(_row(path.name, told), flush=True)
    rates = [_a_second(told["opinions"]) for told in found if told["opinions"]]
    if rates:
        print(f"opinions: median {statistics.median(rates):.0f} a second, least {min(rates):.0f}")
    for stage in STAGES:
        watch = [told[stage] for told in found if stage in told]
        alone = [told["cpu"][stage] for told in found if stage in told["cpu"]]
        for name, times in ((stage, watch), (f"{stage}, processor", alone)):
            if times:
                within = sum(each <= WANTED_S for each in times)
                print(f"{name}: median {statistics.median(times):.2f} s, "
                      f"longest {max(times):.2f} s, "
                      f"{within} of {len(times)} within {WANTED_S} s")  # fmt: skip


if __name__ == "__main__":
    main()
