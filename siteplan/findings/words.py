"""Reasons in words: the last step before a terminal, a sheet or a file shows them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from string import Formatter
from typing import cast

from siteplan.findings.entries import entry_of
from siteplan.findings.model import Finding, Reason, Value
from siteplan.units.days import format_day, format_duration
from siteplan.units.heat import (
    format_conductivity,
    format_difference,
    format_diffusivity,
    format_energy,
    format_line_power,
    format_resistance,
    format_temperature,
)
from siteplan.units.lengths import (
    ROUNDING_SLACK,
    Rounding,
    format_capacity,
    format_flow,
    format_length,
    format_power,
    rough,
    round_to,
    to_unit,
)
from siteplan.units.model import Measure, UnitSystem

SHEET = "unit"
"""Name that stands for the unit system of the sheet: ``{unit:center}`` is its spelling."""
OPTIONAL = "?"
"""Behind a name: nothing is said where the value is not given."""
COMMON = "common practice"
"""What the trade does without a publication that asks it."""
FILE, PAPER = "file", "paper"
"""Names of words that stand only where the site file is at hand, or only on paper: ``{file: (a
key)}``."""


def words_of(what: Reason | Finding, unit: UnitSystem, *, on_paper: bool = False) -> str:
    """Sentence of a reason or finding in the units of a sheet.

    Parameters
    ----------
    what
        What there is to say.
    unit
        Unit system of the sheet.
    on_paper
        Whether it stands on a sheet: then it names no key of the site file.

    Raises
    ------
    KeyError
        The sentence has a place for a value that the reason does not bring.

    Examples
    --------
    >>> from siteplan.findings.model import reason
    >>> from siteplan.units.systems import US
    >>> words_of(reason("no-available-area", things="bores"), US)
    'the setbacks leave no usable area for bores'
    >>> words_of(reason("thicker-pipe", ratio=9), US, on_paper=True)
    ' Use pipe of dimension ratio 9 at most.'
    """
    said = what.reason if isinstance(what, Finding) else what
    entry = entry_of(said.code)
    metric = unit.edition == "metric" and entry.metric
    template = entry.metric if metric else entry.says
    sentence = "".join(_filled(template, said, unit, on_paper=on_paper))
    return without_disclaimer(sentence) if on_paper else sentence


def without_disclaimer(text: str) -> str:
    """Words as a sheet has them, whose notes say once what common practice is.

    Examples
    --------
    >>> without_disclaimer("kept clear (common practice, no source)")
    'kept clear (common practice)'
    """
    return text.replace(f"{COMMON}, no source", COMMON)


def figure_words(
    figure: Reason, unit: UnitSystem, *, on_paper: bool = False
) -> tuple[str, str, str]:
    """What a figure of a calculation is called, its value, and where that comes from.

    Raises
    ------
    KeyError
        As of `words_of`.

    Examples
    --------
    >>> from siteplan.findings.model import reason
    >>> from siteplan.units.systems import METRIC
    >>> figure_words(reason("figure-hardest-month", power_w=2900.0), METRIC)
    ('ground, hardest month', '2.9 kW', 'mean flow')
    """
    entry = entry_of(figure.code)
    metric = unit.edition == "metric" and entry.metric
    called, value, basis = (
        "".join(_filled(template, figure, unit, on_paper=on_paper))
        for template in (entry.figure, entry.metric if metric else entry.says, entry.basis)
    )
    return called, value, basis


def capitalised(sentence: str) -> str:
    """Sentence with a capital at its beginning.

    Examples
    --------
    >>> capitalised("no excavator gets there")
    'No excavator gets there'
    """
    return sentence[:1].upper() + sentence[1:]


def _filled(
    template: str, said: Reason, unit: UnitSystem, *, on_paper: bool
) -> Iterator[str]:  # fmt: skip
    values = said.values
    for literal, name, spec, _ in Formatter().parse(template):
        yield literal
        if name is None or name == (FILE if on_paper else PAPER):
            continue
        if name.endswith(OPTIONAL) and values.get(name.removesuffix(OPTIONAL)) in (None, ""):
            continue
        form = "".join(_filled(spec or "", said, unit, on_paper=on_paper))
        if name in (FILE, PAPER):
            yield form
            continue
        if name == SHEET:
            yield str(getattr(unit, form))
            continue
        try:
            yield _shown(values[name.removesuffix(OPTIONAL)], form, unit, on_paper=on_paper)
        except (KeyError, ValueError, TypeError) as error:
            raise KeyError(f"{said.code}: no value for {{{name}:{spec}}} in {values}") from error


def _shown(value: Value, spec: str, unit: UnitSystem, *, on_paper: bool) -> str:
    """Value by the form that a sentence asks for: its name, and what it needs to know."""
    form, *arguments = spec.split(maxsplit=1)[:2] or [""]
    if isinstance(value, tuple):
        parts = [_shown(item, "", unit, on_paper=on_paper) for item in value]
        if form == "distinct":
            parts = list(dict.fromkeys(parts))
        joined = _joined(parts, *SERIES[form]) if parts else ""
        if form == "between" and len(parts) > 1:
            return f"between {joined}"
        return capitalised(joined) if form == "sentence" else joined
    if isinstance(value, Reason):
        return words_of(value, unit, on_paper=on_paper)
    if form in NAMES:
        return NAMES[form](str(value))
    if not form:
        return f"{value:g}" if isinstance(value, float) else str(value)
    return FORMS[form](cast("float", value), arguments[0] if arguments else "", unit)


def _joined(parts: Sequence[str], between: str, last: str) -> str:
    """Series such as ``"a, b and c"``.

    Examples
    --------
    >>> _joined(["a", "b", "c"], ", ", " and "), _joined(["a"], ", ", " and ")
    ('a, b and c', 'a')
    """
    return last.join([between.join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _length(value: float, how: str, unit: UnitSystem) -> str:
    """Length with so many decimals; ``rough``: as nobody stakes by, ``short``: only if needed."""
    rounding: Rounding = "nearest"
    decimals = unit.sign_decimals
    for word in how.split():
        if word in ("up", "down"):
            rounding = cast("Rounding", word)
        elif word == "rough":
            decimals = rough(unit)
        elif word == "short":
            shown = to_unit(value, unit)
            decimals = 0 if abs(shown - round(shown)) < ROUNDING_SLACK else unit.sign_decimals
        else:
            decimals = int(word)
    return format_length(value, unit, decimals, rounding=rounding)


def _limit(value: float, how: str, unit: UnitSystem) -> str:
    """Length of a printed limit without needless decimals: ``"6 ft"``.

    Rounded up, as it is kept if more is; one that nobody may exceed: ``down``.
    """
    rounding: Rounding = "down" if how == "down" else "up"
    return f"{round_to(to_unit(value, unit), 2, rounding):g} {unit}"


def _earth(value: float, _: str, unit: UnitSystem) -> str:
    """Soil rounded up, as the take-off counts it."""
    decimals = unit.earth.decimals or 0
    amount = round_to(unit.earth.of(value), decimals, "up")
    return f"{amount:,.{decimals}f} {unit.earth.label}"


def _up(value: float, measure: Measure) -> float:
    """A value rounded up to whole ones of the unit in which it is printed."""
    return round_to(measure.of(value), 0, "up") * measure.size


def _difference(value: float, how: str, unit: UnitSystem) -> str:
    """Temperature difference; ``short``: in two digits."""
    if how == "short":
        return f"{unit.difference.of(value):.2g} {unit.difference.label}"
    return format_difference(value, unit)


def _count(value: float, noun: str, _: UnitSystem) -> str:
    """Number with its noun, in the plural where there are several: ``"2 bores"``."""
    number = round(value)
    return f"{number} {noun if number == 1 else plural(noun)}"


def plural(noun: str) -> str:
    """Noun for several.

    Examples
    --------
    >>> plural("bore"), plural("trench")
    ('bores', 'trenches')
    """
    return f"{noun}es" if noun.endswith("ch") else f"{noun}s"


NAMES: dict[str, Callable[[str], str]] = {
    "a": lambda name: f"{'an' if name[:1] in 'aeiou' else 'a'} {name}",
    "capital": capitalised,
    "plural": plural,
}
"""Forms of names."""

FORMS: dict[str, Callable[[float, str, UnitSystem], str]] = {
    "coordinate": lambda value, _, unit: f"{round_to(to_unit(value, unit), 2) + 0.0:,.2f}",
    "length": _length,
    "limit": _limit,
    "area": lambda value, _, unit: unit.area.text(value),
    "earth": _earth,
    "count": _count,
    "flow": lambda value, how, unit: format_flow(
        value, unit, rounding=cast("Rounding", how or "nearest")
    ),
    "power": lambda value, _, unit: format_power(value, unit),
    "capacity": lambda value, _, unit: format_capacity(value, unit),
    "capacity-unit": lambda _, __, unit: unit.capacity.label,
    "length-of-capacity": lambda value, _, unit: (
        f"{to_unit(value, unit) * unit.capacity.size:,.{rough(unit)}f}"
    ),
    "flow-of-capacity": lambda value, how, unit: (
        unit.flow_of_capacity.text(value) if how else f"{unit.flow_of_capacity.of(value):.3g}"
    ),
    "freezing-index": lambda value, _, unit: unit.freezing_index.text(value),
    "energy": lambda value, _, unit: format_energy(value, unit),
    "line-power": lambda value, _, unit: format_line_power(value, unit),
    "resistance": lambda value, _, unit: format_resistance(value, unit),
    "conductivity": lambda value, _, unit: format_conductivity(value, unit),
    "diffusivity": lambda value, _, unit: format_diffusivity(value, unit),
    "number": lambda value, decimals, _: f"{value:.{decimals}f}",
    "temperature": lambda value, _, unit: format_temperature(value, unit),
    "difference": _difference,
    "exchange": lambda value, _, unit: unit.exchange.text(value),
    "pressure": lambda value, _, unit: unit.pressure.text(value),
    "mass": lambda value, _, unit: unit.mass.text(_up(value, unit.mass)),
    "fluid": lambda value, _, unit: unit.fluid.text(_up(value, unit.fluid)),
    "diameter": lambda value, _, unit: unit.small.text(value),
    "layer": lambda value, _, unit: unit.layer.text(value),
    "percent": lambda value, _, __: f"{100 * value:.0f} %",
    "thousands": lambda value, _, __: f"{value:,.0f}",
    "kilovolts": lambda value, _, __: f"{value / 1000:g} kV",
    "degrees": lambda value, _, __: f"{value:.0f}°",
    "day": lambda value, _, __: format_day(value),
    "duration": lambda value, _, __: format_duration(value),
    "permeability": lambda value, _, unit: unit.permeability.text(value),
    "transmissivity": lambda value, _, unit: unit.transmissivity.text(value),
}
"""Forms that a sentence may ask for after the colon: value [SI], what it needs to know, unit."""

SERIES = {
    "list": (", ", ", "),
    "distinct": (", ", ", "),
    "and": (", ", " and "),
    "between": (", ", " and "),
    "or": (", ", " or "),
    "sentence": ("; ", "; "),
    "clauses": ("; ", "; "),
    "joined": ("", ""),
}
"""Forms of several values: what stands between them, and before the last."""
