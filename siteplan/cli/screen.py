"""``siteplan screen PARCELS``: every lot of a county, screened for trenches and bores."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from siteplan.cli.county_bar import SCREENING, Tell, county_bar
from siteplan.cli.report import Terminal, columns
from siteplan.cli.written import goes_on, may_write
from siteplan.errors import ExportError, Fault, InputError, SitePlanError

if TYPE_CHECKING:
    from siteplan.screening.asked import Asked
    from siteplan.screening.outputs import Summary
    from siteplan.screening.part import Rows
    from siteplan.screening.run import County, Crew
    from siteplan.screening.sources import Layer, Sources

LAYERS: Final = {
    "buildings": "building", "wells": "potable well", "septic": "septic", "streets": "street",
    "water": "water",
}  # fmt: skip
"""What the rows of each file are; septic and water by their shape."""
OWN: Final = ("project", "geometry", "feature")
"""Tables of a site file that each lot has of its own."""


def run_screen(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan screen``."""
    from siteplan.screening.handed import handed_text
    from siteplan.screening.outputs import write_county
    from siteplan.screening.run import County, digest_of, part_size

    terminal, out = Terminal(quiet=arguments.quiet), Path(arguments.out)
    _refuse(arguments, out)
    for path in _written(out, arguments.map):
        may_write(path)
    beside = _beside(arguments, out)
    try:
        task = _task(arguments)
    except SitePlanError:
        # a wrong question leaves nothing
        for path in beside:
            path.unlink(missing_ok=True)
        raise
    for line in _questioned(task.asked):
        terminal.say(line)
    handed = handed_text(task.asked, task.sources)
    folder = out.with_name(f".{out.stem}-{digest_of(task)}")
    county = County(task, folder, part_size(task))
    with county_bar(quiet=arguments.quiet) as tell:
        lots = county.finish(_crew(arguments), partial(_screening, tell))
        with _drawn(county, lots, arguments, tell):
            summary = write_county(_told(county, lots, tell), out, task.sources.lots.crs, handed)
    _hand_on(handed, out)
    county.forget()
    goes_on("")
    _tell(terminal, summary, task.sources)
    terminal.say(f"Written: {', '.join(map(str, _written(out, arguments.map)))}")
    return 1 if summary.failed else 0


def _refuse(arguments: argparse.Namespace, out: Path) -> None:
    """Note what cannot be asked for together, or would be overwritten."""
    faults = []
    if out.suffix.lower() not in (".gpkg", ".parquet"):
        what = f"{out.name!r} is neither GeoPackage nor GeoParquet."
        faults.append(Fault("--out", what, "Write --out NAME.gpkg, or NAME.parquet."))
    elif out.suffix.lower() == ".parquet" and find_spec("pyarrow") is None:
        mend = "pip install 'siteplan[parquet]', or write --out NAME.gpkg."
        faults.append(Fault("--out", "is GeoParquet, which needs pyarrow.", mend))
    if arguments.map and Path(arguments.map).suffix.lower() not in (".png", ".pdf"):
        what = f"{Path(arguments.map).name!r} is neither PNG nor PDF."
        faults.append(Fault("--map", what, "Write --map NAME.png, or NAME.pdf to zoom in."))
    if out.resolve() == Path(arguments.parcels).resolve():
        faults.append(Fault("--out", "is the file of the lots.", "Choose another name."))
    if arguments.workers < 1:
        faults.append(Fault("--workers", "is less than one.", "Give one or more."))
    folders = dict.fromkeys(path.parent for path in _written(out, arguments.map))
    faults += [
        Fault(str(path), "is no folder that is there.", "Make it first.")
        for path in folders
        if not path.is_dir()
    ]
    there = [path for path in _written(out, arguments.map) if path.exists()]
    if there and not arguments.force:
        names = ", ".join(path.name for path in there)
        faults.append(Fault("--out", f"{names} is there already.", "Say --force to replace it."))
    if faults:
        raise InputError(faults)


