"""A layout that was drawn or built, with the pipes that the plan lays in it."""

from __future__ import annotations

from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import Required
from siteplan.design.loop_types import record_of
from siteplan.design.reached_fluid import with_pipes_and_fluid
from siteplan.layout.model import Layout


def piped(layout: Layout, required: Required, lot: PreparedLot) -> Layout:
    """The layout with circuits and header pipes, laid as the plan lays them."""
    ground = prepare(lot, record_of(layout.system).ground).ground
    return with_pipes_and_fluid(layout, lot.site.exchanger, required, ground)
