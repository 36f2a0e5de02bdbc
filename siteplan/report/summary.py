"""The plan in figures, for programs: what ``summary.json`` and ``--json`` hold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from siteplan.advisories.bounds import Condition
from siteplan.advisories.duties import Asked
from siteplan.advisories.requirements import title_block_finding
from siteplan.alternatives.assumptions import Assumption, assumption_words, instead_words
from siteplan.alternatives.sensitivity import Change
from siteplan.alternatives.weighing import Cost, Weighing
from siteplan.checks.model import Separation
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Finding, Reason
from siteplan.findings.words import figure_words, words_of
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.model import Access, Header
from siteplan.layout.outfall import OUTFALL, Outfall
from siteplan.report.pipe_summary import (
    circuits_summary,
    crossings_summary,
    crossovers_summary,
    flow_summary,
    grout_summary,
    take_off_summary,
)
from siteplan.site.model import Site, System
from siteplan.units.lengths import FLOWS, Rounding, round_to
from siteplan.units.model import UnitSystem

DECIMALS = 4
"""Decimals of every metre in the summary: a tenth of a millimetre."""


def summarize(
    site: Site,
    system: System | None,
    trials: Sequence[Trial],
    *,
    drawn: Trial,
    weighing: Weighing,
) -> dict[str, Any]:
    """Summary of a plan, ready for JSON; documented in docs/summary.md.

    Lengths provided and distances measured are rounded down, lengths required up.
    """
    layout, required = drawn.layout, drawn.required
    return {
        "fits": drawn.fits,
        "system": system,
        "drawn": drawn.system,
        "why": words_of(drawn.why, site.unit),
        "length_required_m": _up(required.length_m if required else 0.0),
        "length_provided_m": _down(layout.length_m if layout else 0.0),
        "capacity_m": _down(layout.capacity_m if layout else 0.0),
        "spacing_m": _down(layout.spacing_m) if layout and layout.elements else None,
        "most_elements": layout.most if layout else None,
        "length_basis": required.basis if required else None,
        "length_lines": [
            _figure(figure, site.unit) for figure in (required.figures if required else ())
        ],
        "length_changes": [],
        "assumed": [],
        "flow_required_l_s": _up((required.flow_m3s if required else 0.0) / FLOWS["l/s"]),
        "elements": [_element(element) for element in (layout.elements if layout else ())],
        "header": _header(layout.header) if layout and layout.header else None,
        "crossovers": crossovers_summary(layout),
        "circuits": circuits_summary(layout),
        "flow": flow_summary(site, layout),
        "grout": grout_summary(site, layout),
        "take_off": take_off_summary(site, layout),
        "access": _access(layout.access, site) if layout and layout.access else None,
        "systems": {trial.system: _trial(trial, site) for trial in trials},
        "separations": [_separation(row) for row in drawn.separations],
        "costs": [_cost(cost) for cost in weighing.costs],
        "remedies": [
            {
                "system": remedy.system,
                "kind": remedy.kind,
                "words": words_of(remedy.change, site.unit),
            }
            for remedy in weighing.remedies
        ],
        "conditions": [],
        "findings": findings_summary(all_findings(site, trials, drawn), site.unit),
    }


def all_findings(site: Site, trials: Sequence[Trial], drawn: Trial) -> tuple[Finding, ...]:
    """Findings on the layout drawn, why other loop types could not be tried, the title block."""
    others = (trial for trial in trials if trial is not drawn and trial.layout is None)
    untried = (finding for trial in others for finding in trial.findings)
    return (*drawn.findings, *untried, *title_block_finding(site.project))


def changes_summary(changes: Sequence[Change]) -> list[dict[str, Any]]:
    """What a calculated length does when one figure moves, one row each [-]."""
    return [
        {
            "figure": change.figure,
            "tenth_less": _share(change.lower),
            "tenth_more": _share(change.higher),
        }
        for change in changes
    ]


def assumed_summary(assumed: Sequence[Assumption], unit: UnitSystem) -> list[dict[str, Any]]:
    """What a calculated length assumes, one row each; changes as shares of the length [-]."""
    return [
        {
            "key": each.path,
            "words": " ".join(assumption_words(each, unit)[:2]),
            "lower": None if each.lower is None else _share(each.lower),
            "higher": None if each.higher is None else _share(each.higher),
            "instead": _instead(each, unit),
        }
        for each in assumed
    ]


def _instead(assumption: Assumption, unit: UnitSystem) -> dict[str, Any] | None:
    """What else is common, and by how much the length grows or falls with it."""
    words = instead_words(assumption, unit)
    if assumption.instead is None or words is None:
        return None
    more = assumption.instead.more_m
    return {"words": " ".join(words[:2]), "more_m": None if more is None else _up(more)}


def _share(change: float | None) -> float | None:
    return None if change is None else _near(change)


def _figure(figure: Reason, unit: UnitSystem) -> dict[str, str]:
    what, value, source = figure_words(figure, unit)
    return {"what": what, "value": value, "source": source}


def _trial(trial: Trial, site: Site) -> dict[str, Any]:
    return {
        "fits": trial.fits,
        "length_required_m": _up(trial.required.length_m if trial.required else 0.0),
        "length_provided_m": _down(trial.layout.length_m if trial.layout else 0.0),
        "capacity_m": _down(trial.layout.capacity_m if trial.layout else 0.0),
        "header_m": _up(_header_length(trial)),
        "why": words_of(trial.why, site.unit),
    }


def _header_length(trial: Trial) -> float:
    header = trial.layout.header if trial.layout else None
    return header.length_m if header else 0.0


def _element(element: Element) -> dict[str, Any]:
    row: dict[str, Any] = {
        "id": element.id,
        "kind": element.kind,
        "x_m": _near(element.x_m),
        "y_m": _near(element.y_m),
    }
    if isinstance(element, Trench):
        row["line_m"] = [[_near(x), _near(y)] for x, y in element.line.coords]
        row |= {"width_m": _near(element.width_m), "pipes": element.pipes}
        row["trench"] = element.kind_name
        return row | {"depth_m": _near(element.depth_m), "length_m": _down(element.length_m)}
    row["diameter_m"] = _near(2 * element.reach_m)
    if isinstance(element, Coil):
        row |= {"pipe_m": _down(element.pipe_m), "pond": element.pond, "body": element.body}
        return row | ({"plate_m": _down(element.plate_m)} if element.plate_m else {})
    if isinstance(element, Bore):
        toe = {} if not element.tilt_deg else {"toe_m": [_near(value) for value in element.toe]}
        lean = {"tilt_deg": element.tilt_deg, "azimuth_deg": element.azimuth_deg} | toe
        return row | {"depth_m": _near(element.depth_m)} | lean
    row["depth_m"] = _near(element.depth_m)
    if isinstance(element, Outfall):
        return row | {"role": OUTFALL, "into": element.into}
    return row | ({"role": element.role} if isinstance(element, Well) else {})


def _pit(header: Header) -> dict[str, Any] | None:
    """The header pit, None where there is none."""
    if header.pit is None:
        return None
    return {
        "corners_m": [[_near(x), _near(y)] for x, y in header.pit.corners],
        "sides_m": [_near(side) for side in header.pit.sides_m],
    }


def _header(header: Header) -> dict[str, Any]:
    return {
        "entry": header.entry.id,
        "length_m": _up(header.length_m),
        "runs_m": [[[_near(x), _near(y)] for x, y in run.coords] for run in header.runs],
        "crossings": crossings_summary(header.crossings),
        "pit": _pit(header),
    }


def _access(access: Access, site: Site) -> dict[str, Any]:
    return {
        "width_m": _up(access.width_m),
        "length_m": _up(float(access.path.length)),
        "path_m": [[_near(x), _near(y)] for x, y in access.path.coords],
        "machine": access.machine,
        "lost_elements": access.lost,
        "lost_m": _down(access.lost_m),
        "because": words_of(access.because, site.unit) if access.because else "",
    }


def _separation(row: Separation) -> dict[str, Any]:
    return {
        "part": row.part,
        "element": row.element,
        "from": row.rule.subject,
        "feature": row.feature,
        "required_m": _up(row.rule.distance_m),
        "provided_m": _down(row.provided_m),
        "rule": f"{row.rule.book}/{row.rule.id}",
        "source": row.rule.source,
        "says": row.rule.says,
        "also": [f"{other.book}/{other.id}" for other in row.others],
        "meets": row.meets,
    }


def _cost(cost: Cost) -> dict[str, Any]:
    rule = cost.rule
    return {
        "from": rule.subject,
        "features": list(cost.features),
        "distance_m": _up(rule.distance_m),
        "rule": f"{rule.book}/{rule.id}",
        "source": rule.source,
        "gain_m": _down(cost.gain_m),
        "header_saved_m": _down(cost.header_m),
        "crossings_avoided": cost.crossings,
    }


def findings_summary(findings: Sequence[Finding], unit: UnitSystem) -> list[dict[str, Any]]:
    """Findings, one row each."""
    return [_finding(finding, unit) for finding in findings]


def conditions_summary(conditions: Sequence[Condition], unit: UnitSystem) -> list[dict[str, Any]]:
    """What rule books bind beside distances, one row each."""
    return [
        {
            "of": condition.bound.of,
            "rule": condition.rule,
            "asked": condition.bound.printed,
            "source": condition.bound.source,
            "here": words_of(condition.here, unit),
            "assumed": condition.assumed,
            "kept": condition.kept,
        }
        for condition in conditions
    ]


def duties_summary(asked: Sequence[Asked]) -> list[dict[str, Any]]:
    """What is to be done before, at and after the work, one row each, in that order."""
    return [
        {
            "stage": each.duty.stage,
            "of": each.duty.of,
            "what": each.duty.printed,
            "due": each.duty.due,
            "rule": f"{each.book.id}/{each.duty.id}",
            "source": each.duty.source,
            "status": each.duty.standing.status,
        }
        for each in asked
    ]


def _finding(finding: Finding, unit: UnitSystem) -> dict[str, Any]:
    return {
        "code": finding.code,
        "severity": finding.severity,
        "message": words_of(finding, unit),
        "subject": finding.subject,
        "measured_m": None if finding.measured_m is None else _down(finding.measured_m),
        "required_m": None if finding.required_m is None else _up(finding.required_m),
        "rule": finding.rule,
    }


def _near(value: float) -> float:
    return _rounded(value, "nearest")


def _down(value: float) -> float:
    return _rounded(value, "down")


def _up(value: float) -> float:
    return _rounded(value, "up")


def _rounded(value: float, rounding: Rounding) -> float:
    return round_to(value, DECIMALS, rounding) + 0.0
