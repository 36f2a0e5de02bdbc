"""``siteplan fit SITE``: compare all loop types, draw nothing."""

from __future__ import annotations

import argparse
import dataclasses
import sys

from siteplan.cli.report import Terminal, plan_report
from siteplan.site.readers.site_file import read_site


def run_fit(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan fit``."""
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site)
    everything = dataclasses.replace(site.exchanger, system=None)
    with terminal.progress("reading the lot") as progress:
        from siteplan.plan import plan_site

        plan = plan_site(
            dataclasses.replace(site, exchanger=everything), costs=True, progress=progress
        )
    if arguments.json:
        from siteplan.export.tables import summary_json

        sys.stdout.write(summary_json(plan.summary()))
    terminal.show(plan_report(plan))
    return 0 if plan.fits else 1
