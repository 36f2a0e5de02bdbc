"""What a site says of its place on the earth."""

from __future__ import annotations

from typing import Protocol


class Georeference(Protocol):
    """What a georeferenced site can tell about its place on the earth."""

    @property
    def crs_name(self) -> str:
        """Name of the coordinate system the site was read in."""

    @property
    def north(self) -> str:
        """What the local y axis is, for the north arrow."""

    @property
    def grid_scale(self) -> float | None:
        """Length on the system's grid over length on the ellipsoid, here; None where it is none."""

    def latitude_longitude(self, x: float, y: float) -> tuple[float, float]:
        """WGS 84 latitude and longitude of a local point [deg]."""
