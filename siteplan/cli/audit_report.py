"""What ``siteplan audit`` prints: verdict, table of separations, findings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from siteplan.cli.report import Terminal, columns
from siteplan.rule_books.model import AT_MOST

if TYPE_CHECKING:
    from siteplan.audit.model import Audit
    from siteplan.checks.model import Separation


def show_audit(terminal: Terminal, audit: Audit) -> None:
    """Print the verdict, the table of separations, and the findings."""
    from siteplan.findings.words import words_of
    from siteplan.layout.outfall import called
    from siteplan.units.lengths import format_length, rough

    terminal.say(f"{audit.site.project.title}: audit of {audit.source}")
    terminal.say(
        f"{'PASSES' if audit.passes else 'DOES NOT PASS'}: {words_of(audit.why, audit.site.unit)}"
    )
    layout, unit = audit.layout, audit.site.unit
    if layout.elements and not layout.loop.flow:
        line = f"  {len(layout.elements)} {called(layout.elements[0])} elements, "
        line += format_length(layout.length_m, unit, rough(unit), rounding="down") + " in all"
        if audit.required is not None:
            needed = format_length(audit.required.length_m, unit, rough(unit), rounding="up")
            line += f"; {needed} required"
        terminal.say(line)
    titles = ("from - to", "required", "provided", "rule", "kept")
    terminal.show(columns(titles, (_row(separation, audit) for separation in audit.separations)))
    for finding in audit.findings:
        terminal.say(f"  {finding.severity}: {words_of(finding, unit)}")


def _row(separation: Separation, audit: Audit) -> tuple[str, ...]:
    from siteplan.sheet.tables.separations import separation_name
    from siteplan.units.lengths import format_pair

    required, provided = format_pair(
        separation.rule.distance_m, separation.provided_m, audit.site.unit, 2
    )
    says = "at most " if separation.rule.says in AT_MOST else ""
    rule = f"{separation.rule.book}: {separation.rule.source}"
    name = separation_name(separation, audit.site)
    return name, f"{says}{required}", provided, rule, "yes" if separation.meets else "NO"
