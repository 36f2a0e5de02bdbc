"""One lot by itself: its site as a plan reads it, and the verdict of the full engines."""

from __future__ import annotations

from textwrap import shorten
from typing import Any, Final

import numpy as np
import shapely

from siteplan.errors import SitePlanError
from siteplan.findings.words import words_of
from siteplan.screening.asked import UNKNOWN, Asked, site_with
from siteplan.screening.chunk import Chunk
from siteplan.site.model import Site, System
from siteplan.units.systems import METRIC

MOST_LETTERS: Final = 150
"""Of what a row says of a plan: what makes it fail stands at the beginning."""


def site_of_lot(chunk: Chunk, number: int, asked: Asked) -> Site:
    """Site of one lot of a chunk, with what is on it, as a plan reads it.

    Raises
    ------
    InputError
        The lot is none that a site file may hold.
    """
    ring = shapely.get_coordinates(chunk.outlines[number].exterior)[:-1]
    return site_with(asked, ring.tolist(), things_of(chunk, number))


def things_of(chunk: Chunk, number: int) -> list[dict[str, Any]]:
    """Tables of what is on a lot and near it, as a site file writes them [m]."""
    tables = []
    for index in np.flatnonzero(chunk.owner == number):
        house = index == chunk.houses[number]
        name = "house" if house else f"{chunk.kinds[index]} {index}"
        kind = str(chunk.kinds[index])
        told = {"kind": kind, "id": name, **UNKNOWN.get(kind, {})}
        tables.append({**told, **_place(chunk.things[index])})
    return tables


def _place(shape: Any) -> dict[str, Any]:
    points = shapely.get_coordinates(shape).tolist()
    if shape.geom_type == "Point":
        return {"at": points[0]}
    return (
        {"line": points}
        if shape.geom_type == "LineString"
        else {"area": shapely.get_coordinates(shape.exterior)[:-1].tolist()}
    )


def planned(chunk: Chunk, number: int, asked: Asked, system: System) -> tuple[bool | None, str]:
    """Whether the full engines fit a loop type on a lot, and why not; None: no plan can be made."""
    # the engines are loaded where a lot is planned at all
    from siteplan.available.prepared import lot_of  # noqa: PLC0415
    from siteplan.design.evaluate import try_system  # noqa: PLC0415

    try:
        trial = try_system(lot_of(site_of_lot(chunk, number, asked)), system)
    except SitePlanError as error:
        return None, shorten(str(error), MOST_LETTERS, placeholder=" ...")
    why = "" if trial.fits else words_of(trial.why, METRIC)
    return trial.fits, shorten(why, MOST_LETTERS, placeholder=" ...")
