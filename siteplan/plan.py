"""The one place where the order of the work is written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.advisories.bounds import conditions_on, scale_bounds
from siteplan.advisories.duties import duties_on
from siteplan.alternatives.assumptions import Assumption, assumptions
from siteplan.alternatives.other_entry import entry_findings
from siteplan.alternatives.remedies import all_remedies, closest
from siteplan.alternatives.sensitivity import Change, sensitivity
from siteplan.alternatives.weighing import Weighing, weigh
from siteplan.alternatives.wider_spacing import spacing_findings
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.available.stage import Earlier
from siteplan.comparison.compare import Taken, compared
from siteplan.comparison.order import cheapest, less_work, order_findings
from siteplan.comparison.pieces import pieces_findings
from siteplan.demand.model import Required
from siteplan.design.choose import asked_for, first_dug, with_room
from siteplan.design.evaluate import Trial, try_system
from siteplan.design.trench_kind import kind_is_open, with_trench_kind
from siteplan.design.trench_of_kind import TrenchOfKind
from siteplan.design.undrawn import without_hopeless_field
from siteplan.errors import Fault, InputError
from siteplan.findings.model import Finding
from siteplan.reading import did_you_mean
from siteplan.report.comparison_summary import comparison_summary, kinds_summary
from siteplan.report.helps import help_lines
from siteplan.report.summary import (
    all_findings,
    assumed_summary,
    changes_summary,
    conditions_summary,
    duties_summary,
    findings_summary,
    summarize,
)
from siteplan.report.verdict import verdict_words
from siteplan.report.well_summary import wells_summary
from siteplan.sheet.content.content import PlanContent
from siteplan.site.model import Site, System
from siteplan.vocabulary.loop_types import loop_types

if TYPE_CHECKING:
    from siteplan.sheet.pages.allowed_scale import ScaleChoice


@dataclass(frozen=True, slots=True)
class SitePlan:
    """What the lot can hold, and the plan drawn for it.

    Parameters
    ----------
    site
        The lot, as read, with a kind of trench settled.
    trials
        Every loop type tried, in the order of preference.
    drawn
        The one on the sheet: the first that fits, else the one that comes closest.
    weighing
        What the rules cost and what would help; made where it was asked for or nothing fits.
    lot
        The lot, with what was worked out for it: a plan after something moved takes it over.
    changes
        What a calculated length does when one figure moves by a tenth.
    assumed
        Figures of that length that nobody stated.
    scale
        Paper and scales of the sheet, where a book speaks of its scale.
    kinds
        Kinds of trench compared, what takes least first, where the site file leaves the kind open.
    compared
        What each loop type that fits takes, side by side.
    asked
        Loop type that the plan is for; None: whichever fits.
    """

    site: Site
    trials: tuple[Trial, ...]
    drawn: Trial
    weighing: Weighing
    lot: PreparedLot = field(compare=False, repr=False)
    changes: tuple[Change, ...] = ()
    assumed: tuple[Assumption, ...] = ()
    scale: ScaleChoice | None = None
    kinds: tuple[TrenchOfKind, ...] = ()
    compared: tuple[Taken, ...] = ()
    asked: System | None = None

    @property
    def fits(self) -> bool:
        """Whether the lot can hold the exchanger drawn."""
        return self.drawn.fits

    @property
    def system(self) -> System | None:
        """Loop type that fits, or that was asked for; None where nothing fits."""
        known = self.fits or self.asked or len(self.trials) == 1
        return self.drawn.system if known else None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings: on the layout, on loop types not tried, on title block and scale."""
        return self.content().findings

    def write(
        self,
        folder: str | Path,
        *,
        force: bool = False,
        progress: Callable[[str], None] = lambda _: None,
        advise: Callable[[str], None] = lambda _: None,
    ) -> list[Path]:
        """Paths of the permit package, written whole or not at all.

        ``progress`` is called with each step, ``advise`` with what a larger paper would show.

        Raises
        ------
        ExportError
            A file is there already and ``force`` is not given, or cannot be written.
        """
        # drawing loads the slowest libraries, and comparing loop types draws nothing
        from siteplan.export.package import write_package  # noqa: PLC0415

        return write_package(
            self.content(),
            self.summary(),
            Path(folder),
            force=force,
            progress=progress,
            advise=advise,
        )

    def write_page(
        self, path: str | Path, *, progress: Callable[[str], None] = lambda _: None
    ) -> None:
        """Write the plan as one HTML file to mail; what is there is replaced.

        Raises
        ------
        ExportError
            The plan does not fit on its paper, or the file cannot be written.
        """
        from siteplan.export.page import write_page  # noqa: PLC0415

        helps = help_lines(self.weighing, self.drawn, self.site.unit, on_paper=True)
        write_page(self.content(), Path(path), helps=helps, progress=progress)

    def summary(self) -> dict[str, Any]:
        """The plan in figures, ready for JSON."""
        figures = summarize(
            self.site, self.system, self.trials, drawn=self.drawn, weighing=self.weighing
        )
        told, unit = self.content(), self.site.unit
        return figures | {
            "conditions": conditions_summary(told.conditions, unit),
            "before_and_after": duties_summary(duties_on(self.site, told.books, self.drawn.system)),
            "findings": findings_summary(told.findings, unit),
            "length_changes": changes_summary(self.changes),
            "wells": wells_summary(self.drawn.wells),
            "assumed": assumed_summary(self.assumed, self.site.unit),
            "comparison": comparison_summary(self.compared, self.site.unit),
            "trench_kinds": kinds_summary(self.kinds, self.site.exchanger.horizontal.kind),
        }

    def content(self) -> PlanContent:
        """What the sheet has to show."""
        drawn, books = self.drawn, self.lot.rules.books
        content = PlanContent(
            site=self.site,
            layout=drawn.layout,
            keep_outs=drawn.keep_outs,
            separations=drawn.separations,
            required=drawn.required or Required(0.0, "given", drawn.why),
            fits=drawn.fits,
            verdict=verdict_words(
                self.trials, drawn, self.site.unit, less=less_work(self.compared)
            ),
            findings=(
                *all_findings(self.site, self.trials, drawn),
                *order_findings(self.compared, cheapest=self.site.exchanger.cheapest),
                *pieces_findings(self.site.exchanger, self.trials, drawn, asked=self.asked),
            ),
            changes=self.changes,
            assumed=self.assumed,
            conditions=conditions_on(self.site, books, drawn.system, drawn.layout, drawn.wells),
            books=books,
            compared=self.compared,
            wells=drawn.wells,
        )
        return content if self.scale is None else self.scale.applied(content)


