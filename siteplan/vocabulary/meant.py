"""Words that people write for keys of ours."""

from __future__ import annotations

MEANT: dict[str, tuple[str, ...]] = {
    "metre": ("m",), "metres": ("m",), "meter": ("m",), "meters": ("m",), "metric": ("m",),
    "feet": ("ft",), "foot": ("ft",), "us": ("ft",), "imperial": ("ft",),
    "center": ("centre",), "centre": ("center",),
    "polygon": ("area",), "outline": ("area",), "point": ("at",), "position": ("at",),
    "points": ("line",), "location": ("at", "address"), "name": ("id", "title"),
    "type": ("kind", "system"), "kind": ("system",), "setback": ("clearance",),
    "distance": ("clearance",), "size": ("capacity",), "tons": ("capacity",),
    "crown": ("canopy",), "dripline": ("canopy",), "drip line": ("canopy",), "spread": ("canopy",),
    "temp": ("temperature",), "antifreeze": ("mixture",), "rock": ("soil",), "geology": ("soil",),
}  # fmt: skip
"""Words of people that are no misspelling of ours and mean them."""
