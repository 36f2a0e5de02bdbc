"""Properties of water and antifreeze mixtures, from a table computed once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

import numpy as np

NEVER_PROPOSED: Final = ("ethylene glycol",)
"""Antifreeze that is used where the designer asks for it, and not proposed: poisonous, and many
authorities forbid it; common practice, no source."""


class FluidRangeError(ValueError):
    """A fluid at a temperature at which it is frozen, or hotter than its table goes.

    Parameters
    ----------
    fluid
        The fluid.
    at_c, least_c, most_c
        Its temperature, and those between which it is known [C].
    """

    def __init__(self, fluid: str, at_c: float, least_c: float, most_c: float) -> None:
        super().__init__(f"{fluid} at {at_c:.1f} C: known from {least_c:.1f} to {most_c:.1f} C.")
        self.fluid, self.at_c, self.least_c, self.most_c = fluid, at_c, least_c, most_c


@dataclass(frozen=True, slots=True)
class FluidState:
    """A fluid at one temperature.

    Parameters
    ----------
    density
        [kg/m3].
    heat_capacity
        [J/(kg K)].
    viscosity
        Dynamic [Pa s].
    conductivity
        [W/(m K)].
    """

    density: float
    heat_capacity: float
    viscosity: float
    conductivity: float


@cache
def _table() -> dict[str, Any]:
    text = files("siteplan.hydraulics").joinpath("fluids.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def fluid_names() -> tuple[str, ...]:
    """Fluids of the table, water first; antifreeze in percent by volume."""
    return tuple(name for name in _table() if name != "temperatures")


def antifreeze_of(fluid: str) -> str:
    """What is mixed with the water, without its share; ``"water"`` for water alone.

    Examples
    --------
    >>> antifreeze_of("propylene glycol 25 %"), antifreeze_of("water")
    ('propylene glycol', 'water')
    """
    return fluid.rstrip("0123456789 %")


def freezing_point(fluid: str) -> float:
    """Freezing point [C]: Lange's Handbook of Chemistry, 15th edition, Table 5.13.

    Examples
    --------
    >>> freezing_point("methanol 15 %"), freezing_point("water")
    (-8.3, 0.0)
    """
    return float(_table()[fluid]["freezes"])


def antifreeze_share(fluid: str) -> float:
    """Share of antifreeze by volume [-]."""
    return float(_table()[fluid]["antifreeze"])


def known_range(fluid: str) -> tuple[float, float]:
    """Lowest and highest temperature for which a fluid's properties are known [C].

    Examples
    --------
    >>> known_range("water")
    (0.0, 40.0)
    """
    at = np.array(_table()["temperatures"], dtype=np.float64)
    known = at[np.isfinite(_table()[fluid]["density"])]
    return float(known[0]), float(known[-1])


def fluid_state(fluid: str, temperature_c: float) -> FluidState:
    """Properties at a temperature [C], linear between the table's 5 K; viscosity in its logarithm.

    Raises
    ------
    KeyError
        No such fluid.
    FluidRangeError
        The fluid would freeze, or is hotter than the table goes.

    Examples
    --------
    >>> state = fluid_state("water", 10.0)
    >>> round(state.density), round(state.viscosity * 1e3, 3)
    (1000, 1.306)
    """
    row = _table()[fluid]
    at = np.array(_table()["temperatures"], dtype=np.float64)
    known = np.isfinite(row["density"])
    if not at[known][0] <= temperature_c <= at[-1]:
        limits = float(at[known][0]), float(at[-1])
        raise FluidRangeError(fluid, temperature_c, *limits)

    def value(key: str) -> float:
        return float(np.interp(temperature_c, at[known], np.array(row[key])[known]))

    # viscosity rises several times over as a mixture cools: straight lines between 5 K would lie
    # above it
    viscosity = np.log(np.array(row["viscosity"], dtype=np.float64)[known])
    return FluidState(
        value("density"),
        value("heat_capacity"),
        float(np.exp(np.interp(temperature_c, at[known], viscosity))) * 1e-3,
        value("conductivity"),
    )
