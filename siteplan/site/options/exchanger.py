"""The exchanger wanted, and the sheet, from the tables of a site file."""

from __future__ import annotations

from dataclasses import replace

from siteplan.hydraulics.pipes import pipes, u_bend_sizes
from siteplan.site.energy import Energy
from siteplan.site.model import (
    SYSTEMS,
    Exchanger,
    OpenOptions,
    PondOptions,
    SheetOptions,
)
from siteplan.site.options.bores import read_vertical
from siteplan.site.options.choices import CHOOSE
from siteplan.site.options.declared import Option, every_option
from siteplan.site.options.energy import read_energy, read_fluid, read_ground_year
from siteplan.site.options.machines import read_excavator, read_rig
from siteplan.site.options.piping import read_piping
from siteplan.site.options.read import Read
from siteplan.site.options.trenches import read_horizontal, read_length
from siteplan.units.lengths import format_length
from siteplan.vocabulary.loop_types import made_of


def assumed_figures(root: Read) -> tuple[str, ...]:
    """Keys of figures that bear on a calculated length and are not stated.

    Examples
    --------
    >>> from siteplan.reading import Table
    >>> from siteplan.site.options.declared import catalogue
    >>> from siteplan.site.options.read import read_table
    >>> loads = {"heating": "9 kW", "heating_hours": 1800, "cop": 4}
    >>> written = {"loads": loads, "loop": {"grout": "1 W/m.K"}}
    >>> root = read_table(Table(written, "site.toml"), catalogue().options, strict=False)
    >>> found = assumed_figures(root)
    >>> "loop.grout" in found, "loads.cop" in found, "loads.heating_month" in found
    (False, False, True)
    """
    if root["loads"] is None:
        return ()
    loads, fluid = root["loads"], root["fluid"]
    not_asked = {
        f"loads.{way}_month"
        for way in ("heating", "cooling")
        if loads.says(f"{way}_months") or not loads.says(way)
    }
    if fluid.says("heating_drop") or fluid.says("cooling_rise"):
        not_asked.add("circuits.flow")
    return tuple(
        option.path
        for option in every_option()
        if option.bears and option.path not in not_asked and not _stated(root, option)
    )


def _stated(root: Read, option: Option) -> bool:
    table = option.path.partition(".")[0]
    return root[table] is not None and root[table].says(option.key)


def read_exchanger(root: Read) -> Exchanger:
    """Exchanger of a site file, from its tables [exchanger], [horizontal], [vertical] ..."""
    given, fluid = root["exchanger"], read_fluid(root["fluid"])
    system = given["system"]
    exchanger = Exchanger(
        horizontal=read_horizontal(root["horizontal"]),
        vertical=read_vertical(root["vertical"]),
        pond=_pond(root["pond"]),
        open=_open(root["open"]),
        system=None if system == CHOOSE else system,
        order=tuple(dict.fromkeys((*(given["order"] or ()), *SYSTEMS))),
        length=read_length(given["length"]),
        capacity_w=given["capacity"],
        energy=read_energy(root, fluid),
        machine_reach_m=given["machine_reach"],
        rig=read_rig(root["rig"]),
        excavator=read_excavator(root["excavator"]),
        ground_year=read_ground_year(root),
        piping=read_piping(root, fluid),
        assumed=assumed_figures(root),
    )
    _needs_a_size(exchanger, given)
    _needs_depth(exchanger, root)
    _one_of_flow_and_change(exchanger, root)
    return replace(exchanger, energy=_with_one_pipe(exchanger, root))


def _one_of_flow_and_change(exchanger: Exchanger, root: Read) -> None:
    """Note a change across the heat pump beside a flow: the one follows from the other."""
    if not root["circuits"].says("flow") or exchanger.system == made_of("well").name:
        return
    for name in ("heating_drop", "cooling_rise"):
        if root["fluid"].says(name):
            root["fluid"].fault(
                name,
                "follows from the loads and [circuits] flow.",
                f"Leave out {name}, or [circuits] flow.",
            )


def _with_one_pipe(exchanger: Exchanger, root: Read) -> Energy | None:
    """Loads and loop, the U-bend of the pipe that the circuits are asked to be of."""
    energy, wanted = exchanger.energy, exchanger.piping.circuits.pipe
    if energy is None or wanted not in u_bend_sizes():
        return energy
    if root["loop"].says("pipe"):
        stated = root["loop"]["pipe"]
        if stated != wanted and exchanger.system == made_of("bore").name:
            root["loop"].fault(
                "pipe",
                f"{stated!r} is not the pipe of the circuits, {wanted!r} ([circuits] pipe).",
                "The U-bends are the circuits: name one size, or leave one of the two out.",
            )
        return energy
    outer_m = pipes()[wanted].outer_m
    loop = replace(
        energy.loop,
        pipe_diameter_m=outer_m,
        shank_m=energy.loop.shank_m - energy.loop.pipe_diameter_m + outer_m,
    )
    return replace(energy, loop=loop)


def _needs_depth(exchanger: Exchanger, root: Read) -> None:
    """Note bores that end where their U-bend has hardly begun to exchange."""
    if exchanger.energy is None:
        return
    least, top = exchanger.vertical.depth_least_m, exchanger.energy.loop.top_m
    if least <= top:
        shallow, begin = (format_length(depth, root.unit) for depth in (least, top))
        root["vertical"].fault(
            "depth",
            f"least of {shallow} is no deeper than where the U-bend begins, {begin} down.",
            "Give a greater depth, or a smaller [loop] top.",
        )


def _needs_a_size(exchanger: Exchanger, given: Read) -> None:
    if given.says("length") or given.says("capacity") or exchanger.energy:
        return
    named = [exchanger.horizontal.length, exchanger.vertical.length, exchanger.pond.length]
    sized = exchanger.length or exchanger.capacity_w or exchanger.open.flow_m3s or any(named)
    if not sized:
        given.fault(
            "",
            "says neither a length required nor a capacity.",
            'Add length = { given = "1100 ft", by = "who and when" }, [loads] and [ground] for a '
            'calculated length of bores, or capacity = "4 ton" for a screening length.',
        )


def _pond(given: Read) -> PondOptions:
    return PondOptions(
        coil_diameter_m=given["coil_diameter"],
        gap_m=given["gap"],
        pipe_per_coil_m=given["pipe_per_coil"],
        water_depth_m=given["water_depth"],
        shore_m=given["shore"],
        length=read_length(given["length"]),
        coldest_c=given["coldest"],
        warmest_c=given["warmest"],
        shallow_by=given.answered("shallow"),
        small_by=given.answered("small"),
    )


def _open(given: Read) -> OpenOptions:
    return OpenOptions(
        separation_m=given["separation"],
        diameter_m=given["diameter"],
        depth_m=given["depth"],
        flow_m3s=given["flow"],
        yield_m3s=given["yield"],
        supply=given["supply"] or "",
        near_by=given.answered("near"),
    )


def read_sheet(given: Read) -> SheetOptions:
    """Paper, scale and number of sheets of a site file's [sheet] table."""
    if given["set"] == "one" and given["parts"] == "always":
        given.fault("parts", 'cannot be "always" with set = "one".', "Leave out one of the two.")
    return SheetOptions(
        size=given["size"], scale=given["scale"], sheets=given["set"], parts=given["parts"]
    )
