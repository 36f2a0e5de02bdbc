"""What a field of one kind of trench takes: digging, sand, pipe, and its least cost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from siteplan.earthwork.bedding import sand_area
from siteplan.earthwork.excavation import section_area
from siteplan.hydraulics.fluids import antifreeze_share
from siteplan.hydraulics.pipes import fill_volume, pipes
from siteplan.preferences.table import figure_of
from siteplan.quantities.cost import Cost, middle_of, middle_of_priced
from siteplan.quantities.take_off import Item
from siteplan.site.model import HorizontalOptions, Site
from siteplan.site.trench_kinds import trench_kinds

PIPE_A_VOLUME: Final = figure_of("design.trench_of_kind.pipe_a_volume")
"""Metres of pipe that are as much work as a cubic metre of soil dug or sand laid [m/m3]."""


@dataclass(frozen=True, slots=True)
class TrenchOfKind:
    """What a field of one kind of trench takes.

    Parameters
    ----------
    options
        The trenches.
    length_m
        Trench required: as it is laid out where it was, else the least that any layout needs [m].
    dug_m3, sand_m3
        Soil dug and sand laid for it [m3].
    pipe_m
        Pipe in it [m].
    least_cost
        What it costs at least, without a header, by the middle of low and high; None where trench
        or pipe has no price.
    cost
        What it costs as laid out with its header; None where it was not laid out for its price.
    """

    options: HorizontalOptions
    length_m: float
    dug_m3: float
    sand_m3: float
    pipe_m: float
    least_cost: float | None = None
    cost: Cost | None = None

    @property
    def kind(self) -> str:
        """Name of the kind."""
        return self.options.kind

    @property
    def work_m3(self) -> float:
        """Soil, sand and pipe in one figure, as a volume of soil [m3]."""
        return self.dug_m3 + self.sand_m3 + self.pipe_m / PIPE_A_VOLUME


def of_kind(site: Site, options: HorizontalOptions, length_m: float) -> TrenchOfKind:
    """What so much trench takes on a site [m]."""
    kind = TrenchOfKind(
        options,
        length_m,
        section_area(options) * length_m,
        sand_area(options) * length_m,
        trench_kinds()[options.kind].pipe_per_m * length_m,
    )
    return replace(kind, least_cost=_least_cost(site, kind))


def _least_cost(site: Site, kind: TrenchOfKind) -> float | None:
    """What a kind costs at least; None where its trench or its pipe has no price.

    Counted is what is bought or dug for it whatever the header is.
    """
    prices, piping = site.prices, site.exchanger.piping
    if prices is None:
        return None
    mixture = piping.fluid.mixture if piping.fluid is not None else ""
    trench = Item("trench", "", "length", kind.length_m, "", "trench", kind.options.depth_m)
    further = (
        Item("sand", "", "earth", kind.sand_m3, "", "sand"),
        Item("tape", "", "length", kind.length_m, "", "tape"),
        Item("wire", "", "length", kind.length_m, "", "wire"),
        Item("mobilization", "excavator", "count", 1, "", "mobilization"),
    )
    costs = []
    stated = piping.circuits.pipe
    for size in [stated] if stated else [size for size, _ in prices.pipe]:
        pipe = Item("pipe", size, "length", kind.pipe_m, "", "pipe")
        volume = fill_volume(pipes()[size], kind.pipe_m)
        pure = antifreeze_share(mixture) * volume if mixture else 0.0
        fluid = (
            Item("fluid", mixture, "fluid", volume, "", "fluid"),
            Item("antifreeze", mixture, "fluid", pure, "", "antifreeze"),
        )
        if middle_of([trench, pipe], prices, site.unit) is not None:
            costs.append(middle_of_priced([trench, pipe, *further, *fluid], prices, site.unit))
    return min(costs, default=None)
