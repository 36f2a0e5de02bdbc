"""The legend: only what is on the sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.layout.elements import Element, facts_of
from siteplan.layout.model import Header, Layout
from siteplan.layout.outfall import Outfall, called
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.earth import stockpiles_of
from siteplan.sheet.content.header_flow import HEADER_LETTERS, LETTERS, NAMES, streams_of
from siteplan.sheet.kept import kept
from siteplan.sheet.model import Hatch, Polygon, Polyline, Ring, Text
from siteplan.sheet.place.blocks import PITCH_MM, Block, Flow
from siteplan.sheet.place.table import BODY_MM
from siteplan.sheet.plan_view.exchanger import crossings_of
from siteplan.sheet.plan_view.header_pipes import STYLES
from siteplan.sheet.plan_view.strips import strips
from siteplan.sheet.style.styles import layer, treatment
from siteplan.sheet.style.text import wrapped
from siteplan.vocabulary.kinds import kinds

SAMPLE_MM = 11.0
ROW_MM = 4.1


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the legend: a sample and what it means."""

    text: str
    line: str = ""
    fill: str = ""
    hatch: str = ""
    symbol: str = ""
    size: float = 1.5
    letter: str = ""
    area: bool = False
    gap: float = 1.8
    angle: float = 45.0


def legend_entries(content: PlanContent) -> tuple[Entry, ...]:
    """Everything the plan shows, new things first."""
    layout = content.layout
    return (
        *(_layout_entries(content, layout) if layout is not None else ()),
        Entry("PROPERTY LINE", line="property"),
        Entry("CORNER", line="", symbol="corner:corner", size=1.1),
        *_limit_entries(content),
        *_feature_entries(content),
    )


def legend_block(content: PlanContent, width: float) -> Block:
    """The legend in two or three parts side by side."""
    flow = Flow(width, "legend")
    flow.heading("LEGEND")
    entries = legend_entries(content)
    parts = 3 if width > 100.0 else 2
    tall = math.ceil(len(entries) / parts)
    part_width = width / parts
    top = deepest = flow.depth
    for part in range(parts):
        flow.depth = top
        for entry in entries[part * tall : (part + 1) * tall]:
            _row(flow, entry, part * part_width, part_width - SAMPLE_MM - 2.5)
        deepest = max(deepest, flow.depth)
    flow.depth = deepest
    return flow.block()


def _layout_entries(content: PlanContent, layout: Layout) -> list[Entry]:
    built = content.built is not None
    shown = {element.symbol: element for element in layout.elements}
    entries = [_element_entry(element, built=built) for element in shown.values()]
    if not strips(content.site, layout).is_empty:
        entries.append(Entry("EDGE OF SLOPED STRIP", line="strip", area=True))
    if layout.leans:
        entries.append(Entry("INCLINED BORE, COLLAR TO TOE", line="bore-course"))
    if layout.elements:
        entries.append(Entry("TIE POINT", symbol="tie:element", size=1.1))
    if content.setting_out.lines:
        entries.append(Entry("BASE LINE BL", line="base-line"))
    if content.setting_out.pegs:
        entries.append(Entry("PEG", symbol="peg:element", size=1.0))
    if layout.access is not None and not layout.access.path.is_empty:
        entries.append(Entry(f"{layout.access.machine.upper()} ACCESS", line="access", area=True))
    if stockpiles_of(content):
        entries.append(Entry("ROOM FOR EARTH, PROPOSED", line="stockpile", area=True))
    if layout.header is not None:
        entries += _header_entries(content, layout, layout.header)
    elif content.site.entries:
        # no header is drawn, so that nothing shows which of them it would reach
        entries.append(Entry("POSSIBLE ENTRY", symbol="candidate:candidate", size=1.1))
    return entries


def _header_entries(content: PlanContent, layout: Layout, header: Header) -> list[Entry]:
    # nobody measures the header of what was built
    name = "HEADER AS PLANNED" if content.built is not None else "HEADER TRENCH"
    streams = _streams(layout)
    if content.built is None and streams.get("S") == "header" != streams.get("R"):
        name = "HEADER, SUPPLY S"
    entries = [
        Entry(name, line="header", letter=HEADER_LETTERS),
        *(
            Entry(f"{NAMES[letter]} {letter}", line=streams[letter])
            for letter in LETTERS
            if streams.get(letter, "header") != "header"
        ),
        Entry("ENTRY", symbol="entry:entry", size=1.5),
    ]
    if len(content.site.entries) > 1:
        entries.append(Entry("OTHER ENTRY", symbol="candidate:candidate", size=1.1))
    if header.pit is not None:
        entries.append(Entry("HEADER PIT", line="header-pit", area=True))
    if layout.piping is not None and layout.piping.groups:
        entries.append(Entry("CIRCUIT GROUP G", line="group", area=True))
    if layout.crossovers:
        entries.append(Entry("CROSSOVER X", line="crossover"))
    if crossings_of(layout):
        entries.append(Entry("HEADER CROSSING", symbol="crossing:crossing", size=1.2))
    return entries