def _written(out: Path, drawn: str | None) -> list[Path]:
    """Files of a run."""
    beside = [out.with_suffix(".csv"), out.with_name(f"{out.stem}-summary.csv")]
    return [out, *beside, out.with_suffix(".json"), *([Path(drawn)] if drawn else [])]


def _questioned(asked: Asked) -> Iterator[str]:
    """What hardly can be meant of what every lot is asked for, in the words of a plan."""
    from siteplan.advisories.plausible import implausible
    from siteplan.findings.entries import entries
    from siteplan.findings.words import words_of
    from siteplan.screening.asked import sample_site

    site = sample_site(asked, ())
    for finding in implausible(site):
        yield f"warning: {words_of(finding, site.unit)} {entries()[finding.code].do}"


def _beside(arguments: argparse.Namespace, out: Path) -> list[Path]:
    """Files that hold the rows of GeoParquet files, where they are not there yet."""
    from siteplan.screening.parquet import is_parquet, package_of

    given = [arguments.parcels, *(getattr(arguments, name) for name in LAYERS)]
    named = [package_of(Path(path), out) for path in given if path and is_parquet(Path(path))]
    return [path for path in named if not path.exists()]


def _task(arguments: argparse.Namespace) -> Any:
    from siteplan.screening.parquet import readable
    from siteplan.screening.part import Task
    from siteplan.screening.sources import sources_of
    from siteplan.screening.terms import ALWAYS, terms_of

    files = {kind: getattr(arguments, name) for name, kind in LAYERS.items()}
    out, wanted = Path(arguments.out), (*arguments.columns, arguments.number)
    sources = sources_of(
        readable(Path(arguments.parcels), out, wanted),
        {kind: readable(Path(path), out) for kind, path in files.items() if path},
        layer=arguments.layer, crs=arguments.crs, number=arguments.number,
    )  # fmt: skip
    _refuse_page(arguments, sources)
    sources = replace(sources, around=(*sources.around, *_mapped(arguments, out)))
    unknown = [name for name in arguments.columns if name not in sources.lots.columns]
    if unknown:
        known = ", ".join(sources.lots.columns)
        raise InputError([Fault("--columns", f"{unknown[0]!r} is none.", f"Known: {known}.")])
    asked = _asked(arguments)
    kinds = tuple(dict.fromkeys((*ALWAYS, *sources.kinds)))
    try:
        terms = terms_of(asked, kinds)
    except InputError as error:
        raise InputError([_where_asked(fault, arguments) for fault in error.faults]) from None
    return Task(
        sources, asked, terms, arguments.undecided == "plan", tuple(arguments.columns),
        arguments.verdicts_only,
    )  # fmt: skip


def _refuse_page(arguments: argparse.Namespace, sources: Sources) -> None:
    """A page of more lots than anybody finds one among is told before the work is done."""
    from siteplan.export.county_numbers import MOST_ON_PAGE
    from siteplan.screening.sources import rows_in

    if arguments.map and Path(arguments.map).suffix.lower() == ".pdf":
        lots = rows_in(sources.lots)
        if lots > MOST_ON_PAGE:
            what = f"is a PDF of {lots:,} lots, and one holds {MOST_ON_PAGE:,} at most."
            mend = f"Write --map NAME.png, and open {Path(arguments.out).name} to zoom in."
            raise InputError([Fault("--map", what, mend)])


def _mapped(arguments: argparse.Namespace, out: Path) -> tuple[Layer, ...]:
    """Layers that the shared tables name."""
    if not arguments.loads:
        return ()
    from siteplan.reading import load_toml
    from siteplan.screening.mapped import mapped_layers
    from siteplan.screening.parquet import readable

    source = Path(arguments.loads)
    return mapped_layers(load_toml(source), source, lambda path: readable(path, out))


def _where_asked(fault: Fault, arguments: argparse.Namespace) -> Fault:
    """A fault of the tables that all lots share, at the option or in the file that says it."""
    from siteplan.site.readers.site_file import MEMORY

    bores = _bore_table()
    said = {
        "[exchanger], capacity": ("--need", arguments.need),
        "[rules], books": ("--books", arguments.books),
        f"[{bores}], spacing": ("--spacing", arguments.spacing),
    }
    key = fault.where.removeprefix(f"{MEMORY}, ")
    option, given = next((each for path, each in said.items() if key.startswith(path)), ("", None))
    where = option if given else f"{arguments.loads or '--need'}, {key}"
    return replace(fault, where=where)


