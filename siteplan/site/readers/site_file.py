"""Reading a site: a site file, or the same values from memory, and the geometry file named."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any, Final

from siteplan.errors import Fault, InputError
from siteplan.findings.model import Reason, reason
from siteplan.reading import Table, beyond_limits, load_toml
from siteplan.rule_books.loader import read_rules
from siteplan.rule_books.model import OWN_BOOK, Rule
from siteplan.site.model import Entry, Exchanger, Site
from siteplan.site.open_loop import OpenOptions
from siteplan.site.options.declared import catalogue, declared
from siteplan.site.options.exchanger import read_exchanger, read_sheet
from siteplan.site.options.loads import with_melted_area
from siteplan.site.options.machines import judge_gates
from siteplan.site.options.prices import read_price_list
from siteplan.site.options.project import read_project
from siteplan.site.options.read import Read, read_option, read_table
from siteplan.site.options.specification import read_specification
from siteplan.site.readers.lot import Lot, read_lot
from siteplan.site.readers.quick import completed, missing_on, sized
from siteplan.units.systems import UNIT_SYSTEMS

SITE_FILE = "site.toml"
MEMORY = "values"
"""What faults call values that were handed over in memory."""


def read_site(path: str | Path, *, quick: bool = False) -> Site:
    """Site of a site file, or of the folder that holds a ``site.toml``.

    Parameters
    ----------
    path
        The file or the folder.
    quick
        Parcel and house are enough: what is missing is assumed, as `Site.granted` says.

    Raises
    ------
    InputError
        Every fault of the file and of the files it names, together.
    """
    file = Path(path) / SITE_FILE if Path(path).is_dir() else Path(path)
    return _site_or_faults(load_toml(file), file, where=file.name, quick=quick)


def site_from(values: Mapping[str, Any], *, folder: str | Path | None = None) -> Site:
    """Site of the values that a site file would hold, such as a program makes them.

    Parameters
    ----------
    values
        Tables by name, as ``tomllib`` reads them from a site file; they are not changed.
    folder
        Where files that the values name are looked up; None: the current folder.

    Raises
    ------
    InputError
        Every fault of the values and of the files they name, together.

    Examples
    --------
    >>> import datetime
    >>> site = site_from(
    ...     {
    ...         "project": {
    ...             "title": "Loop field", "owner": "A. Owner", "date": datetime.date(2026, 3, 14)
    ...         },
    ...         "geometry": {"parcel": [[0, 0], [200, 0], [200, 150], [0, 150]]},
    ...         "exchanger": {"capacity": "2 ton", "entry": [80, 70]},
    ...     }
    ... )
    >>> str(site.unit), round(site.parcel.area), site.entries[0].id
    ('ft', 2787, 'E1')
    """
    return _site_or_faults(values, Path(folder or ".") / SITE_FILE, where=MEMORY)


def _site_or_faults(
    values: Mapping[str, Any], source: Path, *, where: str, quick: bool = False
) -> Site:
    if not isinstance(values, Mapping):
        raise InputError([Fault(where, "is no mapping of tables.", "Give what tomllib gives.")])
    faults = beyond_limits(values, where)
    if faults:
        raise InputError(faults)
    told = completed(values, source) if quick else values
    site = _site(Table(told, where, faults), source, quick=quick)
    if quick and site is not None:
        exchanger, granted = sized(site, values)
        granted = (*granted, *site.granted, *missing_on(site.features))
        site = replace(site, exchanger=exchanger, granted=granted)
    if faults or site is None:
        raise InputError(list(dict.fromkeys(faults)))
    return site


def _site(root: Table, source: Path, *, quick: bool) -> Site | None:
    # the unit of the file comes first: all that follows is read in it
    root.unit = UNIT_SYSTEMS[read_option(root.table("project"), declared("project.units"))]
    given = read_table(root, catalogue().options)
    project = read_project(given["project"])
    exchanger = read_exchanger(given)
    own_rules = _own_rules(given["rules"])
    sheet = read_sheet(given["sheet"])
    lot = read_lot(given, source.parent, quick=quick)
    prices = read_price_list(given["prices"], source.parent)
    if lot is None:
        return None
    _check_supply(lot, exchanger.open.supply, root)
    _check_outfall(lot, exchanger.open, root)
    exchanger = _with_known_supply(exchanger, lot)
    exchanger = _with_melting(exchanger, lot, root)
    for machine in (exchanger.rig, exchanger.excavator):
        if machine is not None:
            judge_gates(machine, lot.parcel, root)
    return Site(
        project=project,
        unit=root.unit,
        parcel=lot.parcel,
        features=lot.features,
        entries=_named(lot.entries),
        exchanger=exchanger,
        books=given["rules"]["books"] or (),
        own_rules=(*own_rules, *lot.rules),
        sheet=sheet,
        georeference=lot.frame,
        searched_m=given["project"]["searched"],
        any_wall=lot.any_wall,
        wall=lot.wall,
        source=source,
        prices=prices,
        granted=_granted(lot) if quick else (),
        deed=lot.deed,
        survey=lot.survey,
        repairs=lot.repairs,
        adjoining=lot.adjoining,
        specification=read_specification(given["specification"]),
    )


def _with_melting(exchanger: Exchanger, lot: Lot, root: Table) -> Exchanger:
    """The exchanger wanted, with the area on which snow is melted."""
    if exchanger.energy is None:
        return exchanger
    energy = exchanger.energy
    loads = with_melted_area(energy.loads, lot.features, root, energy.fluid.coldest_c)
    return replace(exchanger, energy=replace(energy, loads=loads))


def _own_rules(given: Read) -> tuple[Rule, ...]:
    """Own rules, those of one name told apart by a number: "building", "building-2" ..."""
    rules: list[Rule] = []
    taken: set[str] = set()
    for own in given["own"]:
        read = read_rules(own, book=OWN_BOOK)
        for rule in read[:1]:
            name = next(name for name in _numbered(rule.id) if name not in taken)
            taken.add(name)
            rules += [replace(other, id=name) for other in read]
    return tuple(rules)


def _numbered(name: str) -> Iterator[str]:
    """A name, then the same with the numbers from 2 on."""
    yield name
    yield from (f"{name}-{number}" for number in count(2))


def _granted(lot: Lot) -> tuple[Reason, ...]:
    """What is taken for granted of a lot where a first look is enough."""
    anywhere = lot.any_wall and not lot.wall
    return (*((reason("entry-anywhere"),) if anywhere else ()), *lot.assumed)


def _check_supply(lot: Lot, supply: str, root: Table) -> None:
    wells = [feature.id for feature in lot.features if feature.kind == "potable well"]
    if supply and supply not in wells:
        root.fault(
            "[open], supply",
            f"{supply!r} is not a potable well of this site.",
            f"Name one of: {', '.join(wells) or 'none here'}; or leave it out for a new well.",
        )


OUTFALL_KINDS: Final = ("pond", "stream")
"""Kinds of feature that may take the water of an open loop."""


def _check_outfall(lot: Lot, options: OpenOptions, root: Table) -> None:
    waters = [feature.id for feature in lot.features if feature.kind in OUTFALL_KINDS]
    if options.outfall and options.outfall not in waters:
        root.fault(
            "[open], outfall",
            f"{options.outfall!r} is not a pond or stream of this site.",
            f"Name one of: {', '.join(waters) or 'none here'}; or leave it out for a return well.",
        )
    if options.discharge_by and not options.outfall:
        root.fault(
            "[open], discharge",
            "is given without an outfall.",
            'Name the pond or stream: outfall = "brook".',
        )


def _with_known_supply(exchanger: Exchanger, lot: Lot) -> Exchanger:
    """What an existing supply well tells of yield and level, where [open] does not."""
    wanted = exchanger.open
    known = next((feature for feature in lot.features if feature.id == wanted.supply), None)
    if known is None:
        return exchanger
    told = replace(
        wanted,
        yield_m3s=known.yield_m3s if wanted.yield_m3s is None else wanted.yield_m3s,
        level_m=known.level_m if wanted.level_m is None else wanted.level_m,
    )
    return replace(exchanger, open=told)


def _named(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Entries with an id each: their own, or E1, E2 ... in file order."""
    return tuple(
        entry if entry.id else replace(entry, id=f"E{number}")
        for number, entry in enumerate(entries, start=1)
    )
