"""Ground that the plan proposes for spoil, cuttings and mud."""

from __future__ import annotations

import math
from typing import Final

from shapely import MultiLineString

from siteplan.available.area import KeepOut
from siteplan.checks.model import Separation
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.drawn_distances import drawn_of
from siteplan.sheet.content.lot_lines import line_distances
from siteplan.sheet.content.stakes import SettingOut
from siteplan.sheet.kept import kept
from siteplan.site.model import Site
from siteplan.specification.stockpile import HeapKind, Stockpile, stockpiles

PILE_NAMES: Final[dict[HeapKind, str]] = {"spoil": "SPOIL", "cuttings": "CUTTINGS AND MUD"}
"""What the plan calls each, as the order of work does."""


def stockpiles_of(content: PlanContent) -> tuple[Stockpile, ...] | None:
    """Ground proposed for earth; None on the sheets of what was built."""
    layout = content.layout
    if layout is None or content.built is not None or not layout.elements:
        return None
    return _piles(content.site, layout, content.keep_outs, content.setting_out, content.separations)


@kept
def _piles(
    site: Site, layout: Layout, keep_outs: tuple[KeepOut, ...], staked: SettingOut,
    separations: tuple[Separation, ...],
) -> tuple[Stockpile, ...]:  # fmt: skip
    """Ground for earth, clear of pegs, and of the lines of dimensions where that costs little."""
    pegs = tuple(peg.at for peg in staked.pegs)
    ways = [(row.element_point, row.feature_point) for row in drawn_of(site, separations)]
    ways += [(distance.start, distance.end) for distance in line_distances(site)]
    measured = MultiLineString([way for way in ways if math.dist(*way) > 0.0])
    return stockpiles(site, layout, keep_outs, pegs, measured)
