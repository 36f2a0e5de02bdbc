"""What most elements answer alike: those in the ground, and those with one centre."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from shapely import Point
from shapely.geometry.base import BaseGeometry

XY = tuple[float, float]


class Usual:
    """What most elements answer: new, in the ground, upright."""

    __slots__ = ()

    @property
    def footprint(self) -> BaseGeometry:
        """Ground it takes, which each kind tells."""
        raise NotImplementedError

    @property
    def course(self) -> BaseGeometry:
        """The same as its footprint: it goes straight down."""
        return self.footprint

    @property
    def near_surface(self) -> BaseGeometry:
        """The same as its footprint."""
        return self.footprint

    @property
    def length_m(self) -> float:
        """No length counts of it [m]."""
        return 0.0

    @property
    def listed_m(self) -> float:
        """The length it provides [m]."""
        return self.length_m

    @property
    def tilt_deg(self) -> float:
        """It does not lean [deg]."""
        return 0.0

    @property
    def existing(self) -> str:
        """Nothing: it is new."""
        return ""

    @property
    def water(self) -> str:
        """Nothing: it lies in the ground."""
        return ""


@dataclass(frozen=True, slots=True)
class Centred(Usual):
    """An element with one centre; its diameter [m]."""

    kind: ClassVar[str]
    id: str
    x_m: float
    y_m: float
    diameter_m: float

    @property
    def ends(self) -> tuple[XY, ...]:
        """Place of its stake: the centre [m]."""
        return ((self.x_m, self.y_m),)

    @property
    def axis(self) -> BaseGeometry:
        """Its centre."""
        return self.footprint

    @property
    def footprint(self) -> BaseGeometry:
        """Its centre; the ground it takes reaches ``reach_m`` around it."""
        return Point(self.x_m, self.y_m)

    @property
    def reach_m(self) -> float:
        """How far the element reaches beyond its footprint [m]."""
        return self.diameter_m / 2

    @property
    def symbol(self) -> str:
        """Symbol that stands for it on the plan: that of its kind."""
        return self.kind
