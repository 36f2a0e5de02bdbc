"""Reading a site file: TOML, and the geometry file it names, into one `Site`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from siteplan.errors import Fault, InputError, RuleError
from siteplan.reading import Table, load_toml
from siteplan.rule_books.loader import load_book, read_rules
from siteplan.rule_books.model import OWN_BOOK, Rule
from siteplan.site.model import Entry, Exchanger, Site
from siteplan.site.options.exchanger import read_exchanger, read_sheet
from siteplan.site.options.loads import with_melted_area
from siteplan.site.options.machines import judge_gates
from siteplan.site.options.project import read_project
from siteplan.site.readers.lot import Lot, read_lot
from siteplan.units.systems import UNIT_SYSTEMS

SITE_FILE = "site.toml"


def read_site(path: str | Path) -> Site:
    """Site of a site file, or of the folder that holds a ``site.toml``.

    Raises
    ------
    InputError
        Every fault of the file and of the files it names, together.
    """
    file = Path(path)
    if file.is_dir():
        file = file / SITE_FILE
    faults: list[Fault] = []
    values = load_toml(file, faults)
    if faults:
        raise InputError(faults)
    site = _site(values, file, faults)
    if faults or site is None:
        raise InputError(list(dict.fromkeys(faults)))
    return site


def _site(values: Mapping[str, Any], file: Path, faults: list[Fault]) -> Site | None:
    root = Table(values, file.name, faults)
    project_table = root.table("project")
    names = tuple(UNIT_SYSTEMS)
    unit = UNIT_SYSTEMS[project_table.choice("units", names, names[0])]
    root.unit = unit
    project_table.unit = unit
    searched = project_table.length("searched", -1.0) if project_table.has("searched") else None
    project = read_project(project_table)
    exchanger = read_exchanger(root)
    own_rules, books = _rules(root.table("rules"))
    sheet = read_sheet(root.table("sheet"))
    lot = read_lot(root, file.parent)
    root.finish()
    if lot is None:
        return None
    _check_supply(lot, exchanger.open.supply, root)
    exchanger = _with_melting(exchanger, lot, root)
    for machine in (exchanger.rig, exchanger.digger):
        if machine is not None:
            judge_gates(machine, lot.parcel, root)
    return Site(
        project=project,
        unit=unit,
        parcel=lot.parcel,
        features=lot.features,
        entries=_named(lot.entries),
        exchanger=exchanger,
        books=books,
        own_rules=(*own_rules, *lot.rules),
        sheet=sheet,
        georeference=lot.frame,
        searched_m=searched,
        source=file,
    )


def _with_melting(exchanger: Exchanger, lot: Lot, root: Table) -> Exchanger:
    """The exchanger wanted, with the area on which snow is melted."""
    if exchanger.energy is None:
        return exchanger
    energy = exchanger.energy
    loads = with_melted_area(energy.loads, lot.features, root, energy.fluid.coldest_c)
    return replace(exchanger, energy=replace(energy, loads=loads))


def _rules(table: Table) -> tuple[tuple[Rule, ...], tuple[str, ...]]:
    books = table.words("books")
    for book in books:
        try:
            load_book(book)
        except RuleError as error:
            for fault in error.faults:
                table.fault("books", fault.what, fault.mend)
    rules = tuple(
        rule
        for own in table.tables("own", lambda _, number: f"own rule {number}")
        for rule in read_rules(own, book=OWN_BOOK)
    )
    table.finish()
    return rules, books


def _check_supply(lot: Lot, supply: str, root: Table) -> None:
    wells = [feature.id for feature in lot.features if feature.kind == "potable well"]
    if supply and supply not in wells:
        root.fault(
            "[open], supply",
            f"{supply!r} is not a potable well of this site.",
            f"Name one of: {', '.join(wells) or 'none here'}; or leave it out for a new well.",
        )


def _named(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Entries with an id each: their own, or E1, E2 ... in file order."""
    return tuple(
        entry if entry.id else replace(entry, id=f"E{number}")
        for number, entry in enumerate(entries, start=1)
    )
