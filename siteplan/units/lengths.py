"""All conversion factors, reading of quantities with their unit, and their formatting.

Inside the package every length is in metres, every flow in m3/s, every power in watts.
"""

from __future__ import annotations

import math
import re
from typing import Final, Literal

from siteplan.units.model import UnitSystem
from siteplan.units.written import UnitError, parse_terms, plain_signs

FOOT: Final = 0.3048
"""International foot [m]; the foot of the United States since 2023-01-01 (85 FR 62698)."""
US_SURVEY_FOOT: Final = 1200 / 3937
"""US survey foot [m], retired but alive in old coordinate systems."""
INCH: Final = FOOT / 12
SQUARE_FOOT: Final = FOOT**2
ACRE: Final = 43_560 * SQUARE_FOOT
"""International acre [m2]."""
HECTARE: Final = 10_000.0
GALLON: Final = 231 * INCH**3
"""US liquid gallon [m3]."""
TON: Final = 3516.852842067
"""Ton of refrigeration, 12,000 Btu(IT)/h [W]."""
BTU_PER_HOUR: Final = TON / 12_000

MOST_DECIMALS: Final = 4
"""Decimals of a length in the display unit beyond which nothing can be staked."""
ROUNDING_SLACK: Final = 4e-6
"""What rounding up or down forgives, in metres or feet: the tolerance of 1e-6 m, and a bit."""

Rounding = Literal["nearest", "down", "up"]

DRAWING_UNITS: Final = {
    "ft": FOOT, "survey feet": US_SURVEY_FOOT, "m": 1.0, "in": INCH, "mm": 0.001, "cm": 0.01,
}  # fmt: skip
"""Units in which a drawing may be drawn [m]."""

LENGTHS: Final = {
    "m": 1.0,
    "cm": 0.01,
    "mm": 0.001,
    "km": 1000.0,
    "ft": FOOT,
    "feet": FOOT,
    "foot": FOOT,
    "'": FOOT,
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
    "yd": 3 * FOOT,
    "ftus": US_SURVEY_FOOT,
    "meter": 1.0, "meters": 1.0, "metre": 1.0, "metres": 1.0,
}  # fmt: skip
DEED_LENGTHS: Final = {
    "survey feet": US_SURVEY_FOOT, "us survey feet": US_SURVEY_FOOT, "ftus": US_SURVEY_FOOT,
    "feet": FOOT, "foot": FOOT, "ft": FOOT, "'": FOOT,
    "inches": INCH, "inch": INCH, "in": INCH, '"': INCH,
    "metres": 1.0, "meters": 1.0, "metre": 1.0, "meter": 1.0, "m": 1.0,
    "chains": 66 * FOOT, "chain": 66 * FOOT, "chs": 66 * FOOT, "ch": 66 * FOOT,
    "links": 0.66 * FOOT, "link": 0.66 * FOOT, "lks": 0.66 * FOOT, "lk": 0.66 * FOOT,
    "rods": 16.5 * FOOT, "rod": 16.5 * FOOT, "rds": 16.5 * FOOT, "rd": 16.5 * FOOT,
    "poles": 16.5 * FOOT, "pole": 16.5 * FOOT, "pol": 16.5 * FOOT,
    "perches": 16.5 * FOOT, "perch": 16.5 * FOOT,
    "yards": 3 * FOOT, "yard": 3 * FOOT, "yds": 3 * FOOT, "yd": 3 * FOOT,
    "varas": 100 / 3 * INCH, "vara": 100 / 3 * INCH,
}  # fmt: skip
"""Units of old and new deeds [m]: a chain of 66 ft has 100 links and 4 rods, poles or perches; the
Texas vara is 33 1/3 inches (Texas Natural Resources Code 21.077, from memory)."""
FLOWS: Final = {
    "gpm": GALLON / 60,
    "gal/min": GALLON / 60,
    "l/s": 1e-3,
    "l/min": 1e-3 / 60,
    "m3/h": 1 / 3600,
    "m3/s": 1.0,
    "gpd": GALLON / 86_400,
    "l/day": 1e-3 / 86_400,
}
VOLTAGES: Final = {"v": 1.0, "kv": 1000.0}
POWERS: Final = {
    "ton": TON,
    "tons": TON,
    "kw": 1000.0,
    "w": 1.0,
    # of a furnace or a heat pump the trade leaves the hour unsaid
    **dict.fromkeys(("btu/h", "btu/hr", "btuh", "btu", "btus"), BTU_PER_HOUR),
    **dict.fromkeys(("mbh", "kbtu/h", "kbtu/hr", "kbtuh", "kbtu"), 1000 * BTU_PER_HOUR),
}
ANGLES: Final = {"deg": 1.0}


