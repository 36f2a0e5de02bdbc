"""Well pair and aquifer, from the tables [open] and [aquifer] of a site file."""

from __future__ import annotations

from typing import Final

from siteplan.site.open_loop import Aquifer, OpenOptions
from siteplan.site.options.read import Read

AGREES: Final = 0.02
"""So near to each other transmissivity, and conductivity over the thickness, are the same [-]."""
Spot = tuple[float, float]
ASSUMED: Final = ("hydraulic_conductivity", "thickness", "storativity", "porosity", "gradient")
"""Keys for which something is taken where nobody states them."""


def read_open_loop(root: Read) -> OpenOptions:
    """Supply and return well, and their aquifer."""
    given = root["open"]
    supply_at, return_at = _places(given)
    return OpenOptions(
        separation_m=given["separation"],
        diameter_m=given["diameter"],
        depth_m=given["depth"],
        flow_m3s=given["flow"],
        yield_m3s=given["yield"],
        supply=given["supply"] or "",
        outfall=given["outfall"] or "",
        discharge_by=given.answered("discharge"),
        near_by=given.answered("near"),
        drift_by=given.answered("drift"),
        level_m=given["static_level"],
        pump_efficiency=given["pump_efficiency"],
        aquifer=_aquifer(root["aquifer"]),
        supply_at=supply_at,
        return_at=return_at,
    )


def _places(given: Read) -> tuple[Spot | None, Spot | None]:
    """Places given by hand of the supply well, and of the return well or outfall [m].

    None of what is not given: the plan finds a place for that.
    """
    places: Read | None = given["places"]
    if places is None:
        return None, None
    _judge_places(given, places)
    factor = given.unit.metres
    supply, back, outfall = (
        None if at is None else (at[0] * factor, at[1] * factor)
        for at in (places["supply"], places["return"], places["outfall"])
    )
    return supply, back if outfall is None else outfall


def _judge_places(given: Read, places: Read) -> None:
    """Note places that say nothing, or of two things that no loop has both."""
    if not any(places.says(key) for key in ("supply", "return", "outfall")):
        what = "places neither a well nor an outfall."
        given.fault("places", what, "Add supply = [50, 140], or leave out places.")
    if given.says("supply") and places.says("supply"):
        what = "stands beside [open] supply, the existing well that is the supply."
        places.fault("supply", what, "Leave out one of the two.")
    if given.says("outfall") and places.says("return"):
        what = "stands beside [open] outfall, which takes the water back in place of a return well."
        places.fault("return", what, "Leave out one of the two, or place the outfall.")
    if places.says("outfall") and not given.says("outfall"):
        what = "says where the outfall ends, and nothing says at which water."
        places.fault("outfall", what, 'Add [open] outfall = "brook", or leave it out.')


def _aquifer(given: Read) -> Aquifer:
    transmissivity, thickness_m = _through(given)
    _both_or_none(given)
    return Aquifer(
        transmissivity=transmissivity,
        thickness_m=thickness_m,
        storativity=given["storativity"],
        porosity=given["porosity"],
        gradient=given["gradient"] or 0.0,
        direction_deg=given["direction"] or 0.0,
        temperature_c=given["temperature"],
        hardness=given["hardness"],
        iron=given["iron"],
        assumed=_assumed(given),
    )


def _through(given: Read) -> tuple[float, float]:
    """Transmissivity and thickness, each stated or worked out from what is."""
    stated, conducts, thickness = (
        given[key] for key in ("transmissivity", "hydraulic_conductivity", "thickness")
    )
    if stated is None:
        return conducts * thickness, thickness
    if not given.says("hydraulic_conductivity"):
        return stated, thickness
    if not given.says("thickness"):
        return stated, stated / conducts
    if abs(stated - conducts * thickness) > AGREES * stated:
        given.fault(
            "transmissivity",
            "is not hydraulic_conductivity times thickness.",
            "Leave out one of the three, or correct them.",
        )
    return stated, thickness


def _both_or_none(given: Read) -> None:
    """Note a gradient that flows nowhere, and a direction without a gradient."""
    if given.says("gradient") and given["gradient"] and not given.says("direction"):
        given.fault(
            "gradient",
            "is given without a direction.",
            'Add direction = "S 30 E", where the groundwater flows to, or leave out gradient.',
        )
    if given.says("direction") and not given.says("gradient"):
        given.fault(
            "direction",
            "is given without a gradient.",
            "Add gradient = 0.002, or leave out direction.",
        )


def _assumed(given: Read) -> tuple[str, ...]:
    known = {key for key in ASSUMED if given.says(key)}
    if given.says("transmissivity"):
        known.add("hydraulic_conductivity")
        if given.says("hydraulic_conductivity"):
            known.add("thickness")
    return tuple(key for key in ASSUMED if key not in known)
