"""Ground that the plan proposes for spoil, cuttings and mud."""

from __future__ import annotations

from typing import Final

from siteplan.available.area import KeepOut
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
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
    return _piles(content.site, layout, content.keep_outs, content.setting_out)


@kept
def _piles(
    site: Site, layout: Layout, keep_outs: tuple[KeepOut, ...], staked: SettingOut
) -> tuple[Stockpile, ...]:
    """Ground for earth, clear of the pegs of base lines."""
    return stockpiles(site, layout, keep_outs, tuple(peg.at for peg in staked.pegs))
