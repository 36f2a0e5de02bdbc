"""Trenches that are long because the fluid is taken to be hardly colder than the winter ground."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.findings.model import Reason, reason
from siteplan.layout.elements import Trench
from siteplan.preferences.table import figure_of
from siteplan.vocabulary.loop_types import made_of

COLDER_K: Final = figure_of("design.colder_fluid.colder_k")
SHARE: Final = figure_of("design.colder_fluid.share")


def colder_needs(lot: PreparedLot, required: Required) -> Reason | None:
    """What trenches would need with a colder fluid, where nobody states how cold it gets.

    None where that makes no great difference: near the temperature of the ground every kelvin does,
    and who reads the length takes it for a property of the lot.
    """
    wanted, system = lot.site.exchanger, made_of(Trench.kind).name
    energy = wanted.energy
    stated = "fluid.coldest" not in wanted.assumed
    if energy is None or stated or required.basis != "calculated":
        return None
    coldest_c = energy.fluid.coldest_c - COLDER_K
    fluid = replace(energy.fluid, coldest_c=coldest_c)
    colder = replace(wanted, energy=replace(energy, fluid=fluid))
    try:
        # both before anything is laid out: what the layout adds is about the same share
        needed = [lot.memory.of(required_of, each, system) for each in (wanted, colder)]
    except DemandError:
        return None
    if needed[0] is None or needed[1] is None:
        return None
    share = needed[1].length_m / needed[0].length_m
    if share > SHARE:
        return None
    return reason(
        "colder-fluid-needs",
        coldest_c=coldest_c,
        needed_m=share * required.length_m,
        assumed_c=energy.fluid.coldest_c,
    )
