"""Drawing on the plan window: every stroke is remembered so that labels can keep off it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

import shapely
from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.marks import Mark
from siteplan.sheet.model import XY, Hatch, Polyline, Primitive, Symbol, Text, View
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.place.candidates import (
    CLEARANCE_MM,
    Candidate,
    around,
    by_cost,
    farther,
    led,
    led_far,
)
from siteplan.sheet.place.placer import HARD, MET_LEADER, Placer, box_corners, leader_path
from siteplan.sheet.style.dimensions import arrow_head
from siteplan.sheet.style.hatching import rings_of
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import DESCENT, text_width
from siteplan.units.model import UnitSystem

CROSSED_LEADER = 80.0
"""What a leader pays for crossing another leader or a symbol."""
HALO_MM, HALO_COST = 3.5, 6.0
"""Two labels in one line read as one: what lies so near before or behind another pays."""
SMALL_MM, SMALL_PITCH, WORD_MM = 2.05, 1.4, 1.1
"""Height of a further line in lesser letters, its distance from the line above in such heights, and
between words of two sizes in one line [mm]."""
LINE_PITCH = 1.65
"""Distance of base lines, in heights of a capital."""


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of text that want a place.

    Parameters
    ----------
    masked
        Whether the ground under the text is wiped.
    mark
        What programs call it, each further line by its number; None for what none has to find.
    small
        A further line in lesser letters, below the others; empty: none.
    inline
        Whether that stands behind the only other line instead.
    """

    lines: tuple[str, ...]
    height_mm: float
    style: str
    layer: str
    bold: bool = False
    masked: bool = True
    mark: Mark | None = None
    small: str = ""
    inline: bool = False

    @property
    def width(self) -> float:
        """Width of the widest line [mm]."""
        wide = max(text_width(line, self.height_mm, bold=self.bold) for line in self.lines)
        if not self.small:
            return wide
        small = text_width(self.small, SMALL_MM)
        return wide + WORD_MM + small if self.inline else max(wide, small)

    @property
    def height(self) -> float:
        """Height from the deepest descender to the top of the first line [mm]."""
        below = SMALL_MM * SMALL_PITCH if self.small and not self.inline else 0.0
        return self.height_mm * (1.0 + DESCENT + LINE_PITCH * (len(self.lines) - 1)) + below

    def parts(self) -> list[tuple[XY, XY]]:
        """Size of each line, and its middle from that of the box [mm]."""
        found = []
        for number, (text, (aside, rise)) in enumerate(self.places()):
            lesser = number >= len(self.lines)
            height = SMALL_MM if lesser else self.height_mm
            wide = text_width(text, height, bold=self.bold and not lesser)
            found.append(((wide, height), (aside, rise + height / 2)))
        return found

    def places(self) -> list[tuple[str, XY]]:
        """Each line, and the middle of its base line from the middle of the box [mm]."""
        top = self.height / 2 - self.height_mm
        pitch = LINE_PITCH * self.height_mm
        found = [(line, (0.0, top - number * pitch)) for number, line in enumerate(self.lines)]
        if not self.small:
            return found
        if not self.inline:
            low = found[-1][1][1] - SMALL_PITCH * SMALL_MM
            return [*found, (self.small, (0.0, low))]
        wide = text_width(self.lines[0], self.height_mm, bold=self.bold)
        small = text_width(self.small, SMALL_MM)
        first = (wide - self.width) / 2
        return [
            (self.lines[0], (first, top)),
            (self.small, ((self.width - small) / 2, top)),
        ]


Choices = Sequence[tuple[Label, Iterable[Candidate]]]
"""Versions of a label, the best first, with their candidates in the order of their costs."""


