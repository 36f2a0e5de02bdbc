"""What a site is: frozen values in local metres, x to the east and y to the north."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import Reason
from siteplan.geometry.offset import grow
from siteplan.rule_books.model import Rule
from siteplan.site.adjoining import AdjoiningParcel
from siteplan.site.bore_grid import BoreGrid
from siteplan.site.deed import DeedClosure
from siteplan.site.energy import Energy, GroundYear
from siteplan.site.georeference import Georeference
from siteplan.site.machines import ExcavatorOptions, RigOptions
from siteplan.site.open_loop import OpenOptions
from siteplan.site.piping import PipingOptions
from siteplan.site.pond_bodies import PondExchanger
from siteplan.site.pond_survey import DepthContour, PondSurvey, WaterYear, Weather
from siteplan.site.prices import PriceList
from siteplan.site.project import Project
from siteplan.site.repairs import Repair
from siteplan.site.sheet_options import SheetOptions
from siteplan.site.sides import Protection, SoilClass
from siteplan.site.specification import SpecificationOptions
from siteplan.site.survey import SurveyDrawing
from siteplan.site.trench_kinds import USUAL
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import loop_types
from siteplan.vocabulary.pond_bodies import PondBody, pond_body

System = str
"""Name of a loop type, one of `siteplan.vocabulary.loop_types.loop_types`."""


@dataclass(frozen=True, slots=True)
class Feature:
    """Something on or near the lot that a rule may speak of.

    Parameters
    ----------
    id
        Stable id, unique on the site.
    kind
        A kind of ``kinds.toml``.
    shape
        Point, line or polygon in local metres.
    label, use
        Text for the drawing; a use of the kind, ``"private"``; else empty. ``use_assumed``: unsaid.
    depth_m, contours
        Greatest water depth of a pond [m]; its depth contours, shallow to deep.
    survey
        What else is known of a pond's water.
    width_m, overhang_m
        Width of a line, from whose side one measures; reach of a roof beyond walls [m].
    voltage_v
        Voltage of a power line, None where not known [V].
    pump_rate_m3s, daily_flow_m3s
        Pump rate of a well, design flow of a sewage field; None where not known [m3/s].
    pipe, owner, lies, casing_m
        Whether a sewer is watertight, whose a well is, whether it lies uphill; depth of its casing.
    level_m, well_m, yield_m3s
        Depth of the water in a well and of the well [m], what it gives [m3/s]; None: not known.
    """

    id: str
    kind: str
    shape: BaseGeometry
    label: str = ""
    use: str = ""
    depth_m: float | None = None
    contours: tuple[DepthContour, ...] = ()
    survey: PondSurvey = field(default_factory=PondSurvey)
    width_m: float = 0.0
    overhang_m: float = 0.0
    voltage_v: float | None = None
    pump_rate_m3s: float | None = None
    daily_flow_m3s: float | None = None
    pipe: str = ""
    owner: str = ""
    lies: str = ""
    casing_m: float | None = None
    level_m: float | None = None
    well_m: float | None = None
    yield_m3s: float | None = None
    use_assumed: bool = False

    @property
    def ground(self) -> BaseGeometry:
        """The ground that it takes: of a line with a width all between its sides.

        Examples
        --------
        >>> brook = Feature("brook", "stream", LineString([(0, 0), (9, 0)]), width_m=2.0)
        >>> [round(side, 3) for side in brook.ground.bounds]
        [-1.0, -1.0, 10.0, 1.0]
        """
        drawn = self.shape.area > 0 or self.width_m == 0
        return self.shape if drawn else grow(self.shape, self.width_m / 2)


@dataclass(frozen=True, slots=True)
class Entry:
    """A place where the pipes may enter the building."""

    id: str
    point: Point
    label: str = ""

    @property
    def called(self) -> str:
        """What it is called in a sentence: its label, or that it is the entry of such an id."""
        return self.label or f"entry {self.id}"


@dataclass(frozen=True, slots=True)
class GivenLength:
    """A length required that somebody has worked out, and who [m]."""

    length_m: float
    by: str


TrenchArrangement = Literal["best", "even", "filling"]
"""How trenches lie: in even blocks, filling the ground, or in blocks where those hold enough."""


@dataclass(frozen=True, slots=True)
class HorizontalOptions:
    """Trenches: spacing is centre to centre, all lengths in metres.

    ``soil``, ``protection``: how wide the ground opens; None: not stated. ``choices``: the same of
    each ``kind`` of ``trench_kinds.toml`` that may be dug, where it is left open; empty: settled.
    ``runs``: centre line of every trench given by hand, in staking order [m]; empty: none.
    """

    spacing_m: float
    depth_m: float
    width_m: float
    pipes: int
    shortest_m: float
    longest_m: float | None = None
    length: GivenLength | None = None
    soil: SoilClass | None = None
    protection: Protection = "shield"
    kind: str = USUAL
    choices: tuple[HorizontalOptions, ...] = ()
    arrangement: TrenchArrangement = "best"
    runs: tuple[LineString, ...] = ()

    @property
    def placed(self) -> bool:
        """Whether somebody gave the very places: they are checked, and nothing moves them."""
        return bool(self.runs)

    @property
    def apart_m(self) -> float:
        """Distance between trenches, centre to centre [m]."""
        return self.spacing_m

    @property
    def reach_m(self) -> float:
        """How far a trench reaches beyond its centre line [m]."""
        return self.width_m / 2


@dataclass(frozen=True, slots=True)
class PadOptions:
    """Inclined bores from one pad.

    Parameters
    ----------
    tilt_deg
        Most that a bore may lean from the vertical [deg].
    collar_spacing_m
        Least distance between two bores anywhere along them, centre to centre [m].
    line_m
        Least distance of the whole bore from the property line: a bore strays [m].
    """

    tilt_deg: float
    collar_spacing_m: float
    line_m: float = 0.0


Arrangement = Literal["best", "rows", "free"]
"""How bores stand: in straight rows, freely, or in rows where those hold enough."""


@dataclass(frozen=True, slots=True)
class VerticalOptions:
    """Bores: spacing is centre to centre, all lengths in metres.

    Parameters
    ----------
    spacing_most_m
        Widest spacing tried where the header stays as short [m]; None: no wider than asked.
    count, arrangement
        Exactly so many bores, None: as few as carry the length; how they may stand.
    grid
        Rows and columns typed by hand; None: none.
    places
        Place of every bore given by hand, in staking order, x and y [m]; empty: none.
    pad
        Lean the bores from one pad; None: upright ones.
    """

    spacing_m: float
    depth_least_m: float
    depth_most_m: float
    diameter_m: float
    length: GivenLength | None = None
    pad: PadOptions | None = None
    spacing_most_m: float | None = None
    count: int | None = None
    arrangement: Arrangement = "best"
    grid: BoreGrid | None = None
    places: tuple[tuple[float, float], ...] = ()

    @property
    def as_typed(self) -> bool:
        """Whether somebody typed how the bores stand: a grid, or the place of each."""
        return self.grid is not None or bool(self.places)

    @property
    def placed(self) -> bool:
        """Whether somebody gave the very places: they are checked, and nothing moves them."""
        return bool(self.places) or (self.grid is not None and self.grid.corner is not None)

    @property
    def stated(self) -> int | None:
        """How many bores were asked for; None: as few as carry the length."""
        if self.places:
            return len(self.places)
        return self.count if self.grid is None else self.grid.rows * self.grid.columns

    @property
    def apart_m(self) -> float:
        """Distance between bores, centre to centre [m]."""
        return self.spacing_m

    @property
    def reach_m(self) -> float:
        """How far a bore reaches beyond its centre [m]."""
        return self.diameter_m / 2


@dataclass(frozen=True, slots=True)
class PondOptions:
    """Pond coils: gap is edge to edge, all lengths in metres.

    ``coldest_c`` and ``warmest_c`` are the temperatures of the water at the coils [C];
    ``shallow_by`` and ``small_by`` say who answers for little water and for a small pond;
    ``height_m``: how far a coil on its blocks stands up from the bottom. ``weather`` over it, and
    the ``year`` of its water that follows, None where nothing is stated. ``body``: what is laid in
    place of coils; ``coil_diameter_m`` is then that of the circle around one, and
    ``pipe_per_coil_m`` the exchanger length of one, of plates that of all of them. ``places``:
    middle of each given by hand [m]; empty: none.
    """

    coil_diameter_m: float
    gap_m: float
    pipe_per_coil_m: float
    water_depth_m: float
    shore_m: float
    length: GivenLength | None = None
    coldest_c: float = 4.0
    warmest_c: float = 25.0
    shallow_by: str = ""
    small_by: str = ""
    height_m: float = 0.0
    weather: Weather | None = None
    year: WaterYear | None = None
    body: PondExchanger | None = None
    places: tuple[tuple[float, float], ...] = ()

    @property
    def placed(self) -> bool:
        """Whether somebody gave the very places: they are checked, and nothing moves them."""
        return bool(self.places)

    @property
    def words(self) -> PondBody:
        """What is laid is called."""
        return pond_body("coil") if self.body is None else self.body.words

    @property
    def apart_m(self) -> float:
        """Distance between coils, edge to edge [m]."""
        return self.gap_m

    @property
    def reach_m(self) -> float:
        """How far a coil reaches beyond its centre [m]."""
        return self.coil_diameter_m / 2


@dataclass(frozen=True, slots=True)
class Exchanger:
    """What is wanted.

    Parameters
    ----------
    system
        Loop type, or None to compare all and take the first that fits.
    order
        Order in which the loop types are preferred.
    ordered
        Whether somebody stated that order.
    cheapest
        Whether the one that costs least is, whatever the order.
    length
        Length required of any loop type that has none of its own.
    capacity_w
        Heat pump capacity, for a screening length [W].
    energy
        Loads and ground, for a calculated length.
    machine_reach_m
        How far the drill rig or excavator reaches beyond an element [m].
    rig, excavator
        The drill rig, and the excavator of the trenches; None: it is not asked where one gets to.
    ground_year
        Frost, and the year at the surface.
    piping
        Circuits, header pipes and fluid.
    assumed, unsaid
        Keys of figures of a calculated length, and of what books may bind, that nobody stated.
    allowance_m
        What a stake may stand off its place: laid out on top of every distance and spacing [m].
    idle
        What is stated and changes nothing, since no loads are: as the site file writes it.
    """

    horizontal: HorizontalOptions
    vertical: VerticalOptions
    pond: PondOptions
    open: OpenOptions
    system: System | None = None
    order: tuple[System, ...] = field(default_factory=lambda: tuple(loop_types()))
    ordered: bool = False
    cheapest: bool = False
    length: GivenLength | None = None
    capacity_w: float | None = None
    energy: Energy | None = None
    machine_reach_m: float = 0.0
    rig: RigOptions | None = None
    excavator: ExcavatorOptions | None = None
    ground_year: GroundYear = field(default_factory=GroundYear)
    piping: PipingOptions = field(default_factory=PipingOptions)
    assumed: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    allowance_m: float = 0.0
    idle: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Site:
    """Everything that was read about one lot, in local metres.

    ``searched_m``: how far around wells were looked for; ``any_wall``: entries are to choose from,
    and all in the ``wall`` that faces so, where that is stated;
    ``granted``: what a quick question assumed; ``deed``: how its calls close; ``survey``: how its
    drawing was read; ``repairs``: what was mended of shapes; ``adjoining``: lots beside it, drawn.
    """

    project: Project
    unit: UnitSystem
    parcel: Polygon
    features: tuple[Feature, ...]
    entries: tuple[Entry, ...]
    exchanger: Exchanger
    books: tuple[str, ...] = ()
    own_rules: tuple[Rule, ...] = ()
    sheet: SheetOptions = field(default_factory=SheetOptions)
    georeference: Georeference | None = None
    searched_m: float | None = None
    any_wall: bool = False
    wall: str = ""
    source: Path = Path("site.toml")
    prices: PriceList | None = None
    granted: tuple[Reason, ...] = ()
    deed: DeedClosure | None = None
    survey: SurveyDrawing | None = None
    repairs: tuple[Repair, ...] = ()
    adjoining: tuple[AdjoiningParcel, ...] = ()
    specification: SpecificationOptions = field(default_factory=SpecificationOptions)

    def of_kind(self, *kinds: str) -> tuple[Feature, ...]:
        """Features of the given kinds, in file order."""
        return tuple(feature for feature in self.features if feature.kind in kinds)
