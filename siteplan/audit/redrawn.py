"""A drawing laid over the plan of its site file: every line, text, symbol and window compared.

The site file is planned and drawn anew, and nothing of the drawing is believed. Where the loop
itself lies elsewhere than in that plan, what depends on it is not compared, and listed as such.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely import MultiLineString

from siteplan.audit.drawing import inks_in
from siteplan.audit.ink import GEODATA, LAYERS, MODEL, Ink
from siteplan.audit.model import Drawing
from siteplan.audit.words import BLOCKS, drawn_fault, move, place
from siteplan.export.drawing.layouts import PLAN
from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import dxf_text
from siteplan.findings.model import Finding, Reason, Value, reason
from siteplan.layout.model import Layout
from siteplan.plan import SitePlan
from siteplan.sheet.content.ties import tie_targets
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Feature, Site
from siteplan.vocabulary.kinds import kinds

SAME: Final = 1e-3
"""What two figures of one thing may differ by, in units of its space."""
LAID_M: Final = 0.005
"""An element so near to that of the plan is that of the plan [m]."""
MOST_TOLD: Final = 12
"""So many differences are told one by one."""
ON_FEATURES: Final = frozenset(
    {
        *(kind.layer for kind in kinds().values()),
        layer("property"),
        layer("adjoining"),
        layer("corner"),
    }
)
"""Layers of what is drawn of the lot alone, whatever the loop."""
OF_THE_LOT: Final = frozenset({"title-block", "seal"})
"""Blocks of the sheets that do not depend on where the loop lies."""


@dataclass(frozen=True, slots=True)
class DrawnAnew:
    """A site file as planned and drawn anew.

    Parameters
    ----------
    site
        The site.
    layout
        The loop; None where the plan has none.
    inks
        All that its drawing has.
    """

    site: Site
    layout: Layout | None
    inks: tuple[Ink, ...]


def drawn_anew(plan: SitePlan) -> DrawnAnew:
    """A plan as it is drawn."""
    content = plan.content()
    sheets = compose_set(content)
    text = dxf_text(sheets[0], more=sheets[1:], record=record_of(content))
    return DrawnAnew(plan.site, plan.drawn.layout, inks_in(text))


def redrawn_findings(drawing: Drawing, layout: Layout, anew: DrawnAnew) -> Iterator[Finding]:
    """What is not drawn as the plan of the site file has it.

    Parameters
    ----------
    drawing
        The drawing.
    layout
        The loop as it was drawn.
    anew
        What the site file gives.
    """
    planned, drawn = anew.inks, drawing.inks
    if anew.layout is None or not _same_loop(layout, anew.layout):
        yield Finding("not-redrawn")
        planned, drawn = _of_the_lot(planned), _of_the_lot(drawn)
    # elements, names and tables have findings of their own, which say more
    gone, more = (list(filter(_is_left, left)) for left in _unlike(planned, drawn))
    told = list(_told(gone, more, anew.site, drawing.unit_m))
    yield from told[:MOST_TOLD]
    if len(told) > MOST_TOLD:
        yield drawn_fault("redrawn", reason("and-many-differ", number=len(told) - MOST_TOLD))


def _same_loop(drawn: Layout, planned: Layout) -> bool:
    """Whether a loop lies where the plan has it."""
    if [element.id for element in drawn.elements] != [element.id for element in planned.elements]:
        return False
    stakes = [
        [at for element in layout.elements for at in tie_targets(element)]
        for layout in (drawn, planned)
    ]
    if len(stakes[0]) != len(stakes[1]):
        return False
    if any(math.dist(at, there) > LAID_M for at, there in zip(*stakes, strict=True)):
        return False
    runs = [
        MultiLineString(list(layout.header.runs)) if layout.header else MultiLineString()
        for layout in (drawn, planned)
    ]
    if runs[0].is_empty or runs[1].is_empty:
        return bool(runs[0].is_empty and runs[1].is_empty)
    return bool(runs[0].hausdorff_distance(runs[1]) <= LAID_M)


def _of_the_lot(inks: Sequence[Ink]) -> tuple[Ink, ...]:
    """What does not depend on where the loop lies."""
    return tuple(
        ink
        for ink in inks
        if (ink.space == MODEL and ink.layer in ON_FEATURES)
        or (ink.mark is not None and ink.mark.block in OF_THE_LOT)
        or ink.space.startswith("block ")
        or ink.type == GEODATA
        or ink.space == LAYERS
    )


def _is_left(ink: Ink) -> bool:
    """Whether a text is no cell of a table that is compared with the loop as drawn."""
    return ink.mark is None or ink.mark.block not in BLOCKS or not ink.mark.row


def _unlike(planned: Sequence[Ink], drawn: Sequence[Ink]) -> tuple[list[Ink], list[Ink]]:
    """What of a plan is not drawn, and what is drawn and not in the plan."""
    gone, more = _less(planned, drawn), _less(drawn, planned)
    # what differs by rounding alone is the same
    for ink in list(gone):
        same = next((other for other in more if _alike(ink, other)), None)
        if same is not None:
            gone.remove(ink)
            more.remove(same)
    return gone, more


def _less(inks: Sequence[Ink], others: Sequence[Ink]) -> list[Ink]:
    """Things without as many of the same kind as there are among others."""
    left = Counter(map(_rounded, others))
    kept = []
    for ink in inks:
        key = _rounded(ink)
        left[key] -= 1
        if left[key] < 0:
            kept.append(ink)
    return kept


def _rounded(ink: Ink) -> tuple[Value | tuple[Value, ...], ...]:
    places = tuple(round(value, 3) for at in ink.points for value in at)
    sizes = tuple(map(_third, ink.sizes))
    return (ink.space, ink.type, ink.layer, ink.text, ink.told, ink.look, places, sizes)


def _third(value: float) -> float:
    return round(value, 3)


def _alike(ink: Ink, other: Ink) -> bool:
    same = (ink.space, ink.type, ink.layer, ink.text, ink.told, ink.look) == (
        other.space, other.type, other.layer, other.text, other.told, other.look,
    )  # fmt: skip
    return same and _same_place(ink, other) and _same_sizes(ink, other)


def _same_place(ink: Ink, other: Ink) -> bool:
    if len(ink.points) != len(other.points):
        return False
    pairs = zip(ink.points, other.points, strict=True)
    return all(math.dist(at, there) <= SAME for at, there in pairs)


def _same_sizes(ink: Ink, other: Ink) -> bool:
    if len(ink.sizes) != len(other.sizes):
        return False
    return all(abs(a - b) <= SAME for a, b in zip(ink.sizes, other.sizes, strict=True))


def _told(gone: list[Ink], more: list[Ink], site: Site, unit_m: float) -> Iterator[Finding]:
    """What became of each thing of the plan; and what is drawn beside it."""
    for ink in gone:
        found, thing = _found_again(ink, more), _thing(ink, site, unit_m)
        if found is None:
            yield _fault(ink, reason("ink-gone", thing=thing))
            continue
        more.remove(found)
        yield _fault(ink, _changed(ink, found, thing, unit_m))
    # a layer more, as other programs make them, hides nothing
    for ink in (ink for ink in more if ink.space != LAYERS):
        thing = _thing(ink, site, unit_m)
        yield _fault(ink, reason("ink-added", thing=thing, handle=ink.handle))


def _found_again(ink: Ink, drawn: Sequence[Ink]) -> Ink | None:
    """The thing drawn that was this one: by its mark, its place, its words, or its shape."""
    alike = [other for other in drawn if (ink.space, ink.type) == (other.space, other.type)]
    if ink.space == LAYERS:
        alike = [other for other in alike if other.text == ink.text]
    for same in (_by_mark, _same_place, _by_words, _by_shape):
        matches = [other for other in alike if same(ink, other)]
        if matches:
            return min(matches, key=lambda other: round(_away(ink, other), 6))
    return None


def _by_mark(ink: Ink, other: Ink) -> bool:
    return ink.mark is not None and ink.mark == other.mark


def _by_words(ink: Ink, other: Ink) -> bool:
    return ink.text != "" and ink.text == other.text and ink.layer == other.layer


def _by_shape(ink: Ink, other: Ink) -> bool:
    """Whether two lines have as many corners on one layer."""
    same = (ink.layer, len(ink.points), ink.text) == (other.layer, len(other.points), other.text)
    return same and len(ink.points) > 1


def _away(ink: Ink, other: Ink) -> float:
    if not ink.points or not other.points:
        return 0.0
    return max(math.dist(at, there) for at, there in zip(ink.points, other.points, strict=False))


def _changed(ink: Ink, drawn: Ink, thing: Reason, unit_m: float) -> Reason:
    """How a thing is drawn otherwise than the plan has it, or what else it tells programs."""
    if ink.type == GEODATA:
        return reason("place-differs", handle=drawn.handle)
    if ink.look != drawn.look and (ink.text, ink.told) == (drawn.text, drawn.told):
        said, planned = (
            ", ".join(word for word in one.look if word not in other.look) or reason("as-usual")
            for one, other in ((drawn, ink), (ink, drawn))
        )
        return reason("ink-looks", thing=thing, handle=drawn.handle, said=said, planned=planned)
    if ink.told != drawn.told and (ink.text, ink.layer) == (drawn.text, drawn.layer):
        return _told_otherwise(ink, drawn, thing)
    return _drawn_otherwise(ink, drawn, thing, unit_m)


def _drawn_otherwise(ink: Ink, drawn: Ink, thing: Reason, unit_m: float) -> Reason:
    """How a thing is drawn otherwise than the plan has it."""
    handle = drawn.handle
    if ink.type == "VIEWPORT":
        return _window_otherwise(ink, drawn, thing)
    if ink.text != drawn.text:
        said = drawn.text or reason("nothing")
        return reason("ink-says", thing=thing, handle=handle, said=said, planned=ink.text)
    if ink.layer != drawn.layer:
        return reason("ink-on-layer", thing=thing, handle=handle, layer=drawn.layer)
    if _same_place(ink, drawn):
        return reason("ink-sized", thing=thing, handle=handle)
    if ink.space != MODEL:
        return reason("ink-moved-on-paper", thing=thing, handle=handle)
    steps = zip(ink.points, drawn.points, strict=False)
    start, end = max(steps, key=lambda step: math.dist(*step))
    moved = move(_metres(start, unit_m), _metres(end, unit_m))
    return reason("ink-moved", thing=thing, handle=handle, move=moved)


def _window_otherwise(ink: Ink, drawn: Ink, thing: Reason) -> Reason:
    """What a window on the plan shows otherwise: at another scale, turned, or other ground."""
    _, height, view, turn = drawn.sizes
    times = f"{view / height / (ink.sizes[2] / ink.sizes[1]):.3f}"
    turned = f"{turn - ink.sizes[3]:.1f}"
    if (times, turned.lstrip("-")) == ("1.000", "0.0"):
        return reason("ink-window-moved", thing=thing, handle=drawn.handle)
    return reason("ink-window", thing=thing, times=times, turned=turned)


def _told_otherwise(ink: Ink, drawn: Ink, thing: Reason) -> Reason:
    """What of the extended data of an element is not as the plan has it."""
    said = ", ".join(word for word in drawn.told if word not in ink.told)
    planned = ", ".join(word for word in ink.told if word not in drawn.told)
    nothing = reason("nothing")
    return reason(
        "ink-tells", thing=thing, handle=drawn.handle, said=said or nothing,
        planned=planned or nothing,
    )  # fmt: skip


def _metres(at: tuple[float, float], unit_m: float) -> tuple[float, float]:
    return at[0] * unit_m, at[1] * unit_m


def _fault(ink: Ink, told: Reason) -> Finding:
    subject = ink.mark.row if ink.mark is not None else ""
    return drawn_fault("redrawn", told, subject or ink.layer)


def _thing(ink: Ink, site: Site, unit_m: float) -> Reason:
    """What a thing is called: the feature that it draws, or its type with its layer and place."""
    feature = _feature(ink, site, unit_m)
    if feature is not None:
        return reason("ink-of-feature", feature=feature.id, kind=feature.kind)
    if ink.type == GEODATA:
        return reason("ink-geodata")
    if ink.space == LAYERS:
        return reason(ENTRIES[ink.type], name=ink.text)
    named = TYPES.get(ink.type.removeprefix("DIMENSION "), "ink-other")
    if ink.type.startswith("DIMENSION"):
        named = "ink-dimension"
    where: Reason | str = reason("ink-in-block", name=ink.space.removeprefix("block "))
    if ink.space == MODEL:
        where = (
            place(_metres(ink.points[0], unit_m))
            if ink.points
            else reason("ink-on-sheet", sheet="L1")
        )
    elif not ink.space.startswith("block "):
        sheet = "L1" if ink.space == PLAN else ink.space
        where = reason("ink-on-sheet", sheet=sheet)
    return reason(named, text=ink.text, layer=ink.layer, where=where)


ENTRIES: Final = {"LAYER": "ink-layer", "STYLE": "ink-style", "PAPER": "ink-paper"}
"""Code of the word for each entry of a table."""
TYPES: Final = {
    "TEXT": "ink-text", "ATTRIB": "ink-text", "MTEXT": "ink-text",
    "LWPOLYLINE": "ink-line", "POLYLINE": "ink-line", "LINE": "ink-line",
    "INSERT": "ink-symbol", "HATCH": "ink-fill", "SOLID": "ink-fill",
    "WIPEOUT": "ink-fill", "LEADER": "ink-line", "VIEWPORT": "ink-viewport",
}  # fmt: skip
"""Code of the word for each type."""


def _feature(ink: Ink, site: Site, unit_m: float) -> Feature | None:
    """The feature of the site that a line or symbol of the plan draws; None where it is none."""
    if ink.space != MODEL or ink.type not in ("LWPOLYLINE", "INSERT") or not ink.points:
        return None
    spots = [_metres(at, unit_m) for at in ink.points]
    for feature in site.features:
        if kinds()[feature.kind].layer == ink.layer:
            corners = _corners(feature)
            if all(min(math.dist(at, corner) for corner in corners) <= SAME for at in spots):
                return feature
    return None


def _corners(feature: Feature) -> list[tuple[float, float]]:
    coords = shapely.get_coordinates(feature.shape).tolist()
    middle = feature.shape.centroid
    return [(x, y) for x, y in coords] + [(float(middle.x), float(middle.y))]
