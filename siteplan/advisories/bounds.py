"""What rule books bind beside distances, and whether the plan keeps it.

What nobody stated is judged as it is assumed, and shown as assumed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely import Polygon

from siteplan.advisories.bound_codes import BRIEFLY, BROKEN, UNSURE
from siteplan.advisories.depth import uppermost_depth
from siteplan.advisories.pipes import other_fluids
from siteplan.advisories.returned import takes_back
from siteplan.advisories.warmth import fluid_temperatures, heat_at_the_line
from siteplan.demand.wells import WellStudy
from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.fluids import antifreeze_of, antifreeze_share
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.header.section import header_depth, highest_pipe
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Book, Bound
from siteplan.rules.conditions import plant_of
from siteplan.site.model import Site, System
from siteplan.vocabulary.loop_types import LoopType, loop_type

PIPE: Final = "HDPE"
"""What all pipe is made of."""
AS_ASKED: Final = "test-as-asked"
"""Code of the pressure of a test that the specification takes from what is asked."""
USUAL_RATIO: Final = 11.0
"""Dimension ratio of all pipe but a U-bend of which another is stated: ASTM D3035."""


@dataclass(frozen=True, slots=True)
class Condition:
    """What a book binds, beside what the plan has.

    Parameters
    ----------
    bound
        What the book says.
    book
        The book.
    here
        What the plan has.
    assumed
        Whether nobody stated it.
    kept
        Whether the book is satisfied; None: its authority has to say.
    part
        ``"trench"`` or ``"header"`` of a cover; else empty.
    measured_m
        The cover [m].
    depth_m
        Of the trench with that cover [m].
    """

    bound: Bound
    book: Book
    here: Reason
    assumed: bool = False
    kept: bool | None = True
    part: str = ""
    measured_m: float | None = None
    depth_m: float = 0.0

    @property
    def rule(self) -> str:
        """Book and bound, as findings name rules."""
        return f"{self.book.id}/{self.bound.id}"


@dataclass(frozen=True, slots=True)
class _Asked:
    """One bound, asked of a site."""

    bound: Bound
    book: Book
    site: Site
    loop: LoopType
    layout: Layout | None
    study: WellStudy | None

    def unsaid(self, path: str) -> bool:
        """Whether nobody stated a key of the site file."""
        return path in self.site.exchanger.unsaid

    def admits(self, name: str) -> bool | None:
        """Whether the bound admits a fluid, grout or material; None: the authority has to say."""
        named = name in self.bound.names
        if not self.bound.names:
            return True
        if self.bound.says == "none of":
            return not named
        return named or (None if self.bound.says == "approval unless" else False)

    def answer(
        self, here: Reason, kept: bool | None = True, *, assumed: bool = False
    ) -> Condition:  # fmt: skip
        """The condition with what the plan has."""
        return Condition(self.bound, self.book, here, assumed, kept)


def conditions_on(
    site: Site,
    books: Sequence[Book],
    system: System,
    layout: Layout | None,
    study: WellStudy | None = None,
) -> tuple[Condition, ...]:
    """Every bound of the books that a loop type meets, but for the scale: that is the sheet's.

    The study is of the layout's well pair, where it has one.
    """
    loop = loop_type(system)
    plant = plant_of(site)
    asked = [
        _Asked(bound, book, site, loop, layout, study)
        for book in books
        for bound in book.bounds
        if any(plant.meets(bound.when, part) for part in bound.parts or (None,))
    ]
    conditions = [
        condition
        for each in asked
        if each.bound.of in _ANSWERS and _meets(each.bound, loop)
        for condition in _ANSWERS[each.bound.of](each)
    ]
    return tuple(_as_tested(condition, test_pressure(site, conditions)) for condition in conditions)


def _as_tested(condition: Condition, pressure_pa: float | None) -> Condition:
    """The condition; of a test that nobody stated, with the pressure that the specification has."""
    if condition.here.code != AS_ASKED or not pressure_pa:
        return condition
    return replace(condition, here=reason("test-specified", pressure_pa=pressure_pa))


def _meets(bound: Bound, loop: LoopType) -> bool:
    """Whether a loop type has what a bound is about."""
    if not bound.parts:
        return True
    return "header" in bound.parts or bool({*bound.parts} & {*loop.parts})


def ties_asked(books: Sequence[Book]) -> int:
    """How many fixed points each stake is tied to, by the book that asks most; 0: none asks."""
    asked = (bound.least or 0.0 for book in books for bound in book.bounds if bound.of == "ties")
    return round(max(asked, default=0.0))


def scale_bounds(books: Sequence[Book]) -> tuple[tuple[Bound, Book], ...]:
    """What books say of the plan's scale."""
    return tuple((bound, book) for book in books for bound in book.bounds if bound.of == "scale")


