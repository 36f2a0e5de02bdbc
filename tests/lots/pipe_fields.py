"""Fields made by hand whose pipes anybody can add up; no engine is involved."""

from dataclasses import replace

from shapely import LineString, Point

from siteplan.layout.elements import Bore, Trench
from siteplan.layout.header.tree import header_tree
from siteplan.layout.model import Header, Layout
from siteplan.site.energy import Fluid
from siteplan.site.model import (
    Entry,
    Exchanger,
    HorizontalOptions,
    PondOptions,
    VerticalOptions,
)
from siteplan.site.open_loop import OpenOptions
from siteplan.site.piping import CircuitOptions, HeaderOptions, PipingOptions

FT, GPM = 0.3048, 231 * 0.0254**3 / 60
FLUID = Fluid(0.0, 32.0, 10 / 3, 5.0, "propylene glycol 20 %")
EXCHANGER = Exchanger(
    horizontal=HorizontalOptions(3.0, 1.5, 0.6, 2, 10.0),
    vertical=VerticalOptions(6.0, 45.0, 120.0, 0.15),
    pond=PondOptions(1.5, 1.0, 90.0, 2.4, 3.0),
    open=OpenOptions(15.0, 0.15, 30.0),
    piping=PipingOptions(fluid=FLUID),
)


def exchanger(*, circuits=None, header=None, **more):
    """What is wanted, with options of circuits and header changed."""
    options = PipingOptions(
        CircuitOptions(**(circuits or {})),
        HeaderOptions(**(header or {})),
        more.pop("fluid", FLUID),
    )
    return replace(EXCHANGER, piping=options, **more)


def trenches(lengths, *, pipes=2, spacing=3.0, lead=6.0):
    """Trenches to the east, one above the other, joined by a header along their west ends."""
    made = tuple(
        Trench(f"T{k}", LineString([(0, spacing * k), (length, spacing * k)]), 0.6, 1.5, pipes)
        for k, length in enumerate(lengths, start=1)
    )
    return Layout("horizontal", made, _row(made, lead), spacing, sum(lengths))


def bores(count, *, spacing=6.0, lead=6.0, depth=60.0):
    """Bores in a row to the north of the entry."""
    made = tuple(Bore(f"B{k}", 0.0, spacing * k, 0.15, depth) for k in range(1, count + 1))
    return Layout("vertical", made, _row(made, lead), spacing, count * depth)


def _row(made, lead):
    low, high = made[0].y_m, made[-1].y_m
    entry = Entry("E1", Point(0, low - lead))
    runs = [LineString([(0, low - lead), (0, low)])]
    if high > low:
        runs.append(LineString([(0, low), (0, high)]))
    return Header(tuple(runs), entry)


def tree_of(layout):
    return header_tree(layout.header, layout.elements)