def _bore_table() -> str:
    from siteplan.vocabulary.loop_types import made_of

    return made_of("bore").name


def _asked(arguments: argparse.Namespace) -> Asked:
    """What every lot is asked for, as tables of a site file."""
    from siteplan.reading import load_toml
    from siteplan.screening.asked import Asked

    tables: dict[str, Any] = dict(load_toml(Path(arguments.loads))) if arguments.loads else {}
    unit = tables.get("project", {}).get("units", arguments.units)
    for name in OWN:
        tables.pop(name, None)
    if arguments.need:
        tables["exchanger"] = {**tables.get("exchanger", {}), "capacity": arguments.need}
    if arguments.books:
        tables["rules"] = {**tables.get("rules", {}), "books": arguments.books}
    if arguments.spacing:
        bores = _bore_table()
        tables[bores] = {**tables.get(bores, {}), "spacing": arguments.spacing}
    granted = tuple(name for name in arguments.assume if name != "nothing")
    return Asked(tables, unit, granted)


def _crew(arguments: argparse.Namespace) -> Crew:
    if arguments.cluster:
        from siteplan.screening.cluster import Cluster

        return Cluster(arguments.cluster)
    from siteplan.screening.crews import Children

    return Children(min(arguments.workers, 4 * (os.cpu_count() or 1)))


def _hand_on(handed: str, out: Path) -> None:
    """Write what siteplan new --screened needs."""
    try:
        out.with_suffix(".json").write_text(handed, encoding="utf-8")
    except OSError as error:
        raise ExportError(f"{out.with_suffix('.json')} cannot be written ({error}).") from error


def _screening(tell: Tell, done: int, whole: int) -> None:
    """Tell how far the screening is, and keep it in mind should the run be stopped."""
    goes_on(f"{done:,} of {whole:,} lots" if done else "")
    tell(SCREENING, done, whole)


@contextmanager
def _drawn(county: County, lots: int, arguments: argparse.Namespace, tell: Tell) -> Iterator[None]:
    """Draw the map where one is asked for; it gets its name once the rows are written too."""
    if not arguments.map:
        yield
        return
    from siteplan.export.county_map import draw_county

    path, handed = Path(arguments.map), Path(arguments.out).with_suffix(".json").name
    tell("drawing the map", 0, 0)
    temporary = path.with_name(f".{path.stem}.writing{path.suffix.lower()}")
    try:
        draw_county(
            lambda: ((rows.shapes, rows.columns) for rows in county.rows(lots)),
            county.task.sources.lots.crs, temporary, unit=arguments.units, handed=handed,
        )  # fmt: skip
        yield
        temporary.replace(path)
    except OSError as error:
        raise ExportError(f"{path} cannot be written ({error}).") from error
    finally:
        temporary.unlink(missing_ok=True)


def _told(county: County, lots: int, tell: Tell) -> Iterator[Rows]:
    """Rows of all lots, told of as they are written."""
    done = 0
    for rows in county.rows(lots):
        tell("writing", done, lots)
        yield rows
        # rows of one outline are one lot
        done = min(done + county.part, lots)


def _tell(terminal: Terminal, summary: Summary, sources: Sources) -> None:
    """Print what came of it."""
    lots = "lot" if summary.lots == 1 else "lots"
    terminal.say(
        f"{summary.lots:,} {lots} of {summary.units:,} rows of {Path(sources.lots.path).name}"
    )
    shares = [
        (what, loop, which, f"{number:,}", f"{100 * number / max(summary.lots, 1):.1f} %")
        for what, loop, which, number in summary.lines()
    ]
    terminal.show(columns(("", "loop type", "", "lots", "share"), shares))
    if summary.failed:
        terminal.say(f"{summary.failed:,} rows could not be screened: column why_not says why")
