"""``siteplan fit SITE``: compare all loop types, draw nothing."""

from __future__ import annotations

import argparse
import sys

from siteplan.cli.report import Terminal, plan_report
from siteplan.site.readers.site_file import read_site


def run_fit(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan fit``."""
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site, quick=True)
    with terminal.progress("reading the lot") as progress:
        from siteplan.plan import plan_site

        plan = plan_site(site, everything=True, costs=arguments.costs, progress=progress)
    if arguments.json:
        from siteplan.export.tables import summary_json

        sys.stdout.write(summary_json(plan.summary()))
    terminal.show(plan_report(plan, drawing=False))
    return 0 if plan.fits else 1
