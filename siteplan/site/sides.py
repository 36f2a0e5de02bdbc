"""What the sides of a trench stand in, and how they are kept from caving in."""

from __future__ import annotations

from typing import Literal, get_args

SoilClass = Literal["stable rock", "A", "B", "C"]
"""Soil of an excavation, 29 CFR 1926 Subpart P App. A."""
SOIL_CLASSES: tuple[SoilClass, ...] = get_args(SoilClass)

Protection = Literal["slope", "shield"]
"""How the sides of a deep trench are kept from caving in."""
PROTECTIONS: tuple[Protection, ...] = get_args(Protection)
