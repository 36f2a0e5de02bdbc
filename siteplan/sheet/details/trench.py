"""Cross-section of a trench as it is to be dug, to scale."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from siteplan.earthwork.bedding import (
    SAND_ABOVE_M,
    SAND_BELOW_M,
    TAPE_M,
    sand_layers,
    width_at,
)
from siteplan.earthwork.excavation import (
    PROTECTED_FROM_M,
    SPOIL_SETBACK_M,
    heap_width,
    strip_width,
    too_narrow_to_enter,
)
from siteplan.layout.elements import Trench
from siteplan.preferences.table import figures_of
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import DOT_MM, PITCH_MM, Drafting
from siteplan.sheet.model import XY, Polygon, Ring
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import BODY_MM
from siteplan.sheet.style.formats import detail_mark, fraction
from siteplan.sheet.style.paper import enlargement
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import TrenchKind, trench_kinds
from siteplan.units.lengths import INCH, format_length, rough
from siteplan.units.model import UnitSystem

TALLEST_MM: Final = figures_of("sheet.details.trench.tallest_mm")
"""Depths of a trench on paper that are tried [mm]."""
LABEL_GAP_MM: Final = 3.0
DIMENSION_MM: Final = 5.0
"""Distance of a dimension line from what it measures [mm]."""
MOST_ARCHITECT: Final = 192
"""The smallest scale on an architect's scale, 1/16 in to the foot; below it stand those of plans;
common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Cut(Drafting):
    """The section in metres: x to the right from the middle of the trench, y up from the ground."""

    options: HorizontalOptions
    kind: TrenchKind


def has_section(content: PlanContent) -> bool:
    """Whether there is a trench to be cut."""
    layout = content.layout
    return layout is not None and bool(layout.of(Trench))


def section_block(content: PlanContent, width: float, tallest_mm: float) -> Block | None:
    """Section of the trenches laid out, None where there are none or no scale holds it."""
    if not has_section(content):
        return None
    options, unit = content.site.exchanger.horizontal, content.site.unit
    kind = trench_kinds()[options.kind]
    left = (
        DIMENSION_MM
        + text_width(detail_mark(options.depth_m, unit, rounding="down"), BODY_MM)
        + 3.0
    )
    factor = enlargement(content.site.sheet.size)
    nominal = _ratio(options, unit, (width - left, tallest_mm), factor)
    if nominal is None:
        return None
    ratio = nominal * factor
    flow = Flow(width, "trench-section")
    scaled_heading(flow, "TRENCH SECTION", scale_words(nominal, unit))
    heap_mm = heap_width(options) / 3.0 * 1000.0 / ratio
    # above the ground stands the heap with its words, or the width of the opening
    top = flow.depth + max(heap_mm + BODY_MM + 1.2, DIMENSION_MM + BODY_MM) + 0.6
    middle = left + strip_width(options) / 2 * 1000.0 / ratio
    cut = _Cut(flow, ratio, (middle, -top), options, kind)
    _draw_ground(cut)
    _draw_pipe(cut)
    _draw_dimensions(cut, unit)
    lowest = _draw_labels(cut, unit)
    flow.depth = max(-cut.mm(0.0, -options.depth_m)[1], -lowest) + 2.0
    flow.paragraph(_filling_words(options, unit))
    return flow.block()


def _ratio(options: HorizontalOptions, unit: UnitSystem, room_mm: XY, factor: float) -> int | None:
    """Largest scale at which a section fits with its words, on paper enlarged by a factor."""
    for nominal in unit.drawing.detail_ratios[1:]:  # the largest is for what a hand holds
        ratio = nominal * factor
        deep = options.depth_m * 1000.0 / ratio
        if _right_of_opening(options, unit, ratio) <= room_mm[0] and deep <= room_mm[1]:
            return nominal
    return None


def _right_of_opening(options: HorizontalOptions, unit: UnitSystem, ratio: float) -> float:
    """What a section takes from the left edge of the opened ground to its last word [mm]."""
    # measured, not drawn: the flow is thrown away
    cut = _Cut(
        Flow(0.0, "trench-section"), ratio, (0.0, 0.0), options, trench_kinds()[options.kind]
    )
    opening = cut.mm(strip_width(options), 0.0)[0]
    widest = max(text_width(word, BODY_MM) for word, _ in _labels(cut, unit))
    end = cut.mm(strip_width(options) + SPOIL_SETBACK_M + heap_width(options), 0.0)[0]
    spoil = text_width(_spoil_words(unit), BODY_MM)
    over = _is_over_heap(cut, spoil)
    beyond = max(0.0, (spoil - cut.mm(heap_width(options), 0.0)[0]) / 2) if over else 2.0 + spoil
    return max(opening + LABEL_GAP_MM + widest, end + beyond)


