"""``siteplan plan SITE``: fit, check and draw."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from siteplan.cli.report import Terminal, plan_report
from siteplan.cli.written import may_write
from siteplan.export.overwrite import permit_package
from siteplan.site.readers.site_file import SITE_FILE, read_site


def run_plan(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan plan``."""
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site)
    folder = Path(arguments.out) if arguments.out else default_folder(site.source)
    permit_package(folder).refuse_to_overwrite(force=arguments.force)
    may_write(folder)
    advice: list[str] = []
    with terminal.progress("reading the lot") as progress:
        from siteplan.plan import plan_site

        plan = plan_site(site, system=arguments.system, progress=progress)
        paths = plan.write(folder, force=arguments.force, progress=progress, advise=advice.append)
    if arguments.json:
        from siteplan.export.tables import summary_json

        sys.stdout.write(summary_json(plan.summary()))
    terminal.show(plan_report(plan))
    for line in advice:
        terminal.say(f"  note: {line}")
    terminal.say(f"Written to {folder}: {', '.join(path.name for path in paths)}")
    return 0 if plan.fits else 1


def default_folder(source: Path) -> Path:
    """Folder of the package where none is named: after the site file, or its folder.

    Examples
    --------
    >>> default_folder(Path("samples/acre/site.toml")).name, default_folder(Path("x/lot.toml")).name
    ('permit-acre', 'permit-lot')
    """
    name = source.resolve().parent.name if source.name == SITE_FILE else source.stem
    return Path(f"permit-{name}")
