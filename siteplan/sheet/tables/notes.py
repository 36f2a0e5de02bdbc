"""Notes and cautions of the sheet, chosen from ``notes.toml`` by what the plan contains."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files

from siteplan.advisories.bores import MOST_BORES, is_tight
from siteplan.advisories.by_hand import PLACED
from siteplan.advisories.floors import AGREED
from siteplan.advisories.power_lines import lines_kept_off
from siteplan.advisories.remarks import USE_ASSUMED
from siteplan.advisories.requirements import TITLE_BLOCK
from siteplan.advisories.way_out import WAY_OUT
from siteplan.available.access import OVERHEAD
from siteplan.findings.words import capitalised, words_of
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import LOOP_TRENCH, Crossing
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import BLOCK_GAP_MM, Block, Flow
from siteplan.sheet.plan_view.exchanger import crossings_of
from siteplan.sheet.plan_view.measures import dimensioned
from siteplan.sheet.style.formats import mark
from siteplan.sheet.tables.plan_names import as_on_plan, on_plan, plan_names
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.kinds import kinds

LINES = ("sewer", "water", "gas", "electric", "overhead power")
"""Labels of kinds that are lines, as the legend has them."""
URN = "urn:ogc:def:crs:EPSG::"
"""How files write what everybody else writes as EPSG and a number (OGC 07-092r3, URN scheme)."""


@cache
def _notes(unit: UnitSystem) -> tuple[tuple[frozenset[str], str], ...]:
    """Condition and words of every note; those of the unit system's edition, where it has some."""
    text = files("siteplan.sheet.tables").joinpath("notes.toml").read_text(encoding="utf-8")
    key, rows = f"text_{unit.edition}", tomllib.loads(text)["note"]
    spelt = {"unit": unit.stated, "center": unit.center}
    return tuple(
        (frozenset(row["when"]), row.get(key, row["text"]).format(**spelt)) for row in rows
    )


GRID_MATTERS = 1 / 20_000
"""A grid that is farther off than this has its factor told."""
SCREENING = "screening-length"
"""Code of the finding that the length required is a screening figure."""


def notes(content: PlanContent) -> tuple[str, ...]:
    """Notes of the sheet, in order."""
    true = _conditions(content)
    chosen = [text for when, text in _notes(content.site.unit) if when <= true]
    if content.layout is not None and crossings_of(content.layout):
        chosen.append(_crossings(content.layout, plan_names(content.site)))
    if content.site.of_kind(OVERHEAD):
        kept_off = on_plan(lines_kept_off(content.site), content.site)
        chosen.append(words_of(kept_off, content.site.unit, on_paper=True))
    chosen.extend(_allowance(content))
    reference = content.site.georeference
    north = f"Bearings refer to {reference.north if reference else 'plan north'}."
    if reference is not None:
        frame = reference.crs_name.replace(URN, "EPSG:")
        north += f" Read in {frame}; drawn in a local ground frame at scale 1."
        north += _grid_words(reference.grid_scale)
    chosen.append(north)
    printed = [
        words_of(as_on_plan(finding, content.site), content.site.unit, on_paper=True)
        for finding in content.findings
        if finding.code in (WAY_OUT, USE_ASSUMED, PLACED, *AGREED)
    ]
    return tuple(map(capitalised, (*chosen, *_limit(content), *printed, *_findings(content))))


def notes_blocks(content: PlanContent, width: float, *, first: int = 0) -> list[Block]:
    """The notes, numbered, each a block of its own, so that they may run over two columns.

    ``first``: so many stand on the plan, and only the others are given.
    """
    blocks = []
    lines = notes(content)
    for number, note in enumerate(lines[first:], first + 1):
        flow = Flow(width, "notes")
        if number == first + 1:
            flow.heading("NOTES, CONTINUED" if first else "NOTES")
        flow.paragraph(note, indent=5.5, lead=f"{number}.", name=f"note-{number}")
        blocks.append(flow.block(gap_mm=BLOCK_GAP_MM if number == len(lines) else 0.0))
    return blocks


