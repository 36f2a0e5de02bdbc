"""Prices as they are written: one figure, a pair from low to high, or a table of such."""

from __future__ import annotations

import math
from typing import Any

from siteplan.reading import ARRAYS, Table, did_you_mean
from siteplan.site.options.choices import choices
from siteplan.site.options.declared import Option
from siteplan.site.prices import Price
from siteplan.units.lengths import parse_length
from siteplan.units.written import UnitError

DEAREST = 1e9
"""Nothing that is bought for a loop costs more a piece: a slip of the pen."""


def read_price(table: Table, option: Option) -> Price | None:
    """A price, None where it is faulty."""
    return _price(table, option.key)


def read_prices(table: Table, option: Option) -> tuple[tuple[str, Price], ...]:
    """Prices by name, in the order of the names that there are."""
    given, known = table.table(option.key, option.line), choices()[option.choices]
    prices: dict[str, Price] = {}
    for name in given.values:
        if name not in known:
            given.fault(name, f"is not {option.called};", did_you_mean(name, known))
            continue
        price = _price(given, name)
        if price is not None:
            prices[name] = price
    return tuple((name, prices[name]) for name in known if name in prices)


def read_prices_by_depth(table: Table, option: Option) -> tuple[tuple[float, Price], ...]:
    """Prices by the depth down to which each holds [m], shallow to deep."""
    given = table.table(option.key, option.line)
    by_depth: dict[float, Price] = {}
    for text in given.values:
        try:
            depth = parse_length(text, given.unit.name)
        except UnitError as error:
            given.fault(text, str(error), f"Write {option.line}.")
            continue
        price = _price(given, text)
        if depth <= 0 or depth in by_depth:
            what = "is no depth." if depth <= 0 else "stands twice."
            given.fault(text, what, f"Write {option.line}.")
        elif price is not None:
            by_depth[depth] = price
    return tuple(sorted(by_depth.items()))


def _price(table: Table, key: str) -> Price | None:
    value = table.raw(key)
    pair = list(value) if isinstance(value, ARRAYS) else [value, value]
    if len(pair) == 2 and all(map(_is_sum, pair)) and pair[0] <= pair[1]:
        return Price(float(pair[0]), float(pair[1]))
    table.fault(
        key, f"{value!r} is not a price.", "Give a number above zero, or [low, high], no unit."
    )
    return None


def _is_sum(value: Any) -> bool:
    plain = isinstance(value, (int, float)) and not isinstance(value, bool)
    return plain and math.isfinite(value) and 0 < value <= DEAREST
