"""What is required of the exchanger, and on whose word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.errors import SitePlanError
from siteplan.findings.model import Reason, reason

Basis = Literal["given", "calculated", "screening"]
"""``given``: somebody worked it out. ``calculated``: here, from loads and ground. ``screening``:
common practice per ton, never for permit."""


class DemandError(SitePlanError):
    """Loads, ground and fluid stated allow no length of one loop type.

    Parameters
    ----------
    why
        What makes it so.
    """

    def __init__(self, why: Reason) -> None:
        super().__init__(f"{why.code}: {why.values}")
        self.reason = why


@dataclass(frozen=True, slots=True)
class Required:
    """Exchanger length required of one loop type; of an open loop, the flow.

    Parameters
    ----------
    length_m
        Metres of trench, bore or pond pipe; 0 for an open loop [m].
    basis
        Where the figure comes from.
    reason
        The same with the figures that matter most.
    flow_m3s
        Water an open loop needs [m3/s]; 0 for the others.
    figures
        The calculation, figure by figure, each of them a reason with a name and a basis.
    span_m
        Of a screening length, from what to what it may be once it is calculated [m].
    """

    length_m: float
    basis: Basis
    reason: Reason
    flow_m3s: float = 0.0
    figures: tuple[Reason, ...] = ()
    span_m: tuple[float, float] | None = None

    @property
    def span(self) -> Reason | None:
        """The same as a reason that completes a sentence; None of other lengths."""
        if self.span_m is None or self.span_m[0] == self.span_m[1]:
            return None
        return reason("screened-between", least_m=self.span_m[0], most_m=self.span_m[1])
