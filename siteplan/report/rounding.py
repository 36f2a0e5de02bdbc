"""Rounding of figures for programs."""

from __future__ import annotations

from siteplan.units.lengths import round_to

DECIMALS = 4
"""Decimals of every metre in the summary: a tenth of a millimetre."""


def near(value: float) -> float:
    """The nearest figure: positions, shares, what is neither required nor provided."""
    return round_to(value, DECIMALS) + 0.0


def down(value: float) -> float:
    """The figure rounded down: what is provided."""
    return round_to(value, DECIMALS, "down") + 0.0


def up(value: float) -> float:
    """The figure rounded up: what is required, or has to be bought."""
    return round_to(value, DECIMALS, "up") + 0.0
