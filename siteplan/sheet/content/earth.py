"""Ground that the plan proposes for spoil, cuttings and mud."""

from __future__ import annotations

from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.specification.stockpile import HeapKind, Stockpile, stockpiles

PILE_NAMES: Final[dict[HeapKind, str]] = {"spoil": "SPOIL", "cuttings": "CUTTINGS AND MUD"}
"""What the plan calls each, as the order of work does."""

_piles = kept(stockpiles)


def stockpiles_of(content: PlanContent) -> tuple[Stockpile, ...] | None:
    """Ground proposed for earth; None on the sheets of what was built."""
    layout = content.layout
    if layout is None or content.built is not None or not layout.elements:
        return None
    pegs = tuple(peg.at for peg in content.setting_out.pegs)
    return _piles(content.site, layout, content.keep_outs, pegs)
