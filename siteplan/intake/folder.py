"""A site folder made from what was found: a commented site file and the lot beside it."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputError
from siteplan.intake.along import told_along
from siteplan.intake.pick import LotAsked, PickedLot, pick_lot
from siteplan.intake.site_text import Drawn, Stated, scaled, site_text
from siteplan.intake.surroundings import (
    MOST_ADJOINING,
    NEIGHBOURS_M,
    Surroundings,
    side_of,
    surroundings_of,
)
from siteplan.site.frame import is_geographic
from siteplan.site.options.choices import ADJOINING
from siteplan.site.readers.rows import condition
from siteplan.units.lengths import format_area, format_length
from siteplan.units.model import UnitSystem
from siteplan.units.systems import UNIT_SYSTEMS

LOT_FILE: Final = "lot.geojson"
SITE_FILE: Final = "site.toml"
DECIMALS: Final = 4
"""Decimals of coordinates in feet or metres: a tenth of a millimetre."""
DEGREE_DECIMALS: Final = 9
"""Decimals of coordinates in degrees: a tenth of a millimetre on the ground."""
MOST: Final = 12
"""So many layers that were not taken are written behind a mark; inspect tells them all."""
INVENTED: Final = (
    ("house", "area", ((55, 60), (95, 60), (95, 90), (55, 90))),
    ("street", "line", ((-30, -15), (180, -15))),
    ("drive", "line", ((110, -15), (110, 70))),
)
"""What is drawn on an invented lot, in feet."""


@dataclass(frozen=True, slots=True)
class NewFolder:
    """Files of a new folder by name, what was understood, line by line, and files copied whole."""

    files: dict[str, str]
    understood: tuple[str, ...]
    copies: dict[str, bytes] = field(default_factory=dict)


def folder_of_lot(asked: LotAsked, buildings: Path | None, stated: Stated) -> NewFolder:
    """Folder of a lot of a county's file.

    Raises
    ------
    InputError
        The lot cannot be made out; nothing is written.
    """
    lot = pick_lot(asked)
    column, value = condition(asked.where, asked.path) if asked.where else (None, "")
    around = surroundings_of(lot, asked.path, buildings, column)
    understood = tuple(_understood(lot, around, asked, stated))
    files = {
        LOT_FILE: _geojson(around),
        SITE_FILE: site_text(
            stated,
            understood=understood,
            geometry=f'file = "{LOT_FILE}"          # parcel, street, buildings, lots beside'
            + _marked(asked.path, around.layers_aside),
            entry=_entry(around, stated.unit),
            parcel_id=value,
        ),
    }
    return NewFolder(files, understood)


def refuse_a_site(folder: Path) -> None:
    """Nothing, where a new site may be written.

    Raises
    ------
    InputError
        The folder is a file, or holds a site already.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError([Fault(str(folder), "is a file.", "Choose another folder.")])
    there = [name for name in (SITE_FILE, LOT_FILE) if (folder / name).exists()]
    if there:
        what = f"holds {' and '.join(there)} already."
        raise InputError([Fault(str(folder), what, "Choose another folder.")])


