"""The range of a screening length: its ends are what the calculation gives in the cases named."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from siteplan.demand.required import required_of
from siteplan.site.readers.site_file import site_from

FT = 0.3048


def calculated(system: str, hours: int, cooling: tuple[str, int], **ground: str) -> float:
    """Length in feet a ton of a house of 36 MBH, which is 3 tons of 12 MBH."""
    values: dict[str, Any] = {
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 1, 1)},
        "geometry": {"parcel": [[0, 0], [300, 0], [300, 300], [0, 300]]},
        "exchanger": {"entry": [[80, 70]]},
        "loads": {
            "heating": "36 MBH",
            "heating_hours": hours,
            "cooling": cooling[0],
            "cooling_hours": cooling[1],
        },
        "ground": {"coldest_day": "3 February", "swing": "18 F", **ground},
    }
    required = required_of(site_from(values).exchanger, system)
    assert required is not None
    return required.length_m / FT / 3


def span(system: str) -> tuple[float, float]:
    """Range in feet a ton that a screening of 3 tons tells."""
    values: dict[str, Any] = {
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 1, 1)},
        "geometry": {"parcel": [[0, 0], [300, 0], [300, 300], [0, 300]]},
        "exchanger": {"entry": [[80, 70]], "capacity": "3 ton"},
    }
    required = required_of(site_from(values).exchanger, system)
    assert required is not None
    assert required.span_m is not None
    return required.span_m[0] / FT / 3, required.span_m[1] / FT / 3


CLAY, SAND = "clay", "sand"
HARD = {
    "horizontal": (2200, ("18 MBH", 400), {"temperature": "45 F", "soil": CLAY}),
    "vertical": (1500, ("36 MBH", 1000), {"temperature": "65 F", "soil": SAND}),
}  # fmt: skip
EASY = {
    "horizontal": (1500, ("36 MBH", 1000), {"temperature": "60 F", "soil": CLAY}),
    "vertical": (1500, ("36 MBH", 1000), {"temperature": "55 F", "soil": "granite"}),
}  # fmt: skip
COMMON = {"horizontal": 200, "vertical": 150}
"""Least of common practice a ton, no source [ft]."""


@pytest.mark.parametrize("system", ["horizontal", "vertical"])
def test_the_range_ends_at_what_a_hard_case_takes(system: str) -> None:
    hours, cooling, ground = HARD[system]
    assert span(system)[1] == pytest.approx(calculated(system, hours, cooling, **ground), rel=0.02)


@pytest.mark.parametrize("system", ["horizontal", "vertical"])
def test_an_easy_case_lies_within_the_range(system: str) -> None:
    hours, cooling, ground = EASY[system]
    least, most = span(system)
    assert least == pytest.approx(COMMON[system])
    assert least < calculated(system, hours, cooling, **ground) < most