def allows_scale(bound: Bound, ratio: float) -> bool:
    """Whether a bound allows the scale of a ratio.

    Examples
    --------
    >>> allows_scale(Bound("s", "scale", (), "", "", scales=(120, 240)), 240)
    True
    """
    listed = not bound.scales or round(ratio) in bound.scales
    return listed and (bound.ratios is None or bound.ratios.holds(ratio))


def test_pressure(site: Site, conditions: Sequence[Condition]) -> float | None:
    """Pressure at which the loop is tested: the greatest asked or stated, None without any [Pa]."""
    stated = site.exchanger.piping.circuits.test_pa
    asked = (
        condition.bound.least or 0.0
        for condition in conditions
        if condition.bound.of == "test pressure"
    )
    return max((*asked, *(() if stated is None else (stated,))), default=None)


def pressure_asked(site: Site, conditions: Sequence[Condition]) -> Finding | None:
    """Note on the pressure at which the loop is tested: the greatest asked, and who asks it."""
    asked = [condition for condition in conditions if condition.bound.of == "test pressure"]
    stated = site.exchanger.piping.circuits.test_pa
    if not asked and stated is None:
        return None
    most = max(asked, key=lambda condition: condition.bound.least or 0.0, default=None)
    by_book = most is not None and (most.bound.least or 0.0) >= (stated or 0.0)
    operating = max((condition.bound.operating for condition in asked), default=0.0)
    minutes = max((condition.bound.minutes for condition in asked), default=0.0)
    sources = tuple(dict.fromkeys(condition.bound.source for condition in asked))
    return Finding(
        "test-at",
        rule=most.rule if most is not None else "",
        values={
            "pressure_pa": max((condition.bound.least or 0.0 for condition in asked), default=0.0)
            if by_book
            else stated,
            "operating": reason("test-operating", times=operating) if operating else None,
            "minutes": reason("test-minutes", minutes=minutes) if minutes else None,
            "sources": sources or ("as stated",),
        },
    )


def bound_findings(conditions: Sequence[Condition], site: Site) -> Iterator[Finding]:
    """What is to be said of bounds that are not kept, or of which the authority has to say."""
    for condition in conditions:
        if condition.kept is not True:
            mend = {} if condition.kept is None else _mend(condition, site)
            yield bound_finding(condition, **mend)


def bound_finding(condition: Condition, **values: Value) -> Finding:
    """What is to be said of a bound that is not kept, or of which the authority has to say."""
    codes = UNSURE if condition.kept is None else BROKEN
    code = codes[condition.bound.of]
    briefly = BRIEFLY.get(code)
    title = condition.book.title
    return Finding(
        code,
        subject=condition.part or condition.bound.of,
        measured_m=condition.measured_m,
        required_m=condition.bound.least if condition.part else None,
        rule=condition.rule,
        values={
            "title": title,
            "source": condition.bound.source,
            "printed": condition.bound.printed,
            "here": condition.here,
            "assumed": reason("assumed-here") if condition.assumed else None,
            "briefly": briefly and reason(
                briefly, here=condition.here, book=condition.book.id, source=condition.bound.source
            ),
            **values,
        },
    )  # fmt: skip


def _mend(condition: Condition, site: Site) -> dict[str, Value]:
    """What helps, where there is a choice."""
    bound = condition.bound
    if bound.of == "fluid":
        return {"mend": other_fluids(condition.bound, site)}
    if bound.of == "grout":
        return {"mend": reason("other-grout", names=bound.names) if bound.says == "only" else None}
    if bound.of == "pipe":
        ratio = bound.dimension_ratio
        return {"mend": reason("thicker-pipe", ratio=ratio) if ratio else None}
    if bound.of == "cover":
        deeper = (bound.least or 0.0) - (condition.measured_m or 0.0)
        key = "[horizontal] depth" if condition.part == Trench.kind else "[header] depth"
        return {"key": key, "deeper_m": condition.depth_m + deeper}
    return {}


def _fluid(asked: _Asked) -> Iterator[Condition]:
    fluid = asked.site.exchanger.piping.fluid
    if asked.loop.flow or fluid is None or not fluid.mixture:
        return
    here, kept = (
        reason("fluid-here", mixture=fluid.mixture),
        asked.admits(antifreeze_of(fluid.mixture)),
    )
    most = asked.bound.share
    if most is not None and antifreeze_share(fluid.mixture) > most + 1e-9:
        kept = False
    yield asked.answer(here, kept, assumed=asked.unsaid("fluid.mixture"))