def scale_words(ratio: int, unit: UnitSystem) -> str:
    r"""Scale in the words of the sheet's unit.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> scale_words(8, US), scale_words(48, US), scale_words(50, METRIC)
    ('1 1/2" = 1\'-0"', '1/4" = 1\'-0"', '1:50')
    """
    drawing = unit.drawing
    if ratio > MOST_ARCHITECT and ratio in drawing.plan_ratios:
        return drawing.plan_scale.format(ratio=ratio, each=ratio / drawing.paper_units)
    return drawing.detail_scale.format(
        ratio=ratio,
        each=ratio / drawing.paper_units,
        inches=fraction(Fraction(drawing.paper_units) / ratio),
    )


def scaled_heading(flow: Flow, title: str, words: str) -> None:
    """Write the title of a detail, and under it at which scale it is drawn."""
    flow.heading(title)
    flow.paragraph(f"SCALE {words}", name="scale")


def _draw_ground(cut: _Cut) -> None:
    """Ground, the hole, bedding sand, tape and the heap of spoil."""
    options = cut.options
    half, half_top, depth = options.width_m / 2, strip_width(options) / 2, options.depth_m
    foot = half_top + SPOIL_SETBACK_M
    heap = heap_width(options)
    left = cut.mm(-half_top, 0.0)
    cut.stroke(((left[0] - 4.0, left[1]), left), "section-ground")
    right_end = cut.mm(foot + heap, 0.0)
    hole = [(-half_top, 0.0), (-half, -depth), (half, -depth), (half_top, 0.0)]
    cut.line(hole, "section-hole")
    cut.stroke((cut.mm(half_top, 0.0), right_end), "section-ground")
    cut.line([(foot, 0.0), (foot + heap / 2, heap / 3.0), (foot + heap, 0.0)], "hair")
    _draw_sand(cut)
    if _has_tape(options):
        wide = min(half, 3 * INCH)
        cut.line([(-wide, -TAPE_M), (wide, -TAPE_M)], "crossing")


def _draw_sand(cut: _Cut) -> None:
    """Each layer of sand, hatched, and its upper and lower edge where native soil is beside it."""
    options = cut.options
    for low, high in sand_layers(options):
        wide_low, wide_high = width_at(options, low) / 2, width_at(options, high) / 2
        y_low, y_high = low - options.depth_m, high - options.depth_m
        bed = [(-wide_low, y_low), (wide_low, y_low), (wide_high, y_high), (-wide_high, y_high)]
        cut.hatch(bed)
        for half, y in ((wide_low, y_low), (wide_high, y_high)):
            cut.line([(-half, y), (half, y)], "hair")


def _has_tape(options: HorizontalOptions) -> bool:
    """Whether the warning tape lies above the sand."""
    return options.depth_m > TAPE_M + sand_layers(options)[-1][1]


def _draw_pipe(cut: _Cut) -> None:
    """Each pipe as a dot; rings of a coil on the bottom or on edge."""
    coil, depth = cut.kind.coil, cut.options.depth_m
    for aside, above in cut.kind.at:
        x, y = cut.mm(aside, above - depth)
        if coil is None:
            cut.flow.items.append(Polygon((_dot((x, y)),), "ink-fill", layer("section"), "paper"))
        elif coil.lies == "flat":
            half = coil.diameter_m / 2
            bottom = above - depth
            cut.line([(aside - half, bottom), (aside + half, bottom)], "trench")
        else:
            top = above + coil.diameter_m - depth
            cut.line([(aside, above - depth), (aside, top)], "trench")


def _dot(at: XY) -> Ring:
    turns = [2 * math.pi * step / 12 for step in range(12)]
    return tuple((at[0] + DOT_MM * math.cos(t), at[1] + DOT_MM * math.sin(t)) for t in turns)


def _draw_dimensions(cut: _Cut, unit: UnitSystem) -> None:
    """Depth on the left, width of the opening on top."""
    options = cut.options
    half_top = strip_width(options) / 2
    x = cut.mm(-half_top, 0.0)[0] - DIMENSION_MM + 2.0
    top, bottom = cut.mm(0.0, 0.0)[1], cut.mm(0.0, -options.depth_m)[1]
    cut.ticked((x, top), (x, bottom))
    edge = cut.mm(-options.width_m / 2, -options.depth_m)
    cut.stroke(((x - 0.8, bottom), (edge[0] - 0.6, bottom)), "hair")
    depth = detail_mark(options.depth_m, unit, rounding="down")
    cut.write(depth, (x - 1.4, (top + bottom) / 2 - BODY_MM / 2), "right")
    y = top + DIMENSION_MM - 2.0
    left, right = cut.mm(-half_top, 0.0)[0], cut.mm(half_top, 0.0)[0]
    cut.wide(y, (left, right), detail_mark(2 * half_top, unit))


