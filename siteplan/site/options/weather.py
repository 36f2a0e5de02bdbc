"""The year over a pond, of a site file's [weather] table."""

from __future__ import annotations

from typing import Final

from siteplan.site.options.read import Read
from siteplan.site.pond_survey import Weather

DEW_UNDER_K: Final = 5.0
"""Dew point under the mean temperature of the air where nobody states it; common practice, no
source [K]."""
WIND_MS: Final = 2.7
"""Wind at 10 m where nobody states it: 2 m/s at 2 m, which FAO Irrigation and Drainage Paper 56
takes where no wind is known, are 2.7 m/s at 10 m by its eq. 47 [m/s]."""
HOURS_A_DAY: Final = 24.0


def read_weather(given: Read | None) -> Weather | None:
    """Weather by month; None where the file has none, or not all of it could be read."""
    if given is None or None in (given["air"], given["sun"], given["latitude"]):
        return None
    dew, wind = given["dew_point"], given["wind"]
    named = (("dew point", dew), ("wind", wind))
    return Weather(
        air_c=given["air"],
        dew_c=tuple(air - DEW_UNDER_K for air in given["air"]) if dew is None else dew,
        sun_w_m2=tuple(1000.0 * sun / HOURS_A_DAY for sun in given["sun"]),
        wind_ms=WIND_MS if wind is None else wind,
        latitude_deg=given["latitude"],
        source=given["source"] or "",
        assumed=tuple(name for name, value in named if value is None),
    )
