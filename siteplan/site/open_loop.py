"""What is wanted of a supply and a return well, and the aquifer that they stand in."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Aquifer:
    """The aquifer that both wells are screened in.

    Parameters
    ----------
    transmissivity
        Hydraulic conductivity times thickness [m2/s].
    thickness_m
        [m].
    storativity, porosity
        [-].
    gradient, direction_deg
        Fall of the level over the way [-], and where the water flows to, clockwise from the y
        axis [deg].
    temperature_c
        Of the water; None: that of the ground [C].
    hardness, iron
        Of the water [mg/L], hardness as calcium carbonate; None: nobody has it analysed.
    assumed
        Keys of the site file's [aquifer] that nobody states.
    """

    transmissivity: float = 3.6e-3
    thickness_m: float = 10.0
    storativity: float = 2e-4
    porosity: float = 0.25
    gradient: float = 0.0
    direction_deg: float = 0.0
    temperature_c: float | None = None
    hardness: float | None = None
    iron: float | None = None
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OpenOptions:
    """A supply and a return well.

    Parameters
    ----------
    separation_m
        Least distance between the two wells [m].
    diameter_m
        Outer diameter of a well casing [m].
    depth_m
        Depth of a new well [m].
    flow_m3s
        Water the heat pump needs [m3/s]; None: from the capacity.
    yield_m3s
        Water a well on this lot gives, from a pumping test or a neighbour's log [m3/s].
    supply
        Id of an existing potable well that serves as the supply; empty: a new one.
    outfall
        Id of the pond or stream that takes the water back; empty: a return well does.
    discharge_by
        Who permits that; empty: nobody yet.
    farthest_m
        Most that the return well may stand from the supply well [m]; None: no limit.
    near_by
        Who answers for wells nearer to each other than is common; empty: nobody.
    drift_by
        Who answers for a supply that drifts by this calculation; empty: nobody.
    level_m
        From the ground down to the water at rest [m]; None: not known.
    pump_efficiency
        Of the well pump with its motor [-].
    aquifer
        What both wells are screened in.
    supply_at, return_at
        Places given by hand, of the supply well, and of the return well or outfall, x and y [m];
        None: the plan's own, or that of an existing well.
    """

    separation_m: float
    diameter_m: float
    depth_m: float
    flow_m3s: float | None = None
    yield_m3s: float | None = None
    supply: str = ""
    outfall: str = ""
    discharge_by: str = ""
    farthest_m: float | None = None
    near_by: str = ""
    drift_by: str = ""
    level_m: float | None = None
    pump_efficiency: float = 0.4
    aquifer: Aquifer = field(default_factory=Aquifer)
    supply_at: tuple[float, float] | None = None
    return_at: tuple[float, float] | None = None

    @property
    def placed(self) -> bool:
        """Whether somebody gave a place: it is checked, and nothing moves it."""
        return self.supply_at is not None or self.return_at is not None

    @property
    def kept(self) -> tuple[str, ...]:
        """Names of those whose places somebody gave."""
        back = "OUTFALL" if self.outfall else "RETURN"
        given = ((self.supply_at, "SUPPLY"), (self.return_at, back))
        return tuple(name for at, name in given if at is not None)

    @property
    def apart_m(self) -> float:
        """Distance between the two wells, centre to centre [m]."""
        return self.separation_m

    @property
    def reach_m(self) -> float:
        """How far a well reaches beyond its centre [m]."""
        return self.diameter_m / 2

    @property
    def permitted(self) -> bool | None:
        """Whether somebody names the discharge permit; None: the authority has to say."""
        return True if self.discharge_by else None

    @property
    def length(self) -> None:
        """None: an open loop is measured by its flow."""
        return None
