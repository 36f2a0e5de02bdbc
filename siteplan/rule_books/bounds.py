"""From TOML to bounds: what a book says of fluid, grout, pipe, test, cover, ties and scale."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from typing import Any, Final, cast

from siteplan.reading import Table, did_you_mean
from siteplan.rule_books.conditions import read_condition, read_names
from siteplan.rule_books.meant import judge_meant
from siteplan.rule_books.model import ADMITS, BOUND_OF, Admits, Bound, BoundOf, Part
from siteplan.rule_books.standing import Standing, read_standing
from siteplan.rule_books.when import Range
from siteplan.units.heat import parse_temperature
from siteplan.units.lengths import parse_length
from siteplan.units.pressures import parse_pressure
from siteplan.units.written import UnitError
from siteplan.vocabulary.loop_types import all_parts

COMMON: Final = "common practice"
CLOSED: Final[tuple[Part, ...]] = ("bore", "trench", "coil")
"""Parts of the loops that hold a fluid of their own."""
COVERED: Final[tuple[Part, ...]] = ("trench", "header")
"""Parts that have a cover."""
BOUND_PARTS: Final[Mapping[str, tuple[Part, ...]]] = {
    "fluid": CLOSED, "grout": ("bore",), "pipe": CLOSED, "test pressure": CLOSED,
    "cover": COVERED, "ties": (), "scale": (), "marking": COVERED,
    "fluid temperature": CLOSED, "heat at the line": CLOSED,
    "return capacity": ("return well",), "surface return": ("supply well",),
}  # fmt: skip
"""Parts that a bound of each kind may be about, and is where it does not say."""
ENOUGH: Final[Mapping[str, tuple[str, ...]]] = {
    "fluid": ("names", "share"),
    "grout": ("names", "full_depth", "solids"),
    "pipe": ("names", "dimension_ratio"),
    "test pressure": ("least", "operating"),
    "cover": ("least",),
    "ties": ("least",),
    "scale": ("scales", "from", "to"),
    "marking": ("names",),
    "fluid temperature": ("from", "to"),
    "return capacity": ("least",),
    "surface return": ("allowed",),
}
"""Keys of which a bound of each kind needs one at least."""
_IMPERIAL = re.compile(r'1\s*(?:in|")\s*=\s*([\d.]+)\s*(?:ft|\')')
_PERCENT = re.compile(r"([\d.]+)\s*%")
_RATIO = re.compile(r"1\s*:\s*([\d,]+)")


def parse_scale(value: Any) -> int:
    """Ratio of a scale as a plan states it.

    Raises
    ------
    UnitError
        It is no scale.

    Examples
    --------
    >>> parse_scale("1 in = 20 ft"), parse_scale("1:1,000")
    (240, 1000)
    """
    text = value.strip() if isinstance(value, str) else ""
    if match := _IMPERIAL.fullmatch(text):
        ratio = 12 * float(match[1])
    elif match := _RATIO.fullmatch(text):
        ratio = float(match[1].replace(",", ""))
    else:
        ratio = 0.0
    if ratio < 1 or ratio != round(ratio):
        raise UnitError(f'{value!r} is not a scale. Write "1 in = 20 ft" or "1:500".')
    return round(ratio)


def bound_name(values: Mapping[str, Any], number: int) -> str:
    """What a bound is called in messages."""
    return f"bound {values.get('id', values.get('of', number))!r}"


def source_of(section: str, document: str) -> str:
    """Document and section; of common practice the words alone."""
    if not document or section.startswith(COMMON):
        return section
    return f"{document}, {section}" if section else document


def needs_source(table: Table) -> None:
    """Note a source that is written and empty."""
    if table.has("source") and not table.text("source"):
        table.fault("source", "is empty.", 'Name document and section, or "common practice".')


def read_parts(
    table: Table, usual: tuple[Part, ...], among: tuple[Part, ...] | None = None
) -> tuple[Part, ...]:
    """Parts that a rule or bound is for; the usual ones where it does not say."""
    names, known = table.words("for"), all_parts() if among is None else among
    for name in names:
        if name not in known:
            table.fault("for", f"{name!r} is not a part;", did_you_mean(name, known))
    # a rule that does not say for what binds everything but the header
    return tuple(name for name in names if name in known) or usual


def read_bound(table: Table, *, document: str, standing: Standing) -> Bound:
    """Bound of one ``[[bound]]`` table; faults go where the table's go."""
    for key, example in (
        ("of", 'of = "fluid"'),
        ("printed", 'printed = "propylene glycol only"'),
        ("source", 'source = "section" or "common practice, no source"'),
    ):
        table.required(key, example)
    needs_source(table)
    of = cast("BoundOf", table.choice("of", BOUND_OF, ""))
    parts = BOUND_PARTS.get(of, ())
    bound = Bound(
        id=table.text("id", of.replace(" ", "-")),
        of=of,
        parts=read_parts(table, parts, parts) if parts else (),
        printed=table.text("printed"),
        source=source_of(table.text("source"), document),
        when=read_condition(table),
        note=table.text("note"),
        standing=read_standing(table, standing),
        **(_READERS[of](table) if of else {}),
    )
    _needs_content(table, of)
    if of:
        judge_meant(table)
        table.finish()  # of an unknown matter no key is known either
    return bound


