"""Of places that somebody typed each broken rule is told, not the nearest pair alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from shapely import LineString

from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.layout.elements import Bore
from siteplan.layout.model import Header, Layout
from siteplan.rules.ruleset import rules_of
from siteplan.site.readers.site_file import read_site

FT = 0.3048


def test_each_bore_too_near_the_line_has_its_row_and_a_sound_one_has_none(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # the property line is asked to be 10 ft away: 7 and 6 ft are too near, 20 ft are not
    site = read_site(write_site(lot_text))
    bores = tuple(
        Bore(name, x * FT, 120 * FT, 0.5 * FT, 300 * FT)
        for name, x in (("B1", 193), ("B2", 180), ("B3", 7))
    )
    entry = site.entries[0]
    runs = tuple(LineString([entry.point.coords[0], (one.x_m, one.y_m)]) for one in bores)
    layout = Layout("vertical", bores, Header(runs, entry), 20 * FT, 1000.0, by_hand=True)
    measured = separations(site, layout, rules_of(site))
    every = with_all_broken(measured, site, layout, rules_of(site))
    broken = {row.element for row in every if row.rule.subject == "property line" and not row.meets}
    assert broken >= {"B1", "B3"}
    assert "B2" not in broken
    # what is added is broken, all of it
    assert all(not row.meets for row in every[len(measured) :])
