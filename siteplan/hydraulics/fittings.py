"""Fittings of pipes, by the straight pipe that loses as much."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Literal

from siteplan.hydraulics.pipes import Pipe

Fitting = Literal["elbow", "tee run", "tee branch", "U-bend", "ball valve", "reducer"]
"""What a flow passes: straight through a tee, or into its branch or out of it."""


@cache
def fitting_diameters() -> dict[str, float]:
    """Equivalent length of each fitting, in inner diameters of its pipe."""
    text = files("siteplan.hydraulics").joinpath("fittings.toml").read_text(encoding="utf-8")
    return {name: float(diameters) for name, diameters in tomllib.loads(text).items()}


def equivalent_length(fitting: Fitting, pipe: Pipe) -> float:
    """Length of straight pipe that loses as much as a fitting of its size [m].

    Examples
    --------
    An elbow of 2 in pipe, 1.943 in inside: 30 x 1.943 in.

    >>> from siteplan.hydraulics.pipes import pipes
    >>> round(equivalent_length("elbow", pipes()["2 in"]) / 0.0254, 2)
    58.29
    """
    return fitting_diameters()[fitting] * pipe.inner_m
