"""The window on the plan: everything drawn and named in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from shapely.geometry.base import BaseGeometry

from siteplan.checks.model import Separation
from siteplan.geometry.boundary import Side
from siteplan.layout.elements import Element
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PART, TABLES, PlanContent
from siteplan.sheet.content.earth import stockpiles_of
from siteplan.sheet.content.header_points import HeaderPoint, listed_points
from siteplan.sheet.content.stakes import Stake
from siteplan.sheet.content.ties import TiePoint
from siteplan.sheet.model import View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.settled import settle
from siteplan.sheet.plan_view.access import draw_access, keep_names_off_access, label_access
from siteplan.sheet.plan_view.adjoining import draw_adjoining, label_adjoining
from siteplan.sheet.plan_view.base_lines import draw_base_lines, label_pegs
from siteplan.sheet.plan_view.exchanger import (
    draw_layout,
    label_entry,
    label_layout,
    label_pit,
)
from siteplan.sheet.plan_view.features import draw_feature, label_features
from siteplan.sheet.plan_view.groundwater import draw_groundwater
from siteplan.sheet.plan_view.groups import (
    draw_groups,
    group_areas,
    keep_names_off_groups,
    label_groups,
)
from siteplan.sheet.plan_view.header_pipes import label_sizes
from siteplan.sheet.plan_view.header_points import draw_header_points, label_header_points
from siteplan.sheet.plan_view.limits import (
    draw_limits,
    keep_names_off_limits,
    label_available,
    label_limits,
)
from siteplan.sheet.plan_view.measured_lines import (
    draw_building_distances,
    draw_edges,
    draw_reaches,
    draw_search,
    draw_widths,
    label_reaches,
    label_search,
)
from siteplan.sheet.plan_view.measures import (
    draw_separations,
    draw_spacing,
    reserve_separations,
    shown_decimals,
)
from siteplan.sheet.plan_view.numbers import PIPES_HEADING, list_header_pipes, list_numbers
from siteplan.sheet.plan_view.parcel import draw_parcel, label_sides, tagged_sides
from siteplan.sheet.plan_view.stockpiles import (
    draw_stockpiles,
    keep_names_off_stockpiles,
    label_stockpiles,
)
from siteplan.sheet.plan_view.strips import draw_strips
from siteplan.sheet.plan_view.ways_past import houses_of
from siteplan.site.lent import ground_to_drive
from siteplan.specification.stockpile import Stockpile


@dataclass(frozen=True, slots=True)
class Scene:
    """What is named on a window of the plan: all of it, or a part.

    Parameters
    ----------
    told
        Elements, header and way in as far as their names stand in the window.
    tagged
        Sides that have their bearing there.
    piles
        Ground proposed for spoil, cuttings and mud.
    decimals
        Of distances.
    groups
        Outlines of the groups of circuits, of all elements.
    before
        Draws and names what must be named first.
    part
        Whether it is a part of the plan, whose strip lists the pipes in pieces of header that have
        but their name.
    own
        Ground whose bores, pegs, points and pieces of header are named; None: all of the window.
    strict
        Whether names of the header count as lost whose leader would cross a symbol or a house.
    """

    told: Layout | None
    ties: tuple[TiePoint, ...]
    pegs: tuple[Stake, ...]
    points: tuple[HeaderPoint, ...]
    tagged: tuple[tuple[str, Side], ...]
    decimals: int
    groups: Mapping[str, BaseGeometry] = field(default_factory=dict)
    piles: tuple[Stockpile, ...] = ()
    before: Callable[[Canvas], None] = lambda _: None
    part: bool = False
    own: BaseGeometry | None = None
    strict: bool = False


def scene_of(content: PlanContent, view: View, sides: tuple[Side, ...]) -> Scene:
    """Everything, for a window that shows the whole lot; parts of it name what is to be built."""
    layout, parted = content.layout, PART in content.titles
    told = replace(layout, elements=()) if layout is not None and parted else layout
    return Scene(
        told=told,
        ties=content.tie_points,
        pegs=content.setting_out.pegs,
        points=() if parted else named_points(content),
        tagged=tagged_sides(sides, view, content.site.unit),
        decimals=shown_decimals(content),
        groups=group_areas(layout) if layout is not None else {},
        piles=stockpiles_of(content) or (),
    )


def named_points(content: PlanContent) -> tuple[HeaderPoint, ...]:
    """Points of the header that are named on the plan or its parts: those in the table."""
    if content.layout is None:
        return ()
    return listed_points(content.layout, tabled=bool(content.sheet_of(TABLES)))


def plan_canvas(content: PlanContent, view: View, sides: tuple[Side, ...], scene: Scene) -> Canvas:
    """Everything on the plan: lines first, then labels, the ones that matter most first."""
    site, layout, told = content.site, content.layout, scene.told
    canvas = Canvas(view, site.unit)
    canvas.lists = True
    canvas.houses = houses_of(site)
    canvas.own = scene.own or canvas.window
    drawn = _draw_lines(canvas, content, sides, scene)
    scene.before(canvas)
    dearer = _label_built(canvas, content, scene)
    # then what needs the length of a side or of a dimension line to stand along
    label_sides(canvas, site, scene.tagged)
    if layout is not None:
        draw_spacing(canvas, layout, scene.decimals)
    draw_separations(canvas, drawn, layout, scene.decimals)
    wide = draw_widths(canvas, content)
    draw_building_distances(canvas, content)
    label_reaches(canvas, content, drawn)
    dearer += label_stockpiles(canvas, scene.piles)
    # where the header comes through a shore is told in long words, for which there is less room
    shores = tuple(point for point in scene.points if point.landing is not None)
    label_header_points(canvas, shores, layout, canvas.houses, strict=scene.strict)
    if told is not None:
        _label_header(canvas, told, canvas.houses, strict=scene.strict)
    # names of features have whole areas and lines to choose from
    label_features(canvas, site, wide)
    others = [point for point in scene.points if point not in shores]
    label_header_points(canvas, others, layout, canvas.houses, strict=scene.strict)
    label_search(canvas, site)
    label_available(canvas, content)
    draw_groundwater(canvas, content)
    settle(canvas)
    # last what may be left out where it has no room; such names stand in their lines
    canvas.placer = canvas.placer.without(dearer)
    label_limits(canvas, site, content.keep_outs, scene.decimals)
    list_numbers(canvas)
    if not scene.part and not list_header_pipes(canvas, content.sheets_of(TABLES)):
        canvas.unplaced.append(PIPES_HEADING)
    label_adjoining(canvas, site)
    return canvas


def _label_built(canvas: Canvas, content: PlanContent, scene: Scene) -> list[BaseGeometry]:
    """Name what is built, pegs, groups and entry; the ink that keeps others off thin lines."""
    told = scene.told
    if told is not None:
        # ids first: they stand at their elements, and all tables speak of them
        label_layout(canvas, told, scene.ties, _unnamed(content, told))
    dearer = keep_names_off_limits(canvas, content.site, content.keep_outs)
    keep_names_off_groups(canvas, scene.groups)
    dearer += keep_names_off_stockpiles(canvas, scene.piles)
    if content.layout is not None and content.layout.access is not None:
        ground = ground_to_drive(content.site.parcel, content.site.features)
        dearer += keep_names_off_access(canvas, content.layout.access, ground)
    if told is not None:
        label_pegs(canvas, scene.pegs, content.site.parcel)
        _label_groups(canvas, told, scene)
        # what stands beside the entry can move; its own name would be led across the house
        if told.header is not None and canvas.window.contains(told.header.entry.point):
            label_entry(canvas, told.header)
    return dearer


def _draw_lines(
    canvas: Canvas, content: PlanContent, sides: tuple[Side, ...], scene: Scene
) -> list[Separation]:
    """Draw everything that has its place; separations that get a dimension later."""
    site, layout = content.site, content.layout
    draw_adjoining(canvas, site)
    for feature in site.features:
        draw_feature(canvas, feature, site.unit)
    draw_limits(canvas, site, content.keep_outs)
    draw_edges(canvas, site)
    draw_search(canvas, site)
    draw_parcel(canvas, site.parcel, sides)
    # a dimension line cannot move as a label can: its paper is kept before anything is named
    drawn = reserve_separations(canvas, content)
    draw_reaches(canvas, content, drawn)
    if layout is not None:
        if layout.access is not None:
            draw_access(canvas, layout.access, ground_to_drive(site.parcel, site.features))
        draw_stockpiles(canvas, scene.piles)
        draw_strips(canvas, site, layout)
        draw_groups(canvas, scene.groups)
        draw_layout(canvas, layout, site.entries, scene.ties)
        draw_header_points(canvas, scene.points)
        draw_base_lines(canvas, content.setting_out)
    return drawn


def _unnamed(content: PlanContent, told: Layout) -> tuple[Element, ...]:
    """Elements that are drawn and have their names on other sheets; none of them a line."""
    if content.layout is None or told.loop.lines or not told.elements:
        return ()
    names = {element.id for element in told.elements}
    return tuple(element for element in content.layout.elements if element.id not in names)


def _label_groups(canvas: Canvas, told: Layout, scene: Scene) -> None:
    """Name the groups of circuits, those that the window shows in part as well."""
    if told.header is not None:
        at = told.header.entry.point
        label_groups(canvas, scene.groups, (float(at.x), float(at.y)))


def _label_header(canvas: Canvas, told: Layout, houses: BaseGeometry, *, strict: bool) -> None:
    """Name pit and pipes of the header, and the way in."""
    header = told.header
    if header is not None:
        label_pit(canvas, header)
    label_sizes(canvas, told, houses, strict=strict)
    if told.access is not None:
        label_access(canvas, told.access)
