"""The page of findings, made from the catalogue: ``python -m siteplan.findings.page``."""

from __future__ import annotations

import re
from string import Formatter

from siteplan.findings.entries import Entry, entries
from siteplan.findings.words import FILE, PAPER, SHEET
from siteplan.units.systems import US

TOP = """\
# Findings, and what to do about each

Whatever `siteplan` has to say about a plan, a drawing or a list of what was built has a code, which
programs find in `summary.json`, and a severity: an **error** means that the plan does not hold, a
**warning** that somebody must decide, a **note** is good to know. Values stand in braces.

This page is made from the catalogue, `siteplan/findings/catalogue/`, by
`python -m siteplan.findings.page > docs/findings.md`.
"""
TITLES = {
    "audit": "The audit of a drawing, and of what was built",
    "bores": "Fields of bores",
    "bounds": "Fluid, grout, pipe, test, cover, ties and scale, as rule books bind them",
    "checks": "The check of a layout",
    "comparison": "Loop types side by side",
    "fit": "Loop types",
    "floors": "Floors of common practice",
    "lot": "The outline of the lot",
    "machines": "The way in of drill rig and excavator",
    "pipes": "Circuits, header and fluid",
    "plausible": "What hardly can be meant",
    "rules": "Rules and authorities",
    "trenches": "Trenches",
    "wells": "Water and heat around a well pair",
}
FORM = re.compile(r"\{(\w+)\??(?::[^{}]*(?:\{\w+\})?)?\}")
"""A place for a value in a sentence."""


def page() -> str:
    """Text of the page: a table for each chapter, a row for each code that a finding can have."""
    parts = [TOP]
    for chapter, rows in _chapters().items():
        parts.append(f"\n## {TITLES[chapter]}\n\n| code | | what it says | what to do |\n")
        parts.append("| --- | --- | --- | --- |\n")
        parts.extend(_row(entry) for entry in rows)
    return "".join(parts)


def _chapters() -> dict[str, list[Entry]]:
    """Entries of findings by chapter; phrases have no row of their own."""
    chapters: dict[str, list[Entry]] = {}
    for entry in entries().values():
        if entry.severity is not None:
            chapters.setdefault(entry.chapter, []).append(entry)
    return chapters


def _row(entry: Entry) -> str:
    told = entry.about or _at_the_file(entry.says)
    says = FORM.sub(lambda place: f"{{{place[1].removesuffix('_m')}}}", told)
    return f"| `{entry.code}` | {entry.severity} | {says} | {entry.do} |\n"


def _at_the_file(template: str) -> str:
    """A sentence as it stands where the site file is at hand, its other values in their braces."""
    said = []
    for literal, name, spec, _ in Formatter().parse(template):
        said.append(literal)
        if name == FILE:
            said.append(_at_the_file(spec or ""))
        elif name == SHEET and not getattr(US, spec or ""):
            continue  # what a sheet of the United States leaves out
        elif name and name != PAPER:
            said.append(f"{{{name}:{spec}}}" if spec else f"{{{name}}}")
    return "".join(said)


if __name__ == "__main__":
    print(page(), end="")  # noqa: T201 - that is what it is for
