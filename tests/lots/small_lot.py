"""A small lot in feet whose distances anybody can work out by hand, in the parts tests need."""

from __future__ import annotations

GROUND = """\
[project]
title = "Test lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[staking]
allowance = "0 ft"

[geometry]
parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[60, 40], [100, 40], [100, 70], [60, 70]]

[[feature]]
id = "well"
kind = "potable well"
at = [20, 180]

"""
"""Parcel, house and well; no staking allowance, which would be on top of every distance."""
FIELD = """\
[[feature]]
id = "field"
kind = "drainfield"
area = [[150, 20], [190, 20], [190, 50], [150, 50]]

"""
"""Drainfield."""
HEATED = """
[loads]
heating = "12 MBH"
heating_hours = 1700

[ground]
temperature = "54 F"
swing = "18 F"
coldest_day = "5 February"
conductivity = "1.3 Btu/h.ft.F"
diffusivity = "0.9 ft2/day"
"""
"""Loads and ground of which every length but that of an open loop can be calculated."""


def unsized(text: str) -> str:
    """Site file of the small lot without the size of a heat pump, for loads to stand beside it."""
    return text.replace('capacity = "2 ton"\n', "")


def bare(text: str, feet: float) -> str:
    """Site file of the small lot as a square of so many feet on which nothing stands."""
    first, _, rest = text.partition("[[feature]]")
    exchanger = rest[rest.index("[exchanger]") :].replace("[[80, 70]]", f"[[{feet / 2}, 20]]")
    return first.replace("200", str(feet)) + exchanger
