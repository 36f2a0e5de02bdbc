"""Verdict, graphic scale with north arrow, space for a seal, and the title block."""

from __future__ import annotations

import math

from siteplan.sheet.content.content import PART, PlanContent, sheet_numbers
from siteplan.sheet.marks import HEADING, KIND, TITLE_BLOCK, Mark
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.model import View
from siteplan.sheet.place.blocks import PITCH_MM, QUIET, Block, Face, Flow
from siteplan.sheet.place.table import BODY_MM, Column, Table
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import NO_BREAK, fitted, text_width, wrapped
from siteplan.site.project import Project, not_stated
from siteplan.units.lengths import format_area
from siteplan.units.model import UnitSystem

VERDICT_MM = 2.7
TITLE_MM = 3.8
FIELD_MM = 2.3
LABEL_WIDTH_MM = 21.0
SEAL_MM = 24.0
MOST_LEGAL = 240
"""A legal description of more characters has a block of its own."""
SEE_ABOVE = "see LEGAL DESCRIPTION on this sheet"
NOT_STATED = "NOT STATED"
TITLES = {
    "owner": "OWNER", "address": "ADDRESS", "parcel_id": "PARCEL", "legal_description": "LEGAL",
    "prepared_by": "PREPARED BY", "checked_by": "CHECKED", "contractor": "CONTRACTOR",
    "license_number": "LICENSE",
}  # fmt: skip
"""What the block calls the keys of the site file."""
FROM_PREPARED = ("prepared_by", "contractor", "license_number")
MOST_REVISIONS = 6
"""So many revisions have a row, the last ones."""
NORTH_MM = 9.5
"""From the middle of the north arrow to that of its letter [mm]."""
ASIDE_MM, NEARER_MM = 4.0, 1.1
"""An arrow that points sideways stands so far to the other side, its letter so much nearer [mm]."""
WORDS_MM = 5.0
"""So far before the bar its words may begin [mm]."""
HAND_MM = 2.05
"""Height of the names of who drew and checked [mm]."""


def verdict_block(content: PlanContent, width: float) -> Block:
    """The verdict in a box; a plan that does not fit has a heavier one, in alarm colour."""
    flow = Flow(width, "verdict")
    style = "text" if content.fits else "text-alarm"
    lines = wrapped(content.verdict, width - 4.0, VERDICT_MM, bold=True)
    flow.gap(0.8)
    top = flow.depth
    flow.depth += 1.0
    for line in lines:
        flow.depth += VERDICT_MM * 1.5
        flow.text(line, 2.0, Face(VERDICT_MM, True, style))
    flow.depth += 1.9
    flow.box("frame" if not content.fits else "rule", (0.0, top), width, flow.depth - top)
    return flow.block()


def scale_block(content: PlanContent, view: View, width: float) -> Block:
    """North arrow with what its north is, and a graphic scale."""
    flow = Flow(width, "scale")
    reference = content.site.georeference
    north = (reference.north if reference else "PLAN NORTH").upper()
    side = 24.0
    turn = math.radians(view.turn_deg)
    # the letter stands at the arrow's tip
    left, up = math.sin(turn), math.cos(turn)
    middle = side / 2 + ASIDE_MM * left
    away = NORTH_MM - NEARER_MM * abs(left)
    flow.depth = 13.5 - away * up + 1.6
    flow.text("N", middle - away * left, Face(3.2, bold=True), anchor="center")
    flow.symbol("north", (middle, 13.5), 5.0, "arrow", angle_deg=view.turn_deg)
    flow.depth = 18.6
    for line in wrapped(north, side, BODY_MM):
        flow.depth += PITCH_MM
        flow.text(line, side / 2, anchor="center")
    deepest = flow.depth
    _bar(flow, view, content.site.unit, side + 4.0)
    flow.depth = max(deepest, flow.depth) + 1.0
    return flow.block()


