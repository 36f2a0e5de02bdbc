"""``siteplan new FOLDER``: a ready site folder from a county's file, or a starter."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from siteplan.cli.report import Terminal
from siteplan.cli.written import may_write
from siteplan.errors import Fault, InputError
from siteplan.rule_books.coverage import hint_of_book
from siteplan.rule_books.loader import book_ids

if TYPE_CHECKING:
    from siteplan.intake.folder import NewFolder
    from siteplan.intake.pick import LotAsked
    from siteplan.intake.site_text import Stated

DXF: Final = ".dxf"


def _refuse_unknown(books: Sequence[str]) -> None:
    """Refuse books that there are not."""
    unknown = [book for book in books if book not in book_ids()]
    what = "{!r} is not a book;"
    faults = [Fault("--books", what.format(book), hint_of_book(book)) for book in unknown]
    if faults:
        raise InputError(faults)


def run_new(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan new``."""
    from siteplan.intake.folder import folder_of_lot, refuse_a_site, starter, write_folder
    from siteplan.intake.pick import LotAsked
    from siteplan.intake.site_text import Stated
    from siteplan.intake.sketch import folder_of_sketch, sketch_of

    terminal, folder = Terminal(quiet=arguments.quiet), Path(arguments.folder)
    refuse_a_site(folder)
    may_write(folder)
    _refuse_unknown(arguments.books)
    # the title block needs a date, and a folder made today is of today
    stated = Stated(arguments.units, tuple(arguments.books), datetime.date.today())
    if arguments.screened is not None:
        new = _of_screening(arguments, stated.day)
    elif arguments.parcel is None:
        _refuse_without_parcel(arguments)
        new = starter(stated)
    else:
        asked = LotAsked(
            Path(arguments.parcel), arguments.layer, arguments.where, _pair(arguments.at),
            arguments.crs, arguments.file_unit,
        )  # fmt: skip
        buildings = Path(arguments.buildings) if arguments.buildings else None
        if asked.path.suffix.lower() == DXF:
            new = _of_survey(asked, buildings, stated, folder)
        else:
            _refuse_unit(arguments)
            sketch = sketch_of(asked) if buildings is None else None
            new = (
                folder_of_lot(asked, buildings, stated)
                if sketch is None
                else folder_of_sketch(sketch, stated, folder)
            )
    write_folder(folder, new)
    for line in new.understood:
        terminal.say(f"  {line}")
    terminal.say(f"Written to {folder}: {', '.join(sorted((*new.files, *new.copies)))}")
    terminal.say(f"Next: fill in site.toml, then siteplan fit {folder}")
    return 0


def _of_screening(arguments: argparse.Namespace, day: datetime.date) -> NewFolder:
    """Folder of a lot as it was screened, with all that was assumed on it."""
    from siteplan.screening.folder import folder_as_screened

    given = [name for name in ("parcel", "layer", "at", "buildings", "crs", "file_unit", "books")
             if getattr(arguments, name)]  # fmt: skip
    faults = [
        Fault(f"--{name.replace('_', '-')}", "goes without --screened.", "The screening says it.")
        for name in given
    ]
    if not arguments.where:
        mend = "Add --where with what stands in the column where of the screening."
        faults.append(Fault("--where", "is missing.", mend))
    if faults:
        raise InputError(faults)
    return folder_as_screened(Path(arguments.screened), arguments.where, day)


def _of_survey(asked: LotAsked, buildings: Path | None, stated: Stated, folder: Path) -> NewFolder:
    """Folder of a drawing, to which buildings come by its layers."""
    from siteplan.intake.survey import folder_of_survey

    if buildings is not None:
        mend = "Name their layer in the site file: [[geometry.layer]]."
        raise InputError([Fault("--buildings", "goes with a parcel file, not a drawing.", mend)])
    return folder_of_survey(asked, stated, folder)


def _refuse_unit(arguments: argparse.Namespace) -> None:
    """Note a unit of a file that has a coordinate system."""
    if arguments.file_unit:
        mend = "Say --crs where the file is silent."
        raise InputError([Fault("--file-unit", "is of a drawing (DXF) alone.", mend)])


def _refuse_without_parcel(arguments: argparse.Namespace) -> None:
    """Note what only makes sense of a file."""
    given = [name for name in ("layer", "where", "at", "buildings", "crs", "file_unit")
             if getattr(arguments, name)]  # fmt: skip
    if given:
        names = ", ".join(f"--{name.replace('_', '-')}" for name in given)
        raise InputError([Fault(names, "is given without a file.", "Add --parcel FILE.")])


def _pair(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        mend = "Write --at LON,LAT or --at X,Y: two numbers with a comma between."
        raise InputError([Fault("--at", f"{text!r} is no point.", mend)]) from None
    return x, y
