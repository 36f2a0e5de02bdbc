"""The exchanger wanted, and the sheet, from the tables of a site file."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from siteplan.hydraulics.pipes import pipes, u_bend_for, u_bend_sizes
from siteplan.site.energy import Energy
from siteplan.site.model import (
    Exchanger,
    HorizontalOptions,
)
from siteplan.site.options.bores import read_vertical
from siteplan.site.options.choices import CHOOSE
from siteplan.site.options.declared import Option, declared, every_option
from siteplan.site.options.energy import (
    frost_of,
    idle_figures,
    is_soil,
    read_energy,
    read_fluid,
    read_ground_year,
)
from siteplan.site.options.machines import read_excavator, read_rig
from siteplan.site.options.open_loop import read_open_loop
from siteplan.site.options.piping import read_piping
from siteplan.site.options.ponds import read_pond
from siteplan.site.options.read import Read
from siteplan.site.options.trenches import read_horizontal, read_length
from siteplan.site.options.weather import read_weather
from siteplan.site.sheet_options import AUTO, SheetOptions
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.lengths import format_length
from siteplan.vocabulary.loop_types import loop_types, made_of

BOUND: Final = (
    "fluid.mixture", "grout.material", "horizontal.depth", "loop.dimension_ratio",
    "vertical.spacing",
)  # fmt: skip
"""Keys of what rule books may bind, and for which something is taken where nobody states it."""
CHEAPEST: Final = "cheapest"
"""Order of loop types that follows what they cost."""
PLAIN_GROUT: Final = "bentonite"
"""Grout that conducts far less than what is assumed of a grout nobody described."""
COIL_PIPE: Final = "1 in"
"""Largest pipe that is wound to the rings of a trench; common practice, no source."""
COIL_SHARE: Final = 0.95
"""Share of a circuit that lies in the rings: the rest leads to the header; common practice, no
source [-]."""


def assumed_figures(root: Read) -> tuple[str, ...]:
    """Keys of figures that bear on a calculated length and are not stated."""
    if root["loads"] is None:
        return ()
    loads, fluid = root["loads"], root["fluid"]
    not_asked = {
        f"loads.{way}_month"
        for way in ("heating", "cooling")
        if loads.says(f"{way}_months") or not loads[way]
    }
    if fluid.says("heating_drop") or fluid.says("cooling_rise"):
        not_asked.add("circuits.flow")
    if not is_soil(root["ground"]):
        not_asked.add("ground.swing")
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
        horizontal=read_horizontal(root["horizontal"], frost_of(root["ground"])),
        vertical=read_vertical(root["vertical"]),
        pond=replace(read_pond(root["pond"]), weather=read_weather(root["weather"])),
        open=read_open_loop(root),
        system=None if system == CHOOSE else system,
        order=tuple(dict.fromkeys((*_preferred(root), *loop_types()))),
        ordered=bool(_preferred(root)),
        cheapest=given["order"] == CHEAPEST,
        length=read_length(given["length"]),
        capacity_w=given["capacity"],
        energy=read_energy(root, fluid),
        machine_reach_m=given["machine_reach"],
        rig=read_rig(root["rig"]),
        excavator=read_excavator(root["excavator"]),
        ground_year=read_ground_year(root),
        piping=read_piping(root, fluid),
        assumed=assumed_figures(root),
        unsaid=tuple(path for path in BOUND if not _stated(root, declared(path))),
        allowance_m=root["staking"]["allowance"],
        idle=idle_figures(root),
    )
    _needs_a_size(exchanger, given)
    _needs_depth(exchanger, root)
    _plain_grout_says_how_it_conducts(exchanger, root)
    _one_of_flow_and_change(exchanger, root)
    exchanger = replace(exchanger, energy=_with_one_pipe(exchanger, root))
    exchanger = _choosing_among_calculated(exchanger, root)
    return _coiled_within_a_circuit(_within_a_circuit(exchanger, root), root)


def _choosing_among_calculated(exchanger: Exchanger, root: Read) -> Exchanger:
    """The kind of trench left open only where the length of each kind can be calculated."""
    options = exchanger.horizontal
    if not options.choices:
        return exchanger
    if options.length is None and exchanger.length is None and (exchanger.energy is not None):
        return exchanger
    # a misspelt kind is told as such, and asks for no comparison
    if root["horizontal"].table.raw("kind") == CHOOSE:
        root["horizontal"].fault(
            "kind",
            "is left open, but kinds are compared by the length that each needs.",
            "Give [loads] and [ground] and no length, or name the kind.",
        )
    return replace(exchanger, horizontal=replace(options, choices=()))


def _preferred(root: Read) -> tuple[str, ...]:
    """Loop types in the order asked for; none where the cheapest is."""
    order = root["exchanger"]["order"]
    if order != CHEAPEST:
        return order or ()
    if root["prices"] is None:
        root["exchanger"].fault(
            "order",
            'is "cheapest", and there are no prices.',
            f"Add {declared('prices').line}, or list the loop types, the preferred one first.",
        )
    return ()


def _plain_grout_says_how_it_conducts(exchanger: Exchanger, root: Read) -> None:
    """Note plain bentonite with the conductivity of a grout with sand."""
    stated = root["grout"].says("material")
    plain = stated and exchanger.piping.grout.material == PLAIN_GROUT
    if plain and exchanger.energy is not None and not root["loop"].says("grout"):
        root["grout"].fault(
            "material",
            "is plain bentonite, and nobody says how it conducts.",
            "Give [loop] grout: plain bentonite conducts about half as well as with sand.",
        )


def _one_of_flow_and_change(exchanger: Exchanger, root: Read) -> None:
    """Note a change across the heat pump beside a flow: the one follows from the other."""
    if not root["circuits"].says("flow") or exchanger.system == made_of("well").name:
        return
    if exchanger.energy is None and exchanger.capacity_w is None:
        return  # without the heat nothing follows from a flow
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
    return with_u_bend(energy, wanted)


def _within_a_circuit(exchanger: Exchanger, root: Read) -> Exchanger:
    """Bores no deeper than a circuit of their pipe may be long, or larger pipe for a depth stated.

    A depth, a pipe or a longest circuit that the site file states is left as it is.
    """
    vertical, circuits = exchanger.vertical, exchanger.piping.circuits
    if circuits.longest_m is not None:
        return _no_deeper(exchanger, root, circuits.longest_m)
    energy, usual = exchanger.energy, made_of("bore").usual_pipe
    stated = circuits.pipe or (root["loop"]["pipe"] if root["loop"].says("pipe") else "")
    size = stated or usual
    if not root["vertical"].says("depth") or stated or energy is None:
        return _no_deeper(exchanger, root, pipes()[size].circuit_m)
    size = u_bend_for(2 * vertical.depth_most_m * circuits.bores, size)
    return replace(exchanger, energy=with_u_bend(energy, size))


def _no_deeper(exchanger: Exchanger, root: Read, longest_m: float) -> Exchanger:
    """Bores whose depth nobody states, no deeper than a circuit goes down and up again."""
    vertical = exchanger.vertical
    if root["vertical"].says("depth"):
        return exchanger
    deepest = longest_m / 2 / exchanger.piping.circuits.bores
    # in whole steps, so that the limit reads as people say it
    step = root.unit.step_m
    deepest = max(math.floor(deepest / step + 1e-9) * step, vertical.depth_least_m)
    limited = replace(vertical, depth_most_m=min(vertical.depth_most_m, deepest))
    return replace(exchanger, vertical=limited)


def _coiled_within_a_circuit(exchanger: Exchanger, root: Read) -> Exchanger:
    """Trenches of coiled pipe no longer than one circuit of pipe that is wound to coils.

    A length, a pipe or a longest circuit that the site file states is left as it is.
    """
    circuits = exchanger.piping.circuits
    if root["horizontal"].says("longest") or circuits.pipe:
        return exchanger
    longest_m = COIL_SHARE * (circuits.longest_m or pipes()[COIL_PIPE].circuit_m)
    trenches = exchanger.horizontal
    choices = tuple(_coiled(options, longest_m, root) for options in trenches.choices)
    limited = replace(_coiled(trenches, longest_m, root), choices=choices)
    return replace(exchanger, horizontal=limited)


def _coiled(options: HorizontalOptions, pipe_m: float, root: Read) -> HorizontalOptions:
    """Options of trenches; of a kind with coils none that takes more pipe than that [m]."""
    kind, step = trench_kinds()[options.kind], root.unit.step_m
    if kind.coil is None:
        return options
    longest = max(math.floor(pipe_m / kind.pipe_per_m / step) * step, options.shortest_m)
    return replace(options, longest_m=min(options.longest_m or math.inf, longest))


def with_u_bend(energy: Energy, size: str) -> Energy:
    """Loads and loop with a U-bend of another size, the gap between its pipes as before."""
    outer_m = pipes()[size].outer_m
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


def read_sheet(given: Read) -> SheetOptions:
    """Paper, scale and number of sheets of a site file's [sheet] table."""
    if given["set"] == "one" and given["parts"] == "always":
        given.fault("parts", 'cannot be "always" with set = "one".', "Leave out one of the two.")
    auto = given["size"] == AUTO
    if given["sizes"] and not auto:
        given.fault("sizes", 'has no effect without size = "auto".', "Say so, or leave it out.")
    return SheetOptions(
        size=SheetOptions().size if auto else given["size"],
        scale=given["scale"],
        sheets=given["set"],
        parts=given["parts"],
        open_size=not given.says("size"),
        auto_size=auto,
        sizes=given["sizes"] or (),
        turned=given["north"] != "up",
    )