def _bar(flow: Flow, view: View, unit: UnitSystem, left: float) -> None:
    """Four pieces of a bar, alternately filled, with their lengths."""
    step = bar_step(view.ratio, unit, (flow.width - left - 4.0) / 4.0)
    size = step * unit.metres * 1000.0 / view.ratio
    caption = f"GRAPHIC SCALE IN {unit.plural.upper()}"
    # under a short bar the words are wider, and must not reach the arrow beside them
    left = max(left, left - WORDS_MM + text_width(caption, BODY_MM) / 2 - 2 * size)
    flow.depth = 6.4
    widest = text_width(f"{4 * step:g}", BODY_MM) + 1.0
    for number in range(0, 5, 1 if widest < size else 2):
        flow.text(f"{number * step:g}", left + number * size, anchor="center")
    for number in range(4):
        flow.box("rule", (left + number * size, 7.6), size, 1.8)
        if number % 2 == 0:
            x = left + number * size
            ring = ((x, -7.6), (x + size, -7.6), (x + size, -9.4), (x, -9.4))
            flow.items.append(Fill((ring,), "ink-fill", layer("legend"), "paper"))
    flow.depth = 13.4
    flow.text(caption, left + 2 * size, anchor="center")
    flow.depth = 17.6
    face = Face(FIELD_MM, bold=True)
    flow.text(f"SCALE {view.label}", left + 2 * size, face, anchor="center")


def bar_step(ratio: float, unit: UnitSystem, room_mm: float) -> float:
    """Length of one piece of the bar [display unit]: 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> bar_step(240, US, 16.0)
    10.0
    """
    most = room_mm / 1000.0 * ratio / unit.metres
    power = 10.0 ** math.floor(math.log10(most))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most)


def seal_block(width: float) -> Block:
    """Space for a seal and a signature."""
    flow = Flow(width, "seal")
    flow.gap(1.5)
    top = flow.depth
    box = max(27.0, min(34.0, width * 0.36))
    flow.box("hair", (width - box, top), box, SEAL_MM)
    flow.depth = top + SEAL_MM / 2 + 1.0
    flow.text("SPACE FOR SEAL", width - box / 2, QUIET, anchor="center")
    for depth, name in ((SEAL_MM * 0.42, "SIGNED"), (SEAL_MM - 3.2, "DATE")):
        flow.depth = top + depth
        flow.line("hair", right=width - box - 4.0)
        flow.depth += 3.0
        flow.text(name, 0.0, QUIET)
    flow.depth = top + SEAL_MM + 1.5
    return flow.block()


def title_block(content: PlanContent, width: float, *, scale: str, number: int = 1) -> Block:
    """Title, who and where, area, scale, date and number of the sheet."""
    flow = Flow(width, TITLE_BLOCK)
    project = content.site.project
    flow.gap(1.2)
    height, lines = fitted(project.title, width, (TITLE_MM, 3.2, 2.7, FIELD_MM), bold=True)
    for line_number, line in enumerate(lines):
        flow.depth += height * 1.45
        known = Mark(flow.about, column=HEADING, line=line_number)
        flow.text(line, 0.0, Face(height, bold=True), mark=known)
    flow.depth += 3.9
    text = f"{content.titles[number - 1]} OF GROUND HEAT EXCHANGER"
    kind = Mark(flow.about, column=KIND)
    flow.text(text, 0.0, Face(FIELD_MM, style="text-existing"), mark=kind)
    flow.gap(1.6)
    for name, value in _facts(content):
        _field(flow, name, value)
    missing = [TITLES[key] for key in not_stated(project)]
    if missing:
        text = f"NOT STATED: {', '.join(name.replace(' ', NO_BREAK) for name in missing)}"
        flow.gap(0.8)
        flow.paragraph(text, Face(style="text-alarm"))
    flow.gap(1.6)
    flow.line("rule")
    sheet = sheet_words(content, number)
    _boxes(flow, _hands(project), tall=HAND_MM)
    flow.line("hair")
    _boxes(flow, (("SCALE", scale), ("DATE", project.date.isoformat()), ("SHEET", sheet)))
    return flow.block()


def _hands(project: Project) -> tuple[tuple[str, str], ...]:
    """Who drew and checked the plan, and its last revision."""
    last = project.revisions[-1].number if project.revisions else "NONE"
    drawn, checked = project.drawer or NOT_STATED, project.checked_by or NOT_STATED
    return (("DRAWN", drawn), ("CHECKED", checked), ("REVISION", last))


def revisions_block(content: PlanContent, width: float) -> Block | None:
    """Table of the last revisions, None where there is none."""
    revisions = content.site.project.revisions
    if not revisions:
        return None
    flow = Flow(width, "revisions")
    flow.gap(1.0)
    last = revisions[-MOST_REVISIONS:]
    rows = tuple((revision.number, revision.date.isoformat(), revision.text) for revision in last)
    columns = (
        Column("number", "REV"), Column("date", "DATE"), Column("text", "REVISION", wrap=True),
    )  # fmt: skip
    flow.table(Table(flow.about, columns, rows))
    if len(revisions) > len(rows):
        flow.paragraph(f"{len(revisions) - len(rows)} earlier ones stand on earlier prints.", QUIET)
    return flow.block()


