"""A plan as one page to mail: sheets, layers to switch, a tape, tables; no server, nothing fetched.

The page is one HTML file. Its script and style stand in it and are allowed by their digests alone,
so that nothing which came in with a site file's words can run; it may load nothing.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from string import Template
from typing import Any, Final

from siteplan.errors import ExportError
from siteplan.export.svg import svg_of
from siteplan.findings.words import capitalised, words_of
from siteplan.report.comparison_words import WORDY, comparison_lines
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Sheet
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.pages.table_sheets import take_off_table
from siteplan.sheet.place.table import Table
from siteplan.sheet.style.styles import layer_descriptions
from siteplan.sheet.style.text import NO_BREAK
from siteplan.sheet.tables.comparison import comparison_table
from siteplan.sheet.tables.elements import short_table
from siteplan.sheet.tables.notes import notes
from siteplan.sheet.tables.pipes import items_of
from siteplan.sheet.tables.separations import all_sources, separation_table
from siteplan.specification.owner import what_lies_there

CLASSES: Final = {"left": "", "center": ' class="middle"', "right": ' class="figure"'}


def write_page(
    content: PlanContent,
    path: Path,
    *,
    helps: Sequence[str] = (),
    progress: Callable[[str], None] = lambda _: None,
) -> None:
    """Write the page, whole or not at all; ``helps``: what would make the lot fit.

    Raises
    ------
    ExportError
        The plan does not fit on its paper, or the file cannot be written.
    """
    progress("composing the sheet")
    text = page_of(content, helps)
    new = path.with_name(f".{path.name}.new")
    try:
        new.write_text(text, encoding="utf-8", newline="\n")
        new.replace(path)
    except OSError as error:
        raise ExportError(f"{path}: cannot be written ({error.strerror}).") from error
    finally:
        new.unlink(missing_ok=True)


@composing()
def page_of(content: PlanContent, helps: Sequence[str] = ()) -> str:
    """The whole page as text; ``helps``: what would make the lot fit, told before all else.

    Raises
    ------
    ExportError
        The plan does not fit on its paper at the scale asked for.
    """
    sheets = compose_set(content)
    script, style = _part("page.js"), _part("page.css")
    project = content.site.project
    return Template(_part("page.html")).substitute(
        title=escape(project.title),
        place=escape("".join(f"{each} · " for each in (project.address, project.owner) if each)),
        date=escape(project.date.isoformat()),
        verdict=escape(content.verdict),
        fits="fits" if content.fits else "not",
        tabs="".join(_tab(sheet, number) for number, sheet in enumerate(sheets)),
        sheets="\n".join(svg_of(sheet) for sheet in sheets),
        layers="".join(_layer_switches(sheets)),
        helps=_section("What would make it fit", _list(helps, "ul")) if helps else "",
        tables="\n".join(_tables(content)),
        frames=_for_script(_frames(sheets, content)),
        script=script,
        style=style,
        script_digest=_digest(script),
        style_digest=_digest(style),
    )


def _part(name: str) -> str:
    return files("siteplan.export.page_parts").joinpath(name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    """How a content policy names a script or style that may stand in the page."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _for_script(values: Any) -> str:
    """Values as JSON that cannot end the element in which it stands."""
    return json.dumps(values, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")


def _frames(sheets: Sequence[Sheet], content: PlanContent) -> dict[str, Any]:
    """Of each sheet its window on the plan, so that the page can measure in it."""
    unit = content.site.unit
    frames = {}
    for sheet in sheets:
        view, paper = sheet.view, sheet.paper
        frames[sheet.number] = {
            "height": paper.height_mm,
            "window": [view.left_mm, view.bottom_mm, view.width_mm, view.height_mm],
            "center": [round(value, 6) for value in view.center],
            "turn": view.turn_deg,
            "metres": view.ratio / 1000.0,
            "plan": any(item.space == "model" for item in sheet.primitives),
        }
    return {
        "sheets": frames,
        "unit": str(unit),
        "metres": unit.metres,
        "decimals": unit.sign_decimals,
    }


# --- switches


def _tab(sheet: Sheet, number: int) -> str:
    chosen = "true" if number == 0 else "false"
    name = escape(sheet.number, quote=True)
    return (
        f'<button role="tab" aria-selected="{chosen}" aria-controls="{name}" data-sheet="{name}">'
        f"{name} {escape(sheet.name.capitalize())}</button>"
    )


def _layer_switches(sheets: Sequence[Sheet]) -> Iterator[str]:
    """One switch for each layer of the plan, what is planned first."""
    told = layer_descriptions()
    layers = {
        item.layer: None for sheet in sheets for item in sheet.primitives if item.space == "model"
    }
    for layer in sorted(layers, key=lambda name: (not name.startswith("M-"), name)):
        words = escape(told.get(layer, layer))
        name = escape(layer, quote=True)
        yield (
            f'<label><input type="checkbox" checked data-layer-of="{name}"> {words}'
            f" <small>{name}</small></label>"
        )


# --- tables


def _tables(content: PlanContent) -> Iterator[str]:
    """What is built, for its owner, and what a reader looks up: the tables, findings, notes."""
    unit, layout = content.site.unit, content.layout
    if content.fits and layout is not None and layout.elements:
        told = (
            capitalised(words_of(each, unit, on_paper=True)) for each in what_lies_there(layout)
        )
        yield _section("What is built", _list(told, "ul"))
    if len(content.compared) > 1:
        lines = comparison_lines(content.compared, unit)
        table = comparison_table(content, lines, whole=True)
        wordy = [line for line in lines if line.name in WORDY]
        told = (
            f"{taken.system}: {'; '.join(f'{line.title} {line.cells[at]}' for line in wordy)}"
            for at, taken in enumerate(content.compared)
        )
        yield _section("Loop types that have room", _table(table) + _list(told, "ul"))
    if content.separations:
        sources = _list(all_sources(content), "ol")
        yield _section("Separations", _table(separation_table(content)) + sources)
    if layout is not None and layout.elements:
        yield _section("Where it lies", _table(short_table(layout, unit)))
        items = items_of(content.site, layout)
        if items:
            yield _section("Take-off", _table(take_off_table(items, unit)))
    findings = [words_of(finding, unit, on_paper=True) for finding in content.findings]
    if findings:
        yield _section("Findings", _list(dict.fromkeys(findings), "ul"))
    yield _section("Notes and cautions", _list(notes(content), "ol"))


def _section(title: str, body: str) -> str:
    return f"<h2>{escape(title)}</h2>{body}"


def _list(sentences: Iterable[str], kind: str) -> str:
    return f"<{kind}>{''.join(f'<li>{_words(sentence)}</li>' for sentence in sentences)}</{kind}>"


def _table(table: Table) -> str:
    """A table of a sheet, with its headings and the side to which each column is set."""
    sides = [CLASSES[column.anchor] for column in table.columns]
    heads = "".join(
        f'<th scope="col"{side}>{_words(column.title)}</th>'
        for side, column in zip(sides, table.columns, strict=True)
    )
    rows = "".join(
        "<tr>"
        + "".join(f"<td{side}>{_words(cell)}</td>" for side, cell in zip(sides, row, strict=True))
        + "</tr>"
        for row in table.rows
    )
    whole = f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"
    return f'<div class="wide">{whole}</div>'


def _words(text: str) -> str:
    return escape(text.replace(NO_BREAK, " "))