def _grout(asked: _Asked) -> Iterator[Condition]:
    if asked.loop.kind != Bore.kind:
        return
    grout = asked.site.exchanger.piping.grout.material
    # the section of a bore has it filled from the toe up to the header
    solids = asked.bound.solids
    mixed = None if solids is None else reason("solids-here", percent=round(100 * solids))
    here, kept = reason("grout-here", grout=grout, solids=mixed), asked.admits(grout)
    yield asked.answer(here, kept, assumed=asked.unsaid("grout.material"))


def _pipe(asked: _Asked) -> Iterator[Condition]:
    energy, most = asked.site.exchanger.energy, asked.bound.dimension_ratio
    upright = asked.loop.kind == Bore.kind
    ratio = energy.loop.dimension_ratio if energy is not None and upright else USUAL_RATIO
    thick = most is None or ratio <= most + 1e-9
    kept = asked.admits(PIPE) if thick else False
    here = reason("pipe-here", material=PIPE, ratio=ratio)
    yield asked.answer(here, kept, assumed=upright and asked.unsaid("loop.dimension_ratio"))


def _test(asked: _Asked) -> Iterator[Condition]:
    stated = asked.site.exchanger.piping.circuits.test_pa
    if asked.loop.flow:
        return
    if stated is None:
        yield asked.answer(reason(AS_ASKED))
        return
    kept = stated >= (asked.bound.least or 0.0) * (1 - 1e-6)
    yield asked.answer(reason("test-here", pressure_pa=stated), kept)


def _cover(asked: _Asked) -> Iterator[Condition]:
    """Cover of trench and header, where they are laid out."""
    layout, options = asked.layout, asked.site.exchanger
    if layout is None or not layout.elements:
        return
    covers = {}
    if layout.of(Trench):
        covers["trench"] = (uppermost_depth(options.horizontal), options.horizontal.depth_m)
    if layout.header is not None:
        piping = layout.piping
        lowered = highest_pipe(piping) if piping is not None else 0.0
        dug_m = header_depth(piping, options.piping.header)
        covers["header"] = (dug_m - lowered, dug_m)
    for part, (cover, dug_m) in covers.items():
        if part in asked.bound.parts:
            here = reason("cover-here", part=part, cover_m=cover)
            kept = cover >= (asked.bound.least or 0.0) - TOLERANCE
            yield Condition(
                asked.bound, asked.book, here, kept=kept, part=part, measured_m=cover, depth_m=dug_m
            )


def _ties(asked: _Asked) -> Iterator[Condition]:
    """Corners of buildings to tie to: a property corner may be buried."""
    shapes = shapely.get_parts([each.shape for each in asked.site.of_kind("building")])
    outlines = (shape for shape in shapes if isinstance(shape, Polygon))
    rings = (shapely.simplify(outline.exterior, 0.0) for outline in outlines)
    corners = sum(int(shapely.get_num_coordinates(ring)) - 1 for ring in rings)
    asked_for = round(asked.bound.least or 0.0)
    here = reason("ties-here", number=min(corners, asked_for))
    yield asked.answer(here, corners >= asked_for)


def _marking(asked: _Asked) -> Iterator[Condition]:
    # every trench of siteplan has both, as its details and the take-off say
    yield asked.answer(reason("marking-here", names=asked.bound.names))


def _temperature(asked: _Asked) -> Iterator[Condition]:
    answer = fluid_temperatures(asked.site, asked.layout, asked.bound)
    if answer is not None:
        yield asked.answer(*answer, assumed=asked.unsaid("fluid.mixture"))


def _line(asked: _Asked) -> Iterator[Condition]:
    if not asked.loop.flow:
        yield asked.answer(*heat_at_the_line(asked.site, asked.layout))


def _return(asked: _Asked) -> Iterator[Condition]:
    if asked.study is not None and not asked.study.outfall:
        aquifer = asked.site.exchanger.open.aquifer
        answer = takes_back(asked.site, asked.study, asked.bound.least or 1.0)
        yield asked.answer(*answer, assumed=bool(aquifer.assumed))


def _surface_return(asked: _Asked) -> Iterator[Condition]:
    if asked.study is not None and asked.study.outfall:
        here = reason("returned-to-surface", water=asked.study.outfall)
        # a book allows it on its terms; whether they are met says the permit
        yield asked.answer(here, asked.bound.allowed and asked.site.exchanger.open.permitted)


_ANSWERS: Final[dict[str, Callable[[_Asked], Iterator[Condition]]]] = {
    "fluid": _fluid,
    "grout": _grout,
    "pipe": _pipe,
    "test pressure": _test,
    "cover": _cover,
    "ties": _ties,
    "marking": _marking,
    "fluid temperature": _temperature,
    "heat at the line": _line,
    "return capacity": _return,
    "surface return": _surface_return,
}
"""How the plan answers each kind of bound."""
