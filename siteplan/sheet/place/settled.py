"""Names that are led, looked at once more when none comes any more."""

from __future__ import annotations

from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.choice import moved_aside
from siteplan.sheet.place.exchange import SetDown, numbered
from siteplan.sheet.place.led_lines import ALONG_COST
from siteplan.sheet.place.placer import Placer, leader_path


def settle(canvas: Canvas) -> None:
    """Move labels that are led a little aside where they hide less, and leaders apart.

    None that has a place loses it.
    """
    for one in [one for one in canvas.placed if one.led]:
        others = canvas.placer.without(one.ink)
        place = moved_aside(others, one.wish, one.label, one.place)
        if place is not None:
            _take_up(canvas, one, others)
            canvas.drawn(one.wish, one.label, place)
    for one in [one for one in canvas.placed if one.led]:
        _lead_apart(canvas, one)


def _take_up(canvas: Canvas, one: SetDown, others: Placer) -> None:
    gone = {id(item) for item in one.primitives}
    canvas.placer = others
    canvas.primitives[:] = [item for item in canvas.primitives if id(item) not in gone]
    canvas.placed.remove(one)


def _lead_apart(canvas: Canvas, one: SetDown) -> None:
    """Set down anew, or number, a name whose leader runs along another; else it stays."""
    others = canvas.placer.without(one.ink)
    if not others.runs_along(leader_path(one.place, one.label.width, one.label.height)):
        return
    tag = numbered(one.wish, len(canvas.listed) + 1, canvas.set_down) if canvas.lists else None
    for wish in (one.wish, tag):
        found = wish and canvas.place_in(others, wish, fine=True, under=ALONG_COST)
        if wish and found:
            _take_up(canvas, one, others)
            canvas.drawn(wish, *found)
            canvas.listed += [" ".join(one.wish.choices[0][0].lines)] if wish is tag else []
            return