@kept
def _streams(layout: Layout) -> dict[str, str]:
    """Lines of the header that are told apart: what each pipe does, and its style."""
    pieces = layout.piping.pieces if layout.piping is not None else ()
    return {
        stream.letter: STYLES[stream.letter] if lane else "header"
        for piece in pieces
        for lane, stream in enumerate(streams_of(piece, layout))
    }


def _element_entry(element: Element, *, built: bool) -> Entry:
    loop = facts_of(element)
    name = loop.legend or element.part.upper()
    if isinstance(element, Outfall):
        name = called(element).upper()
    if built and loop.legend:
        name = f"{name.removeprefix('NEW ')} AS BUILT"
    if loop.lines:
        return Entry(name, line="trench", area=True)
    return Entry(name, symbol=f"{element.symbol}:{loop.style}", size=loop.sample_mm)


def _limit_entries(content: PlanContent) -> list[Entry]:
    if not any(keep_out.rule.distance_m > 0.0 for keep_out in content.keep_outs):
        return []
    return [
        Entry("SETBACK LINE", line="setback"),
        Entry("SETBACK AREA", hatch="keep-out-hatch"),
    ]


def _feature_entries(content: PlanContent) -> list[Entry]:
    entries = []
    present = {feature.kind: feature for feature in content.site.features}
    for kind in kinds().values():
        if kind.name not in present:
            continue
        look = treatment(kind)
        if kind.letter:
            entries.append(Entry(kind.label, line=look.line, letter=kind.letter))
        elif look.symbol and present[kind.name].shape.geom_type == "Point":
            symbol = f"{look.symbol}:{look.symbol_style}"
            entries.append(Entry(kind.label, symbol=symbol, size=1.6))
        elif present[kind.name].shape.area == 0.0:
            entries.append(Entry(kind.label, line=look.line))
        else:
            gap = min(look.gap, 1.8) if look.angle else 1.0
            sample = Entry(
                kind.label, look.line, look.fill, look.hatch, area=True, gap=gap, angle=look.angle
            )
            entries.append(sample)
    if content.site.adjoining:
        entries.append(Entry("ADJOINING PARCEL", line="adjoining"))
    if any(feature.overhang_m > 0 for feature in content.site.features):
        entries.append(Entry("ROOF OVERHANG", line="overhang"))
    return entries


def _row(flow: Flow, entry: Entry, left: float, room: float) -> None:
    lines = wrapped(entry.text, room, BODY_MM)
    middle = flow.depth + ROW_MM / 2
    _sample(flow, entry, left, middle)
    for number, line in enumerate(lines):
        flow.depth = middle + BODY_MM / 2 + number * PITCH_MM
        flow.text(line, left + SAMPLE_MM + 1.5)
    flow.depth = middle + ROW_MM / 2 + (len(lines) - 1) * PITCH_MM


def _sample(flow: Flow, entry: Entry, left: float, middle: float) -> None:
    where = layer("legend")
    if entry.symbol:
        name, style = entry.symbol.split(":")
        flow.symbol(name, (left + SAMPLE_MM / 2, middle), entry.size, style)
        return
    box = _box(left, -middle)
    if entry.fill:
        flow.items.append(Polygon((box,), entry.fill, where, "paper"))
    if entry.hatch:
        flow.items.append(Hatch((box,), entry.hatch, where, "paper", entry.gap, entry.angle))
    if entry.line and entry.area:
        flow.items.append(Polyline(box, entry.line, where, "paper", closed=True))
    elif entry.line:
        ends = ((left, -middle), (left + SAMPLE_MM, -middle))
        flow.items.append(Polyline(ends, entry.line, where, "paper"))
    if entry.letter:
        _letter(flow, entry, left + SAMPLE_MM / 2, -middle)


def _letter(flow: Flow, entry: Entry, x: float, y: float) -> None:
    half = 1.2 * len(entry.letter) + 0.4
    ring = ((x - half, y - 1.5), (x + half, y - 1.5), (x + half, y + 1.5), (x - half, y + 1.5))
    where = layer("legend")
    flow.items.append(Polygon((ring,), "mask", where, "paper"))
    style = "text-header" if entry.line == "header" else f"text-{entry.letter}"
    at = (x, y - BODY_MM / 2)
    flow.items.append(Text(entry.letter, at, BODY_MM, style, where, "paper", 0.0, "center"))


def _box(left: float, y: float) -> Ring:
    right, half = left + SAMPLE_MM, 1.3
    return ((left, y - half), (right, y - half), (right, y + half), (left, y + half))
