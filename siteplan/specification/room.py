"""The room that spoil, cuttings and mud take, and where it is proposed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from siteplan.earthwork.excavation import SPOIL_SETBACK_M, SWELL, heap_width, working_width
from siteplan.findings.model import Reason, reason
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import take_off
from siteplan.site.model import Site
from siteplan.specification.stockpile import (
    HEAP_HEIGHT_M,
    MUD_TIMES,
    HeapKind,
    Stockpile,
    drilled,
)


def room_for_earth(
    site: Site, layout: Layout, piles: Sequence[Stockpile] | None = None
) -> Iterator[Reason]:  # fmt: skip
    """What is dug and drilled, and the room that it takes.

    ``piles``: ground that the plan proposes; None where it proposes nothing.
    """
    bank = sum(item.amount for item in take_off(site, layout) if item.ware == "soil")
    holes = drilled(layout)
    if layout.of(Trench):
        yield _beside_trenches(site, bank, _place(piles, "spoil"))
    elif bank:
        yield reason(
            "seq-spoil-header",
            bank_m3=bank,
            loose_m3=bank * SWELL,
            swell=SWELL,
            setback_m=SPOIL_SETBACK_M,
            place=_place(piles, "spoil"),
        )
    if holes:
        yield _beside_rig(holes, _place(piles, "cuttings"))


def _place(piles: Sequence[Stockpile] | None, kind: HeapKind) -> Reason | None:
    """Where the plan proposes it, or that it found no room."""
    if piles is None:
        return None
    pile = next((pile for pile in piles if pile.kind == kind), None)
    if pile is None:
        return reason(f"seq-{kind}-away")
    sides = {"width_m": pile.width_m, "length_m": pile.length_m}
    if kind == "cuttings":
        return reason("seq-cuttings-place", **sides)
    code = "seq-spoil-place" if pile.share == 1.0 else "seq-spoil-place-part"
    return reason(code, **sides, height_m=HEAP_HEIGHT_M)


def _beside_trenches(site: Site, bank_m3: float, place: Reason | None) -> Reason:
    options = site.exchanger.horizontal
    near = options.spacing_m < working_width(options)
    return reason(
        "seq-spoil",
        bank_m3=bank_m3,
        loose_m3=bank_m3 * SWELL,
        swell=SWELL,
        heap_m=heap_width(options),
        setback_m=SPOIL_SETBACK_M,
        near=reason("seq-spoil-near") if near else None,
        place=place,
    )


def _beside_rig(volumes_m3: list[float], place: Reason | None) -> Reason:
    return reason(
        "seq-cuttings",
        loose_m3=sum(volumes_m3) * SWELL,
        each_m3=max(volumes_m3) * SWELL,
        pit_m3=MUD_TIMES * max(volumes_m3),
        place=place,
    )
