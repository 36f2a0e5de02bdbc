"""What can be written behind ``siteplan``: the commands, their options, and what help says."""

from __future__ import annotations

import argparse

from siteplan import __version__
from siteplan.cli.screen_options import add_screen
from siteplan.units.lengths import DRAWING_UNITS
from siteplan.vocabulary.loop_types import loop_types

EPILOG = """\
exit codes: 0 it fits and every check passes; 1 planned, but nothing fits or a check fails;
2 wrong usage or input, nothing written; 3 the report cannot be printed; 130 stopped.
"""


def parser() -> argparse.ArgumentParser:
    """Parser of the whole command line."""
    whole = argparse.ArgumentParser(
        prog="siteplan",
        description="Fits a ground heat exchanger to a lot, checks every separation, and draws "
        "the permit package.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    whole.add_argument("--version", action="version", version=f"siteplan {__version__}")
    commands = whole.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_new(commands)
    _add_inspect(commands)
    _add_plan(commands)
    _add_page(commands)
    _add_edit(commands)
    _add_fit(commands)
    add_screen(commands)
    _add_length(commands)
    _add_rules(commands)
    _add_why(commands)
    _add_audit(commands)
    _add_schema(commands)
    _add_sample(commands)
    return whole


def _add_new(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    new = commands.add_parser(
        "new",
        help="make a site folder: from a county's parcel file, a survey, or a starter to fill in",
        description="Takes one lot out of a parcel file, with the buildings on it and near it, and "
        "writes a commented site.toml with lot.geojson beside it; of a surveyor's DXF, with the "
        "drawing beside it. Without a file writes a starter.",
        epilog="exit codes: 0 written; 2 wrong usage or input, nothing written.",
    )
    new.add_argument("folder", metavar="FOLDER", help="folder to write")
    new.add_argument(
        "--parcel", metavar="FILE", help="GeoPackage, Shapefile, GeoJSON, KML ..., survey DXF"
    )
    new.add_argument("--layer", metavar="NAME", help="its layer, where it has several")
    new.add_argument("--where", metavar="'COLUMN = VALUE'", help="the lot, by what a column says")
    new.add_argument(
        "--at", metavar="X,Y", help="the lot, by a point: longitude,latitude or easting,northing"
    )
    new.add_argument("--crs", metavar="EPSG:N", help="coordinate system, where the file is silent")
    _add_file_unit(new)
    new.add_argument("--buildings", metavar="FILE", help="file of building outlines")
    new.add_argument(
        "--screened",
        metavar="FILE",
        help="the .json that siteplan screen left: the lot as it was screened, with --where",
    )
    new.add_argument(
        "--units", choices=("ft", "m"), default="ft", help="unit of site file and sheet"
    )
    new.add_argument(
        "--books", metavar="ID", nargs="+", default=[], help="rule books: siteplan rules lists them"
    )
    new.add_argument("--quiet", action="store_true", help="print nothing but errors")
    new.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_file_unit(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--file-unit",
        choices=tuple(DRAWING_UNITS),
        help="what a DXF is drawn in, where it does not say or says wrong",
    )


def _add_inspect(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    inspect = commands.add_parser(
        "inspect",
        help="tell what a geometry file or a site file holds",
        description="Tells layers, columns, coordinate system, extents and faults of a geometry "
        "file, with lines ready to paste into a site file; of a site file tells what is drawn.",
        epilog="exit codes: 0 nothing is wrong; 1 shapes have faults; 2 wrong usage or input.",
    )
    inspect.add_argument("file", metavar="FILE", help="geometry file, or site file")
    _add_file_unit(inspect)
    inspect.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_plan(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    plan = commands.add_parser(
        "plan",
        help="fit, check and draw: writes the permit package",
        description="Fits the exchanger to the lot, checks it, and writes plan.dxf, plan.png, "
        "plan.pdf, elements.csv, takeoff.csv, summary.json and, where the lot has a coordinate "
        "system, elements.geojson and stakes.gpx.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    _add_common(plan)
    _add_system(plan)
    plan.add_argument("--out", metavar="DIR", help="folder for the package (default: permit-NAME)")
    plan.add_argument("--force", action="store_true", help="replace a package that is there")


def _add_page(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    page = commands.add_parser(
        "page",
        help="write the plan as one HTML file to mail: sheets, layers, a tape, tables",
        description="Plans as `plan` does and writes one file that any browser opens without a "
        "network: every sheet to zoom into, layers to switch off, distances to measure, and the "
        "tables. It is a picture to talk over; staked is from the permit package.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    _add_common(page)
    _add_system(page)
    page.add_argument("--out", metavar="FILE", help="file to write (default: page-NAME.html)")
    page.add_argument("--force", action="store_true", help="replace the file that is there")


def _add_edit(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    edit = commands.add_parser(
        "edit",
        help="draw a lot, drag it and decide, on a page in the browser",
        description="Starts a server on this machine alone and opens its page: the lot as the "
        "sheet shows it, to draw on, to measure in and to plan. What is drawn is the site file, "
        "saved at every change; what is planned is what `plan` gives.",
        epilog="exit codes: 0 stopped; 2 wrong usage or input.",
    )
    edit.add_argument(
        "site", metavar="SITE", help="site file, or its folder; made if it is missing"
    )
    edit.add_argument(
        "--units", choices=("ft", "m"), default="ft", help="unit of a site file that is made"
    )
    edit.add_argument("--port", type=int, default=0, help="port (default: any free one)")
    edit.add_argument(
        "--no-browser", action="store_true", help="open no browser, only print the address"
    )
    edit.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_fit(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    fit = commands.add_parser(
        "fit",
        help="compare all loop types on this lot; draws nothing",
        description="Lays out every loop type on the lot and compares them. Verdict and exit code "
        "are for the loop type that the site file asks for, where it asks for one.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    _add_common(fit)
    fit.add_argument(
        "--costs",
        action="store_true",
        help="tell what each rule costs on this lot too (takes a while)",
    )


def _add_length(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    length = commands.add_parser(
        "length",
        help="tell how much exchanger the loads require, line by line",
        description="Tells the length required, its basis, the reasoning, and how far it moves "
        "when conductivity, load or spacing is off by a tenth.",
        epilog="exit codes: 0 a length is stated; 1 none can be; 2 wrong usage or input.",
    )
    _add_common(length)
    _add_system(length)
    length.add_argument(
        "--plot",
        metavar="FILE",
        help="write length against spacing, or a supply well over the years, as a PNG",
    )
    length.add_argument("--force", action="store_true", help="replace the picture that is there")


def _add_system(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--system",
        choices=tuple(loop_types()),
        help="loop type; without it the site file decides, or all are compared",
    )


def _add_rules(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    rules = commands.add_parser(
        "rules",
        help="list the rule books, show one, compare two, check your own",
        description="Without a name lists the rule books, with one shows it, with two compares. "
        "'check FILE' tells every fault of a book of your own, with the line of "
        "docs/rule-books.md that helps.",
    )
    rules.add_argument(
        "books", metavar="BOOK", nargs="*", help="id or file of a rule book, or: check FILE"
    )
    rules.add_argument(
        "--for",
        dest="place",
        metavar="PLACE",
        help="tell what was found for a state or country, and which books to combine",
    )
    rules.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_why(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    why = commands.add_parser(
        "why",
        help="tell which rules keep a part off one point of the lot",
        description="Tells for a point of the lot whether a bore, trench, coil, well or header may "
        "lie there, and if not, which rule keeps it off.",
        epilog="exit codes: 0 it may; 1 it may not; 2 wrong usage or input.",
    )
    why.add_argument("site", metavar="SITE", help="site file, or a folder with a site.toml")
    why.add_argument("x", metavar="X", type=float, help="local easting, in the display unit")
    why.add_argument("y", metavar="Y", type=float, help="local northing, in the display unit")
    why.add_argument("--part", metavar="PART", help="bore, trench, coil, supply well ...")
    why.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_audit(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    audit = commands.add_parser(
        "audit",
        help="check a drawing that was changed, or the places as built",
        description="Reads a plan.dxf and checks what is drawn against the site file; or reads a "
        "list of measured places (CSV), checks them, and draws the plan as built.",
        epilog="exit codes: 0 every rule and every comparison holds; 1 one does not; "
        "2 wrong usage or input, nothing written.",
    )
    audit.add_argument("file", metavar="FILE", help="plan.dxf, or as-built.csv")
    audit.add_argument("site", metavar="SITE", help="site file, or a folder with a site.toml")
    audit.add_argument(
        "--plan", metavar="FILE", help="as built: plan.dxf or summary.json (default: plan anew)"
    )
    audit.add_argument(
        "--out", metavar="DIR", help="as built: folder for its files (default: as-built-NAME)"
    )
    audit.add_argument("--force", action="store_true", help="replace files that are there")
    audit.add_argument("--json", action="store_true", help="print the audit as JSON")
    audit.add_argument("--quiet", action="store_true", help="print nothing but errors")
    audit.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_schema(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    schema = commands.add_parser(
        "schema",
        help="print the JSON Schema of the site file, for editors that complete and check",
        description="Prints the JSON Schema (draft 2020-12) of the site file: keys, values, "
        "defaults and what each is for.",
        epilog="exit codes: 0 done; 2 wrong usage or input.",
    )
    schema.add_argument(
        "--tables",
        metavar="PAGE",
        help="instead: bring the tables of options in a Markdown page up to date",
    )
    schema.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_sample(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    sample = commands.add_parser(
        "sample",
        help="list the invented lots that come with siteplan, or copy one to start from",
        description="Without a name lists the samples; with one copies its folder.",
        epilog="exit codes: 0 done; 2 wrong usage or input, nothing written.",
    )
    sample.add_argument("name", metavar="NAME", nargs="?", help="name of a sample")
    sample.add_argument(
        "folder", metavar="FOLDER", nargs="?", help="folder to write (default: NAME)"
    )
    sample.add_argument("--quiet", action="store_true", help="print nothing but errors")
    sample.add_argument("--debug", action="store_true", help="show a traceback on an error")


def _add_common(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("site", metavar="SITE", help="site file, or a folder with a site.toml")
    parser.add_argument("--json", action="store_true", help="print the summary as JSON")
    parser.add_argument("--quiet", action="store_true", help="print nothing but errors")
    parser.add_argument("--debug", action="store_true", help="show a traceback on an error")
