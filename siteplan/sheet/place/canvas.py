"""Drawing on the plan window: every stroke is remembered so that labels can keep off it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import chain
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY, Hatch, Polyline, Primitive, Symbol, View
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.place.candidates import CLEARANCE_MM, Candidate, around, by_cost, led
from siteplan.sheet.place.choice import MOST_MOVED, cheapest_of
from siteplan.sheet.place.exchange import (
    Choices,
    NoRoomError,
    SetDown,
    Wish,
    exchanges,
    numbered,
)
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.misread import lies_in, points_elsewhere
from siteplan.sheet.place.pieces import in_pieces
from siteplan.sheet.place.placer import HARD, Placer, box_corners, leader_path
from siteplan.sheet.place.writing import leader_of, texts_of
from siteplan.sheet.style.hatching import rings_of
from siteplan.sheet.style.styles import layer
from siteplan.units.model import UnitSystem

CROSSED_LEADER = 300.0
"""What a leader pays for crossing a symbol, to which it seems to lead: as much as a long way."""
HALO_MM, HALO_COST = 3.5, 6.0
"""Two labels in one line read as one: what lies so near before or behind another pays."""
EDGE_MM = 0.2
"""From the edge of a symbol to the leader that points at it [mm]."""
MOST_FAILED: Final = 3
"""After so many labels for which no exchange made room, no more of them are tried on a window."""
DEAR: Final = 350.0
"""A place near by that disturbs as much, as a leader across four trenches does, is only taken where
there is none farther away that disturbs less."""


class Canvas:
    """Collects primitives of the plan window and places its labels."""

    def __init__(self, view: View, unit: UnitSystem) -> None:
        self.view = view
        self.unit = unit
        left, bottom = view.left_mm + 1.0, view.bottom_mm + 1.0
        right, top = view.left_mm + view.width_mm - 1.0, view.bottom_mm + view.height_mm - 1.0
        self.placer = Placer((left, bottom, right, top))
        corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
        self.window: Polygon = Polygon(view.to_model(corners))
        self.primitives: list[Primitive] = []
        self.unplaced: list[str] = []
        # names of which the window is not wanted if it loses more than so many
        self.needed: frozenset[str] = frozenset()
        self.may_lose = math.inf
        # nor if surely more names of elements are led away
        self.most_led = math.inf
        # lines of dimensions on paper, over which no figure of another can be read
        self.measured: list[LineString] = []
        # buildings of the model through which no figure is led
        self.houses: BaseGeometry = Polygon()
        # areas on paper that bear a name: another in there would be read with it
        self._named_areas: list[BaseGeometry] = []
        # ground whose things are named here: those in the rest of the window, on the next sheet
        self.own: BaseGeometry = self.window
        # words that stand on other sheets at a larger scale: not worth a leader over another
        self.named: frozenset[str] = frozenset()
        # names for which there was no room: a number stands there instead, if there is a list
        self.lists = False
        self.listed: list[str] = []
        # pieces of header that have but their name on the plan, and the pipes in them
        self.keyed: list[tuple[str, str]] = []
        # centre and radius on paper of what a leader could be thought to point at
        self._symbols: list[tuple[XY, float]] = []
        self.placed: list[SetDown] = []
        self._failed: Counter[float] = Counter()
        self._hatched: list[BaseGeometry] = []
        self._fills: list[tuple[BaseGeometry, str]] = []

    def paper(self, point: XY) -> XY:
        """Place on paper of a model point [mm]."""
        x, y = self.view.to_paper([point])[0]
        return float(x), float(y)

    def model(self, point: XY) -> XY:
        """Model point of a place on paper [m]."""
        x, y = self.view.to_model([point])[0]
        return float(x), float(y)

    def line(
        self, points: Iterable[tuple[float, ...]], style: str, where: str, *, ink: float = 4.0,
        leader: float | None = None,
    ) -> None:  # fmt: skip
        """Draw a line; ``ink`` is what a label pays for crossing it, ``leader`` a leader."""
        path = tuple((float(point[0]), float(point[1])) for point in points)
        self.primitives.append(Polyline(path, style, where))
        self.cover_line(path, ink, leader)

    def ring(
        self, points: Iterable[tuple[float, ...]], style: str, where: str, *, ink: float = 4.0,
        leader: float | None = None, bulges: tuple[float, ...] = (),
    ) -> None:  # fmt: skip
        """Draw a closed line, with ``bulges`` where pieces of it are arcs."""
        path = tuple((float(point[0]), float(point[1])) for point in points)
        drawn = Polyline(path, style, where, closed=True, bulges=bulges)
        self.primitives.append(drawn)
        self.cover_line(drawn.path, ink, leader)

    def cover_line(self, path: Sequence[XY], ink: float, leader: float | None) -> None:
        """Remember a line by pieces: a label that lies along it hides it, and pays for each."""
        points = np.asarray(self.view.to_paper(path), float)
        pieces = [points] if ink >= HARD else in_pieces(points)
        if self.placer.is_near(points):
            self.placer.add_pieces(pieces, ink, leader_cost=leader)

    def outline(
        self, area: BaseGeometry, style: str, where: str, *, ink: float = 4.0,
        leader: float | None = None,
    ) -> None:  # fmt: skip
        """Draw every ring of an area, or the area itself where it is a line."""
        for part in get_parts(area):
            if isinstance(part, LineString) and len(part.coords) > 1:
                self.line(part.coords, style, where, ink=ink, leader=leader)
        for ring in rings_of(area):
            self.ring(ring, style, where, ink=ink, leader=leader)

    def fill(self, area: BaseGeometry, style: str, where: str) -> None:
        """Fill an area, as far as the window shows it."""
        rings = rings_of(area.intersection(self.window))
        if rings:
            self.primitives.append(Fill(rings, style, where))
            self._fills.append((shapely.transform(area, self.view.to_paper), style))

    def hatch(
        self, area: BaseGeometry, style: str, where: str, *, gap: float = 3.0, angle: float = 45.0
    ) -> None:
        """Hatch an area, as far as the window shows it."""
        rings = rings_of(area.intersection(self.window))
        if rings:
            hatch = Hatch(rings, style, where, gap_mm=gap, angle_deg=angle - self.view.turn_deg)
            self.primitives.append(hatch)
            self._hatched.append(shapely.transform(area, self.view.to_paper))

    def symbol(
        self, symbol: Symbol, *, keep_off: float = 1.0, leader: float = CROSSED_LEADER
    ) -> None:  # fmt: skip
        """Draw a symbol; labels keep off ``keep_off`` times its radius, a leader pays for it."""
        # symbols stand upright on paper, however the ground is turned
        upright = replace(symbol, angle_deg=symbol.angle_deg - self.view.turn_deg)
        self.primitives.append(upright)
        center = self.paper(symbol.at)
        self.placer.add_disk(center, symbol.size_mm * keep_off, leader_cost=leader)
        if leader >= CROSSED_LEADER:
            self._symbols.append((center, symbol.size_mm))

    def put(
        self, label: Label, candidates: Iterable[Candidate], *, most: float = HARD,
        makes_way: bool = False,
    ) -> bool:  # fmt: skip
        """Place a label on the best candidate; False if all cost ``most`` or more."""
        return self.grant([(label, candidates)], self.set_down, most=most, makes_way=makes_way)

    def put_one(self, choices: Choices, *, most: float = HARD) -> bool:
        """Place one of several versions of a label, the cheapest, earlier ones preferred."""
        return self.grant(choices, self.set_down, most=most)

    def put_around(
        self, labels: Sequence[Label], at: XY, gap: float, *, stand_off: float | None = None
    ) -> bool:
        """Place one version of a label beside a symbol of radius ``gap`` [mm], or led away.

        ``stand_off``: how far from its middle a leader ends, at its edge where it is not said [mm].
        """
        spot, off = self.paper(at), gap + EDGE_MM if stand_off is None else stand_off
        choices = []
        for label in labels:
            size = (label.width, label.height)
            beside = around(spot, *size, gap)
            choices.append((label, [*beside, *led(spot, *size, stand_off=off)]))
        return self.put_one(choices)

    def grant(
        self, choices: Choices, draw: Callable[[Label, Candidate], None], *, most: float = HARD,
        allows: Callable[[Label, Candidate], bool] = lambda _, __: True, makes_way: bool = False,
    ) -> bool:  # fmt: skip
        """Draw one of several versions of a label where it disturbs least; False: no place.

        A leader is only drawn where it meets none of those drawn before: so no two of them ever
        meet or cross, whatever the plan has to name. Where that leaves a label no place, labels
        near it whose leaders bar the way are taken up and set down anew, in another order.
        ``allows``: whether a version may stand in a place, if there is another. ``makes_way``:
        whether others make way for it though it may be left out.
        """
        wish = Wish([(label, by_cost(places)) for label, places in choices], draw, most)
        clear = self.clear(wish, allows)
        if not wish.choices:
            return False
        # what stands on another sheet is no loss, nor mostly is what may be left out: a number, a
        # long leader or others taken up for it would only hide the rest
        held = (most >= HARD or makes_way) and not self._is_named(wish)
        if not held and most < HARD:
            return self._granted(clear)
        if self._granted(clear, under=DEAR) or (held and self._exchanged_any(clear, under=DEAR)):
            return True
        if most < HARD:
            return most > DEAR and self._granted(clear)
        if held and (
            self._granted(clear)
            or self._exchanged_any(clear, under=HARD)
            or self._is_numbered(clear)
            or self._granted(wish)
        ):
            return True
        self.lose(wish.choices[0][0])
        return False

    def clear(
        self, wish: Wish, allows: Callable[[Label, Candidate], bool] = lambda _, __: True
    ) -> Wish:
        """The wish, but for places where it would be read as the name of something else."""
        areas = self._named_areas  # as they are now, also where it is set down anew

        def is_clear(label: Label, place: Candidate) -> bool:
            aside = points_elsewhere(label, place, self._symbols)
            return not (aside or lies_in(label, place, areas)) and allows(label, place)

        return replace(wish, allows=is_clear)

    def lose(self, label: Label) -> None:
        """Keep account of a label without room; `NoRoomError` if too many needed are lost."""
        name = " ".join(label.lines)
        self.unplaced.append(name)
        self.may_lose -= name in self.needed
        if self.may_lose < 0:
            raise NoRoomError(name)

    def _granted(self, wish: Wish, *, fine: bool = True, under: float = HARD) -> bool:
        """Draw what is wished near what it names, or where that is full, far; False: no place.

        ``under``: what a place may not cost, whatever the wish would pay.
        """
        best = self.place_in(self.placer, wish, fine=fine, under=under)
        if best is not None:
            self.drawn(wish, *best)
        return best is not None

    def place_in(
        self, placer: Placer, wish: Wish, *, fine: bool, under: float
    ) -> tuple[Label, Candidate] | None:
        """Version and place of what is wished, as `_granted` has them, among some ink."""
        farther = () if self._is_named(wish) else wish.farther(fine=fine)
        ways = (
            cheapest_of(placer, choices, wish, most=min(wish.most, under))
            for choices in chain([wish.choices], farther)
        )
        return next((best for best in ways if best is not None), None)

    def drawn(self, wish: Wish, label: Label, place: Candidate) -> None:
        """Draw a label, with its leader if it has one, and remember what that took."""
        count, sizes = len(self.primitives), self.placer.sizes()
        if place.leader is not None:
            self.lead(label, place)
        wish.draw(label, place)
        if wish.target is not None:
            drawn, ink = self.primitives[count:], self.placer.since(sizes)
            self.placed.append(SetDown(wish, label, place, drawn, ink))

    def _exchanged_any(self, wish: Wish, *, under: float) -> bool:
        """Take up labels for another, unless that has come to nothing too often."""
        if self._failed[under] >= MOST_FAILED:
            return False

        def has_room(gone: Sequence[SetDown]) -> bool:
            left = self.placer.without(shape for label in gone for shape in label.ink)
            return self.place_in(left, wish, fine=False, under=under) is not None

        orders = exchanges(wish, self.placed, has_room)
        if any(self._exchanged(*order, under=under) for order in orders):
            return True
        self._failed[under] += 1
        return False

    def _exchanged(
        self, gone: Sequence[SetDown], wishes: Sequence[Wish], *, under: float
    ) -> bool:  # fmt: skip
        """Take up labels and set down others; False if not all have a place, and nothing is done.

        What is set down is a label, with its mask, its leader and its ink. ``under``: what no
        place of theirs may cost.
        """
        placer, primitives, labels = self.placer, list(self.primitives), list(self.placed)
        taken = {id(item) for label in gone for item in label.primitives}
        self.placer = placer.without(shape for label in gone for shape in label.ink)
        self.primitives[:] = [item for item in primitives if id(item) not in taken]
        self.placed = [label for label in labels if label not in gone]
        # a name at what it names is only led far from there before one is lost
        stays = {id(label.wish) for label in gone if not label.led and under < HARD}
        limits = [MOST_MOVED if id(wish) in stays else under for wish in wishes]
        ways = zip(wishes, limits, strict=True)
        if all(self._granted(wish, fine=False, under=limit) for wish, limit in ways):
            return True
        self.placer, self.primitives[:], self.placed = placer, primitives, labels
        return False

    def _is_numbered(self, wish: Wish) -> bool:
        """Write a number instead of a long name, which then stands in a list; False: no place."""
        tag = numbered(wish, len(self.listed) + 1, self.set_down) if self.lists else None
        if tag is None or not self._granted(tag):
            return False
        self.listed.append(" ".join(wish.choices[0][0].lines))
        return True

    def _is_named(self, wish: Wish) -> bool:
        """Whether each word stands on another sheet, at a larger scale."""
        return {word for line in wish.choices[0][0].lines for word in line.split()} <= self.named

    def set_down(self, label: Label, place: Candidate) -> None:
        """Write a label in its place."""
        self.write(label, place.center, place.angle_deg)

    def write(self, label: Label, center: XY, angle_deg: float) -> None:
        """Write a label with the middle of its box at a place on paper [mm]."""
        self.reserve(label, center, angle_deg)
        self.primitives += texts_of(label, center, angle_deg, self.view)

    def reserve(self, label: Label, center: XY, angle_deg: float, *, low: bool = False) -> None:
        """Keep the label's box free of others, and wipe it if the label is masked.

        A ``low`` mask lies under dimensions, so that it spares the dimension's own text.
        """
        size = (label.width + 2 * CLEARANCE_MM, label.height + 2 * CLEARANCE_MM)
        corners = box_corners(center, *size, angle_deg)
        box = Polygon(corners)
        wiped = label.masked and (self.placer.has_line(box) or self._is_hatched(box))
        self.placer.add_area(box)
        halo = box_corners(center, size[0] + 2 * HALO_MM, size[1], angle_deg)
        # no text in line with another, but a leader may pass between them
        self.placer.add_area(Polygon(halo), HALO_COST, leader_cost=0.0)
        if wiped:
            ring = tuple(self.model(corner) for corner in corners)
            style = self._mask(box) + ("-low" if low else "")
            self.primitives.append(Fill((ring,), style, layer("mask")))

    def _mask(self, box: Polygon) -> str:
        """Style of a mask: the colour of what is under it."""
        under = [style for area, style in self._fills if area.contains(box)]
        # the last one filled lies on top
        return under[-1].replace("-fill", "-mask") if under else "mask"

    def _is_hatched(self, box: Polygon) -> bool:
        return any(area.intersects(box) for area in self._hatched)

    def cover(self, area: BaseGeometry, cost: float) -> None:
        """Make labels of other things pay for lying on an area of the model."""
        for part in get_parts(area):
            if isinstance(part, Polygon):
                self.placer.add_area(Polygon(self.view.to_paper(part.exterior.coords)), cost)

    def keep_for_own_names(self, areas: Sequence[BaseGeometry]) -> None:
        """Keep names to come out of such areas of the model alone, if there is room."""
        self._named_areas = [shapely.transform(area, self.view.to_paper) for area in areas]

    def lead(self, label: Label, place: Candidate) -> None:
        """Draw the leader of a label placed away from what it names."""
        assert place.leader is not None
        path = leader_path(place, label.width, label.height)
        # a label on a leader would cut off what it leads to, and leaders that meet lead astray
        self.placer.add_leader(path)
        self.primitives += leader_of(path, label.layer, self.view)
