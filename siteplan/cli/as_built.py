"""``siteplan audit as-built.csv SITE``: the record of what was built."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.cli.audit_report import show_audit
from siteplan.cli.plan import default_folder
from siteplan.cli.report import Terminal, columns
from siteplan.cli.written import may_write
from siteplan.site.readers.site_file import read_site

if TYPE_CHECKING:
    from siteplan.audit.as_built import AsBuilt
    from siteplan.site.model import Site


def run_as_built(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan audit`` for a list of measured places."""
    from siteplan.advisories.bounds import ties_asked
    from siteplan.audit.as_built import as_built
    from siteplan.audit.measured import read_measured
    from siteplan.audit.package import (
        as_built_record,
        as_built_summary,
        write_as_built,
    )
    from siteplan.audit.planned import planned_layout
    from siteplan.audit.settled import settled_by_layout
    from siteplan.export.tables import summary_json
    from siteplan.rules.ruleset import rules_of
    from siteplan.sheet.content.setting_out import record_ties, setting_out

    terminal, advice = Terminal(quiet=arguments.quiet or arguments.json), list[str]()
    site = read_site(arguments.site)
    name = default_folder(site.source).name.replace("permit-", "as-built-", 1)
    folder = Path(arguments.out) if arguments.out else Path(name)
    as_built_record(folder).refuse_to_overwrite(force=arguments.force)
    may_write(folder)
    with terminal.progress("reading the plan") as progress:
        plan = planned_layout(_drawn(arguments.plan), site, progress=progress)
        site = settled_by_layout(site, plan)
        asked = ties_asked(rules_of(site).books)
        ties, out = record_ties(site, plan, asked), setting_out(site, plan, asked)
        pegs = out.marks[len(out.ties) :]
        measured = read_measured(Path(arguments.file), site, (*ties, *pegs), out.lines)
        built = as_built(Path(arguments.file).name, site, plan, measured, ties)
        progress("drawing")
        paths = write_as_built(built, folder, force=arguments.force, advise=advice.append)
    if arguments.json:
        sys.stdout.write(summary_json(as_built_summary(built)))
    show_audit(terminal, built.audit)
    _show_deviations(terminal, built, site)
    for line in advice:
        terminal.say(f"  note: {line}")
    terminal.say(f"Written to {folder}: {', '.join(path.name for path in paths)}")
    return 0 if built.audit.passes else 1


def _show_deviations(terminal: Terminal, built: AsBuilt, site: Site) -> None:
    """How far each measured point lies from the plan, and from where the record tapes it."""
    from siteplan.audit.package import tie_words
    from siteplan.audit.sheet import deviation_row, deviation_titles

    rows = (deviation_row(deviation, site.unit) for deviation in built.deviations)
    terminal.show(columns(("point", *deviation_titles(site.unit)), rows))
    if built.ties:
        terminal.say(f"  as-built.csv is taped from {tie_words(built.ties, site)}")


def _drawn(plan: str | None) -> Path | None:
    """File of the plan that was built; None where none is named."""
    return Path(plan) if plan else None
