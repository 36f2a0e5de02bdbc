"""What is drawn on the page is kept: other tabs, other editors, a killed server, other origins."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SLOW_MS, text_of
from served import Served
from test_edit_server import LOT


def test_two_tabs_are_told_of_each_other_and_show_the_same(shown):
    other = shown.another()
    shown.page.wait_for_selector("text=open in 2 tabs")
    other.wait_for_selector("text=open in 2 tabs")
    shown.served.change(
        {"op": "points", "ref": "feature:1", "key": "at", "points": [[6.096, 6.096]]}
    )
    for page in (shown.page, other):
        page.click("#list button:has-text('well')")
        page.wait_for_function("() => document.querySelector('#form input')?.value === '20'")


def test_a_button_held_down_while_the_lot_is_drawn_anew_is_pressed(shown):
    page = shown.page
    page.hover("#list button:has-text('well')")
    page.mouse.down()
    shown.served.change(
        {"op": "points", "ref": "feature:1", "key": "at", "points": [[6.096, 6.096]]}
    )
    # longer than the page takes to draw what another tab has changed
    page.wait_for_timeout(400)
    page.mouse.up()
    page.wait_for_function("() => document.querySelector('#form input')?.value === '20'")


def test_a_file_changed_outside_is_put_together_with_what_was_drawn_since(shown):
    page, file = shown.page, shown.served.folder / "site.toml"
    shown.tap(15 * FOOT, 20 * FOOT)
    page.keyboard.press("ArrowRight")
    shown.served.until(lambda: "at = [15, 20]" not in text_of(shown))
    drawn = text_of(shown)
    # an editor that had the file open before the well was moved
    file.write_text(LOT.replace('"Loop" ', '"Other" '))
    page.wait_for_selector("#notices:has-text('both changes are kept')", timeout=SLOW_MS)
    assert text_of(shown) == drawn.replace('"Loop" ', '"Other" ')
    page.wait_for_function("() => document.getElementById('title').textContent === 'Other'")


def test_a_file_changed_outside_in_the_table_drawn_in_is_asked_about(shown):
    page, file = shown.page, shown.served.folder / "site.toml"
    shown.tap(15 * FOOT, 20 * FOOT)
    page.keyboard.press("ArrowRight")
    shown.served.until(lambda: "at = [15, 20]" not in text_of(shown))
    file.write_text(LOT.replace("[15, 20]", "[25, 40]"))
    page.click("button:has-text('Take what is on disk')", timeout=SLOW_MS)
    page.wait_for_selector("#notices button", state="detached")
    assert "[25, 40]" in text_of(shown)


def started(folder: Path):
    """The command itself in a process of its own, and the address that it prints."""
    process = subprocess.Popen(
        [sys.executable, "-m", "siteplan", "edit", str(folder), "--no-browser"],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"},
        start_new_session=True,
    )  # fmt: skip
    found = (re.search(r"http://\S+", line) for line in process.stdout)
    return process, next(address[0] for address in found if address)


def test_a_server_killed_in_the_middle_of_a_drag_loses_that_drag_alone(browser, tmp_path):
    folder = tmp_path / "lot"
    folder.mkdir()
    (folder / "site.toml").write_text(LOT)
    process, address = started(folder)
    try:
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        page.goto(address)
        page.wait_for_selector("body[data-ready=yes]", timeout=SLOW_MS)
        page.click("#list button:has-text('well')")
        page.focus("#board")
        page.keyboard.press("ArrowRight")
        Served.until(lambda: "[16, 20]" in (folder / "site.toml").read_text())
        # drawn anew once the server has told what it saved
        page.wait_for_function("() => document.querySelector('#form input')?.value === '16'")
        handle, boxes = page.locator("circle[data-corner='0']"), []
        Served.until(lambda: boxes.append(handle.bounding_box()) or boxes[-1] is not None)
        box = boxes[-1]
        page.mouse.move(box["x"] + 4, box["y"] + 4)
        page.mouse.down()
        page.mouse.move(box["x"] + 60, box["y"] - 60, steps=4)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        page.mouse.up()
        page.wait_for_selector("text=Every change")
        page.close()
    finally:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.stdout.close()
        process.wait()
    assert (folder / "site.toml").read_text() == LOT.replace("[15, 20]", "[16, 20]")
    again = Served(folder / "site.toml")
    try:
        assert again.lot()["undo"] == 1
    finally:
        again.stop()


def test_a_page_of_another_origin_cannot_reach_the_lot(shown):
    page = shown.context.new_page()
    page.goto("data:text/html,<p>elsewhere</p>")
    told = page.evaluate(
        """async ([base, token]) => {
            const asked = { method: "POST", mode: "no-cors", body: "{}" };
            try { await fetch(`${base}/do/undo`, asked); } catch { /* refused */ }
            return new Promise((done) => {
                const socket = new WebSocket(`${base.replace("http", "ws")}/live?token=${token}`);
                socket.onopen = () => done("open");
                socket.onerror = () => done("refused");
            });
        }""",
        [shown.served.base, shown.served.token],
    )
    assert told == "refused"
    assert text_of(shown) == LOT
