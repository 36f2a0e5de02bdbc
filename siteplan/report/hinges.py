"""What an answer hinges on, in at most three lines: sizes first, then what is not on the plan."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.design.evaluate import Trial
from siteplan.findings.model import Reason, reason
from siteplan.findings.words import words_of
from siteplan.site.model import Site

MOST_LINES: Final = 3
"""More nobody reads at a kitchen table."""


def hinge_lines(site: Site, drawn: Trial) -> tuple[str, ...]:
    """What was assumed for a quick question, and how far a screening length may be off."""
    told = [words_of(hinge, site.unit) for hinge in _hinges(site, drawn)]
    rest = "; ".join(told[MOST_LINES - 1 :])
    return tuple(line for line in (*told[: MOST_LINES - 1], rest) if line)


def _hinges(site: Site, drawn: Trial) -> Iterator[Reason]:
    about_size = [told for told in site.granted if told.values]
    yield from about_size
    required, layout = drawn.required, drawn.layout
    if required is not None and required.span_m is not None and layout is not None:
        values = {"least_m": required.span_m[0], "most_m": required.span_m[1]}
        short = layout.capacity_m < required.span_m[1]
        held = reason("beyond-what-it-holds", held_m=layout.capacity_m) if short else None
        yield reason("length-by-screening", measure=layout.loop.measure, short=held, **values)
    yield from (told for told in site.granted if not told.values)
