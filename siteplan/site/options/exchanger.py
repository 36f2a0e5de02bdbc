"""The exchanger wanted, from the tables of a site file; what it leaves open is in defaults.toml."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any, cast

from siteplan.reading import Table
from siteplan.site.energy import Energy
from siteplan.site.model import (
    PAPERS,
    PLAN_PARTS,
    SHEET_SETS,
    SYSTEMS,
    Exchanger,
    GivenLength,
    HorizontalOptions,
    OpenOptions,
    PadOptions,
    PlanParts,
    PondOptions,
    SheetOptions,
    SheetSet,
    System,
    VerticalOptions,
)
from siteplan.site.options.bores import (
    read_arrangement,
    read_count,
    read_depths,
    read_grid,
    read_spacings,
)
from siteplan.site.options.energy import (
    quantity_between,
    read_energy,
    read_fluid,
    read_ground_year,
)
from siteplan.site.options.machines import read_digger, read_rig
from siteplan.site.options.piping import read_piping
from siteplan.site.options.trenches import read_soil, read_trench
from siteplan.units.heat import PIPE_SIZES_M, parse_temperature
from siteplan.units.lengths import format_length, parse_angle, parse_length

MILLIMETRE = 1e-3
CHOOSE = "choose"


@cache
def _defaults() -> dict[str, Any]:
    text = files("siteplan.site.options").joinpath("defaults.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _raw_default(*path: str) -> Any:
    value: Any = _defaults()
    for key in path:
        value = value[key]
    return value


def _default(*path: str) -> float:
    return parse_length(_raw_default(*path), "m")


def read_exchanger(root: Table) -> Exchanger:
    """Exchanger of a site file, from its tables [exchanger], [horizontal], [vertical] ..."""
    table = root.table("exchanger")
    fluid = read_fluid(root.table("fluid"))
    system = table.choice("system", (*SYSTEMS, CHOOSE), CHOOSE)
    exchanger = Exchanger(
        horizontal=_horizontal(root.table("horizontal")),
        vertical=_vertical(root.table("vertical")),
        pond=_pond(root.table("pond")),
        open=_open(root.table("open")),
        system=None if system == CHOOSE else cast("System", system),
        order=_order(table),
        length=_given_length(table),
        capacity_w=table.power("capacity"),
        energy=read_energy(root, fluid),
        machine_reach_m=table.length("machine_reach", _default("exchanger", "machine_reach")),
        rig=read_rig(root.table("rig"), lambda key: _default("rig", key)),
        digger=read_digger(root.table("digger"), lambda key: _default("digger", key)),
        ground_year=read_ground_year(root),
        piping=read_piping(root, fluid, lambda key: _default("header", key)),
    )
    table.has("entry")  # read with the geometry
    table.finish()
    _needs_a_size(exchanger, table)
    _needs_depth(exchanger, root)
    return replace(exchanger, energy=_with_one_pipe(exchanger, root))


def _with_one_pipe(exchanger: Exchanger, root: Table) -> Energy | None:
    """Loads and loop, the U-bend of the pipe that the circuits are asked to be of."""
    energy, wanted = exchanger.energy, exchanger.piping.circuits.pipe
    if energy is None or wanted not in PIPE_SIZES_M:
        return energy
    stated = root.table("loop").text("pipe")
    if stated and stated != wanted and exchanger.system == "vertical":
        root.fault(
            "[loop], pipe",
            f"{stated!r} is not the pipe of the circuits, {wanted!r} ([circuits] pipe).",
            "The U-bends are the circuits: name one size, or leave one of the two out.",
        )
    if stated:
        return energy
    loop = replace(
        energy.loop,
        pipe_diameter_m=PIPE_SIZES_M[wanted],
        shank_m=energy.loop.shank_m - energy.loop.pipe_diameter_m + PIPE_SIZES_M[wanted],
    )
    return replace(energy, loop=loop)


def _needs_depth(exchanger: Exchanger, root: Table) -> None:
    """Note bores that end where their U-bend has hardly begun to exchange."""
    if exchanger.energy is None:
        return
    least, top = exchanger.vertical.depth_least_m, exchanger.energy.loop.top_m
    if least <= top:
        words = format_length(least, root.unit), format_length(top, root.unit)
        root.fault(
            "[vertical], depth",
            f"least of {words[0]} is no deeper than where the U-bend begins, {words[1]} down.",
            "Give a greater depth, or a smaller [loop] top.",
        )


def _needs_a_size(exchanger: Exchanger, table: Table) -> None:
    if table.has("length") or table.has("capacity") or exchanger.energy:
        return
    named = [exchanger.horizontal.length, exchanger.vertical.length, exchanger.pond.length]
    sized = exchanger.length or exchanger.capacity_w or exchanger.open.flow_m3s or any(named)
    if not sized:
        table.fault(
            "",
            "says neither a length required nor a capacity.",
            'Add length = { given = "1100 ft", by = "who and when" }, [loads] and [ground] for a '
            'calculated length of bores, or capacity = "4 ton" for a screening length.',
        )


def _order(table: Table) -> tuple[System, ...]:
    words = table.words("order")
    for word in words:
        if word not in SYSTEMS:
            table.fault("order", f"{word!r} is not a loop type;", f"known: {', '.join(SYSTEMS)}.")
    if len(set(words)) != len(words):
        table.fault("order", "names a loop type twice.", "Name each once.")
    named = [system for system in words if system in SYSTEMS]
    rest = [system for system in SYSTEMS if system not in named]
    return cast("tuple[System, ...]", tuple(dict.fromkeys([*named, *rest])))


def _given_length(table: Table) -> GivenLength | None:
    if not table.has("length"):
        return None
    given = table.table("length")
    given.required("given", '{ given = "1100 ft", by = "load calculation of 2026-03-02" }')
    given.required("by", '{ given = "1100 ft", by = "load calculation of 2026-03-02" }')
    length = GivenLength(given.length("given", 0.0, least=MILLIMETRE), given.text("by"))
    given.finish()
    return length


def _horizontal(table: Table) -> HorizontalOptions:
    kind, depth, width = read_trench(table)
    soil, protection = read_soil(table)
    options = HorizontalOptions(
        spacing_m=table.length("spacing", _default("horizontal", "spacing"), least=MILLIMETRE),
        depth_m=depth,
        width_m=width,
        pipes=kind.pipes,
        shortest_m=table.length("shortest", _default("horizontal", "shortest")),
        longest_m=table.length("longest", _default("horizontal", "longest"), least=MILLIMETRE),
        length=_given_length(table),
        soil=soil,
        protection=protection,
        kind=kind.name,
    )
    if options.width_m > options.spacing_m:
        table.fault(
            "width",
            f"of {format_length(options.width_m, table.unit)} is more than the spacing of "
            f"{format_length(options.spacing_m, table.unit)}.",
            "Trenches would run into each other: widen the spacing.",
        )
    if options.longest_m is not None and options.longest_m < options.shortest_m:
        table.fault("longest", "is less than shortest.", "Swap or correct them.")
    table.finish()
    return options


def _vertical(table: Table) -> VerticalOptions:
    spacing, widest = read_spacings(
        table, _default("vertical", "spacing"), _raw_default("vertical", "wider")
    )
    least, most = read_depths(
        table, _default("vertical", "depth", "least"), _default("vertical", "depth", "most")
    )
    options = VerticalOptions(
        spacing_m=spacing,
        depth_least_m=least,
        depth_most_m=most,
        diameter_m=table.length("diameter", _default("vertical", "diameter"), least=MILLIMETRE),
        length=_given_length(table),
        pad=_pad(table) if table.has("pad") else None,
        spacing_most_m=widest,
        count=read_count(table),
        arrangement=read_arrangement(table),
        grid=read_grid(table, spacing),
    )
    if options.diameter_m >= options.spacing_m:
        table.fault("diameter", "is not less than the spacing.", "Correct one of them.")
    table.finish()
    return options


def default_pad() -> PadOptions:
    """Pad of which the site file says nothing: common practice, no source."""
    return PadOptions(
        tilt_deg=parse_angle(_raw_default("vertical", "pad", "tilt")),
        collar_spacing_m=_default("vertical", "pad", "collar_spacing"),
        line_m=_default("vertical", "pad", "line"),
    )


def _pad(table: Table) -> PadOptions:
    pad, usual = table.table("pad", 'pad = { tilt = "20 deg" }'), default_pad()
    for key in ("grid", "arrangement"):
        if table.has(key):
            table.fault(
                key,
                "stands beside pad: bores from one pad are their own arrangement.",
                f"Leave out {key} or pad.",
            )
    options = PadOptions(
        tilt_deg=pad.angle("tilt", usual.tilt_deg, most=60.0),
        collar_spacing_m=pad.length("collar_spacing", usual.collar_spacing_m, least=MILLIMETRE),
        line_m=pad.length("line", usual.line_m),
    )
    pad.finish()
    return options


def _pond(table: Table) -> PondOptions:
    options = PondOptions(
        coil_diameter_m=table.length(
            "coil_diameter", _default("pond", "coil_diameter"), least=MILLIMETRE
        ),
        gap_m=table.length("gap", _default("pond", "gap")),
        pipe_per_coil_m=table.length(
            "pipe_per_coil", _default("pond", "pipe_per_coil"), least=MILLIMETRE
        ),
        water_depth_m=table.length("water_depth", _default("pond", "water_depth")),
        shore_m=table.length("shore", _default("pond", "shore")),
        length=_given_length(table),
        coldest_c=_water(table, "coldest", (0.0, 20.0)),
        warmest_c=_water(table, "warmest", (4.0, 40.0)),
    )
    table.finish()
    return options


def _water(table: Table, key: str, limits: tuple[float, float]) -> float:
    """Temperature of pond water within limits [C]."""
    usual = parse_temperature(_raw_default("pond", key))
    return quantity_between(table, key, parse_temperature, limits, usual)


def _open(table: Table) -> OpenOptions:
    options = OpenOptions(
        separation_m=table.length("separation", _default("open", "separation"), least=MILLIMETRE),
        diameter_m=table.length("diameter", _default("open", "diameter"), least=MILLIMETRE),
        depth_m=table.length("depth", _default("open", "depth"), least=MILLIMETRE),
        flow_m3s=table.flow("flow"),
        yield_m3s=table.flow("yield"),
        supply=table.text("supply"),
    )
    table.finish()
    return options


def read_sheet(table: Table) -> SheetOptions:
    """Paper, scale and number of sheets of a site file's [sheet] table."""
    options = SheetOptions(
        size=table.choice("size", PAPERS, SheetOptions().size),
        scale=table.count("scale", 0, least=1) or None,
        sheets=cast("SheetSet", table.choice("set", SHEET_SETS, SheetOptions().sheets)),
        parts=cast("PlanParts", table.choice("parts", PLAN_PARTS, SheetOptions().parts)),
    )
    if options.sheets == "one" and options.parts == "always":
        table.fault("parts", 'cannot be "always" with set = "one".', "Leave out one of the two.")
    table.finish()
    return options
