"""What a unit system is: the units a person reads, their decimals, steps, scales and spellings."""

from __future__ import annotations

import math
from dataclasses import dataclass

HAIR = 1e-6
"""What rounding up forgives, in steps of the last digit."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit in which a quantity is printed.

    Parameters
    ----------
    label
        As it is written behind the number.
    size
        One of the unit in the package's own [SI, temperatures in C].
    decimals
        How many are printed; None for three digits in all.
    zero
        What the unit says where the package's own says 0.
    many
        As it is written behind any number but 1, where that differs.
    up
        Whether it is rounded up: of what is kept at least.
    """

    label: str
    size: float
    decimals: int | None
    zero: float = 0.0
    many: str = ""
    up: bool = False

    def of(self, value: float) -> float:
        """A value of the package in this unit."""
        return value / self.size + self.zero

    def text(self, value: float) -> str:
        """A value of the package as it is printed.

        Examples
        --------
        >>> Measure("°F", 5 / 9, 1, zero=32.0).text(10.0)
        '50.0 °F'
        >>> Measure("cm", 0.01, 0, up=True).text(18 * 0.0254)
        '46 cm'
        """
        form = ".3g" if self.decimals is None else f",.{self.decimals}f"
        told = self.of(value)
        if self.up and self.decimals is not None:
            step = 10.0**self.decimals
            told = math.ceil(told * step - HAIR) / step
        return f"{told:{form}} {self.label}"


@dataclass(frozen=True, slots=True)
class DrawingUnits:
    """How drawings are scaled and stored.

    Parameters
    ----------
    paper_unit
        Unit of paper in a DXF file.
    paper_unit_mm
        Its length [mm].
    paper_units
        How many of it are one unit of length: a drawing of ratio r shows r / paper_units of the
        unit of length on one unit of paper.
    insunits, measurement
        $INSUNITS and $MEASUREMENT of a DXF file.
    plan_ratios, detail_ratios
        Scales of a plan and of a detail, large to small: those of an engineer's and of an
        architect's scale (common practice, no source), or of ISO 5455.
    papers
        Papers that offices take, small to large.
    readable
        Ratio beyond which a plan gets hard to read; common practice, no source.
    plan_scale, detail_scale
        Forms in which a scale is written, of ``ratio``, ``each``: units of length for one of
        paper, and ``inches``: units of paper for one of length, as a fraction.
    """

    paper_unit: str
    paper_unit_mm: float
    paper_units: float
    insunits: int
    measurement: int
    plan_ratios: tuple[int, ...]
    detail_ratios: tuple[int, ...]
    papers: tuple[str, ...]
    readable: float
    plan_scale: str
    detail_scale: str


@dataclass(frozen=True, slots=True, repr=False)
class UnitSystem:
    """All that differs between a sheet in one system of units and a sheet in another.

    It prints as its name, so that ``f"{length} {unit}"`` is a length.

    Parameters
    ----------
    name
        Unit of length, as the site file, columns of tables and lengths have it.
    metres
        Its length [m].
    plural
        Its name in words.
    stated
        The same, told from other units of that name.
    edition
        Which sentences are taken where a catalogue has several: ``"us"`` or ``"metric"``.
    center, neighbor
        Words as they are spelled where the system is used.
    us_law
        What stands before a rule of the United States: nothing where it is the law, else that it
        is no more than practice there.
    sign
        What stands behind a length on the plan.
    sign_decimals, rough_decimals
        Decimals of a length on the plan, and of one that nobody stakes by.
    station
        A full station of a line, in the unit of length.
    step_m, remedy_step_m
        Step of depths, spacings and greatest lengths that are chosen; of changes that are
        proposed [m]; common practice, no source.
    small
        Diameters.
    layer
        Heights of layers in a trench.
    area, land
        Areas of parts of a lot, of lots.
    way
        Long ways.
    earth, fluid
        Volumes dug, volumes of fluid and of grout.
    mass
        What is bought by weight.
    flow, flow_of_capacity, power, capacity, energy, flux, speed, exchange
        Flows, flows for a heat pump's capacity, heat flows, capacities, energies, heat flows of
        an area, speeds of wind, exchange of an area for a difference.
    temperature, difference
        Temperatures and their differences.
    pressure
        Pressures at which a loop is tested.
    conductivity, diffusivity, resistance, line_power
        Of ground and pipe; resistance and heat flow of a length.
    freezing_index, density
        Of winters, of soil.
    permeability, transmissivity
        Hydraulic conductivity of an aquifer, and the same over its thickness.
    drawing
        Scales and units of drawings.
    detail
        Unit of small lengths in details; None: that of all lengths.
    """

    name: str
    metres: float
    plural: str
    stated: str
    edition: str
    center: str
    neighbor: str
    us_law: str
    sign: str
    sign_decimals: int
    rough_decimals: int
    station: int
    step_m: float
    remedy_step_m: float
    small: Measure
    layer: Measure
    area: Measure
    land: Measure
    way: Measure
    earth: Measure
    fluid: Measure
    mass: Measure
    flow: Measure
    flow_of_capacity: Measure
    power: Measure
    capacity: Measure
    energy: Measure
    flux: Measure
    speed: Measure
    exchange: Measure
    pressure: Measure
    temperature: Measure
    difference: Measure
    conductivity: Measure
    diffusivity: Measure
    resistance: Measure
    line_power: Measure
    freezing_index: Measure
    density: Measure
    permeability: Measure
    transmissivity: Measure
    drawing: DrawingUnits
    detail: Measure | None = None

    def __str__(self) -> str:
        return self.name

    def __repr__(self) -> str:
        return f"UnitSystem({self.name!r})"

    def __hash__(self) -> int:
        # sites are keys of caches: the name tells systems apart
        return hash(self.name)
