"""Sentences of the sheet that tell figures, compared with what the layout drawn gives."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.audit.cells import Rounding, alike, sheet_number
from siteplan.audit.expected import plain
from siteplan.audit.grid import WRAPPED
from siteplan.audit.model import Word
from siteplan.audit.sheet_tables import ROW
from siteplan.audit.words import drawn_fault
from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.report.pipe_words import circuit_words, flow_words
from siteplan.site.model import DisplayUnit

STARTS: Final = {
    "CIRCUITS": re.compile(r"\d+ circuits? of "),
    "FLOW": re.compile(r"[\d.,]+ (?:gpm|L/s) \("),
}
"""How the sentences begin, by the heading they stand under."""


def sentence_findings(
    words: Sequence[Word], piped: Layout, unit: DisplayUnit, rounding: Rounding
) -> Iterator[Finding]:
    """Each sentence on circuits and flow that says something else."""
    wanted = {"CIRCUITS": circuit_words(piped, unit), "FLOW": flow_words(piped, unit)}
    for name, start in STARTS.items():
        for word in words:
            if not start.match(word.text):
                continue
            said = _paragraph(word, words)[: len(wanted[name])]
            if not alike(said, plain(wanted[name]), rounding):
                where = f"{name} on sheet {sheet_number(word.at)}"
                found = f"what is drawn gives: {wanted[name] or 'nothing'}"
                yield drawn_fault(
                    "table", f"{where}: the sheet says: {said}; {found}. Mend the one or the other."
                )


def _paragraph(first: Word, words: Sequence[Word]) -> str:
    """A line of text with the lines that follow below it without a gap."""
    below = [
        one for one in words
        if one.at[1] < first.at[1] and abs(one.at[0] - first.at[0]) <= ROW * first.height
    ]  # fmt: skip
    lines, last = [first.text], first.at[1]
    for one in sorted(below, key=lambda word: -word.at[1]):
        if last - one.at[1] > WRAPPED * first.height:
            break
        lines.append(one.text)
        last = one.at[1]
    return plain(" ".join(lines))
