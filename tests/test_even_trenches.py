"""The greatest length of trench advised for uneven circuits makes them even when it is set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from test_random_lots import random_lot

from siteplan.even_trenches import even_longest
from siteplan.rules.ruleset import rules_of
from siteplan.site.site_file import read_site
from siteplan.trial import try_system


def test_trenches_no_longer_than_advised_make_even_circuits_and_hold_what_is_required(
    write_site: Callable[..., Path],
) -> None:
    site = read_site(write_site(random_lot(34)))
    rules = rules_of(site)
    uneven = try_system(site, rules, "horizontal")
    assert "circuits-unbalanced" in {one.code for one in uneven.findings}
    assert uneven.layout is not None
    assert uneven.required is not None
    longest = even_longest(site, rules, uneven.layout, uneven.required.length_m)
    assert longest is not None
    options = replace(site.exchanger.horizontal, longest_m=longest)
    changed = replace(site, exchanger=replace(site.exchanger, horizontal=options))
    even = try_system(changed, rules, "horizontal")
    assert even.fits
    assert "circuits-unbalanced" not in {one.code for one in even.findings}