def index_block(content: PlanContent, width: float) -> Block | None:
    """The sheets of the set in one line; None where there is one."""
    if len(content.titles) == 1:
        return None
    flow = Flow(width, "sheets")
    flow.heading("SHEETS")
    named = (f"{run} {title}".replace(" ", NO_BREAK) for run, title in _runs(content.titles))
    flow.paragraph(", ".join(named) + ".")
    return flow.block()


def sheet_words(content: PlanContent, number: int) -> str:
    """Number of a sheet and how many there are; ``number`` counts from 1 on."""
    name, count = content.numbers[number - 1], len(content.titles)
    return f"{name} OF {count}" if name == f"L{number}" else f"{name}, {number} OF {count}"


def _runs(titles: tuple[str, ...]) -> list[tuple[str, str]]:
    """Numbers and title of sheets; those of one title together.

    Examples
    --------
    >>> _runs(("PLAN", "TABLES", "TABLES"))
    [('L1', 'PLAN'), ('L2–3', 'TABLES')]
    >>> _runs(("PLAN", "PART OF PLAN", "PART OF PLAN"))
    [('L1', 'PLAN'), ('L1A–B', 'PART OF PLAN')]
    """
    numbers = sheet_numbers(titles)
    runs = []
    for title in dict.fromkeys(titles):
        mine = [number for number, own in zip(numbers, titles, strict=True) if own == title]
        last = mine[-1].removeprefix("L1" if title == PART else "L")
        runs.append((mine[0] if len(mine) == 1 else f"{mine[0]}–{last}", title))
    return runs


def _facts(content: PlanContent) -> list[tuple[str, str]]:
    project = content.site.project
    legal = project.legal_description
    facts = [
        (TITLES["owner"], project.owner),
        (TITLES["address"], project.address),
        (TITLES["parcel_id"], project.parcel_id),
        (TITLES["legal_description"], SEE_ABOVE if _is_long(legal) else legal),
        ("AREA", format_area(content.site.parcel.area, content.site.unit)),
        *((TITLES[key], getattr(project, key)) for key in FROM_PREPARED),
    ]
    return [(name, value) for name, value in facts if value]


def _field(flow: Flow, name: str, value: str) -> None:
    height, lines = fitted(value, flow.width - LABEL_WIDTH_MM, (FIELD_MM, BODY_MM))
    for number, line in enumerate(lines):
        known = Mark(flow.about, column=_column(name), line=number)
        flow.depth += 3.7 if height > BODY_MM or number == 0 else PITCH_MM
        if number == 0:
            flow.text(name, 0.0, QUIET)
        flow.text(line, LABEL_WIDTH_MM, Face(height), mark=known)


def _column(name: str) -> str:
    """What programs call a field.

    Examples
    --------
    >>> _column("PREPARED BY")
    'prepared-by'
    """
    return name.lower().replace(" ", "-")


def legal_block(content: PlanContent, width: float) -> Block | None:
    """A legal description that is too long for the title block, whole."""
    if not _is_long(content.site.project.legal_description):
        return None
    flow = Flow(width, "legal")
    flow.heading("LEGAL DESCRIPTION")
    flow.paragraph(content.site.project.legal_description)
    return flow.block()


def _is_long(description: str) -> bool:
    return len(description) > MOST_LEGAL


def _boxes(flow: Flow, fields: tuple[tuple[str, str], ...], *, tall: float = 3.2) -> None:
    """Fields side by side, their name small above their value, which is up to so tall [mm]."""
    top, part = flow.depth, flow.width / len(fields)
    deepest = top
    for number, (name, value) in enumerate(fields):
        x = number * part + (1.0 if number else 0.0)
        flow.depth = top + 3.4
        flow.text(name, x, QUIET)
        heights = (tall, (tall + BODY_MM) / 2, BODY_MM)
        height, lines = fitted(value, part - 2.0, heights, most=1, bold=True)
        style = "text-alarm" if value == NOT_STATED else "text"
        flow.depth = top + 5.4 - PITCH_MM + tall
        for line_number, line in enumerate(lines):
            flow.depth += PITCH_MM
            known = Mark(flow.about, column=_column(name), line=line_number)
            flow.text(line, x, Face(height, bold=True, style=style), mark=known)
        deepest = max(deepest, flow.depth)
    flow.depth = deepest + 1.4
