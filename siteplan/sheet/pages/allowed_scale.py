"""A scale that the rule books allow, and paper that it fits on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from siteplan.advisories.bounds import (
    Condition,
    allows_scale,
    bound_finding,
    scale_bounds,
)
from siteplan.findings.model import Finding, Reason, reason
from siteplan.rule_books.model import Book, Bound
from siteplan.sheet.content.content import DETAILS, PLAN, TABLES, PlanContent
from siteplan.sheet.kept import composing
from siteplan.sheet.pages.compose import arranged
from siteplan.sheet.style.paper import by_size, paper, papers_from, scale_label, scale_ratios
from siteplan.site.sheet_options import SheetOptions
from siteplan.units.model import UnitSystem


@dataclass(frozen=True, slots=True)
class ScaleChoice:
    """Paper and scales for a plan whose books speak of its scale.

    Parameters
    ----------
    sheet
        Options of the sheet, with the paper taken and the scales among which is chosen.
    conditions
        What the books ask of the scale, and what it is.
    findings
        What is to be said where it is not allowed.
    """

    sheet: SheetOptions
    conditions: tuple[Condition, ...]
    findings: tuple[Finding, ...] = ()

    def applied(self, content: PlanContent) -> PlanContent:
        """What the sheet has to show, on this paper and with these conditions."""
        return replace(
            content,
            site=replace(content.site, sheet=self.sheet),
            conditions=(*content.conditions, *self.conditions),
            findings=(*content.findings, *self.findings),
        )


@composing()
def choose_scale(content: PlanContent, books: Sequence[Book]) -> ScaleChoice | None:
    """Paper and scales that the books allow; None where nothing is to be chosen.

    Where no scale that is allowed holds the lot, larger paper is taken if nobody asked for a
    size; if that does not help either, the sheet is drawn as if the books did not speak of scale,
    and a finding says so.
    """
    bounds, unit = scale_bounds(books), content.site.unit
    options = content.site.sheet
    if not bounds and not options.auto_size:
        return None
    scales = allowed_ratios([bound for bound, _ in bounds], unit) if bounds else ()
    if options.auto_size:
        options = _largest(content, options, bounds, scales)
        content = replace(content, site=replace(content.site, sheet=options))
    if not bounds:
        return ScaleChoice(options, ())
    if options.scale is not None:
        return _judged(options, bounds, options.scale, unit, mend=reason("leave-scale-open"))
    sizes = papers_from(options.size) if options.open_size else (options.size,)
    for size in sizes if scales else ():
        sheet = replace(options, size=size, scales=scales)
        # composed with the row that the scale will have among the conditions
        ratio = _ratio(_judged(sheet, bounds, scales[-1], unit).applied(content))
        if ratio is not None:
            return _judged(sheet, bounds, ratio, unit)
    ratio = _ratio(content)
    if ratio is None:
        return None  # composing says that the lot has no room at all
    return _judged(options, bounds, ratio, unit, mend=reason("larger-paper", paper=sizes[-1]))


def _largest(
    content: PlanContent, options: SheetOptions, bounds: Sequence[tuple[Bound, Book]],
    scales: tuple[int, ...],
) -> SheetOptions:  # fmt: skip
    """The options with the paper on which the plan is the largest, the smallest of such papers.

    At a scale that the books allow, where there is paper for one.
    """
    unit = content.site.unit
    sizes = by_size(options.sizes or unit.drawing.papers)
    for among in dict.fromkeys((scales, ())):
        best: tuple[float, str] | None = None
        for size in sizes:
            sheet = replace(options, size=size, scales=among, auto_size=False)
            judged = _judged(sheet, bounds, among[-1] if among else 1, unit)
            ratio = _ratio(judged.applied(content))
            if ratio is not None and (best is None or ratio < best[0]):
                best = ratio, size
        if best is not None:
            return replace(options, size=best[1], auto_size=False)
    # composing says that the lot has no room on the largest
    return replace(options, size=sizes[-1], auto_size=False)


def _ratio(content: PlanContent) -> float | None:
    """Ratio of the scale at which the plan is composed; None where it has no room."""
    if content.site.sheet.sheets != "one":
        # a set of sheets never shows the plan smaller
        content = replace(content, titles=(PLAN, DETAILS, TABLES))
    arrangement = arranged(content, paper(content.site.sheet.size).shrunk())
    return None if arrangement is None else arrangement.view.ratio / arrangement.enlargement


def allowed_ratios(bounds: Sequence[Bound], unit: UnitSystem) -> tuple[int, ...]:
    """Ratios that all bounds allow, largest scale first: usual ones of the unit where there are.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> county = Bound("s", "scale", (), "", "", scales=(120, 240, 360))
    >>> allowed_ratios([county], US), allowed_ratios([county], METRIC)
    ((120, 240, 360), (120, 240, 360))
    """
    printed = [ratio for bound in bounds for ratio in bound.scales]
    ends = [
        round(end)
        for bound in bounds
        if bound.ratios is not None
        for end in (bound.ratios.low, bound.ratios.high)
        if 0 < end < float("inf")
    ]
    for ratios in (scale_ratios(unit), (*printed, *ends)):
        allowed = [r for r in ratios if all(allows_scale(bound, r) for bound in bounds)]
        if allowed:
            return tuple(sorted(set(allowed)))
    return ()


def _judged(
    sheet: SheetOptions, bounds: Sequence[tuple[Bound, Book]], ratio: float, unit: UnitSystem, *,
    mend: Reason | None = None,
) -> ScaleChoice:  # fmt: skip
    """The choice of a scale, with findings where it is not allowed."""
    conditions = tuple(
        Condition(bound, book, _here(bound, ratio, unit), kept=allows_scale(bound, ratio))
        for bound, book in bounds
    )
    broken = (condition for condition in conditions if not condition.kept)
    return ScaleChoice(
        sheet, conditions, tuple(bound_finding(condition, mend=mend) for condition in broken)
    )


def _here(bound: Bound, ratio: float, unit: UnitSystem) -> Reason:
    """The scale as a book speaks of it: as a ratio, or as the sheet states it."""
    if bound.ratios is not None:
        return reason("scale-as-ratio", ratio=float(ratio))
    return reason("scale-here", label=scale_label(ratio, unit))
