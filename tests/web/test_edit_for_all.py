"""Whether everybody can read and reach the page: contrast in light and dark, names, focus."""

from __future__ import annotations

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import Shown, begin_with
from test_edit_server import LOT

# WCAG 2.2: contrast of text at least 4.5 (success criterion 1.4.3), of what bounds a control at
# least 3 (1.4.11); relative luminance as defined there
CONTRASTS = """() => {
    const light = (rgb) => rgb.map((value) => value / 255)
        .map((value) => value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4)
        .reduce((sum, value, at) => sum + value * [0.2126, 0.7152, 0.0722][at], 0);
    const parts = (color) => { const all = color.match(/[\\d.]+/g).map(Number);
        return [all.slice(0, 3), all[3] ?? 1]; };
    const behind = (element) => { for (let e = element; e; e = e.parentElement) {
        const [rgb, alpha] = parts(getComputedStyle(e).backgroundColor);
        if (alpha === 1) return rgb; } return [255, 255, 255]; };
    const ratio = (one, other) => { const [a, b] = [light(one), light(other)];
        return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05); };
    const found = [];
    for (const e of document.querySelectorAll("body *")) {
        // what is disabled, and what is drawn of the sheet, is neither text to be read nor control
        if (e.closest("svg") || !e.offsetParent || e.disabled) continue;
        const ground = behind(e), style = getComputedStyle(e);
        const says = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
        if (says || e.value)
            found.push(["text", e.textContent || e.value, ratio(parts(style.color)[0], ground)]);
        if (e.placeholder) found.push(["text", e.placeholder,
            ratio(parts(getComputedStyle(e, "::placeholder").color)[0], ground)]);
        if (e.matches("input, select, textarea, button"))
            found.push(["edge", e.outerHTML,
                ratio(parts(style.borderTopColor)[0], behind(e.parentElement))]);
    }
    return found;
}"""
LEAST = {"text": 4.5, "edge": 3.0}
NAMELESS = """() => [...document.querySelectorAll("input, select, textarea, button, summary")]
    .filter((e) => e.offsetParent && ![...e.labels || []].some((each) => each.textContent.trim())
        && !e.getAttribute("aria-label") && !e.textContent.trim())
    .map((e) => e.outerHTML)"""
TOOLS = ("move", "parcel", "house", "add", "entry", "why")


@pytest.fixture(params=["light", "dark"])
def seen(request, browser, home):
    """The page of a planned lot, on a system that prefers light or dark."""
    begin_with(home, LOT)
    one = Shown(browser, home, color_scheme=request.param)
    one.verdict("^FITS")
    yield one.page
    one.context.close()


def test_whatever_is_read_stands_out_from_its_ground_and_has_a_name(seen):
    for summary in seen.locator("aside > details:not([open]) > summary").all():
        summary.click()
    looked_at = 0
    for tool in TOOLS:
        seen.click(f"[data-tool={tool}]")
        found = seen.evaluate(CONTRASTS)
        looked_at += len(found)
        assert [each for each in found if each[2] < LEAST[each[0]]] == []
        assert seen.evaluate(NAMELESS) == []
    for view in ("variants", "leave"):
        seen.click(f"[data-view={view}]")
        seen.wait_for_selector(f"#{view} button")
        assert [each for each in seen.evaluate(CONTRASTS) if each[2] < LEAST[each[0]]] == []
        assert seen.evaluate(NAMELESS) == []
    assert looked_at > 300


def test_whatever_has_the_focus_is_seen_to_have_it(seen):
    # WCAG 2.2, success criterion 2.4.7
    seen.click("[data-tool=add]")
    reached = set()
    for _ in range(60):
        seen.keyboard.press("Tab")
        name, style, width = seen.evaluate(
            "() => { const e = document.activeElement, s = getComputedStyle(e);"
            " return [e.tagName + (e.id || e.textContent), s.outlineStyle, s.outlineWidth]; }"
        )
        # behind the last one the browser itself has the focus
        if not name.startswith("BODY"):
            reached.add(name)
            assert (style, width) == ("solid", "2px"), name
    assert len(reached) > 20
