"""A pond from which a rule keeps the header takes no coils: their pipes would have to go in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from wording import in_words

import siteplan

OWN = {
    "from": "pond",
    "for": ["header"],
    "distance": "15 ft",
    "source": "owner's wish",
}


def lot(*rules: dict[str, Any], more: Sequence[dict[str, Any]] = ()) -> siteplan.Site:
    """A lot of 400 by 400 ft with a pond of 200 by 200 ft and 12 ft of water."""
    values = {
        "project": {
            "title": "Pond behind the house",
            "owner": "A. Owner",
            "date": datetime.date(2026, 3, 14),
            "units": "ft",
        },
        "geometry": {"parcel": [[0, 0], [400, 0], [400, 400], [0, 400]]},
        "feature": [
            {
                "id": "pond",
                "kind": "pond",
                "depth": "12 ft",
                "area": [[100, 150], [300, 150], [300, 350], [100, 350]],
            },
            *more,
        ],
        "exchanger": {
            "length": {"given": "900 ft", "by": "a designer"},
            "entry": [[200, 40]],
        },
        "rules": {"own": list(rules)},
    }
    return siteplan.site_from(values)


def test_a_pond_that_the_header_may_enter_takes_coils():
    trial = siteplan.lay_out(lot(), "pond")
    assert trial.layout.header is not None


def test_a_rule_that_keeps_the_header_off_the_pond_leaves_no_way_and_no_crash():
    trial = siteplan.lay_out(lot(OWN), "pond")
    assert not trial.fits
    assert trial.layout.header is None
    assert "header" in in_words(trial.why)
