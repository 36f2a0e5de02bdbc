"""What the user pays for work and goods: a price list, in the units in which things are bought."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FITTINGS: Final = (
    "U-bend", "tee", "elbow", "reducer", "coupling", "isolation valve", "balancing valve",
    "manifold", "purge port",
)  # fmt: skip
"""Fittings by the names that the take-off gives them."""
GOODS: Final = (
    "bore", "well", "coil", "plate_frame", "sand", "insulation", "tape", "wire",
    "fitting", "grout", "grout_bag", "silica_sand", "fluid", "antifreeze",
)  # fmt: skip
"""What has one price whatever its size."""


@dataclass(frozen=True, slots=True)
class Price:
    """What one of something costs, from and to; both the same where a single figure is known."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class PriceList:
    """Prices of one place and time.

    They are for one foot or metre, cubic yard or cubic metre, gallon or litre, pound or kilogram,
    as the take-off counts on a sheet of the site's unit system.

    Parameters
    ----------
    currency
        Word that stands before every sum.
    goods
        Prices of what has one price, by its name in `GOODS`.
    trench
        Prices of trench by the depth down to which each holds [m], shallow to deep.
    pipe
        By nominal size.
    fittings
        By name, before the one price of ``fitting``.
    mobilization
        By machine.
    as_of, source
        When and from whom; empty where nobody says.
    """

    currency: str
    goods: tuple[tuple[str, Price], ...] = ()
    trench: tuple[tuple[float, Price], ...] = ()
    pipe: tuple[tuple[str, Price], ...] = ()
    fittings: tuple[tuple[str, Price], ...] = ()
    mobilization: tuple[tuple[str, Price], ...] = ()
    as_of: str = ""
    source: str = ""
