"""What lies in a pond in place of coils: flat mats of pipe, and frames of hollow plates."""

from __future__ import annotations

import math
from dataclasses import dataclass

from siteplan.hydraulics.plates import Channel
from siteplan.vocabulary.pond_bodies import PondBody, pond_body


@dataclass(frozen=True, slots=True)
class FlatMat:
    """Pipe laid to and fro in one layer, within a rectangle.

    Parameters
    ----------
    length_m, width_m
        Of the rectangle; the runs of pipe are as long [m].
    spacing_m
        From run to run, between centers [m].
    pipe_m
        Pipe in it [m].
    """

    length_m: float
    width_m: float
    spacing_m: float
    pipe_m: float

    @property
    def words(self) -> PondBody:
        """What it is called."""
        return pond_body("flat mat")


def laid_to_and_fro(length_m: float, width_m: float, spacing_m: float) -> float:
    """Pipe that lies to and fro in a rectangle, half circles at the ends of its runs [m].

    Examples
    --------
    Runs 0.5 m apart in 2 m by 10 m: five of 9.5 m, four half circles.

    >>> round(laid_to_and_fro(10.0, 2.0, 0.5), 2), round(5 * 9.5 + 4 * math.pi * 0.25, 2)
    (50.64, 50.64)
    """
    runs = math.floor(width_m / spacing_m + 1e-9) + 1
    return runs * max(length_m - spacing_m, 0.0) + (runs - 1) * math.pi * spacing_m / 2


@dataclass(frozen=True, slots=True)
class PlateFrame:
    """Hollow plates that stand upright side by side in a frame, the fluid in all of them at once.

    Parameters
    ----------
    length_m, width_m
        Of the frame, seen from above [m].
    plates
        How many.
    plate_length_m, plate_height_m
        Of a plate: as far as the fluid flows in it, and upright [m].
    spacing_m
        From plate to plate, between centers [m].
    channel_m
        Gap in a plate that the fluid flows through [m].
    wall_m, conductivity
        Thickness and conductivity of its walls [m, W/(m K)].
    manifold_m
        Pipe that joins the plates, supply and return [m].
    """

    length_m: float
    width_m: float
    plates: int
    plate_length_m: float
    plate_height_m: float
    spacing_m: float
    channel_m: float
    wall_m: float
    conductivity: float
    manifold_m: float

    @property
    def words(self) -> PondBody:
        """What it is called."""
        return pond_body("plate frame")

    @property
    def channel(self) -> Channel:
        """Room for the fluid within a plate."""
        return Channel(self.channel_m, self.plate_height_m)

    @property
    def thick_m(self) -> float:
        """Thickness of a plate over all [m]."""
        return self.channel_m + 2 * self.wall_m

    @property
    def gap_m(self) -> float:
        """Water between two plates [m]."""
        return self.spacing_m - self.thick_m

    @property
    def plate_m(self) -> float:
        """Length of all its plates [m]."""
        return self.plates * self.plate_length_m

    @property
    def fluid_m3(self) -> float:
        """Fluid in its plates [m3]."""
        return self.plate_m * self.plate_height_m * self.channel_m

    @property
    def displaced_m3(self) -> float:
        """Water that its plates take the place of [m3]."""
        return self.plate_m * self.plate_height_m * self.thick_m


PondExchanger = FlatMat | PlateFrame
"""What is laid in place of coils."""


def across(body: PondExchanger) -> float:
    """Diameter of the circle around it, within which it may lie turned as it comes [m].

    Examples
    --------
    >>> across(FlatMat(4.0, 3.0, 0.3, 40.0))
    5.0
    """
    return math.hypot(body.length_m, body.width_m)
