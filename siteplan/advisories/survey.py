"""What was mended, joined or left out of the drawing from which the lot was read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from siteplan.findings.model import Finding
from siteplan.site.model import Site


def survey_remarks(site: Site) -> Iterator[Finding]:
    """That the drawing was damaged, its outline gaped, or not all of it was read."""
    survey = site.survey
    if survey is None:
        return
    drawing = Path(survey.file).name
    if survey.damaged:
        yield Finding("survey-damaged", values={"drawing": drawing})
    if survey.gap_m > 0:
        yield Finding("survey-gaps", values={"drawing": drawing, "gap_m": survey.gap_m})
    if survey.left_out:
        yield Finding("survey-left-out", values={"drawing": drawing, "count": survey.left_out})
    for name in survey.missing:
        yield Finding("survey-refers", values={"drawing": drawing, "other": name})
