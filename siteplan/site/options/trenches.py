"""Trenches wanted, from the table [horizontal] of a site file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from shapely import LineString

from siteplan.site.model import GivenLength, HorizontalOptions
from siteplan.site.options.choices import CHOOSE
from siteplan.site.options.read import Read
from siteplan.site.trench_kinds import USUAL, TrenchKind, kind_with, trench_kinds
from siteplan.units.lengths import format_length


def read_length(given: Read | None) -> GivenLength | None:
    """Length required that somebody has worked out; None where none is given."""
    return None if given is None else GivenLength(given["given"] or 0.0, given["by"] or "")


def read_places(given: Read) -> tuple[tuple[float, float], ...]:
    """Places given by hand under ``places`` [m]; empty where none are."""
    factor = given.unit.metres
    return tuple((x * factor, y * factor) for x, y in given["places"] or ())


def read_horizontal(given: Read, frost_m: float | None) -> HorizontalOptions:
    """Trenches of a site file's [horizontal] table; what is not said is the kind's own.

    A depth that nobody says lays all pipe below frost [m].
    """
    kind = _kind(given)
    options = _options(given, kind, frost_m)
    _judge_depth(options, kind, given)
    _judge_sizes(options, given)
    return (
        replace(options, choices=tuple(_choices(given, frost_m))) if _left_open(given) else options
    )


def _options(given: Read, kind: TrenchKind, frost_m: float | None) -> HorizontalOptions:
    return HorizontalOptions(
        spacing_m=given["spacing"],
        depth_m=given["depth"] or kind.depth_below(frost_m, given.unit),
        width_m=given["width"] or kind.width_m,
        pipes=kind.pipes,
        shortest_m=given["shortest"],
        longest_m=given["longest"],
        length=read_length(given["length"]),
        soil=given["soil"],
        protection=given["protection"],
        kind=kind.name,
        runs=_runs(given),
    )


def _runs(given: Read) -> tuple[LineString, ...]:
    """Centre line of every trench given by hand [m]; empty where none is."""
    factor = given.unit.metres
    lines = given["runs"] or ()
    return tuple(LineString([(x * factor, y * factor) for x, y in line]) for line in lines)


def _left_open(given: Read) -> bool:
    return given["kind"] == CHOOSE and given["pipes"] is None


def _choices(given: Read, frost_m: float | None) -> Iterator[HorizontalOptions]:
    """Trenches of each kind that has room for its pipe in what is said of depth and spacing."""
    for kind in trench_kinds().values():
        options = _options(given, kind, frost_m)
        if kind.height_m <= options.depth_m and options.width_m <= options.spacing_m:
            yield options


def _kind(given: Read) -> TrenchKind:
    """Kind of trench: the one named, the one with so many pipes, or the usual one."""
    known = trench_kinds()
    kind: TrenchKind = known[USUAL if given["kind"] == CHOOSE else given["kind"]]
    pipes = given["pipes"]
    if pipes is None:
        return kind
    if given.says("kind") and given["kind"] != CHOOSE:
        if pipes != kind.pipes:
            what = f"of {pipes} does not go with kind {kind.name!r}, {kind.pipes}."
            given.fault("pipes", what, "Leave it out.")
        return kind
    named = kind_with(pipes)
    if named is None:
        several = sorted({other.pipes for other in known.values() if other.coil is None})
        numbers = ", ".join(str(number) for number in several)
        given.fault("pipes", f"of {pipes} are in no kind of trench.", f"Give one of {numbers}.")
        return kind
    return named


def _judge_depth(options: HorizontalOptions, kind: TrenchKind, given: Read) -> None:
    """Note a trench that does not hold its pipe, and sides that lean nobody knows how far."""
    if options.depth_m < kind.height_m:
        given.fault(
            "depth",
            f"of {format_length(options.depth_m, given.unit)} does not hold the pipe of kind "
            f"{kind.name!r}, which reaches {format_length(kind.height_m, given.unit)} above the "
            "bottom.",
            "Dig deeper, or choose another kind.",
        )
    if options.protection == "slope" and not given.says("soil"):
        given.fault(
            "protection",
            "is slope, but the soil is not stated: how far the sides lean follows from it.",
            'Add soil = "C" where nobody has classed it (29 CFR 1926 Subpart P App. A).',
        )


def _judge_sizes(options: HorizontalOptions, given: Read) -> None:
    if options.width_m > options.spacing_m:
        given.fault(
            "width",
            f"of {format_length(options.width_m, given.unit)} is more than the spacing of "
            f"{format_length(options.spacing_m, given.unit)}.",
            "Trenches would run into each other: widen the spacing.",
        )
    if options.longest_m is not None and options.longest_m < options.shortest_m:
        given.fault("longest", "is less than shortest.", "Swap or correct them.")
