"""The page of `siteplan edit` as a browser shows it, and what a hand does there."""

from __future__ import annotations

import os

FOOT = 0.3048
PATIENCE_MS, SLOW_MS = 8_000, 40_000
"""For what the page does at once, and for what is planned [ms]."""
SHOTS = os.environ.get("SITEPLAN_SHOTS", "")
"""Folder for pictures of the page, for who looks at it; none: none are made."""


class Shown:
    """The page of a lot in a browser, and what went wrong there."""

    def __init__(self, browser, served, **options):
        self.served, self.trouble = served, []
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 860}, **options}
        )
        self.context.set_default_timeout(PATIENCE_MS)
        self.page = self.another()

    def another(self):
        page = self.context.new_page()
        page.on("pageerror", lambda error: self.trouble.append(str(error)))
        page.on("console", self._heard)
        page.on("request", lambda asked: self._judge(asked.url))
        page.goto(self.served.address)
        page.wait_for_selector("body[data-ready=yes]", timeout=SLOW_MS)
        return page

    def _heard(self, told):
        # an answer that refuses is told on the page; the browser notes it besides
        if told.type == "error" and "status of 409" not in told.text:
            self.trouble.append(told.text)

    def _judge(self, url):
        if not url.startswith((self.served.base, "data:", "blob:", "ws://127.0.0.1")):
            self.trouble.append(url)

    def spot(self, x, y):
        """Where a place of the lot [m] is on the screen."""
        return self.page.evaluate(
            """([x, y]) => {
                const there = new DOMPoint(x, y).matrixTransform(
                    document.getElementById("world").getScreenCTM());
                return [there.x, there.y];
            }""",
            [x, y],
        )

    def tap(self, x, y):
        self.page.mouse.click(*self.spot(x, y))

    def finger(self, start, end):
        """Drag from one place of the lot [m] to another with a finger."""
        session = self.context.new_cdp_session(self.page)
        (x, y), (to_x, to_y) = self.spot(*start), self.spot(*end)
        steps = [(x + (to_x - x) * step / 6, y + (to_y - y) * step / 6) for step in range(7)]
        for number, (at_x, at_y) in enumerate(steps):
            touch = {"type": "touchMove" if number else "touchStart",
                     "touchPoints": [{"x": at_x, "y": at_y}]}  # fmt: skip
            session.send("Input.dispatchTouchEvent", touch)
        session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    def verdict(self, pattern):
        self.page.wait_for_function(
            "told => RegExp(told).test(document.getElementById('verdict').textContent)",
            arg=pattern, timeout=SLOW_MS,
        )  # fmt: skip

    def shot(self, name):
        if SHOTS:
            self.page.screenshot(path=f"{SHOTS}/{name}.png")


def begin_with(home, text):
    """Put another lot in the place of the one before."""
    (home.folder / "site.toml").write_text(text or home.empty)
    home.ask("/do/settle", {"take": True})
    home.server.config.app.app.state.session.variants.clear()


def text_of(one) -> str:
    return (one.served.folder / "site.toml").read_text()


def drag(one, start, end, *, let_go=True):
    mouse = one.page.mouse
    (x, y), (to_x, to_y) = one.spot(*start), one.spot(*end)
    mouse.move(x, y)
    mouse.down()
    for step in range(1, 11):
        mouse.move(x + (to_x - x) * step / 10, y + (to_y - y) * step / 10)
        one.page.wait_for_timeout(16)
    if let_go:
        mouse.up()
