"""Detail of the header pit: seen from above with its pipes, and cut across."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from siteplan.earthwork.bedding import SAND_ABOVE_M, SAND_BELOW_M, TAPE_M
from siteplan.earthwork.excavation import PROTECTED_FROM_M
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.piping_model import Circuit, Piping
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import Drafting, Named, largest_scale, room_beside, widest
from siteplan.sheet.details.header import piping_of
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.model import XY
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.units.lengths import FOOT, format_length, rough

HOME: Final = ("supply", "return")
"""Pipes that lead on to the building."""
AHEAD_M: Final = 2 * FOOT
"""How far the pipes are drawn beyond the sides of the pit [m]."""
MANIFOLD_M: Final = 1.5 * FOOT
"""Width of each of the two manifolds as drawn [m]."""
BETWEEN_M: Final = 3 * FOOT
"""Between the view from above and the ground of the section, as drawn [m]."""
MOST_DRAWN: Final = 12
"""Pairs drawn at most; more are drawn as so many."""


def pit_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """View and section of the header pit up to a height [mm]; None where there is none."""
    layout, piping, unit = content.layout, piping_of(content), content.site.unit
    header = layout.header if layout is not None else None
    if layout is None or piping is None or header is None or header.pit is None:
        return None
    side, deep = max(header.pit.sides_m), detail_mark(piping.depth_m, unit, rounding="nearest")
    size = (side + 2 * AHEAD_M, side + BETWEEN_M + piping.depth_m)
    left = DIMENSION_MM + widest([deep]) + 3.0
    scale = largest_scale(content, size, (room_beside(width, 0.5) - left, room_mm))
    flow = Flow(width, "header-pit")
    scaled_heading(flow, "HEADER PIT", scale_words(scale.nominal, unit))
    metre = 1000.0 / scale.ratio
    middle = left + (side / 2 + AHEAD_M) * metre
    top = -flow.depth - DIMENSION_MM - 3.0
    # of the view, heights are counted from the far side of the pit; of the section, from the ground
    view = Drafting(flow, scale.ratio, (middle, top))
    cut = Drafting(flow, scale.ratio, (middle, top - (side + BETWEEN_M) * metre))
    _draw_view(view, side, len(layout.circuits))
    _draw_section(cut, (side, piping.depth_m))
    west, east = view.mm(-side / 2, 0.0)[0], view.mm(side / 2, 0.0)[0]
    view.wide(top + 3.0, (west, east), detail_mark(side, unit, rounding="down"))
    bottom = cut.mm(0.0, -piping.depth_m)[1]
    cut.deep(west - 3.0, (cut.origin[1], bottom), deep)
    right = view.mm(side / 2 + AHEAD_M, 0.0)[0] + 4.0
    named = [*_named_above(view, side, layout.circuits, piping), *_named_across(cut, content, side)]
    lowest = view.labels(right, top - 2.0, named)
    flow.depth = max(-bottom, -lowest) + 2.0
    flow.paragraph(_words(content, piping), name="header-pit-words")
    return flow.block()


def _draw_view(view: Drafting, side: float, count: int) -> None:
    """Draw the pit from above: pairs of the circuits in, two manifolds, two pipes out."""
    half = side / 2
    ring = [(-half, 0.0), (half, 0.0), (half, -side), (-half, -side)]
    view.line(ring, "section-hole", closed=True)
    pairs = min(count, MOST_DRAWN)
    for at, share in zip(_manifolds(side), (0.0, 0.5), strict=True):
        low, high = at[1] - side * 0.36, at[1] + side * 0.36
        box = [(at[0], low), (at[0] + MANIFOLD_M / 3, low), (at[0] + MANIFOLD_M / 3, high)]
        view.line([*box, (at[0], high)], "section-hole", closed=True)
        for number in range(pairs):
            y = high - (number + 0.25 + share) * (high - low) / pairs
            view.line([(-half - AHEAD_M, y), (at[0], y)], "header")
    (supply_x, _), (return_x, across) = _manifolds(side)
    home = across - FOOT / 2
    view.line([(return_x + MANIFOLD_M / 3, home), (half + AHEAD_M, home)], "header")
    # round the return manifold, so that it is not taken for joined there
    end, past = across - side * 0.36, across - side * 0.36 - FOOT
    middle = supply_x + MANIFOLD_M / 6
    view.line([(middle, end), (middle, past), (half + AHEAD_M, past)], "header")


def _manifolds(side: float) -> tuple[XY, XY]:
    """Middle of the near side of each manifold, that of the supply first [m]."""
    return (-MANIFOLD_M, -side / 2), (MANIFOLD_M, -side / 2)


def _draw_section(cut: Drafting, size: XY) -> None:
    """Draw ground, pit, sand, tape and the pipes in it."""
    half, depth = size[0] / 2, size[1]
    top, level = _sand_top(depth), SAND_BELOW_M - depth
    cut.line([(-half, 0.0), (-half, -depth), (half, -depth), (half, 0.0)], "section-hole")
    for turn in (-1.0, 1.0):
        cut.line([(turn * half, 0.0), (turn * (half + AHEAD_M / 2), 0.0)], "section-ground")
    cut.hatch([(-half, -depth), (half, -depth), (half, top), (-half, top)])
    cut.line([(-half, top), (half, top)], "hair")
    cut.line([(-half, level), (half, level)], "header")
    for x, _ in _manifolds(size[0]):
        cut.pipe((x, level), 0.1)
    if top < -TAPE_M:
        cut.line([(-half / 2, -TAPE_M), (half / 2, -TAPE_M)], "crossing")


def _sand_top(depth_m: float) -> float:
    """Height of the top of the sand over the pipes of usual manifolds [m]."""
    return min(0.0, SAND_BELOW_M + SAND_ABOVE_M - depth_m)


def _named_above(
    view: Drafting, side: float, circuits: Sequence[Circuit], piping: Piping
) -> list[Named]:
    count, half = len(circuits), side / 2
    sizes = " and ".join(dict.fromkeys(circuit.pipe for circuit in circuits if circuit.pipe))
    home = [pipe for piece in piping.pieces for pipe in piece.pipes if pipe.role in HOME]
    size = max((pipe.size for pipe in home if pipe.size), key=_outer, default="")
    (first_x, first_y), (last_x, last_y) = _manifolds(side)
    pairs = (
        f"{count} CIRCUITS, A PAIR OF {sizes} EACH" if sizes else f"{count} CIRCUITS, A PAIR EACH"
    )
    return [
        (pairs, view.mm(-half * 0.9, -side * 0.17)),
        (f"SUPPLY MANIFOLD, {count} PORTS", view.mm(first_x, first_y + side * 0.3)),
        (f"RETURN MANIFOLD, {count} PORTS", view.mm(last_x, last_y + side * 0.1)),
        (f"2 PIPES TO THE BUILDING {size}".rstrip(), view.mm(half * 0.95, -side / 2 - FOOT / 2)),
    ]


def _outer(size: str) -> float:
    return pipes()[size].outer_m


def _named_across(cut: Drafting, content: PlanContent, side: float) -> list[Named]:
    unit, piping = content.site.unit, piping_of(content)
    depth_m = piping.depth_m if piping is not None else 0.0
    top = _sand_top(depth_m)
    cover = detail_mark(max(0.0, depth_m - SAND_BELOW_M), unit, rounding="down")
    return [
        (f"TAPE {detail_mark(TAPE_M, unit)} BELOW GRADE", cut.mm(side / 4, -TAPE_M)),
        (f"{detail_mark(SAND_ABOVE_M, unit)} SAND COVER", cut.mm(side * 0.4, top)),
        (f"PIPES {cover} BELOW GRADE", cut.mm(side * 0.45, SAND_BELOW_M - depth_m)),
    ]


def _words(content: PlanContent, piping: Piping) -> str:
    """How the pit is dug, filled and worked in."""
    unit = content.site.unit
    limit = format_length(PROTECTED_FROM_M, unit, rough(unit), rounding="down")
    off = detail_mark(2 * FOOT, unit)
    deep = piping.depth_m >= PROTECTED_FROM_M - 1e-9
    here = f" (it is {detail_mark(piping.depth_m, unit, rounding='nearest')} deep)" if deep else ""
    return (
        f"From {limit} of depth on{here} slope, shore or shield it in any soil "
        "but stable rock, and shallower where a cave-in threatens "
        f"({unit.us_law}29 CFR 1926.652(a)(1)). Keep "
        f"spoil and machines {off} from its edge (1926.651(j)(2)). Fused joints only; nothing is "
        "left that has to be got at, so the pit is filled again. Pressure-test circuits and "
        f"manifolds before backfill: sand, {detail_mark(SAND_BELOW_M, unit)} below to "
        f"{detail_mark(SAND_ABOVE_M, unit)} above the pipes; rock-free native soil in lifts, "
        "warning tape, topsoil. Measure the manifolds in before they are covered."
    )
