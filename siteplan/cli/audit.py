"""``siteplan audit FILE SITE``: check a drawing, or a list of places as built."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from siteplan.cli.audit_report import show_audit
from siteplan.cli.report import Terminal
from siteplan.site.readers.site_file import read_site


def run_audit(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan audit``."""
    if _is_list_or_drawing(arguments.site) and not _is_list_or_drawing(arguments.file):
        # which of the two is which is plain, in whatever order they are named
        arguments.file, arguments.site = arguments.site, arguments.file
    if Path(arguments.file).suffix.lower() == ".csv":
        from siteplan.cli.as_built import run_as_built

        return run_as_built(arguments)
    from siteplan.audit.audit import audit_drawing
    from siteplan.audit.redrawn import drawn_anew
    from siteplan.audit.summary import audit_summary
    from siteplan.errors import Fault, InputError
    from siteplan.export.tables import summary_json
    from siteplan.plan import plan_site

    unused = [f"--{name}" for name in ("plan", "out") if getattr(arguments, name) is not None]
    if unused:
        fault = Fault(unused[0], "is only for a list of places as built (CSV).", "Leave it out.")
        raise InputError([fault])
    terminal = Terminal(quiet=arguments.quiet or arguments.json)
    site = read_site(arguments.site)
    # planned anew: nothing that a drawing says is believed
    with terminal.progress("reading the drawing") as progress:
        audit = audit_drawing(
            arguments.file, site, lambda: drawn_anew(plan_site(site, progress=progress))
        )
    if arguments.json:
        sys.stdout.write(summary_json(audit_summary(audit)))
    show_audit(terminal, audit)
    return 0 if audit.passes else 1


def _is_list_or_drawing(name: str) -> bool:
    return Path(name).suffix.lower() in {".csv", ".dxf"}