class Canvas:
    """Collects primitives of the plan window and places its labels."""

    def __init__(self, view: View, unit: UnitSystem) -> None:
        self.view = view
        self.unit = unit
        self.primitives: list[Primitive] = []
        self.unplaced: list[str] = []
        # words that stand on other sheets at a larger scale: not worth a leader over another
        self.named: frozenset[str] = frozenset()
        self._hatched: list[BaseGeometry] = []
        self._fills: list[tuple[BaseGeometry, str]] = []
        left, bottom = view.left_mm + 1.0, view.bottom_mm + 1.0
        right, top = view.left_mm + view.width_mm - 1.0, view.bottom_mm + view.height_mm - 1.0
        self.placer = Placer((left, bottom, right, top))
        corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
        self.window: Polygon = Polygon(view.to_model(corners))

    def paper(self, point: XY) -> XY:
        """Place on paper of a model point [mm]."""
        x, y = self.view.to_paper([point])[0]
        return float(x), float(y)

    def model(self, point: XY) -> XY:
        """Model point of a place on paper [m]."""
        x, y = self.view.to_model([point])[0]
        return float(x), float(y)

    def line(
        self, points: Iterable[tuple[float, ...]], style: str, where: str, *, ink: float = 4.0
    ) -> None:
        """Draw a line; ``ink`` is what a label pays for crossing it."""
        path = tuple((float(point[0]), float(point[1])) for point in points)
        self.primitives.append(Polyline(path, style, where))
        self.placer.add_line(self.view.to_paper(path), ink)

    def ring(
        self, points: Iterable[tuple[float, ...]], style: str, where: str, *, ink: float = 4.0,
        leader: float | None = None, bulges: tuple[float, ...] = (),
    ) -> None:  # fmt: skip
        """Draw a closed line, with ``bulges`` where pieces of it are arcs."""
        path = tuple((float(point[0]), float(point[1])) for point in points)
        drawn = Polyline(path, style, where, closed=True, bulges=bulges)
        self.primitives.append(drawn)
        self.placer.add_line(self.view.to_paper(drawn.path), ink, leader_cost=leader)

    def outline(
        self, area: BaseGeometry, style: str, where: str, *, ink: float = 4.0,
        leader: float | None = None,
    ) -> None:  # fmt: skip
        """Draw every ring of an area, or the area itself where it is a line."""
        for part in get_parts(area):
            if isinstance(part, LineString) and len(part.coords) > 1:
                self.line(part.coords, style, where, ink=ink)
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

    def symbol(self, symbol: Symbol, *, keep_off: float = 1.0) -> None:
        """Draw a symbol; labels keep off ``keep_off`` times its radius."""
        # symbols stand upright on paper, however the ground is turned
        upright = replace(symbol, angle_deg=symbol.angle_deg - self.view.turn_deg)
        self.primitives.append(upright)
        center = shapely.Point(self.paper(symbol.at))
        disk = center.buffer(symbol.size_mm * keep_off, quad_segs=4)
        self.placer.add_area(disk, leader_cost=CROSSED_LEADER)

    def put(self, label: Label, candidates: Sequence[Candidate], *, most: float = HARD) -> bool:
        """Place a label on the best candidate; False if all cost ``most`` or more."""
        return self.put_one([(label, candidates)], most=most)

    def put_one(
        self, choices: Sequence[tuple[Label, Sequence[Candidate]]], *, most: float = HARD
    ) -> bool:
        """Place one of several versions of a label, the cheapest, earlier ones preferred."""
        near = [(label, by_cost(places)) for label, places in choices]
        if most < HARD:
            # what may be left out is not worth a leader across the sheet
            return self._put(near, [], most=most)
        far, fine = (
            [(label, farther(places, (label.width, label.height), fine=fine))
             for label, places in near]
            for fine in (False, True)
        )  # fmt: skip
        return self._put(near, far, fine)

    def _put(
        self, near: Choices, far: Choices, fine: Choices = (), most: float = HARD
    ) -> bool:  # fmt: skip
        """Place one version of a label near what it names, or where that is full, far.

        ``fine``: many more places, looked at where a leader would meet another else.
        """
        near = [(label, list(places)) for label, places in near]
        far = [(label, list(places)) for label, places in far]
        label: Label | None = None
        best: Candidate | None = None
        for rank, limit in enumerate(self.limits(near[0][0], most) if near else ()):
            for choices in (near, far) if rank else (near, far, fine):
                if best is None:
                    label, best = self._cheapest(choices, limit)
        if label is None or best is None:
            if most >= HARD and near:
                # what may be left out is no loss
                self.unplaced.append(" ".join(near[0][0].lines))
            return False
        if best.leader is not None:
            self.lead(label, best)
        self.write(label, best.center, best.angle_deg)
        return True

    def limits(self, label: Label, most: float = HARD) -> tuple[float, ...]:
        """What the place of a label may cost, at first and where there is no such place.

        A leader meets another only where no place at all is without, and not for what stands on
        another sheet at a larger scale, word by word.
        """
        few = min(most, MET_LEADER)
        words = {word for line in label.lines for word in line.split()}
        return (few,) if words <= self.named else tuple(dict.fromkeys((few, most)))

    def _cheapest(self, choices: Choices, most: float) -> tuple[Label | None, Candidate | None]:
        """Version and place of the cheapest candidate; None if all cost ``most`` or more."""
        best: tuple[Label | None, Candidate | None] = None, None
        for rank, (label, candidates) in enumerate(choices):
            # the first version reads best: each further one has to save so much by its place
            more = 2.0 * rank
            cost, place = self.placer.cheapest(
                candidates, label.width, label.height, most=most - more
            )
            if place is not None:
                most, best = cost + more, (label, place)
        return best

    def put_around(self, labels: Sequence[Label], at: XY, gap: float) -> bool:
        """Place one version of a label beside a symbol of radius ``gap`` [mm], or led away."""
        spot = self.paper(at)
        off = gap + 0.2
        near: list[tuple[Label, Iterable[Candidate]]] = []
        far: list[tuple[Label, Iterable[Candidate]]] = []
        fine: list[tuple[Label, Iterable[Candidate]]] = []
        for label in labels:
            size = (label.width, label.height)
            places = chain(around(spot, *size, gap), led(spot, *size, stand_off=off))
            near.append((label, places))
            far.append((label, led_far(spot, *size, stand_off=off)))
            fine.append((label, led_far(spot, *size, stand_off=off, fine=True)))
        return self._put(near, far, fine)

    def put_near(
        self, label: Label, places: Iterable[Candidate], spot: XY, *, stand_off: float
    ) -> bool:
        """Place a label on the best of some places, or led far away from a spot on paper."""
        size = (label.width, label.height)
        far, fine = (led_far(spot, *size, stand_off=stand_off, fine=fine) for fine in (False, True))
        return self._put([(label, by_cost(places))], [(label, far)], [(label, fine)])

    def write(self, label: Label, center: XY, angle_deg: float) -> None:
        """Write a label with the middle of its box at a place on paper [mm]."""
        self.reserve(label, center, angle_deg)
        along = math.radians(angle_deg)
        for number, (line, (aside, rise)) in enumerate(label.places()):
            at = (
                center[0] + aside * math.cos(along) - rise * math.sin(along),
                center[1] + aside * math.sin(along) + rise * math.cos(along),
            )
            lesser = number >= len(label.lines)
            self.primitives.append(
                Text(
                    line, self.model(at), SMALL_MM if lesser else label.height_mm, label.style,
                    label.layer, angle_deg=angle_deg - self.view.turn_deg, anchor="center",
                    bold=label.bold and not lesser,
                    mark=label.mark and replace(label.mark, line=number),
                )
            )  # fmt: skip

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

    def lead(self, label: Label, place: Candidate) -> None:
        """Draw the leader of a label placed away from what it names."""
        assert place.leader is not None
        path = leader_path(place, label.width, label.height)
        # a label on a leader would cut off what it leads to, and leaders that meet lead astray
        self.placer.add_leader(path)
        (tail_x, tail_y), (x, y) = path[-2:]
        reach = max(math.hypot(tail_x - x, tail_y - y), 1e-9)
        tip = arrow_head((x, y), ((tail_x - x) / reach, (tail_y - y) / reach), 1.8)
        points = tuple(self.model(point) for point in path)
        self.primitives.append(Polyline(points, "leader", label.layer))
        ring = tuple(self.model(point) for point in tip)
        self.primitives.append(Fill((ring,), "ink-fill", label.layer))


UPRIGHT_DEG: Final = 5.0
"""Text that leans so little beyond upright is not turned round: neighbours then read one way."""


def readable(angle_deg: float) -> float:
    """The angle or its opposite, so that text reads from below or from the right.

    Examples
    --------
    >>> readable(180.0), readable(90.0), readable(-88.0), readable(-80.0), readable(94.0)
    (0.0, 90.0, 92.0, -80.0, 94.0)
    """
    turned = (angle_deg + 180.0) % 360.0 - 180.0
    if turned > 90.0 + UPRIGHT_DEG:
        return turned - 180.0
    return turned + 180.0 if turned <= -90.0 + UPRIGHT_DEG else turned
