"""What a calculated length assumes because nobody stated it, and what each does to the length."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from siteplan.alternatives.sensitivity import STEP, energy_of, length_with, percent_words
from siteplan.available.prepared import PreparedLot
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import laid_out, required_of
from siteplan.design.evaluate import Trial
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.heat_balance import loop_flow
from siteplan.layout.elements import Bore
from siteplan.site.energy import Earth
from siteplan.site.model import Exchanger
from siteplan.site.options.declared import declared
from siteplan.site.options.quantities import quantities
from siteplan.units.heat import parse_conductivity
from siteplan.units.lengths import rough_length
from siteplan.units.model import UnitSystem

STEP_K: Final = 2.0
"""By how much a temperature is moved, down and up [K]."""


BEST_GROUND: Final = "the best ground of that name"
PLAIN_BENTONITE: Final = parse_conductivity("0.43 Btu/h.ft.F")
"""Of grout of bentonite without sand: common practice, no source [W/(m K)]."""
MOST_TIMES: Final = 4
"""So many times the bores drawn are tried for plain grout: more is no answer to build on."""


@dataclass(frozen=True, slots=True)
class Instead:
    """What may stand in place of a figure assumed, and what it does to the length required.

    Parameters
    ----------
    name
        What it is called.
    value
        Its figure, in SI units.
    more_m
        By how much the length grows, below 0 where it falls; None where no length is enough [m].
    """

    name: str
    value: float
    more_m: float | None


@dataclass(frozen=True, slots=True)
class Assumption:
    """A figure that the site file does not state, and what it does to the length required.

    Parameters
    ----------
    path
        Its key in the site file, such as ``loop.grout``.
    value
        What is assumed: a figure in SI units, or a word.
    lower, higher
        Change of the length when the figure is a tenth, or `STEP_K`, lower and higher [-]; None
        where no length is enough, or for a word.
    source
        Where the value comes from, where that depends on the site.
    instead
        What else is common, where it makes much of a difference.
    """

    path: str
    value: float | str
    lower: float | None = None
    higher: float | None = None
    source: str = ""
    instead: Instead | None = None

    @property
    def moves(self) -> bool:
        """Whether it is a figure that can be moved."""
        return not isinstance(self.value, str)

    @property
    def by_kelvin(self) -> bool:
        """Whether it is moved by kelvins, not by a tenth."""
        return declared(self.path).kind == "temperature"


Get = Callable[[Exchanger], Any]
Set = Callable[[Exchanger, float], Exchanger]


def _of_energy(part: str, name: str) -> tuple[Get, Set]:
    """A figure of loads, ground, fluid or U-bend: how it is read, and another put in its place."""

    def get(exchanger: Exchanger) -> Any:
        return getattr(getattr(energy_of(exchanger), part), name)

    def put(exchanger: Exchanger, value: float) -> Exchanger:
        energy = energy_of(exchanger)
        changed = replace(energy, **{part: replace(getattr(energy, part), **{name: value})})
        return replace(exchanger, energy=changed)

    return get, put


def _coldest_pond(exchanger: Exchanger, value: float) -> Exchanger:
    return replace(exchanger, pond=replace(exchanger.pond, coldest_c=value))


def _warmest_pond(exchanger: Exchanger, value: float) -> Exchanger:
    return replace(exchanger, pond=replace(exchanger.pond, warmest_c=value))


def _put_flow(exchanger: Exchanger, value: float) -> Exchanger:
    circuits = replace(exchanger.piping.circuits, flow_m3s=value)
    return replace(exchanger, piping=replace(exchanger.piping, circuits=circuits))


def _flow(exchanger: Exchanger) -> float | None:
    flow = loop_flow(exchanger)
    return None if flow is None else flow.flow_m3s


def _gap(exchanger: Exchanger) -> float:
    loop = energy_of(exchanger).loop
    return loop.shank_m - loop.pipe_diameter_m


def _put_gap(exchanger: Exchanger, value: float) -> Exchanger:
    energy = energy_of(exchanger)
    loop = replace(energy.loop, shank_m=energy.loop.pipe_diameter_m + value)
    return replace(exchanger, energy=replace(energy, loop=loop))


def _put_years(exchanger: Exchanger, value: float) -> Exchanger:
    return replace(exchanger, energy=replace(energy_of(exchanger), years=value))


def _put_swing(exchanger: Exchanger, value: float) -> Exchanger:
    return replace(exchanger, ground_year=replace(exchanger.ground_year, swing_k=value))


FIGURES: Final[Mapping[str, tuple[Get, Set]]] = {
    "loads.cop": _of_energy("loads", "cop"),
    "loads.eer": _of_energy("loads", "eer"),
    "loads.heating_month": _of_energy("loads", "heating_month"),
    "loads.cooling_month": _of_energy("loads", "cooling_month"),
    "loads.years": (lambda exchanger: energy_of(exchanger).years, _put_years),
    "ground.conductivity": _of_energy("earth", "conductivity"),
    "ground.diffusivity": _of_energy("earth", "diffusivity_m2s"),
    "ground.swing": (lambda exchanger: exchanger.ground_year.swing_k, _put_swing),
    "fluid.mixture": _of_energy("fluid", "mixture"),
    "fluid.coldest": _of_energy("fluid", "coldest_c"),
    "fluid.warmest": _of_energy("fluid", "warmest_c"),
    "loop.dimension_ratio": _of_energy("loop", "dimension_ratio"),
    "loop.grout": _of_energy("loop", "grout"),
    "loop.gap": (_gap, _put_gap),
    "circuits.flow": (_flow, _put_flow),
    "pond.coldest": (lambda exchanger: exchanger.pond.coldest_c, _coldest_pond),
    "pond.warmest": (lambda exchanger: exchanger.pond.warmest_c, _warmest_pond),
}
"""Figures that go into a length, by their key in the site file."""


def assumptions(lot: PreparedLot, trial: Trial) -> tuple[Assumption, ...]:
    """Figures of a calculated length that nobody stated; what has no part in it is left out."""
    required, layout = trial.required, trial.layout
    if required is None or required.basis != "calculated" or layout is None:
        return ()
    # what an open loop pumps is groundwater, whatever mixture a closed loop would have
    left_out = ("fluid.mixture",) if layout.loop.flow else ()
    paths = (path for path in lot.site.exchanger.assumed if path not in left_out)
    made = (_assumed(lot, trial, path) for path in paths)
    return tuple(
        assumed for assumed in made if not assumed.moves or assumed.lower or assumed.higher
    )


def _assumed(lot: PreparedLot, trial: Trial, path: str) -> Assumption:
    site = lot.site
    value = FIGURES[path][0](site.exchanger)
    if isinstance(value, str):
        return Assumption(path, value)
    lower, higher = moved_changes(lot, trial, path)
    source = _source(path, energy_of(site.exchanger).earth)
    grouted = path == "loop.grout" and trial.layout is not None and trial.layout.of(Bore)
    instead = _plain_grout(lot, trial) if grouted else None
    if path == "ground.conductivity":
        instead = _better_ground(lot, trial)
    return Assumption(path, value, lower, higher, source, instead)


def moved_changes(lot: PreparedLot, trial: Trial, path: str) -> tuple[float | None, float | None]:
    """Change of the length when a figure is a tenth, or `STEP_K`, lower and higher [-]."""
    get, put = FIGURES[path]
    exchanger = lot.site.exchanger
    value = get(exchanger)
    if declared(path).kind == "temperature":
        low, high = value - STEP_K, value + STEP_K
    else:
        low, high = value * (1 - STEP), value * (1 + STEP)
    return (
        length_with(lot, trial, put(exchanger, low)),
        length_with(lot, trial, put(exchanger, high)),
    )


def _plain_grout(lot: PreparedLot, trial: Trial) -> Instead:
    """Plain bentonite, which conducts half as well as what is assumed, in as many bores as it asks.

    So much more length may take one bore more, and then less flow passes each of them. Bores that
    come to those drawn stand beside them, in the same pattern.
    """
    put = FIGURES["loop.grout"][1]
    required, layout, name = trial.required, trial.layout, "plain bentonite"
    assert required is not None
    assert layout is not None
    exchanger = put(lot.site.exchanger, PLAIN_BENTONITE)
    vertical, laid = exchanger.vertical, laid_out(layout)
    drawn = count = len(laid.bores)
    needed: Required | None = required
    try:
        # more bores share the flow, which lowers their film: so the count is sought step by step
        while needed is not None and count <= MOST_TIMES * drawn:
            each = laid.circuit_flow_m3s
            there = replace(
                laid,
                bores=_with_more(laid.bores, count, vertical.spacing_m),
                circuit_flow_m3s=None if each is None else each * drawn / count,
            )
            needed = required_of(exchanger, trial.system, laid=there)
            held_m = count * vertical.depth_most_m
            if needed is None or vertical.count or needed.length_m <= held_m + TOLERANCE:
                break
            count = max(count + 1, math.ceil(needed.length_m / vertical.depth_most_m))
    except DemandError:
        needed = None
    more = None if needed is None else max(0.0, needed.length_m - required.length_m)
    return Instead(name, PLAIN_BENTONITE, more)


def _better_ground(lot: PreparedLot, trial: Trial) -> Instead | None:
    """Ground that conducts as well as any of its name may; None where its name tells no range.

    What is reckoned with is the low end, so that it is told how much a test of the ground may save.
    """
    exchanger, required = lot.site.exchanger, trial.required
    most = energy_of(exchanger).earth.most_conductivity
    if most is None or required is None:
        return None
    change = length_with(lot, trial, FIGURES["ground.conductivity"][1](exchanger, most))
    return None if change is None else Instead(BEST_GROUND, most, change * required.length_m)


def _with_more(bores: tuple[Bore, ...], count: int, spacing_m: float) -> tuple[Bore, ...]:
    """Bores of a field made larger: more of them beyond its longer sides."""
    at = np.array([(bore.x_m, bore.y_m) for bore in bores])
    extent = np.ptp(at, axis=0)
    across = int(extent.argmin())
    step = np.zeros(2)
    step[across] = extent[across] + spacing_m
    made = list(bores)
    for times in range(1, math.ceil(count / len(bores))):
        made += [
            replace(bore, x_m=bore.x_m + times * step[0], y_m=bore.y_m + times * step[1])
            for bore in bores
        ]
    return tuple(made[:count])


def _source(path: str, earth: Earth) -> str:
    """Where the value comes from, where a soil or rock named it."""
    named = {"ground.conductivity": earth.basis, "ground.diffusivity": earth.diffusivity_basis}
    return named.get(path, "")


def assumed_value(assumption: Assumption, unit: UnitSystem) -> str:
    """What is assumed, in the units of a sheet."""
    value = assumption.value
    return value if isinstance(value, str) else _figure(assumption.path, value, unit)


def _figure(path: str, value: float, unit: UnitSystem) -> str:
    kind = declared(path).kind
    if kind not in quantities():
        return f"{value:g}"
    if kind == "length":
        return unit.small.text(value)
    return quantities()[kind].measure(unit).text(value)


def assumption_words(assumption: Assumption, unit: UnitSystem) -> tuple[str, str, str, str]:
    """Name, value, and what the length does when the figure is lower and higher, for a reader."""
    name = declared(assumption.path).bears
    if assumption.source:
        name += f" ({assumption.source})"
    if not assumption.moves:
        return name, assumed_value(assumption, unit), "", ""
    step = unit.difference.text(STEP_K) if assumption.by_kelvin else f"{100 * STEP:.0f} %"
    moved = (
        f"{step} {word}: {percent_words(change)}"
        for word, change in (("lower", assumption.lower), ("higher", assumption.higher))
    )
    lower, higher = moved
    return name, assumed_value(assumption, unit), lower, higher


def instead_words(assumption: Assumption, unit: UnitSystem) -> tuple[str, str, str] | None:
    """Name and value of what else is common, and what it does to the length, for a reader."""
    instead = assumption.instead
    if instead is None:
        return None
    value = _figure(assumption.path, instead.value, unit)
    if instead.more_m is None:
        return instead.name, value, percent_words(None)
    if instead.more_m < 0:
        return instead.name, value, f"about {rough_length(-instead.more_m, unit, 'down')} less"
    return instead.name, value, f"about {rough_length(instead.more_m, unit, 'up')} more"