def _needs_content(table: Table, of: str) -> None:
    keys = ENOUGH.get(of, ())
    if keys and not any(table.has(key) for key in keys):
        table.fault("", "binds nothing.", f"Give {' or '.join(keys)}.")


def _named(table: Table, of: str) -> dict[str, Any]:
    """What a bound says of materials."""
    return {
        "names": read_names(table, "names", of),
        "says": cast("Admits", table.choice("says", ADMITS, ADMITS[0])),
    }


def _share(table: Table, key: str) -> float | None:
    """Share written in percent, such as ``"20 %"``."""
    value = table.raw(key)
    match = _PERCENT.fullmatch(value.strip()) if isinstance(value, str) else None
    share = float(match[1]) / 100 if match else 0.0
    if value is not None and not 0 < share <= 1:
        table.fault(key, f"{value!r} is not a share.", f'Write {key} = "20 %".')
    return share if 0 < share <= 1 else None


def _flag(table: Table, key: str) -> bool:
    value = table.raw(key)
    if value not in (None, True, False):
        table.fault(key, f"{value!r} is neither true nor false.", f"Write {key} = true.")
    return value is True


def _number(table: Table, key: str) -> float | None:
    """A number above zero."""
    value = table.raw(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value <= 0:
        table.fault(key, f"{value!r} is not a number above zero.", f"Write {key} = 2.")
        return None
    return float(value)


def _above_zero(table: Table, parse: Callable[[Any], float]) -> float | None:
    """The least of a quantity, above zero."""
    value = table.quantity("least", parse)
    if value is not None and value <= 0:
        table.fault("least", f"{table.raw('least')!r} is not above zero.", "Give it as printed.")
        return None
    return value


def _grout(table: Table) -> dict[str, Any]:
    more = {"full_depth": _flag(table, "full_depth"), "solids": _share(table, "solids")}
    return _named(table, "grout") | more


def _fluid(table: Table) -> dict[str, Any]:
    return _named(table, "fluid") | {"share": _share(table, "share")}


def _temperature(table: Table) -> dict[str, Any]:
    low, high = (table.quantity(key, parse_temperature) for key in ("from", "to"))
    low, high = (-math.inf if low is None else low), (math.inf if high is None else high)
    if low > high:
        table.fault("from", "is warmer than to.", "Swap the two.")
    return {"temperatures": Range(low, high)}


def _pipe(table: Table) -> dict[str, Any]:
    return _named(table, "pipe") | {"dimension_ratio": _number(table, "dimension_ratio")}


def _test(table: Table) -> dict[str, Any]:
    return {
        "least": _above_zero(table, parse_pressure),
        "operating": _number(table, "operating") or 0.0,
        "minutes": _number(table, "minutes") or 0.0,
    }


def _cover(table: Table) -> dict[str, Any]:
    return {"least": _above_zero(table, lambda text: parse_length(text, ""))}


def _count(table: Table) -> dict[str, Any]:
    return {"least": _number(table, "least")}


def _scale(table: Table) -> dict[str, Any]:
    low, high = (table.quantity(key, parse_scale) for key in ("from", "to"))
    scales = []
    for text in table.words("scales"):
        try:
            scales.append(parse_scale(text))
        except UnitError as error:
            table.fault("scales", str(error), "")
    ranged = low is not None or high is not None
    ratios = Range(low or 0.0, high if high is not None else float("inf"))
    if ranged and ratios.low > ratios.high:
        table.fault("from", "is a smaller scale than to.", "Swap the two.")
    return {"scales": tuple(scales), "ratios": ratios if ranged else None}


_READERS: Final[Mapping[str, Callable[[Table], dict[str, Any]]]] = {
    "fluid": _fluid,
    "grout": _grout,
    "pipe": _pipe,
    "test pressure": _test,
    "cover": _cover,
    "ties": _count,
    "scale": _scale,
    "marking": lambda table: {"names": read_names(table, "names", "marking")},
    "fluid temperature": _temperature,
    "heat at the line": lambda _: {},
    "return capacity": _count,
    "surface return": lambda table: {"allowed": _flag(table, "allowed")},
}
