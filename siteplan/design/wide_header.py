"""A header that is dug wider for many pipes, led so far from lines as its width asks."""

from __future__ import annotations

from dataclasses import replace

from siteplan.advisories.groups import lines_too_near
from siteplan.demand.model import DemandError
from siteplan.design.converge import settled
from siteplan.design.even_circuits import Settled, evened


def led_for_its_width(even: Settled) -> Settled:
    """What is laid out, or laid out again for a wider header trench where that is near a line.

    How wide it is dug is known only when its pipes are. Laid out again is once, for the widest
    piece along the whole way; what then has no room, or is near a line all the same, is not taken:
    the warning on it stays. The check goes on to measure from the trench as stated, and what is
    said of the wider one from each piece as it is dug.
    """
    layout, lot = even.piped(), even.lot
    if not any(lines_too_near(lot.site, lot.rules, layout)) or layout.piping is None:
        return even
    half_m = max(piece.width_m for piece in layout.piping.pieces) / 2
    measuring = replace(lot.rules.measuring, header_m=half_m)
    wide = replace(lot, rules=replace(lot.rules, measuring=measuring))
    try:
        again = evened(wide, *settled(wide, even.required, layout.system))
    except DemandError:
        return even
    again = replace(again, lot=replace(again.lot, rules=lot.rules))
    led = again.piped()
    still = any(lines_too_near(again.site, lot.rules, led))
    return even if still or (led.obstacle and not layout.obstacle) else again
