"""Sizes of header pipe for the flow of so many circuits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import design_balance, state_near
from siteplan.hydraulics.fluids import FluidState
from siteplan.hydraulics.friction import head, pressure_drop
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.piping.header_pipes import HeaderFlow, Size
from siteplan.site.model import Exchanger

LARGEST_LOSS: Final = 0.04
"""Head lost over length up to which a header pipe is taken: 4 ft per 100 ft, common practice,
no source."""


@dataclass(frozen=True)
class Sizing:
    """Sizes of header pipe for a flow counted in circuits.

    Parameters
    ----------
    each_m3s
        Flow of one circuit [m3/s].
    state
        The fluid.
    least
        Smallest size that is taken.
    """

    each_m3s: float
    state: FluidState
    least: str

    def size(self, circuits: int) -> str:
        """Smallest size that loses no more than the largest loss."""
        sizes = list(pipes())
        for size in sizes[sizes.index(self.least) :]:
            if self.loss(size, circuits) <= LARGEST_LOSS:
                return size
        return sizes[-1]

    def loss(self, size: str, circuits: int) -> float:
        """Head lost over length [-]."""
        return head(self.drop(size, circuits, 1.0), self.state)

    def drop(self, size: str, circuits: int, length_m: float) -> float:
        """Pressure lost [Pa]."""
        return pressure_drop(pipes()[size], self.each_m3s * circuits, length_m, self.state)

    def too_much(self, flow: HeaderFlow, size: Size) -> bool:
        """Whether the flow of a header is too much for the largest pipe there is."""
        if flow.layout == "home run":
            return False
        return any(
            self.loss(size(run.circuits), run.circuits) > LARGEST_LOSS
            for run in flow.runs
            if run.role != "pair"
        )


def sizing_of(
    exchanger: Exchanger, circuits: int, circuit_size: str
) -> tuple[Sizing | None, Reason | None]:
    """Sizing of header pipes, or why there can be none."""
    balance, fluid = design_balance(exchanger), exchanger.piping.fluid
    if balance is None or balance.flow is None or fluid is None:
        return None, reason("no-flow-known")
    state = state_near(fluid.mixture, balance.mean_c)
    return Sizing(balance.flow.flow_m3s / circuits, state, circuit_size), None
