"""An audit in figures, for programs, in the words of the plan's own summary."""

from __future__ import annotations

from typing import Any, Final

from siteplan.alternatives.weighing import Weighing
from siteplan.audit.model import Audit
from siteplan.design.evaluate import Trial
from siteplan.findings.words import words_of
from siteplan.report.summary import summarize

SHARED: Final = (
    "length_required_m", "length_provided_m", "elements", "header", "crossovers", "separations",
    "findings",
)  # fmt: skip
"""Keys that mean what they mean in summary.json."""


def audit_summary(audit: Audit) -> dict[str, Any]:
    """Audit ready for JSON: verdict, elements where they lie, separations, findings."""
    layout = audit.layout
    trial = Trial(
        system=layout.system,
        required=audit.required,
        layout=layout,
        keep_outs=(),
        separations=audit.separations,
        findings=audit.findings,
        why=audit.why,
        fits=audit.passes,
    )
    whole = summarize(
        audit.site, layout.system, [trial], drawn=trial, weighing=Weighing(layout.system)
    )
    head = {
        "passes": audit.passes,
        "source": audit.source,
        "system": layout.system,
        "why": words_of(audit.why, audit.site.unit),
    }
    return head | {key: whole[key] for key in SHARED}
