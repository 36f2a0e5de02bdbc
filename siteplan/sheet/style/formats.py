"""How lengths read on the sheet: short, in the display unit, never rounded in favour of fitting."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from siteplan.units.lengths import INCH, Rounding, round_to, to_unit
from siteplan.units.model import UnitSystem


def mark(length_m: float, unit: UnitSystem, *, rounding: Rounding = "nearest") -> str:
    """A distance as written on the plan: tenths of a foot, or hundredths of a metre.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> mark(3.9, US, rounding="down"), mark(3.048, US), mark(3.9, METRIC)
    ("12.7'", "10.0'", '3.90 m')
    """
    return _written(length_m, unit, unit.sign_decimals, rounding)


def fine_mark(
    length_m: float, unit: UnitSystem, decimals: int, *, rounding: Rounding = "nearest"
) -> str:
    """A distance with so many decimals, as in a table where all have as many.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> fine_mark(3.048, METRIC, 3, rounding="down"), fine_mark(3.9, US, 1, rounding="down")
    ('3.048 m', "12.7'")
    """
    return _written(length_m, unit, decimals, rounding)


def course_mark(length_m: float, unit: UnitSystem) -> str:
    """A distance along the boundary, to the hundredth.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> course_mark(42.70248, US), course_mark(42.70248, METRIC)
    ("140.10'", '42.70 m')
    """
    return _written(length_m, unit, 2, "nearest")


def short_mark(
    length_m: float, unit: UnitSystem, *, rounding: Rounding = "up", decimals: int = 2
) -> str:
    """A distance without needless decimals, for the name of a setback line.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> short_mark(15.24, US), short_mark(3.81, US), short_mark(3.0, METRIC)
    ("50'", "12.5'", '3 m')
    """
    value = f"{round_to(to_unit(length_m, unit), decimals, rounding):,.{decimals}f}"
    value = value.rstrip("0").rstrip(".") if decimals else value
    return f"{value}{unit.sign}"


SMALL_M: Final = 36 * INCH
"""Shorter lengths are read in the small unit in a detail [m]."""
EIGHTHS: Final = 8
"""Parts of an inch to which a detail is measured; common practice, no source."""


def detail_mark(length_m: float, unit: UnitSystem, *, rounding: Rounding = "up") -> str:
    r"""A length in a detail: in inches, or feet and inches, on a US sheet.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> detail_mark(0.4572, US), detail_mark(1.524, US), detail_mark(0.4572, METRIC)
    ('18"', '5\'-0"', '0.46 m')
    >>> detail_mark(1.12, US, rounding="down"), detail_mark(2.4416, US, rounding="down")
    ('3\'-8"', '8\'-0 1/8"')
    """
    if unit.detail is None:
        return short_mark(length_m, unit, rounding=rounding)
    parts = round_to(unit.detail.of(length_m) * EIGHTHS, 0, rounding)
    inches = Fraction(int(parts), EIGHTHS)
    if length_m < SMALL_M:
        return f"{fraction(inches)}{unit.detail.label}"
    feet, rest = divmod(inches, 12)
    # behind feet no fraction stands alone: 8'-1/8" would be read as 8'-1"
    whole = "0 " if 0 < rest < 1 else ""
    return f"{feet:,}{unit.sign}-{whole}{fraction(rest)}{unit.detail.label}"


def fraction(value: Fraction) -> str:
    """A number with a common fraction.

    Examples
    --------
    >>> fraction(Fraction(3, 2)), fraction(Fraction(3, 8)), fraction(Fraction(0))
    ('1 1/2', '3/8', '0')
    """
    whole, rest = divmod(value, 1)
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"


def hundredths(lengths_m: Sequence[float], unit: UnitSystem) -> tuple[str, ...]:
    """Lengths to the hundredth that add up to their total, itself rounded down.

    Each is rounded down; the hundredths that are then missing go to those that lost most.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC
    >>> hundredths([1.006, 2.006, 3.004], METRIC)
    ('1.01 m', '2.00 m', '3.00 m')
    """
    values = [to_unit(length, unit) for length in lengths_m]
    whole = [round(round_to(value, 2, "down") * 100) for value in values]
    missing = round(round_to(sum(values), 2, "down") * 100) - sum(whole)
    lost = sorted(range(len(values)), key=lambda k: (whole[k] - values[k] * 100, k))
    for k in lost[: max(missing, 0)]:
        whole[k] += 1
    return tuple(f"{value / 100:,.2f}{unit.sign}" for value in whole)


def settled(value: float) -> float:
    """A value without its last digits, which decide which way a half is rounded.

    Rows lie at halves of a spacing from the line between them: such a half is to be printed alike
    from the plan and from its drawing.

    Examples
    --------
    >>> settled(47.2499999999), settled(47.2500000001)
    (47.25, 47.25)
    """
    return round(value, 5)


def station_mark(way_m: float, unit: UnitSystem) -> str:
    """A way along a line as field books write it: full stations, a plus sign, and the rest.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> station_mark(7.62, US), station_mark(30.47, US), station_mark(1234.5, METRIC)
    ('0+25.0', '1+00.0', '1+234.50')
    """
    decimals = unit.sign_decimals
    way = round_to(settled(to_unit(way_m, unit)), decimals) + 0.0
    full = int(way // unit.station)
    width = len(f"{unit.station - 1}.") + decimals
    return f"{full}+{way - full * unit.station:0{width}.{decimals}f}"


def coordinate(value_m: float, unit: UnitSystem) -> str:
    """A coordinate in the display unit, to the hundredth, without the unit.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> coordinate(-3.048, US), coordinate(0.0, METRIC)
    ('-10.00', '0.00')
    """
    return f"{round_to(to_unit(value_m, unit), 2) + 0.0:,.2f}"


def east_north(at: tuple[float, float], unit: UnitSystem) -> str:
    """Easting and northing in the display unit.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> east_north((3.048, 6.096), US)
    'E 10.00 N 20.00'
    """
    return f"E {coordinate(at[0], unit)} N {coordinate(at[1], unit)}"


def _written(length_m: float, unit: UnitSystem, decimals: int, rounding: Rounding) -> str:
    value = f"{round_to(to_unit(length_m, unit), decimals, rounding):,.{decimals}f}"
    return f"{value}{unit.sign}"
