"""A use of the loop beside the heating of the house, served by other heat, as a remedy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from siteplan.alternatives.screening import held_with_less
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Reason, reason


def other_heat(lot: PreparedLot, trial: Trial) -> Iterator[Reason]:
    """Snow melt, floor or hot water by other heat, where the lot holds what is then needed.

    What takes most in the design hour comes first: with it gone least is needed.
    """
    wanted = lot.site.exchanger
    if wanted.energy is None or trial.required is None or trial.required.basis != "calculated":
        return
    loads = wanted.energy.loads
    for side in sorted(loads.sides, key=lambda each: -round(each.power_w * each.ground_share)):
        fewer = replace(loads, sides=tuple(each for each in loads.sides if each is not side))
        if fewer.winter_w <= 0 and fewer.cooling_w <= 0:
            continue
        without = replace(wanted, energy=replace(wanted.energy, loads=fewer))
        found = held_with_less(lot, trial, without)
        if found is not None:
            held = found[1]
            told = {"length_m": held.length_m, "screened": held.screened}
            yield reason("use-by-other-heat", use=side.name, **told)
            return