def _draw_labels(cut: _Cut, unit: UnitSystem) -> float:
    """Words beside the hole, each with a line to what it names; the lowest base line [mm]."""
    half_top = strip_width(cut.options) / 2
    x = cut.mm(half_top, 0.0)[0] + LABEL_GAP_MM
    y = cut.mm(0.0, 0.0)[1] - PITCH_MM
    for text, place in _labels(cut, unit):
        target = cut.mm(*place)
        # never above the one before nor above what it names, so that no two lines cross
        y = min(y, target[1] - BODY_MM / 2)
        cut.stroke(((x - 0.6, y + BODY_MM / 2), target), "hair")
        cut.write(text, (x, y), "left")
        y -= PITCH_MM
    _label_spoil(cut, unit)
    return y + PITCH_MM


def _labels(cut: _Cut, unit: UnitSystem) -> list[tuple[str, XY]]:
    """Words and the place in the hole that they name [m], from the top down."""
    options, kind = cut.options, cut.kind
    # the pipe nearest to the words: a line to another would run through it
    aside, above = max(kind.at, key=lambda at: (at[0], -at[1]))
    wanted = [(_pipe_words(kind, unit), (aside, above - options.depth_m))]
    layers = sand_layers(options)
    cover = f"{detail_mark(SAND_ABOVE_M, unit)} SAND COVER"
    wanted.append((cover, (0.0, layers[-1][1] - options.depth_m)))
    if len(layers) > 1:
        between = (layers[0][1] + layers[1][0]) / 2 - options.depth_m
        wanted.append(("ROCK-FREE NATIVE SOIL", (0.0, between)))
    if _has_tape(options):
        wanted.insert(0, (f"TAPE {detail_mark(TAPE_M, unit)} BELOW GRADE", (0.0, -TAPE_M)))
    return sorted(wanted, key=lambda label: -label[1][1])


def _spoil_words(unit: UnitSystem) -> str:
    return f"SPOIL {detail_mark(SPOIL_SETBACK_M, unit)} MIN. OFF"


def _is_over_heap(cut: _Cut, words_mm: float) -> bool:
    """Whether words centred over the heap are clear of the width of the opening."""
    peak = SPOIL_SETBACK_M + heap_width(cut.options) / 2
    return peak * 1000.0 / cut.ratio - words_mm / 2 > 4.0


def _label_spoil(cut: _Cut, unit: UnitSystem) -> None:
    """Words over the heap, or beside it where they would run into the width of the trench."""
    text = _spoil_words(unit)
    foot = strip_width(cut.options) / 2 + SPOIL_SETBACK_M
    heap = heap_width(cut.options)
    peak, end = cut.mm(foot + heap / 2, heap / 3.0), cut.mm(foot + heap, 0.0)
    if _is_over_heap(cut, text_width(text, BODY_MM)):
        cut.write(text, (peak[0], peak[1] + 1.2), "center")
    else:
        cut.write(text, (end[0] + 2.0, end[1] + 0.6), "left")


def _pipe_words(kind: TrenchKind, unit: UnitSystem) -> str:
    low = min(above for _, above in kind.at)
    if kind.coil is not None:
        size, pitch = detail_mark(kind.coil.diameter_m, unit), detail_mark(kind.coil.pitch_m, unit)
        return f"{size} RINGS, {pitch} PITCH"
    high = max(above for _, above in kind.at)
    noun = "PIPE" if kind.pipes == 1 else "PIPES"
    if high > low:
        return f"{kind.pipes} {noun} {detail_mark(low, unit)} AND {detail_mark(high, unit)} UP"
    return f"{kind.pipes} {noun} {detail_mark(low, unit)} ABOVE BOTTOM"


def _filling_words(options: HorizontalOptions, unit: UnitSystem) -> str:
    limit = format_length(PROTECTED_FROM_M, unit, rough(unit), rounding="down")
    sides = {"slope": "Sides sloped.", "shield": f"Shield or shore from {limit} depth on."}
    if too_narrow_to_enter(options):
        sides["shield"] += " No entry: lay the pipe from above."
    below, above = (detail_mark(sand_m, unit) for sand_m in (SAND_BELOW_M, SAND_ABOVE_M))
    order = f"sand, {below} below to {above} above the pipe"
    if len(sand_layers(options)) > 1:
        order = f"sand, {below} below to {above} above each layer of pipe, with rock-free native"
        order += " soil between"
    return (
        f"{sides[options.protection]} Backfill: {order}; rock-free native soil in lifts, warning "
        "tape, topsoil. Pressure-test before backfill."
    )
