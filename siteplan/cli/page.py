"""``siteplan page SITE``: plan a lot and write it as one HTML file to mail."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from siteplan.cli.plan import default_folder
from siteplan.cli.report import Terminal, plan_report
from siteplan.cli.written import may_write
from siteplan.errors import ExportError
from siteplan.site.readers.site_file import read_site


def run_page(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan page``: that of the plan."""
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site)
    path = Path(arguments.out) if arguments.out else default_page(site.source)
    if path.is_dir():
        raise ExportError(f"{path}: is a folder. Name a file with --out.")
    if path.exists() and not arguments.force:
        raise ExportError(f"{path} is there already; add --force to replace it.")
    may_write(path)
    with terminal.progress("reading the lot") as progress:
        from siteplan.plan import plan_site

        plan = plan_site(site, system=arguments.system, progress=progress)
        plan.write_page(path, progress=progress)
    if arguments.json:
        from siteplan.export.tables import summary_json

        sys.stdout.write(summary_json(plan.summary()))
    terminal.show(plan_report(plan))
    terminal.say(f"Written to {path}")
    return 0 if plan.fits else 1


def default_page(source: Path) -> Path:
    """File of the page where none is named.

    Examples
    --------
    >>> default_page(Path("samples/acre/site.toml")).name
    'page-acre.html'
    """
    return Path(default_folder(source).name.replace("permit-", "page-", 1) + ".html")