def plan_site(
    site: Site,
    *,
    system: System | None = None,
    everything: bool = False,
    costs: bool = False,
    earlier: Earlier | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> SitePlan:
    """Plan for a site: every loop type wanted is laid out, checked and compared.

    Parameters
    ----------
    site
        The lot, as read.
    system
        Loop type; None: the site's own choice, which may be to compare all.
    everything
        Compare all loop types even where one is asked for; the plan is for that one.
    costs
        Weigh the rules even where the exchanger fits: the engine runs again for each.
    earlier
        Areas or plan of this lot before something moved on it. The plan is the same as without,
        and what did not change is not worked out again.
    progress
        Called with the name of each step before it begins.

    Raises
    ------
    InputError
        No such loop type.
    RuleError
        A rule book that does not exist or has faults.
    CheckError
        The independent check refuses a layout: a bug of siteplan.

    Examples
    --------
    >>> from datetime import date
    >>> import siteplan
    >>> site = siteplan.site_from({
    ...     "project": {"title": "t", "owner": "o", "date": date(2026, 1, 31), "units": "m"},
    ...     "geometry": {"parcel": [[0, 0], [30, 0], [30, 40], [0, 40]]},
    ...     "exchanger": {"length": {"given": "300 m", "by": "a designer"}, "entry": [[15, 20]]},
    ... })
    >>> plan = siteplan.plan_site(site)
    >>> plan.fits, plan.system
    (True, 'vertical')
    >>> again = siteplan.plan_site(site, earlier=plan)
    >>> again.drawn.layout == plan.drawn.layout
    True
    """
    wanted = _known(system) or site.exchanger.system
    asked = _asked(None if everything else wanted, site)
    if kind_is_open(site, asked):
        progress("comparing kinds of trench")
    chosen = with_trench_kind(_lot(site, earlier), asked)
    lot, site = chosen.lot, chosen.lot.site
    trials = [chosen.told(_tried(lot, name, progress)) for name in asked]
    takings = compared(lot, trials)
    among = asked_for(site.exchanger, trials, wanted)
    held = with_room(among)
    first = _first(site, held, wanted, takings)
    remedies = () if first and first.fits else all_remedies(lot, held or among, progress)
    drawn = first or closest(site.exchanger, among, remedies)
    weighing = Weighing(drawn.system)
    if costs or not drawn.fits:
        weighing = weigh(lot, drawn, remedies, asked=costs, progress=progress)
    changes = sensitivity(lot, drawn)
    assumed = assumptions(lot, drawn)
    shown = without_hopeless_field(lot, drawn)
    trials = [shown if trial is drawn else trial for trial in trials]
    trials, drawn, site = _with_its_entry(lot, trials, shown)
    lot.memory.let_go()
    plan = SitePlan(
        site, tuple(trials), drawn, weighing, lot, changes, assumed,
        compared=tuple(replace(each, drawn=each.system == drawn.system) for each in takings),
        asked=wanted, kinds=chosen.compared,
    )  # fmt: skip
    open_ = scale_bounds(lot.rules.books) or site.sheet.auto_size
    return replace(plan, scale=_scale_of(plan)) if open_ else plan


def _first(
    site: Site, held: Sequence[Trial], wanted: System | None, takings: Sequence[Taken]
) -> Trial | None:
    """The trial to draw of those that the lot holds: of more the first or the cheapest."""
    if wanted is None and site.exchanger.cheapest:
        cheap = cheapest([each for each in takings if each.system in {one.system for one in held}])
        wanted = cheap.system if cheap is not None else None
    return first_dug(site.exchanger, [each for each in held if wanted in (None, each.system)])


def _with_its_entry(
    lot: PreparedLot, trials: list[Trial], drawn: Trial
) -> tuple[list[Trial], Trial, Site]:
    """What is said of the entry and spacing of the drawn loop type, and the site with that alone.

    Only where the wall is left open others are left out: entries that are stated are all drawn.
    """
    beside = (*entry_findings(lot, drawn), *spacing_findings(lot, drawn))
    told = replace(drawn, findings=(*drawn.findings, *beside))
    trials = [told if trial is drawn else trial for trial in trials]
    header = drawn.layout.header if drawn.layout is not None else None
    if not lot.site.any_wall or header is None:
        return trials, told, lot.site
    return trials, told, replace(lot.site, entries=(header.entry,))


def _scale_of(plan: SitePlan) -> ScaleChoice | None:
    """Paper and scale, where a book speaks of scale or the paper is to be chosen."""
    # the sheet is composed to see what it holds: comparing loop types else draws nothing
    from siteplan.sheet.pages.allowed_scale import choose_scale  # noqa: PLC0415

    return choose_scale(plan.content(), plan.lot.rules.books)


def _asked(wanted: System | None, site: Site) -> tuple[System, ...]:
    return (wanted,) if wanted else site.exchanger.order


def _tried(lot: PreparedLot, system: System, progress: Callable[[str], None]) -> Trial:
    progress(f"fitting {system}")
    return try_system(lot, system)


def lay_out(site: Site, system: System, *, earlier: Earlier | None = None) -> Trial:
    """One loop type laid out on a site and checked: its layout, the second opinion, and why.

    Parameters
    ----------
    site
        The lot, as read.
    system
        Loop type.
    earlier
        Areas or plan of this lot, now or before something moved on it: what did not change is
        not worked out again.

    Raises
    ------
    InputError
        No such loop type.
    RuleError
        A rule book that does not exist or has faults.
    CheckError
        The independent check refuses the layout: a bug of siteplan.

    Examples
    --------
    >>> from datetime import date
    >>> import siteplan
    >>> site = siteplan.site_from({
    ...     "project": {"title": "t", "owner": "o", "date": date(2026, 1, 31), "units": "m"},
    ...     "geometry": {"parcel": [[0, 0], [30, 0], [30, 40], [0, 40]]},
    ...     "exchanger": {"length": {"given": "300 m", "by": "a designer"}, "entry": [[15, 20]]},
    ... })
    >>> areas = siteplan.available_areas(site)
    >>> trial = siteplan.lay_out(site, "vertical", earlier=areas)
    >>> trial.fits, trial.layout.length_m >= 300.0
    (True, True)
    """
    _known(system)
    chosen = with_trench_kind(_lot(site, earlier), (system,))
    return chosen.told(try_system(chosen.lot, system))


def _lot(site: Site, earlier: Earlier | None) -> PreparedLot:
    """The lot, which takes over what an earlier stage knows."""
    return lot_of(site, earlier=None if earlier is None else earlier.lot.memory)


def _known(system: System | None) -> System | None:
    """The loop type, if there is such a one."""
    if system is not None and system not in loop_types():
        known = did_you_mean(system, tuple(loop_types()))
        fault = Fault("system", f"{system!r} is not a loop type;", known)
        raise InputError([fault])
    return system
