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