def parse_length(value: str | float, unit: str) -> float:
    """Length in metres of ``"12 ft 6 in"``, ``"6.1 m"`` or a bare number in ``unit``.

    Raises
    ------
    UnitError
        Not a number, not a length, or a unit this module does not know.

    Examples
    --------
    >>> round(parse_length("12 ft 6 in", "m"), 9)
    3.81
    >>> parse_length(10, "ft")
    3.048
    >>> round(parse_length("1,100 ft", "m"), 9)
    335.28
    """
    return parse_terms(
        value, LENGTHS, unit, "a length such as 10, '10 ft', '12 ft 6 in' or '3.05 m'"
    )


def parse_flow(value: str | float) -> float:
    """Flow in m3/s of ``"12 gpm"`` or ``"0.8 L/s"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a flow, or no unit.

    Examples
    --------
    >>> round(parse_flow("12 gpm") * 1000, 4)
    0.7571
    """
    return parse_terms(value, FLOWS, "", "a flow with its unit, such as '12 gpm' or '0.8 L/s'")


def parse_voltage(value: str | float) -> float:
    """Voltage in volts of ``"13.8 kV"``; the unit must be written.

    Raises
    ------
    UnitError
        Not a voltage, or no unit.

    Examples
    --------
    >>> parse_voltage("13.8 kV")
    13800.0
    """
    return parse_terms(value, VOLTAGES, "", "a voltage with its unit, such as '13.8 kV'")


def parse_power(value: str | float) -> float:
    """Power in watts of ``"4 ton"``, ``"14 kW"`` or ``"48,000 Btu/h"``; 0 alone needs no unit.

    Raises
    ------
    UnitError
        Not a power, or no unit.

    Examples
    --------
    >>> round(parse_power("4 ton")), parse_power(0)
    (14067, 0.0)
    """
    if not isinstance(value, bool) and str(value).strip() in ("0", "0.0"):
        return 0.0
    return parse_terms(
        value, POWERS, "", "a capacity with its unit, such as '36 MBH', '4 ton' or '14 kW'"
    )


def parse_angle(value: str | float) -> float:
    """Angle in degrees of ``"20 deg"``; bare numbers are degrees.

    Raises
    ------
    UnitError
        Not an angle.

    Examples
    --------
    >>> parse_angle("20 deg"), parse_angle(12.5)
    (20.0, 12.5)
    """
    return parse_terms(value, ANGLES, "deg", "an angle such as '20 deg'")


_SIXTY = r"[0-5]?[0-9](?:\.[0-9]*)?"
WITH_SIGNS: Final = rf"([0-9]+(?:\.[0-9]*)?)\s*°\s*(?:({_SIXTY})\s*'\s*)?(?:({_SIXTY})\s*\"\s*)?"
"""Pattern of an angle as 45°30'15", its minutes and seconds below 60."""
BARE: Final = rf"([0-9]+(?:\.[0-9]*)?)(?:[\s-]+({_SIXTY}))?(?:[\s-]+({_SIXTY}))?\s*"
"""The same as 45-30-15 or 45 30 15."""
_BEARINGS = [re.compile(rf"\s*([NS])\s*{angle}([EW])\s*") for angle in (WITH_SIGNS, BARE)]


