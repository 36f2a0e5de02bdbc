"""What each loop type that fits takes, in words: one table for terminal and sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.checks.model import Separation
from siteplan.checks.separations import PARCEL
from siteplan.comparison.compare import Taken
from siteplan.findings.model import reason
from siteplan.findings.words import plural, words_of
from siteplan.layout.outfall import OUTFALL
from siteplan.quantities.cost import Cost
from siteplan.quantities.take_off import Ware, amount_of
from siteplan.units.lengths import format_flow, format_length, format_pair, rough, round_to
from siteplan.units.model import Measure, UnitSystem
from siteplan.vocabulary.loop_types import LoopType, called_part

NOTHING = "none"
WORDY = ("crossed", "tightest", "hinges", "unpriced")
"""Names of the lines that are words, not figures."""
IN_SHORT = ("elements", "length", "header", "soil", "cost")
"""Names of the lines that are told where there is little room."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the comparison.

    Parameters
    ----------
    name
        What programs call it, whatever its title.
    title
        What people read before it.
    cells
        Its text for each loop type, in their order.
    """

    name: str
    title: str
    cells: tuple[str, ...]


def comparison_heads(compared: Sequence[Taken]) -> tuple[str, ...]:
    """Heading of each column: the loop type, and which one is drawn."""
    return tuple(f"{taken.system}{' (drawn)' if taken.drawn else ''}" for taken in compared)


def comparison_lines(compared: Sequence[Taken], unit: UnitSystem) -> tuple[Line, ...]:
    """Lines of the comparison, those left out that have nothing to tell of any loop type."""
    told = [_lines_of(taken, unit) for taken in compared]
    titles = {name: title for lines in told for name, title, _ in lines}
    cells = [{name: cell for name, _, cell in lines} for lines in told]
    lines = (
        Line(name, title, tuple(column.get(name, "") for column in cells))
        for name, title in titles.items()
    )
    return tuple(line for line in lines if any(cell not in ("", NOTHING) for cell in line.cells))


def _lines_of(taken: Taken, unit: UnitSystem) -> tuple[tuple[str, str, str], ...]:
    return (
        ("elements", "elements", _elements(taken)),
        ("length", "length or flow", _size(taken, unit)),
        ("header", "header trench", _length(taken.header_m, unit)),
        ("soil", "soil dug", _bought(taken, "soil", unit)),
        ("pipe", "pipe", _bought(taken, "pipe", unit)),
        ("fluid", "fluid", "" if taken.fluid_m3 is None else _amount(taken.fluid_m3, unit.fluid)),
        ("crossed", "crosses", _crossed(taken)),
        ("opened", "ground opened", _amount(taken.opened_m2, unit.area)),
        ("tightest", "tightest", _tightest(taken, unit)),
        ("cost", _cost_title(taken.cost), _cost(taken.cost)),
        ("unpriced", "not priced", _unpriced(taken.cost)),
        ("hinges", "hinges on", "; ".join(words_of(hinge, unit) for hinge in taken.hinges)),
    )


def price_note(compared: Sequence[Taken], unit: UnitSystem) -> str:
    """Whose prices they are and what they leave out; empty where there are none."""
    cost = next((taken.cost for taken in compared if taken.cost is not None), None)
    if cost is None:
        return ""
    told = ", ".join(text for text in (cost.prices.as_of, cost.prices.source) if text)
    return words_of(reason("prices-are", told=told or "the prices stated"), unit)


def _cost(cost: Cost | None) -> str:
    """What it costs, low and high rounded outwards to tens; what of the loop itself is left out."""
    if cost is None or not cost.lines:
        return "" if cost is None else "not priced"
    low, high = 10 * math.floor(cost.low / 10 + 1e-9), 10 * math.ceil(cost.high / 10 - 1e-9)
    total = f"{low:,} to {high:,}" if low < high else f"{low:,}"
    return f"{total} without {', '.join(cost.lacking)}" if cost.lacking else total


def _cost_title(cost: Cost | None) -> str:
    return "cost" if cost is None else f"cost, {cost.currency}"


def _unpriced(cost: Cost | None) -> str:
    return ", ".join(unpriced_names(cost)) or NOTHING if cost is not None else ""


def unpriced_names(cost: Cost) -> tuple[str, ...]:
    """What has no price, each named once."""
    names = (f"{item.what} {item.size}".strip() for item in cost.unpriced)
    return tuple(dict.fromkeys(names))


def _elements(taken: Taken) -> str:
    noun, count = taken.loop.noun, taken.count - taken.outfalls
    outfall = f" and {OUTFALL}" if taken.outfalls else ""
    return f"{count} {noun if count == 1 else plural(noun)}{outfall}"


def _size(taken: Taken, unit: UnitSystem) -> str:
    if taken.loop.flow:
        return format_flow(taken.flow_m3s, unit, rounding="up")
    return format_length(taken.length_m, unit, rough(unit), rounding="down")


def _length(length_m: float, unit: UnitSystem) -> str:
    return format_length(length_m, unit, rough(unit), rounding="up") if length_m > 0 else NOTHING


def _amount(amount: float, measure: Measure) -> str:
    """An amount, rounded up as what has to be bought or dug is."""
    up = round_to(measure.of(amount), measure.decimals or 0, "up")
    return f"{up:,.{measure.decimals or 0}f} {measure.label}" if amount > 0 else NOTHING


def _bought(taken: Taken, ware: Ware, unit: UnitSystem) -> str:
    """All lines of a ware as the take-off rounds them, so that both give the same sum."""
    amounts = [amount_of(item, unit) for item in taken.items if item.ware == ware]
    if not amounts:
        return NOTHING
    total = f"{sum(amount for amount, _ in amounts):,.1f}".removesuffix(".0")
    return f"{total} {amounts[0][1]}"


def _crossed(taken: Taken) -> str:
    """What is crossed, with how often where that is more than once."""
    crossings = (f"{kind}{f' {count}×' if count > 1 else ''}" for kind, count in taken.crossed)
    return ", ".join(crossings) or "nothing marked"


def _tightest(taken: Taken, unit: UnitSystem) -> str:
    row = taken.tightest
    if row is None:
        return ""
    required, provided = format_pair(row.rule.distance_m, row.provided_m, unit, 1)
    return f"{between_words(row, taken.loop)}: {provided} of {required}"


def between_words(row: Separation, loop: LoopType) -> str:
    """What a separation is between, such as ``"bore B1 to property line"``."""
    part = called_part(row.part, loop)
    who = row.element if row.element == row.part else f"{part} {row.element}"
    return f"{who} to {'property line' if row.feature == PARCEL else row.feature}"
