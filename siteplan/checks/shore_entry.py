"""Whether the header comes through the shore of a pond where the site says it shall."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely
from shapely import MultiLineString, Point

from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

BESIDE_M: Final = 1 * FOOT
"""What a header may come in beside its shore entry, as a trench is dug; common practice, no source
[m]."""


def shore_entry_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """Crossings of a shore away from the entry stated for it, the farthest of each pond."""
    runs = layout.header.runs if layout.header is not None else ()
    for pond in site.of_kind("pond"):
        crossed = MultiLineString(list(runs)).intersection(pond.shape.boundary)
        places = [Point(at) for at in shapely.get_coordinates(crossed)]
        for entry in pond.survey.shore_entries if places else ():
            away = max(float(place.distance(entry.at)) for place in places)
            if away > BESIDE_M:
                values = {"entry": entry.id}
                yield Finding("header-off-shore-entry", pond.id, away, BESIDE_M, values=values)
