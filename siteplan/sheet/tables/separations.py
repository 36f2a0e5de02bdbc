"""Tables of the strip: separations, basis of length, short sides."""

from __future__ import annotations

from siteplan.checks.limits import DEPTH
from siteplan.checks.model import Separation
from siteplan.checks.separations import HEADER
from siteplan.checks.wishes import ANYWHERE_APART, APART_ON_AVERAGE
from siteplan.findings.words import without_disclaimer, words_of
from siteplan.geometry.boundary import Side
from siteplan.layout.pit import PIT
from siteplan.rule_books.model import AT_MOST, OWN_BOOK, PROPERTY_LINE, Rule
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.content.drawn_distances import is_spacing
from siteplan.sheet.marks import SEPARATIONS
from siteplan.sheet.place.blocks import STRONG, Block, Flow, side_by_side
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.plan_view.limits import OVERHANG
from siteplan.sheet.plan_view.measures import row_decimals, shown_decimals
from siteplan.sheet.plan_view.parcel import MOST_TAGS, is_listed, side_text
from siteplan.sheet.style.formats import fine_mark
from siteplan.sheet.tables.plan_names import on_plan, plan_names
from siteplan.sheet.tables.reasoning import assumed_note, assumed_table, sureness
from siteplan.sheet.tables.source_words import source_indent, source_words
from siteplan.site.model import Site
from siteplan.units.lengths import format_flow, rough_length
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import loop_type

IN_POND = {"shore": "SHORE OF", "water depth": "WATER DEPTH IN"}
"""What the site file itself asks of a pond."""
STRIP = "STRIP: from the edge of the strip that the sloped sides open, as they must not undercut."
"""How distances of strips are meant, for the line under their table."""


def separations_block(content: PlanContent, width: float) -> Block | None:
    """Table of required and provided distances, with the sources spelled out below it."""
    if not content.separations:
        return None
    flow = Flow(width, SEPARATIONS)
    flow.heading("SEPARATIONS")
    flow.table(separation_table(content))
    flow.gap(0.4)
    loop = content.layout.loop if content.layout else loop_type(content.site.exchanger.order[0])
    flow.paragraph(
        f"Nearest feature of each kind. Measured from the edge ({loop.edge}), not the "
        f"{content.site.unit.center}."
    )
    if any(separation.strip_m > 0 for separation in content.separations):
        flow.paragraph(STRIP)
    sources = all_sources(content)
    indent = source_indent(sources)
    for number, source in enumerate(sources, 1):
        flow.paragraph(source, indent=indent, lead=f"[{number}]")
    return flow.block()


def separation_table(content: PlanContent) -> Table:
    """Required and provided distances."""
    columns = (
        Column("pair", "FROM – TO", wrap=True), Column("required", "REQ'D", "right"),
        Column("provided", "PROV'D", "right"), Column("rule", "RULE", "center"),
        Column("meets", "MEETS", "center"),
    )  # fmt: skip
    sources, decimals = all_sources(content), shown_decimals(content)
    rows = tuple(
        _separation_row(
            separation,
            content.site,
            row_decimals(separation, content.site.unit, decimals),
            [sources.index(name) + 1 for name in _sources(separation, content.site.unit)],
        )
        for separation in content.separations
    )
    return Table(SEPARATIONS, columns, rows, tuple(map(pair_mark, content.separations)))


def row_mark(separation: Separation) -> str:
    """What programs call a row, whichever pair is the nearest: part, subject, book and rule."""
    return "/".join(
        (separation.part, separation.rule.subject, separation.rule.book, separation.rule.id)
    )


def pair_mark(separation: Separation) -> str:
    """What programs call a row of the pair that is the nearest."""
    return f"{row_mark(separation)}/{separation.element}/{separation.feature}"


def all_sources(content: PlanContent) -> list[str]:
    """Sources of all rows, in the order of their numbers."""
    return list(
        dict.fromkeys(
            name
            for separation in content.separations
            for name in _sources(separation, content.site.unit)
        )
    )


def _sources(separation: Separation, unit: UnitSystem) -> list[str]:
    """Rule that decides, then the others that hold for the same pair and ask no more."""
    return list(
        dict.fromkeys(_source(rule, unit) for rule in (separation.rule, *separation.others))
    )


def _source(rule: Rule, unit: UnitSystem) -> str:
    origin = source_words(rule.book, rule.source, unit)
    if rule.alongside:
        origin += ", where the header runs beside it; it may cross"
    elif rule.measure not in ("nearest part", "machine"):
        origin += f", measured by {rule.measure}"
    elif rule.measure == "machine":
        origin += ", from the machine's reach"
    origin += rule.standing.words
    return f"{origin} ({without_disclaimer(rule.note)})" if rule.note else origin


def _separation_row(
    separation: Separation, site: Site, decimals: int, numbers: list[int]
) -> tuple[str, ...]:
    unit = site.unit
    return (
        separation_name(separation, site),
        _required(separation.rule, unit, decimals),
        fine_mark(
            separation.provided_m,
            unit,
            decimals,
            rounding="up" if separation.rule.says in AT_MOST else "down",
        ),
        "".join(f"[{number}]" for number in numbers),
        "YES" if separation.meets else "NO",
    )


