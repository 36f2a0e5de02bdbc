"""What a layout costs by the user's own prices: its take-off with the work, line by line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Bore, Coil, Well
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import Item, Ware, amount_of, take_off
from siteplan.site.model import Site
from siteplan.site.prices import Price, PriceList
from siteplan.units.model import UnitSystem

MAIN: Final[tuple[Ware, ...]] = ("bore", "well", "coil", "plate frame", "trench", "pipe")
"""What makes up most of a loop: without a price for it a sum says little."""
INCLUDED: Final[tuple[Ware, ...]] = ("soil",)
"""What the price of something else includes: digging is in that of trench."""
GOODS: Final[dict[Ware, str]] = {
    "bore": "bore", "well": "well", "coil": "coil",
    "plate frame": "plate_frame", "sand": "sand", "insulation": "insulation",
    "tape": "tape", "wire": "wire",
    "grout": "grout", "grout bag": "grout_bag", "silica sand": "silica_sand", "fluid": "fluid",
    "antifreeze": "antifreeze",
}  # fmt: skip
"""Key of the price list by ware."""


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of a cost.

    Parameters
    ----------
    item
        What is bought or done.
    amount, unit
        How much of it, as the take-off rounds it, and in what.
    price
        Of one unit.
    """

    item: Item
    amount: float
    unit: str
    price: Price

    @property
    def low(self) -> float:
        """The least that it costs."""
        return self.amount * self.price.low

    @property
    def high(self) -> float:
        """The most that it costs."""
        return self.amount * self.price.high


@dataclass(frozen=True, slots=True)
class Cost:
    """What a layout costs.

    Parameters
    ----------
    prices
        The price list.
    lines
        All that has a price.
    unpriced
        What has none.
    """

    prices: PriceList
    lines: tuple[CostLine, ...]
    unpriced: tuple[Item, ...]

    @property
    def currency(self) -> str:
        """Word that stands before sums."""
        return self.prices.currency

    @property
    def low(self) -> float:
        """The least that it costs."""
        return sum(line.low for line in self.lines)

    @property
    def high(self) -> float:
        """The most that it costs."""
        return sum(line.high for line in self.lines)

    @property
    def middle(self) -> float:
        """Halfway between the two."""
        return (self.low + self.high) / 2

    @property
    def lacking(self) -> tuple[str, ...]:
        """What makes up most of a loop and has no price, each named once."""
        return tuple(dict.fromkeys(item.what for item in self.unpriced if item.ware in MAIN))

    @property
    def tells(self) -> bool:
        """Whether all that makes up most of a loop has a price, so that sums may be compared."""
        return not self.lacking


def cost_of(site: Site, layout: Layout) -> Cost | None:
    """Cost of a layout; None where the site has no price list."""
    prices = site.prices
    if prices is None:
        return None
    items = (*work_items(layout), *take_off(site, layout))
    lines, unpriced = [], []
    for item in _bought(items, prices):
        price = _price_of(item, prices)
        if price is None:
            unpriced.append(item)
        else:
            lines.append(CostLine(item, *amount_of(item, site.unit), price))
    return Cost(prices, tuple(lines), tuple(unpriced))


def middle_of(items: Sequence[Item], prices: PriceList, unit: UnitSystem) -> float | None:
    """What items cost by the middle of low and high; None where one of them has no price."""
    total = 0.0
    for item in items:
        price = _price_of(item, prices)
        if price is None:
            return None
        total += amount_of(item, unit)[0] * (price.low + price.high) / 2
    return total


def middle_of_priced(items: Sequence[Item], prices: PriceList, unit: UnitSystem) -> float:
    """What those of the items cost that have a price, by the middle of low and high."""
    return sum(middle_of([item], prices, unit) or 0.0 for item in _bought(items, prices))


def work_items(layout: Layout) -> tuple[Item, ...]:
    """What is done beside what the take-off counts: drilling, sinking, bringing machines."""
    return tuple(item for item in _work(layout) if item.amount > 0)


def _work(layout: Layout) -> Iterator[Item]:
    new = layout.new
    bores = [element for element in new if isinstance(element, Bore)]
    wells = [element for element in new if isinstance(element, Well)]
    drilled = sum(bore.depth_m for bore in bores)
    yield Item("bore drilled", "", "length", drilled, f"{len(bores)} bores", "bore")
    drilled = sum(well.depth_m for well in wells)
    yield Item("well drilled", "", "length", drilled, f"{len(wells)} wells", "well")
    # frames of plates are bought as they are, and stand in the take-off
    coils = sum(not coil.plate_m for coil in layout.of(Coil))
    named = layout.loop.noun if coils else ""
    yield Item(named, "", "count", coils, "frame, ballast and sinking", "coil")
    rig, excavator = bool(bores or wells), layout.header is not None
    for machine, comes in (("rig", rig), ("excavator", excavator)):
        yield Item("mobilization", machine, "count", comes, "brought once", "mobilization")


def _bought(items: Sequence[Item], prices: PriceList) -> Iterator[Item]:
    """Items to be priced: of two ways in which a thing is counted, the one with a price."""
    goods = dict(prices.goods)
    bags = "grout_bag" in goods and any(item.ware == "grout bag" for item in items)
    mixed = "fluid" in goods or "antifreeze" not in goods
    counted_otherwise: set[Ware] = {"grout"} if bags else {"grout bag", "silica sand"}
    counted_otherwise |= {"antifreeze"} if mixed else {"fluid"}
    for item in items:
        if item.ware not in INCLUDED and item.ware not in counted_otherwise:
            yield item


def _price_of(item: Item, prices: PriceList) -> Price | None:
    goods = dict(prices.goods)
    match item.ware:
        case "trench":
            deep = (price for depth, price in prices.trench if depth >= item.depth_m - TOLERANCE)
            return next(deep, None)
        case "pipe":
            return dict(prices.pipe).get(item.size)
        case "fitting":
            return dict(prices.fittings).get(item.what) or goods.get("fitting")
        case "mobilization":
            return dict(prices.mobilization).get(item.size)
        case _:
            return goods.get(GOODS[item.ware])