def write_folder(folder: Path, new: NewFolder) -> None:
    """Write the files of a new folder.

    Raises
    ------
    InputError
        The folder holds a site already, or cannot be written.
    """
    refuse_a_site(folder)
    made = not folder.exists()
    copies = {name: told for name, told in new.copies.items() if not (folder / name).exists()}
    # the site file last: a folder without it is no site
    contents = copies | {name: text.encode() for name, text in new.files.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            (folder / name).write_bytes(content)
    except OSError as error:
        _take_back(folder, contents, made=made)
        raise InputError([Fault(str(folder), f"cannot be written ({error}).", "")]) from None
    except BaseException:
        _take_back(folder, contents, made=made)
        raise


def _take_back(folder: Path, names: Iterable[str], *, made: bool) -> None:
    """Leave no half of a new folder behind."""
    with contextlib.suppress(OSError):
        for name in names:
            (folder / name).unlink(missing_ok=True)
        if made:
            folder.rmdir()


def _understood(
    lot: PickedLot, around: Surroundings, asked: LotAsked, stated: Stated
) -> Iterator[str]:
    unit = UNIT_SYSTEMS[stated.unit]
    area = format_area(around.parcel.area, unit)
    frame = around.frame
    yield (
        f"lot: {area}, near {abs(frame.latitude):.5f} {'N' if frame.latitude >= 0 else 'S'} "
        f"{abs(frame.longitude):.5f} {'E' if frame.longitude >= 0 else 'W'}, {frame.crs_name}"
    )
    if lot.alike > 1:
        yield f"{lot.alike} rows of {asked.path.name} have this outline: taken as one lot"
    yield from around.repaired
    yield from _street(around, asked, unit)
    own = [each for each in around.buildings if each.own]
    if own:
        yield (
            f"house: the largest of {len(own)} on the lot, "
            f"{unit.area.text(own[0].shape.area)}; pipes may enter through any wall"
        )
    elif around.buildings_from:
        yield f"house: none of {around.buildings_from} stands on the lot"
    else:
        yield "house: no --buildings given, and no layer of that name; draw it in the site file"
    if len(own) < len(around.buildings):
        yield f"{len(around.buildings) - len(own)} of the neighbors' buildings"
    if around.beside:
        yield _lots_beside(around, unit)
    if around.things:
        yield f"also of {asked.path.name}: {told_along(around.things)}"
    if around.layers_aside:
        yield (
            f"layers of {asked.path.name} not taken: {', '.join(around.layers_aside)}; say what "
            "they are in the site file"
        )
    yield (
        "not known: what no file says of wells, septic, utilities, easements; add it before the "
        "plan is believed"
    )


def _lots_beside(around: Surroundings, unit: UnitSystem) -> str:
    """How many lots around the lot are drawn, and that they bind nothing."""
    drawn = min(len(around.beside), MOST_ADJOINING)
    nearest = (
        f"the nearest {drawn} of {len(around.beside)}" if drawn < len(around.beside) else drawn
    )
    radius = format_length(NEIGHBOURS_M, unit, 0)
    lots = "parcel" if nearest == 1 else "parcels"
    return f"{nearest} {lots} within {radius}: drawn thin, and nothing is measured to them"


def _marked(path: Path, layers: Iterable[str]) -> str:
    """Tables of the layers that were not taken, each line behind a mark."""
    tables = [
        "\n# [[geometry.layer]]           # copy the file into this folder, and take out the #\n"
        f"# file = {json.dumps(path.name, ensure_ascii=False)}\n"
        f"# layer = {json.dumps(name, ensure_ascii=False)}\n"
        '# kind = "FILL IN"'
        for name in layers
    ]
    return "".join(f"\n{table}" for table in tables[:MOST])


def _street(around: Surroundings, asked: LotAsked, unit: UnitSystem) -> Iterator[str]:
    """Where the street is, and how that is known."""
    if around.street_drawn:
        return
    if around.open_sides:
        longest = around.open_sides[0]
        length = format_length(longest.length, unit, 0)
        yield (
            f"street: taken to be on the {side_of(longest, around.parcel)} side, where no other "
            f"lot adjoins for {length}"
        )
        if len(around.open_sides) > 1:
            others = ", ".join(
                f"{side_of(piece, around.parcel)} ({format_length(piece.length, unit, 0)})"
                for piece in around.open_sides[1:4]
            )
            yield f"also open, not taken for a street: {others}"
    else:
        yield f"street: not known, no lot of {asked.path.name} adjoins this one"


def _geojson(around: Surroundings) -> str:
    """The lot in the coordinates of its file, so that everybody finds it there again."""
    features = [
        _feature(around, around.parcel, kind="parcel"),
        *(
            _feature(around, hole, kind="other keep-out", id=f"hole {number}")
            for number, hole in enumerate(around.holes, start=1)
        ),
        *(
            _feature(around, piece, kind="street", id="street", assumed=True)
            for piece in ([] if around.street_drawn else around.open_sides[:1])
        ),
        *_buildings(around),
        *(
            _feature(around, each.shape, kind=ADJOINING, **_named(each.number))
            for each in around.beside[:MOST_ADJOINING]
        ),
        *(_feature(around, thing.shape, kind=thing.kind, id=thing.name) for thing in around.things),
    ]  # fmt: skip
    system = {"type": "name", "properties": {"name": around.frame.crs}}
    lines = ",\n".join(json.dumps(feature, ensure_ascii=False) for feature in features)
    head = f'{{"type": "FeatureCollection", "crs": {json.dumps(system)}, "features": [\n'
    return f"{head}{lines}\n]}}\n"


def _named(number: str) -> dict[str, str]:
    return {"label": number} if number else {}


def _buildings(around: Surroundings) -> Iterator[dict[str, Any]]:
    words = {True: "building", False: "neighbor building"}
    for number, building in enumerate(around.buildings, start=1):
        name = "house" if number == 1 and building.own else f"{words[building.own]} {number}"
        yield _feature(around, building.shape, kind="building", id=name)


def _feature(around: Surroundings, shape: BaseGeometry, **says: str | bool) -> dict[str, Any]:
    crs = around.frame.crs
    decimals = DEGREE_DECIMALS if is_geographic(crs) else DECIMALS
    written = shapely.transform(
        around.frame.written(shape), lambda points: np.round(points, decimals)
    )
    return {"type": "Feature", "properties": says, "geometry": shapely.geometry.mapping(written)}


def _entry(around: Surroundings, unit: str) -> str:
    """The line of the entry: any wall of the house, or a place to fill in, behind a mark."""
    if any(building.own for building in around.buildings):
        return 'entry = "any wall"              # of the house; or [[x, y]] where the pipes come in'
    spot, scale = around.parcel.representative_point(), UNIT_SYSTEMS[unit].metres
    return f"# entry = [[{spot.x / scale:.0f}, {spot.y / scale:.0f}]]      # FILL IN: at the wall"


def starter(stated: Stated) -> NewFolder:
    """Folder of an invented lot, every line of it to be replaced."""
    corners = scaled(((0, 0), (150, 0), (150, 220), (0, 220)), stated.unit)
    points = ", ".join(f"[{x:g}, {y:g}]" for x, y in corners)
    understood = ("an invented lot with house, street and drive: replace it with your own",)
    text = site_text(
        stated,
        understood=understood,
        geometry=f"parcel = [{points}]  # FILL IN: the corners, around the lot",
        entry='entry = "any wall"              # of the house; or [[x, y]] where the pipes come in',
        drawn=[
            Drawn(kind, key, scaled(sketched, stated.unit), "FILL IN")
            for kind, key, sketched in INVENTED
        ],
    )
    return NewFolder({SITE_FILE: text}, understood)
