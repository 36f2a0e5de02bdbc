"""Heat between the surface of open water and the air, by published correlations.

FAO-56 is R. G. Allen, L. S. Pereira, D. Raes, M. Smith, Crop evapotranspiration, FAO Irrigation and
Drainage Paper 56, Rome 1998. Heat flows are of a square metre, positive into the water.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

STEFAN_BOLTZMANN: Final = 5.670374e-8
"""CODATA 2018 [W/(m2 K4)]."""
ZERO_C: Final = 273.15
SOLAR_CONSTANT: Final = 0.0820 * 1e6 / 60
"""FAO-56 eq. 21: 0.0820 MJ/(m2 min) [W/m2]."""
MMHG_KPA: Final = 0.133322
"""A millimetre of mercury [kPa]."""
EMISSIVITY: Final = 0.97
"""Of water; from memory, common in the literature of lakes [-]."""
ALBEDO: Final = 0.06
"""Share of the sun that open water throws back; from memory, common in the literature of lakes
[-]."""
BOWEN: Final = 0.47
"""Convection over evaporation at sea level; I. S. Bowen, Physical Review 27 (1926) 779-787, from
memory [mmHg/K]."""
WIND_AT_M: Final = 7.0
"""Height of the wind of the wind function [m]."""
MEASURED_AT_M: Final = 10.0
"""Height at which weather stations measure wind [m]."""


@dataclass(frozen=True, slots=True)
class Sky:
    """Weather over the water on one day.

    Parameters
    ----------
    air_c, dew_c
        Temperatures of air and dew point [C].
    wind_ms
        At 10 m [m/s].
    sun_w_m2
        Mean of sun and sky on level ground [W/m2].
    clear_w_m2
        The same under a clear sky [W/m2].
    """

    air_c: float
    dew_c: float
    wind_ms: float
    sun_w_m2: float
    clear_w_m2: float


def saturation_kpa(temperature_c: float) -> float:
    """Pressure of saturated vapour, FAO-56 eq. 11 [kPa].

    Examples
    --------
    FAO-56 example 3: the mean of those at 24.5 and 15 C is 2.39 kPa.

    >>> round((saturation_kpa(24.5) + saturation_kpa(15.0)) / 2, 2)
    2.39
    """
    return 0.6108 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


def outside_sun(latitude_deg: float, day: float) -> float:
    """Mean sun of a day outside of the atmosphere, FAO-56 eq. 21 to 25 [W/m2].

    Examples
    --------
    FAO-56 example 8: 20 degrees south, day 246, 32.2 MJ/m2 a day.

    >>> round(outside_sun(-20.0, 246) * 0.0864, 1)
    32.2
    """
    latitude, turn = math.radians(latitude_deg), 2 * math.pi * day / 365
    distance = 1 + 0.033 * math.cos(turn)
    declination = 0.409 * math.sin(turn - 1.39)
    # beyond the polar circles the sun stays up, or down, all day
    sunset = math.acos(min(1.0, max(-1.0, -math.tan(latitude) * math.tan(declination))))
    height = sunset * math.sin(latitude) * math.sin(declination)
    height += math.cos(latitude) * math.cos(declination) * math.sin(sunset)
    return SOLAR_CONSTANT / math.pi * distance * height


def clear_sun(outside_w_m2: float, altitude_m: float = 0.0) -> float:
    """Mean sun of a day under a clear sky, FAO-56 eq. 37 [W/m2].

    Examples
    --------
    FAO-56 example 18: altitude 100 m, 41.09 MJ/m2 a day outside, 30.90 on the ground.

    >>> round(clear_sun(41.09, 100.0), 2)
    30.9
    """
    return (0.75 + 2e-5 * altitude_m) * outside_w_m2


def net_longwave(air_c: Sequence[float], vapour_kpa: float, clear_share: float) -> float:
    """Heat that a surface as warm as the air loses to the sky, FAO-56 eq. 39 [W/m2].

    Parameters
    ----------
    air_c
        Temperatures of a day, such as the least and the greatest [C].
    vapour_kpa
        Pressure of the vapour in the air [kPa].
    clear_share
        Sun over that of a clear sky, at most 1 [-].

    Examples
    --------
    FAO-56 example 11: 19.1 and 25.1 C, 2.1 kPa, 14.5 of 18.8: 3.5 MJ/m2 a day.

    >>> round(net_longwave([19.1, 25.1], 2.1, 14.5 / 18.8) * 0.0864, 1)
    3.5
    """
    black = sum(STEFAN_BOLTZMANN * (each + ZERO_C) ** 4 for each in air_c) / len(air_c)
    # the paper takes shares from 0.33 up: below, the sky is all cloud
    cloud = 1.35 * min(1.0, max(0.33, clear_share)) - 0.35
    return black * (0.34 - 0.14 * math.sqrt(vapour_kpa)) * cloud


def wind_at(height_m: float, measured_ms: float, measured_at_m: float = MEASURED_AT_M) -> float:
    """Wind at another height, by FAO-56 eq. 47 up and down [m/s].

    Examples
    --------
    FAO-56 example 14: 3.2 m/s at 10 m are 2.4 m/s at 2 m.

    >>> round(wind_at(2.0, 3.2), 1)
    2.4
    """
    profile = math.log(67.8 * height_m - 5.42) / math.log(67.8 * measured_at_m - 5.42)
    return measured_ms * profile


def wind_function(wind_7m_ms: float) -> float:
    """Evaporation for a difference of vapour pressure [W/(m2 mmHg)].

    9.2 + 0.46 W2 with the wind at 7 m: D. K. Brady, W. L. Graves, J. C. Geyer, Surface heat
    exchange at power plant cooling lakes, Edison Electric Institute 69-901, 1969 (from memory).
    """
    return 9.2 + 0.46 * wind_7m_ms**2


def evaporation(water_c: float, sky: Sky) -> float:
    """Heat that evaporation takes from open water; dew counts as nothing [W/m2]."""
    wind = wind_function(wind_at(WIND_AT_M, sky.wind_ms))
    over_kpa = saturation_kpa(water_c) - saturation_kpa(sky.dew_c)
    return wind * max(over_kpa, 0.0) / MMHG_KPA


def surface_gain(water_c: float, sky: Sky, albedo: float = ALBEDO) -> float:
    """Heat into water of a temperature from sun, sky and air [W/m2]."""
    share = sky.sun_w_m2 / sky.clear_w_m2 if sky.clear_w_m2 > 0 else 1.0
    longwave = net_longwave([sky.air_c], saturation_kpa(sky.dew_c), share)
    warmer = (water_c + ZERO_C) ** 4 - (sky.air_c + ZERO_C) ** 4
    wind = wind_function(wind_at(WIND_AT_M, sky.wind_ms))
    convection = BOWEN * wind * (water_c - sky.air_c)
    lost = (
        longwave + EMISSIVITY * STEFAN_BOLTZMANN * warmer + evaporation(water_c, sky) + convection
    )
    return (1 - albedo) * sky.sun_w_m2 - lost


def exchange_coefficient(water_c: float, sky: Sky) -> float:
    """What the surface loses more for a degree that the water is warmer [W/(m2 K)]."""
    step = 0.01
    return (surface_gain(water_c - step, sky) - surface_gain(water_c + step, sky)) / (2 * step)


def evaporated_mm_day(heat_w_m2: float, water_c: float) -> float:
    """Water that a heat flow evaporates in a day [mm].

    Latent heat 2.501 - 0.002361 T MJ/kg: V. T. Chow, D. R. Maidment, L. W. Mays, Applied Hydrology,
    1988, ch. 3.5 (from memory).
    """
    latent = 2.501e6 - 2361.0 * water_c
    return heat_w_m2 * 86_400.0 / latent
