"""Pictures of the page of `siteplan edit`, as docs/edit.md and the README show it.

Nothing is timed.

``page_pictures.py [OUT] [--only drag why]`` draws an acre from nothing on the page, as a hand would
do it, opens the sample rural-acre and does there what each picture shows, and writes the pictures
into docs/images, or into another folder. Look at each of them before it is kept.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from page import ROOT, SPOT, Started
from playwright.sync_api import Browser, Page, sync_playwright

FOOT: Final = 0.3048
PATIENCE_MS: Final = 60_000
SAMPLE: Final = ROOT / "samples" / "rural-acre"
DESK: Final = {"viewport": {"width": 1280, "height": 860}}
TABLET: Final = {
    "viewport": {"width": 820, "height": 1100}, "has_touch": True, "color_scheme": "dark",
}  # fmt: skip
ACRE: Final = "0, 0\n240, 0\n240, 182\n0, 182"
"""Corners of the sketch [ft]."""
WANTED: Final = (
    ("project.title", "Loop, Sketch Road"), ("project.owner", "B. Drawer"),
    ("project.address", "7 Sketch Road"), ("project.parcel_id", "12-034"),
    ("project.prepared_by", "C. Planner"), ("loads.heating", "36 MBH"),
    ("loads.heating_hours", "2000"), ("loads.cooling", "24 MBH"), ("loads.cooling_hours", "800"),
    ("ground.temperature", "52 F"), ("ground.swing", "20 F"),
    ("ground.coldest_day", "3 February"), ("ground.soil", "heavy sand, 15 % water"),
    ("ground.frost", "4 ft"), ("fluid.mixture", "propylene glycol 25 %"),
    ("horizontal.kind", "four pipes"),
)  # fmt: skip
"""What is filled in under what is wanted, field by field."""


@contextmanager
def opened(browser: Browser, folder: Path, **options: Any) -> Iterator[Page]:
    """The page of a lot, served by the command itself."""
    served = Started(folder)
    context = browser.new_context(**options)
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto(served.address)
    page.wait_for_selector("body[data-ready=yes]")
    try:
        yield page
    finally:
        context.close()
        served.stop()


def planned(page: Page) -> None:
    """Wait for the full plan."""
    page.wait_for_function(
        "() => /^(FITS|DOES NOT FIT)/.test(document.getElementById('verdict').textContent)"
    )


def spot(page: Page, *place: float) -> tuple[float, float]:
    """Where a place of the lot [m] is on the screen."""
    x, y = page.evaluate(SPOT, place)
    return x, y


def tap(page: Page, x_ft: float, y_ft: float) -> None:
    """Tap a place of the lot [ft]."""
    page.mouse.click(*spot(page, x_ft * FOOT, y_ft * FOOT))


def done(page: Page, name: str) -> None:
    """Wait until a thing lies on the board."""
    page.wait_for_selector(f"[data-id='{name}']", state="attached")


def by_walls(page: Page, kind: str, name: str, corner: tuple[str, str], walls: str) -> None:
    """Draw what has sides, going round it as with a tape."""
    page.click("[data-tool=house]")
    page.get_by_label("Kind", exact=True).select_option(kind)
    page.get_by_label("First corner, x").fill(corner[0])
    page.get_by_label("and y").fill(corner[1])
    page.get_by_label("Walls").fill(walls)
    page.get_by_label("Name", exact=True).fill(name)
    page.click("#form button:has-text('Draw it')")
    done(page, name)


def drawn(page: Page, kind: str, points: str, width: str = "") -> None:
    """Add a line, point by point as it is typed."""
    page.click("[data-tool=add]")
    page.select_option("#kind", kind)
    page.get_by_label("Drawn").select_option("line")
    if width:
        page.get_by_label("How wide").fill(width)
    page.fill("#form textarea", points)
    name = page.get_by_label("Name", exact=True).input_value()
    page.click("#form button:has-text('Done')")
    done(page, name)


def acre(page: Page) -> None:
    """Draw the acre of a tape sketch from nothing, and say what is wanted."""
    page.fill("#form textarea >> nth=0", ACRE)
    page.click("#form button:has-text('Done')")
    done(page, "parcel")
    by_walls(page, "building", "house", ("90", "60"), "44 ft L 28 ft L 44 ft")
    page.click("[data-tool=add]")
    page.select_option("#kind", "potable well")
    page.get_by_label("Line 2", exact=True).select_option("parcel:north")
    page.get_by_label("off line 1").fill("22 ft")
    page.get_by_label("off line 2").fill("30 ft")
    page.click("button:has-text('Place off these lines')")
    done(page, "well")
    by_walls(page, "septic tank", "tank", ("146", "66"), "9 ft L 5 ft L 9 ft")
    by_walls(page, "drainfield", "drainfield", ("170", "52"), "50 ft L 36 ft L 50 ft")
    drawn(page, "driveway", "70, -8\n70, 70\n90, 70", "12 ft")
    drawn(page, "street", "-30, -20\n270, -20")
    drawn(page, "water line", "22, 152\n100, 88")
    page.click("summary:has-text('What is wanted')")
    for path, value in WANTED:
        field = page.locator(f"[data-path='{path}']")
        if field.evaluate("each => each.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
            field.press("Enter")
    page.click("summary:has-text('What is wanted')")
    planned(page)


# --- what each picture shows


def well_by_tape(page: Page) -> None:
    """The acre drawn from nothing, its well chosen."""
    acre(page)
    page.click("#list button:text-is('well')")
    page.wait_for_selector("text=Off two lines")
    page.mouse.move(5, 5)


def well_dragged(page: Page) -> None:
    """The well dragged into the field; it is not let go."""
    planned(page)
    x, y = spot(page, 22.34 * FOOT, 143.03 * FOOT)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 120, y + 20, steps=12)
    page.mouse.move(x + 237, y + 34, steps=12)
    page.wait_for_selector("#verdict:has-text('Too near')")


def point_asked(page: Page) -> None:
    """A point asked which rules keep what off it."""
    planned(page)
    page.click("[data-tool=why]")
    tap(page, 50.5, 130.2)
    page.wait_for_selector("#why strong")


def variants(page: Page) -> None:
    """Three variants side by side."""
    planned(page)
    page.click("[data-view=variants]")
    for what, value in (
        ("trench spacing", "8 ft"), ("kind of trench", "flat coil"), ("loop type", "vertical"),
    ):  # fmt: skip
        page.get_by_label("change").select_option(what)
        knob = page.get_by_label("to", exact=True)
        if knob.evaluate("each => each.tagName") == "SELECT":
            knob.select_option(value)
        else:
            knob.fill(value)
        page.click("#keep")
        page.wait_for_selector(f".variant h2:has-text('{value}')")
    page.wait_for_function("() => document.querySelectorAll('svg.picture').length === 4")


def sheets(page: Page) -> None:
    """The sheets as they will print."""
    planned(page)
    page.click("[data-view=sheets]")
    page.wait_for_selector("svg.sheet")


def by_finger(page: Page) -> None:
    """The well chosen by a finger on a tablet that prefers dark."""
    planned(page)
    page.touchscreen.tap(*spot(page, 22.34 * FOOT, 143.03 * FOOT))
    page.wait_for_selector("#form h2:has-text('well')")


PICTURES: Final[dict[str, tuple[Callable[[Page], None], dict[str, Any]]]] = {
    "edit": (well_by_tape, DESK),
    "edit-drag": (well_dragged, DESK),
    "edit-why": (point_asked, DESK),
    "edit-variants": (variants, DESK),
    "edit-sheets": (sheets, DESK),
    "edit-tablet": (by_finger, TABLET),
}


def main() -> None:
    """Make the pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", nargs="?", type=Path, default=ROOT / "docs" / "images")
    parser.add_argument("--only", nargs="+", choices=list(PICTURES), default=list(PICTURES))
    wanted = parser.parse_args()
    wanted.out.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as scratch:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        for name in wanted.only:
            does, options = PICTURES[name]
            folder = Path(scratch) / name
            if does is not well_by_tape:
                shutil.copytree(SAMPLE, folder)
            with opened(browser, folder, **options) as page:
                does(page)
                page.screenshot(path=wanted.out / f"{name}.png")
            print(f"{wanted.out / name}.png", flush=True)
        browser.close()


if __name__ == "__main__":
    main()