COMPASS: Final = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
"""Points of the compass, an equal step clockwise from each to the next."""


def _point_of(text: str) -> float | None:
    """Degrees of a point of the compass such as NE, SOUTH-WEST or DUE NORTH; None of others."""
    short = re.sub(r"[\s.-]|^DUE\b", "", re.sub(r"(N|S|E|W)(?:ORTH|OUTH|AST|EST)", r"\1", text))
    return COMPASS.index(short) * 360.0 / len(COMPASS) if short in COMPASS else None


def parse_bearing(value: str | float) -> float:
    r"""Direction in degrees clockwise from the y axis: a number, a bearing or a compass point.

    Raises
    ------
    UnitError
        Neither a number of degrees nor a bearing such as the sheet prints.

    Examples
    --------
    >>> parse_bearing(-315), parse_bearing("N 45°30' W"), parse_bearing("S 10-30 E")
    (45.0, 314.5, 169.5)
    >>> parse_bearing("due south"), parse_bearing("north-east"), parse_bearing("WSW")
    (180.0, 45.0, 247.5)
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value):
        if abs(value) <= 360:
            return float(value) % 360.0
        raise UnitError(f"{value!r} is not a direction; write degrees up to 360, a full turn.")
    text = plain_signs(value).upper() if isinstance(value, str) else ""
    point = _point_of(text)
    if point is not None:
        return point
    match = next(filter(None, (style.fullmatch(text) for style in _BEARINGS)), None)
    degrees, minutes, seconds = match.groups("0")[1:4] if match else ("0", "0", "0")
    angle = float(degrees) + float(minutes) / 60 + float(seconds) / 3600
    if match is None or angle > 90:
        raise UnitError(
            f"{value!r} is not a direction; write degrees clockwise from the y axis, such as 90, "
            "a bearing such as 'N 45°30' E', or a point of the compass such as 'NE'"
        )
    signed = angle if match[1] + match[5] in ("NE", "SW") else -angle
    return (signed + (180.0 if match[1] == "S" else 0.0)) % 360.0


def format_power(power_w: float, unit: UnitSystem) -> str:
    """Power for people: thousands of Btu an hour beside feet, kilowatts beside metres.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_power(10_550.56, US), format_power(10_550.56, METRIC)
    ('36.0 MBH', '10.6 kW')
    """
    return unit.power.text(power_w)


def format_capacity(power_w: float, unit: UnitSystem) -> str:
    """Capacity of a heat pump for people, without needless decimals.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_capacity(4 * TON, US), format_capacity(TON, US), format_capacity(8000.0, METRIC)
    ('4 tons', '1 ton', '8 kW')
    """
    measure = unit.capacity
    number = f"{measure.of(power_w):,.{measure.decimals}f}".removesuffix(".0")
    return f"{number} {measure.label if number == '1' else measure.many or measure.label}"


def round_to(value: float, decimals: int, rounding: Rounding = "nearest") -> float:
    """Value at a number of decimals, rounded to nearest, down or up.

    A value within ``ROUNDING_SLACK`` of a step counts as the step itself: a separation kept to
    the last micrometre is 10.0 ft and not 9.9.

    Examples
    --------
    >>> round_to(9.99, 1, "down"), round_to(10.01, 1, "up"), round_to(9.999999, 1, "down")
    (9.9, 10.1, 10.0)
    """
    scaled = value * 10**decimals
    slack = min(0.05, ROUNDING_SLACK * 10**decimals)
    if rounding == "down":
        scaled = math.floor(scaled + slack)
    elif rounding == "up":
        scaled = math.ceil(scaled - slack)
    return float(round(scaled) / 10**decimals)


def to_unit(length_m: float, unit: UnitSystem) -> float:
    """Length in a system's unit of length."""
    return length_m / unit.metres


