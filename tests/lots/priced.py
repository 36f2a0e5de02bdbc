"""The small lot on which trenches and bores both fit, with prices that anybody can multiply."""

from __future__ import annotations

import tomllib
from typing import Any

from small_lot import GROUND

from siteplan.site.model import Site
from siteplan.site.readers.site_file import site_from

PRICES = """\
currency = "USD"
bore = [10, 20]
trench = { "4 ft" = 2, "6 ft" = [3, 4] }
pipe = { "3/4 in" = 1, "1 in" = 2 }
fitting = 5
sand = 30
tape = 1
wire = 1
grout = 2
fluid = 3
mobilization = { rig = 1000, excavator = 500 }
"""
LENGTHS = """\
[exchanger]
entry = [[80, 70]]
[horizontal]
length = { given = "300 ft", by = "a designer" }
[vertical]
length = { given = "400 ft", by = "a designer" }
"""


def priced_values(prices: str = PRICES, lengths: str = LENGTHS) -> dict[str, Any]:
    """Values of the lot as a site file holds them."""
    values = tomllib.loads(GROUND + lengths)
    if prices:
        values["prices"] = tomllib.loads(prices)
    return values


def priced_site(prices: str = PRICES, lengths: str = LENGTHS, **exchanger: Any) -> Site:
    """The lot, with more said of the exchanger wanted."""
    values = priced_values(prices, lengths)
    values["exchanger"] |= exchanger
    return site_from(values)
