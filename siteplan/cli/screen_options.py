"""What can be written behind ``siteplan screen``."""

from __future__ import annotations

import argparse

ASSUMED = ("house", "well", "septic")
LAYERS = ("buildings", "wells", "septic", "streets", "water")


def add_screen(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    screen = commands.add_parser(
        "screen",
        help="screen all lots of a parcel file: which can hold a loop, which cannot, which is open",
        description="Screens every lot of a parcel file for trenches and bores. 'fits' has a "
        "layout in straight rows behind it, 'does not fit' a proven bound; the rest is undecided, "
        "and planned by the full engines with --undecided plan. Writes a GeoPackage or GeoParquet, "
        "a CSV of the same rows, a summary, and what siteplan new --screened needs.",
        epilog="exit codes: 0 every lot was screened; 1 some rows could not be, each says why; "
        "2 wrong usage or input, nothing written; 130 stopped, the same command goes on.",
    )
    _add_files(screen)
    _add_wanted(screen)
    _add_run(screen)


def _add_files(screen: argparse.ArgumentParser) -> None:
    screen.add_argument("parcels", metavar="PARCELS", help="GeoPackage, Shapefile, GeoParquet ...")
    screen.add_argument("--layer", metavar="NAME", help="layer of the lots, where it has several")
    screen.add_argument("--crs", metavar="EPSG:N", help="coordinate system, where a file is silent")
    screen.add_argument("--number", metavar="COLUMN", help="column of the lots' numbers")
    for layer in LAYERS:
        screen.add_argument(f"--{layer}", metavar="FILE", help=f"file of {layer}")
    screen.add_argument(
        "--columns", metavar="NAME", nargs="+", default=[], help="columns of PARCELS to hand on"
    )


def _add_wanted(screen: argparse.ArgumentParser) -> None:
    size = screen.add_mutually_exclusive_group(required=True)
    size.add_argument("--need", metavar="CAPACITY", help='heat pump of every lot, "3 ton"')
    size.add_argument(
        "--loads",
        metavar="FILE",
        help="tables of a site file that all lots share: [loads], [ground], [vertical], [rig] ...",
    )
    screen.add_argument("--books", metavar="ID", nargs="+", default=[], help="rule books")
    screen.add_argument("--spacing", metavar="LENGTH", help='between bores, "20 ft"')
    screen.add_argument("--units", choices=("ft", "m"), default="ft", help="unit of bare numbers")
    screen.add_argument(
        "--assume",
        metavar="WHAT",
        nargs="+",
        choices=(*ASSUMED, "nothing"),
        default=list(ASSUMED),
        help="what is assumed where no file tells: house, well, septic, or nothing (default: all)",
    )


def _add_run(screen: argparse.ArgumentParser) -> None:
    screen.add_argument(
        "--out", metavar="FILE", required=True, help="GeoPackage or GeoParquet to write"
    )
    screen.add_argument("--map", metavar="FILE", help="map of the verdicts, to scale: PNG, or PDF")
    screen.add_argument(
        "--undecided", choices=("leave", "plan"), default="leave", help="what to do with those"
    )
    screen.add_argument(
        "--verdicts-only",
        action="store_true",
        help="leave out figures that decide nothing: some times as quick",
    )
    screen.add_argument(
        "--workers", metavar="N", type=int, default=1, help="processes (default: 1)"
    )
    screen.add_argument("--cluster", metavar="ADDRESS", help="a running Dask cluster: tcp://...")
    screen.add_argument("--force", action="store_true", help="replace files that are there")
    screen.add_argument("--quiet", action="store_true", help="print nothing but errors")
    screen.add_argument("--debug", action="store_true", help="show a traceback on an error")