def separation_name(separation: Separation, site: Site) -> str:
    """From what to what a distance is measured, by the names that stand on the plan."""
    of_header = separation.element in (HEADER, PIT)
    element = separation.element.upper() if of_header else separation.element
    subject = separation.rule.subject
    if is_spacing(separation):
        return f"{element} – {separation.feature} spacing"
    if separation.rule.says in ("no deeper than", "rear yard only"):
        return f"{element} – {_limit_name(separation, site)}"
    if subject in (ANYWHERE_APART, APART_ON_AVERAGE):
        return f"{element} – {separation.feature}{subject.removeprefix('bore')}"
    if separation.rule.book == OWN_BOOK and subject in IN_POND:
        pond = plan_names(site).get(separation.feature, separation.feature)
        return f"{element} – {IN_POND[subject]} {pond}"
    if separation.strip_m > 0:
        element += " STRIP"
    overhang = OVERHANG if separation.rule.measure == "overhang" else ""
    return f"{element} – {_thing_name(separation, site)}{overhang}"


def _thing_name(separation: Separation, site: Site) -> str:
    """Name on the plan of what a distance is kept from, with its kind where it does not say it."""
    subject = separation.rule.subject
    feature = next((one for one in site.features if one.id == separation.feature), None)
    alone = len(site.of_kind(subject)) < 2
    if feature is None or subject.startswith(PROPERTY_LINE) or (alone and not feature.label):
        return subject.upper()
    return named_with_kind(plan_names(site)[feature.id], subject)


def named_with_kind(name: str, kind: str) -> str:
    """A name on the plan, with the kind of thing behind it where no word of it says that.

    Examples
    --------
    >>> named_with_kind("SHED", "building"), named_with_kind("DRAINFIELD, BARN", "drainfield")
    ('SHED (BUILDING)', 'DRAINFIELD, BARN')
    >>> named_with_kind("POTABLE WELL 1", "potable well"), named_with_kind("GAS G2", "gas line")
    ('POTABLE WELL 1', 'GAS G2')
    """
    words = {word.strip(",;()") for word in name.split()}
    return name if words & set(kind.upper().split()) else f"{name} ({kind.upper()})"


def _limit_name(separation: Separation, site: Site) -> str:
    """What a limit is about that is no distance to a thing."""
    if separation.rule.says == "rear yard only":
        return "rear of the house"
    if separation.feature == DEPTH:
        return DEPTH
    casing = separation.rule.measure == "below casing"
    name = plan_names(site).get(separation.feature, separation.feature)
    return f"{DEPTH} {'below casing of' if casing else 'near'} {name}"


def _required(rule: Rule, unit: UnitSystem, decimals: int) -> str:
    if rule.says in AT_MOST:
        return f"≤ {fine_mark(rule.distance_m, unit, decimals, rounding='down')}"
    return fine_mark(rule.distance_m, unit, decimals, rounding="up")


def basis_block(content: PlanContent, width: float) -> Block:
    """Length required, on whose word, and length provided."""
    flow = Flow(width, "basis")
    unit, required = content.site.unit, content.required
    flow.heading("BASIS OF LENGTH")
    if required.flow_m3s:
        flow.paragraph(f"Water required: {format_flow(required.flow_m3s, unit, rounding='up')}.")
    elif required.length_m:  # else its reason says that nothing is known
        provided = content.layout.length_m if content.layout else 0.0
        needed = rough_length(required.length_m, unit, "up")
        provided_length = rough_length(provided, unit, "down")
        flow.paragraph(f"Required {needed}, provided {provided_length}.", STRONG)
    flow.paragraph(words_of(on_plan(required.reason, content.site), unit, on_paper=True))
    if content.changes:
        flow.paragraph(sureness(content.changes))
    # on sheets of tables it stands with the calculation
    if content.assumed and TABLES not in content.titles:
        flow.gap(0.4)
        flow.table(assumed_table(content.assumed, unit))
        flow.gap(0.2)
        flow.paragraph(assumed_note(content.assumed, unit))
    return flow.block()


def courses_block(
    tagged: tuple[tuple[str, Side], ...], unit: UnitSystem, width: float, most: int
) -> Block | None:
    """Sides that are too short for their label on the plan, at most ``most`` of them."""
    short = [(tag, side) for tag, side in tagged if is_listed(tag)]
    if not short:
        return None
    flow = Flow(width, "short-sides")
    flow.heading("SHORT SIDES")
    rows = tuple((tag, "  ".join(side_text("", side, unit)).strip()) for tag, side in short[:most])
    columns = (Column("side", "SIDE"), Column("course", "BEARING AND DISTANCE", wrap=True))
    side_by_side(flow, Table(flow.about, columns, rows))
    if len(short) > MOST_TAGS:
        flow.paragraph("In order along the boundary; not every tag has room on the plan.")
    if len(short) > most:
        flow.paragraph(f"{len(short) - most} more: measure them in the drawing.", STRONG)
    return flow.block()