def format_length(
    length_m: float, unit: UnitSystem, decimals: int = 1, *, rounding: Rounding = "nearest"
) -> str:
    """Length with its unit, for people.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_length(335.28, US, 0), format_length(30.48, METRIC, 1)
    ('1,100 ft', '30.5 m')
    """
    return f"{round_to(to_unit(length_m, unit), decimals, rounding):,.{decimals}f} {unit}"


def rough(unit: UnitSystem) -> int:
    """Decimals of a length that nobody stakes by: whole feet, decimetres."""
    return unit.rough_decimals


def rough_length(length_m: float, unit: UnitSystem, rounding: Rounding) -> str:
    """Length to the decimals that lengths in all are given to, as `rough` says.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> rough_length(100.0, US, "up"), rough_length(100.0, US, "down")
    ('329 ft', '328 ft')
    """
    return format_length(length_m, unit, rough(unit), rounding=rounding)


def format_pair(
    required_m: float, provided_m: float, unit: UnitSystem, decimals: int
) -> tuple[str, str]:
    """A required and a provided length, the one rounded up and the other down.

    Decimals are added where rounding alone would make a length that is kept look short.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC
    >>> format_pair(3.048, 3.048, METRIC, 2), format_pair(3.0, 2.9, METRIC, 1)
    (('3.048 m', '3.048 m'), ('3.0 m', '2.9 m'))
    """
    decimals = pair_decimals(required_m, provided_m, unit, decimals)
    up = round_to(to_unit(required_m, unit), decimals, "up")
    down = round_to(to_unit(provided_m, unit), decimals, "down")
    return f"{up:,.{decimals}f} {unit}", f"{down:,.{decimals}f} {unit}"


def pair_decimals(required_m: float, provided_m: float, unit: UnitSystem, least: int) -> int:
    """Fewest decimals at which a length that is kept does not look short by rounding alone.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC
    >>> pair_decimals(3.048, 3.048, METRIC, 2), pair_decimals(3.0, 2.9, METRIC, 1)
    (3, 1)
    """
    if provided_m < required_m - ROUNDING_SLACK:
        return least
    for decimals in range(least, MOST_DECIMALS):
        up = round_to(to_unit(required_m, unit), decimals, "up")
        if round_to(to_unit(provided_m, unit), decimals, "down") >= up:
            return decimals
    return max(least, MOST_DECIMALS)


def format_area(area_m2: float, unit: UnitSystem) -> str:
    """Area as surveyors write it: square feet and acres, or square metres and hectares.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_area(4046.8564224, US), format_area(5000, METRIC)
    ('43,560 sq ft = 1.000 ac', '5,000 m² = 0.500 ha')
    """
    return f"{unit.area.text(area_m2)} = {unit.land.text(area_m2)}"


def format_flow(flow_m3s: float, unit: UnitSystem, *, rounding: Rounding = "nearest") -> str:
    """Flow in gallons a minute (display unit ft) or litres a second (m).

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> format_flow(7.570823568e-4, US), format_flow(7.570823568e-4, METRIC)
    ('12.0 gpm', '0.76 L/s')
    """
    decimals = unit.flow.decimals or 0
    flow = round_to(unit.flow.of(flow_m3s), decimals, rounding)
    return f"{flow:,.{decimals}f} {unit.flow.label}"


def format_bearing(dx: float, dy: float) -> str:
    r"""Quadrant bearing, to the second, of the direction (dx east, dy north).

    Examples
    --------
    >>> format_bearing(1, 1), format_bearing(0, -1), format_bearing(-1, 0)
    ('N 45°00\'00" E', 'S 00°00\'00" E', 'N 90°00\'00" W')
    """
    seconds = round(math.degrees(math.atan2(abs(dx), abs(dy))) * 3600)
    degrees, rest = divmod(seconds, 3600)
    minutes, second = divmod(rest, 60)
    vertical, horizontal = ("N" if dy >= 0 else "S"), ("E" if dx >= 0 else "W")
    return f"{vertical} {degrees:02d}°{minutes:02d}'{second:02d}\" {horizontal}"
