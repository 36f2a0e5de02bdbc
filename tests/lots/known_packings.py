"""How far apart points in the unit square are known to lie at most."""

from __future__ import annotations

import tomllib

from places import REFERENCES

OPTIMA = {
    int(count): distance
    for count, distance in tomllib.loads((REFERENCES / "square_packing.toml").read_text("utf-8"))[
        "largest_least_distance"
    ].items()
}
"""Largest least distance by number of points; the file names its source."""