def _conditions(content: PlanContent) -> frozenset[str]:
    true = {"always", content.required.basis}
    if content.site.unit.us_law:
        true.add("abroad")
    if not content.site.of_kind(OVERHEAD):
        true.add("no-overhead")
    if len(dimensioned(content)) < len(content.separations):
        true.add("far")
    if any(kinds()[feature.kind].group == "utility" for feature in content.site.features):
        true.add("utility")
    layout = content.layout
    if layout is not None and layout.elements:
        true.add(layout.system)
        if layout.loop.lines:
            true.add("trench")
        elif layout.header is not None:
            true.add("header-trench")
    return frozenset(true)


def _grid_words(scale: float | None) -> str:
    """How far distances of the grid are from those of the sheet, where that can be taped."""
    if scale is None or abs(scale - 1.0) < GRID_MATTERS:
        return ""
    return (
        f" A distance on that grid is {scale:.6f} of one on the ellipsoid, more or less by height."
    )


def _allowance(content: PlanContent) -> Iterator[str]:
    """What a stake may stand off its place, where the layout keeps so much on top."""
    more_m, layout = content.site.exchanger.allowance_m, content.layout
    if more_m and layout is not None and layout.elements and not layout.by_hand:
        tight = is_tight(content.site, layout)
        what = (
            "distance asked for, not of the spacing"
            if tight
            else ("distance and spacing asked for")
        )
        yield (
            f"Staking allowance {mark(more_m, content.site.unit, rounding='down')}: kept on top of "
            f"every {what}. Have a stake that stands farther off checked."
        )


def _crossings(layout: Layout, names: Mapping[str, str]) -> str:
    crossings = crossings_of(layout)
    counts = Counter((crossing.kind, crossing.feature) for crossing in crossings)
    over = [name for kind, name in counts if kind == LOOP_TRENCH]
    what = "Header or crossover" if layout.crossovers else "Header"
    named, under = (
        [
            _crossed(
                kind,
                names.get(feature, feature),
                [each for each in crossings if each.feature == feature],
            )
            for kind, feature in counts
            if kind != LOOP_TRENCH and (kind == OVERHEAD) == above
        ]
        for above in (False, True)
    )
    sentences = []
    if named:
        sentences.append(
            f"{what} crosses, at the marks ×: {', '.join(named)}. Expose by hand before digging."
        )
    if under:
        sentences.append(
            f"{what} passes under, at the marks ×: {', '.join(under)}. Keep boom, bucket and load "
            "clear of the line."
        )
    if over:
        sentences.append(
            f"Header passes over {', '.join(over)} at the marks ×: fill and tamp what lies below "
            "first."
        )
    return " ".join(sentences)


def _crossed(kind: str, feature: str, crossings: Sequence[Crossing]) -> str:
    """What is crossed, how often, and at which angles where it has a direction."""
    name = crossed_name(kinds()[kind].label if kind in kinds() else kind, feature)
    angles = [f"{each.angle_deg:.0f}°" for each in crossings if each.angle_deg is not None]
    more = [f"{len(crossings)} times"] if len(crossings) > 1 else []
    more += [f"at {' and '.join(dict.fromkeys(angles))}"] if angles else []
    return f"{name} ({', '.join(more)})" if more else name


def crossed_name(label: str, name: str) -> str:
    """What is crossed: its kind, and its id where that says more.

    Examples
    --------
    >>> crossed_name("Gas", "gas"), crossed_name("Water", "water-2"), crossed_name("Gas", "g7")
    ('gas line', 'water-2', 'gas g7')
    """
    kind, name_words = label.lower(), name.lower().replace("-", " ").replace("_", " ").split()
    if name.lower() == kind:
        return f"{kind} line" if kind in LINES else kind
    return name if set(kind.split()) <= set(name_words) else f"{kind} {name}"


def _limit(content: PlanContent) -> tuple[str, ...]:
    """How many bores no arrangement exceeds, where they do not fit."""
    limits = [
        words_of(as_on_plan(finding, content.site), content.site.unit, on_paper=True)
        for finding in content.findings
        if finding.code == MOST_BORES
    ]
    return () if content.fits else tuple(limits)


def _findings(content: PlanContent) -> tuple[str, ...]:
    return tuple(
        words_of(as_on_plan(finding, content.site), content.site.unit, on_paper=True)
        for finding in content.findings
        # a note, or the title block itself, says that already
        if finding.severity != "note" and finding.code not in (SCREENING, TITLE_BLOCK)
    )
