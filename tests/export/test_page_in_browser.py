"""The page in a real browser; skipped where there is no Chromium or no Playwright."""

from __future__ import annotations

import numpy as np
import pytest
from planned import planned, sheets_of

from siteplan.export.page import page_of


@pytest.fixture(scope="module", params=["rural-acre", "tight-lot"])
def opened(request, browser, tmp_path_factory):
    """Sample, the page open in a browser, and what went wrong there or was asked for."""
    path = tmp_path_factory.mktemp("page") / "lot.html"
    path.write_text(page_of(planned(request.param).content()), encoding="utf-8")
    trouble: list[str] = []
    page = browser.new_page(viewport={"width": 1400, "height": 900})
    page.on("console", lambda message: trouble.append(message.text))
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on(
        "request",
        lambda asked: (
            None if asked.url.startswith(("file:", "data:")) else trouble.append(asked.url)
        ),
    )
    page.goto(path.as_uri())
    yield request.param, page, trouble
    page.close()


def on_screen(page, sheet, point):
    """Where a point of the lot [m] is seen."""
    x, y = sheet.view.to_paper([point])[0]
    return page.evaluate(
        """([name, x, y]) => {
            const there = new DOMPoint(x, y).matrixTransform(
                document.getElementById(name).getScreenCTM());
            return [there.x, there.y];
        }""",
        [sheet.number, float(x), float(sheet.paper.height_mm - y)],
    )


def test_the_tape_reads_what_lies_between_two_corners_of_the_lot(opened):
    sample, page, trouble = opened
    sheet, site = sheets_of(sample)[0], planned(sample).site
    first, second = (np.array(point) for point in site.parcel.exterior.coords[1:3])
    page.click("#whole")
    page.click("#tape")
    for point in (first, second):
        page.mouse.click(*on_screen(page, sheet, point))
    told = page.inner_text("#reading")
    page.click("#tape")
    metres = float(told.split()[0].replace(",", "")) * site.unit.metres
    # a pixel at this size is some 0.1 m
    assert metres == pytest.approx(float(np.hypot(*(second - first))), abs=0.4)
    east, north = (
        float(word) * site.unit.metres for word in told.split()[-4:] if word[0].isdigit()
    )
    assert (east, north) == pytest.approx(tuple(second), abs=0.4)
    assert trouble == []


def test_a_layer_is_switched_off_and_on(opened):
    _, page, trouble = opened
    switch = page.locator("[data-layer-of='M-GHEX-DIMS-N']")
    page.click("#layers summary")
    hidden = "document.querySelectorAll(\"g.off[data-layer='M-GHEX-DIMS-N']\").length"
    assert page.evaluate(hidden) == 0
    switch.uncheck()
    assert page.evaluate(hidden) > 0
    switch.check()
    assert page.evaluate(hidden) == 0
    page.click("#layers summary")
    assert trouble == []


def test_keys_alone_turn_sheets_and_zoom(opened):
    _, page, trouble = opened
    page.click("#whole")
    page.focus("[role=tab][aria-selected=true]")
    page.keyboard.press("ArrowRight")
    shown = "document.querySelector('svg.shown').id"
    assert page.evaluate(shown) != "L1"
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(shown) == "L1"
    width = "Number(document.querySelector('svg.shown').getAttribute('viewBox').split(' ')[2])"
    whole = page.evaluate(width)
    page.focus("#board")
    page.keyboard.press("+")
    assert page.evaluate(width) == pytest.approx(whole / 1.4, rel=1e-3)
    page.keyboard.press("0")
    assert page.evaluate(width) == pytest.approx(whole, rel=1e-3)
    assert trouble == []
