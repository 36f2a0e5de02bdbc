"""What is laid in a pond, from the table [pond] of a site file."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.site.model import PondOptions
from siteplan.site.options.declared import declared
from siteplan.site.options.read import Read
from siteplan.site.options.trenches import read_length, read_places
from siteplan.site.pond_bodies import (
    FlatMat,
    PlateFrame,
    PondExchanger,
    across,
    laid_to_and_fro,
)
from siteplan.units.lengths import format_length
from siteplan.vocabulary.pond_bodies import pond_bodies

TABLES: Final = {"flat mat": "mat", "plate frame": "plates"}
"""Table with the sizes of what is laid in place of coils."""
SLACK: Final = 1.001
"""More pipe than so much of what a rectangle takes does not lie in it [-]."""


def read_pond(given: Read) -> PondOptions:
    """What is laid in a pond, and where it may lie."""
    options = PondOptions(
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
        height_m=given["height"],
        places=read_places(given),
    )
    _only_its_own_sizes(given)
    body = _body(given)
    if body is None:
        return options
    length_m = body.plate_m if isinstance(body, PlateFrame) else body.pipe_m
    return replace(options, coil_diameter_m=across(body), pipe_per_coil_m=length_m, body=body)


def _only_its_own_sizes(given: Read) -> None:
    """Note sizes of what is not laid, and that those of what is are missing."""
    body = given["body"]
    for key in ("coil_diameter", "pipe_per_coil"):
        if body in TABLES and given.says(key):
            given.fault(key, f'has no effect with body = "{body}".', "Leave it out.")
    for name, table in TABLES.items():
        if body == name and given[table] is None:
            line = declared(f"pond.{table}").line
            given.fault("body", f'is "{name}", and nobody states its sizes.', f"Add {line}.")
        elif body in pond_bodies() and body != name and given.says(table):
            given.fault(table, f'has no effect with body = "{body}".', "Leave it out.")


def _body(given: Read) -> PondExchanger | None:
    """What is laid in place of coils; None where coils are, or something is at fault."""
    table = TABLES.get(given["body"])
    sizes: Read | None = None if table is None else given[table]
    if sizes is None or not sizes.whole:
        return None
    return _mat(sizes) if table == "mat" else _frame(sizes, given)


def _mat(sizes: Read) -> FlatMat:
    length, width, spacing = (sizes[key] for key in ("length", "width", "spacing"))
    most = laid_to_and_fro(length, width, spacing)
    if length <= spacing:
        sizes.fault("spacing", "leaves no room for pipe in the mat.", "Lay the runs closer.")
    pipe = sizes["pipe"] or most
    if pipe > SLACK * most and length > spacing:
        room = format_length(most, sizes.unit, rounding="down")
        sizes.fault("pipe", f"is more than lies in the mat, {room}.", "Give a larger mat.")
    return FlatMat(length, width, spacing, pipe)


def _frame(sizes: Read, given: Read) -> PlateFrame:
    frame = PlateFrame(
        length_m=sizes["length"],
        width_m=sizes["width"],
        plates=sizes["number"],
        plate_length_m=sizes["plate_length"],
        plate_height_m=sizes["plate_height"],
        spacing_m=sizes["spacing"],
        channel_m=sizes["channel"],
        wall_m=sizes["wall"],
        conductivity=sizes["conductivity"],
        manifold_m=sizes["manifold"],
    )
    stack = (frame.plates - 1) * frame.spacing_m + frame.thick_m
    if frame.gap_m <= 0.0:
        sizes.fault("spacing", "is no more than a plate is thick.", "Leave water between plates.")
    if stack > SLACK * frame.width_m:
        told = format_length(stack, sizes.unit, rounding="up")
        sizes.fault("width", f"is less than the plates take, {told}.", "Give that of the frame.")
    if frame.plate_length_m > SLACK * frame.length_m:
        sizes.fault("length", "is less than that of a plate.", "Give that of the frame.")
    if frame.plate_height_m > SLACK * given["height"]:
        high = format_length(frame.plate_height_m, sizes.unit, rounding="up")
        what = f"is less than that of the plates in the frame, {high}."
        given.fault("height", what, "Give how far the top of the frame stands above the bottom.")
    return frame
