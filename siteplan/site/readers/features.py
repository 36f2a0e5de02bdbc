"""From placed raw features to the features, entries and own distances of a site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType

from shapely import Point, Polygon

from siteplan.findings.model import Reason, reason
from siteplan.geometry.offset import grow
from siteplan.reading import Table, did_you_mean
from siteplan.rule_books.model import OWN_BOOK, Part, Rule
from siteplan.site.adjoining import AdjoiningParcel
from siteplan.site.model import Entry, Feature
from siteplan.site.options.choices import (
    ADJOINING,
    DEPTH_CONTOUR,
    ENTRY,
    MEASURED,
    SHORE_ENTRY,
    SOUNDING,
    choices,
    uses_of,
)
from siteplan.site.options.declared import Option, declared
from siteplan.site.options.read import Read, read_table
from siteplan.site.pond_survey import SHORE_M, DepthContour, PondSurvey, ShoreEntry, Sounding
from siteplan.site.readers.judge import judge_outline
from siteplan.site.readers.raw import RawFeature, shape_name
from siteplan.units.lengths import format_length
from siteplan.vocabulary.kinds import Kind, hint_of_kind, kinds
from siteplan.vocabulary.loop_types import element_parts

UNKNOWN = "unknown"
READ_BEFORE = ("kind", "at", "line", "area", *MEASURED, "side", "corner", "direction")
"""Keys of a feature that are read before its kind is known."""
ROOTS_KEEP_OFF: tuple[Part, ...] = ("trench", "header")
"""Parts that keep off a tree's root zone."""
ROOT_ZONE = "root zone, at least to the edge of the crown: common practice, no source"
OfPond = DepthContour | Sounding | ShoreEntry
"""What a feature of its own says of a pond."""
PRIVATE = "private"
"""What a potable well is where the site file does not say."""


@dataclass
class FeatureReader:
    """Collects features, entries, depth contours and soundings of one site.

    Parameters
    ----------
    entries
        Entries found among the features.
    rules
        Own distances of single features, as rules.
    read_features
        Features read so far, with the table they come from.
    adjoining
        Lots beside the lot, which are drawn and nothing else.
    quick
        Whether a pond of unknown depth is no fault, but one that holds no coil.
    assumed
        What is so taken for granted.
    """

    entries: list[Entry] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    read_features: list[tuple[Feature, Table]] = field(default_factory=list)
    adjoining: list[AdjoiningParcel] = field(default_factory=list)
    quick: bool = False
    assumed: list[Reason] = field(default_factory=list)
    _known: list[tuple[str, OfPond, Table]] = field(default_factory=list)
    _listed: bool = False

    def read(self, raw: RawFeature) -> None:
        """Take up one placed raw feature; its faults go where its table's go."""
        table = raw.table
        if not table.required("kind", declared("feature.kind").line):
            for key in declared("feature").options:
                table.has(key)
            table.finish(strict=not raw.from_file)  # it may only be misspelt
            return
        kind = raw.kind
        if kind == ENTRY:
            self._read_entry(raw)
        elif kind in (DEPTH_CONTOUR, SOUNDING):
            self._read_depth(raw, kind)
        elif kind == SHORE_ENTRY:
            self._read_shore_entry(raw)
        elif kind == ADJOINING:
            self._read_adjoining(raw)
        elif kind in kinds():
            self._read_feature(raw, kinds()[kind])
        else:
            table.fault("kind", f"{kind!r} is not a feature kind;", self._hint(kind))

    def _hint(self, word: str) -> str:
        """What kind was meant, where a word is misspelt; else all there are, but only once."""
        hint, known, all_of_them = hint_of_kind(word, choices()["kinds"]).partition("known: ")
        if not known:
            return hint
        listed, self._listed = self._listed, True
        there_are = "all kinds stand above." if listed else known + all_of_them
        return f'{hint}{there_are} Write "other keep-out" for what no rule names.'

    def features(self) -> tuple[Feature, ...]:
        """All features, ponds with what is known of their depth."""
        ponds = [feature.id for feature, _ in self.read_features if feature.kind == "pond"]
        given: dict[str, list[OfPond]] = {pond: [] for pond in ponds}
        for pond, known, table in self._known:
            target = pond or (ponds[0] if len(ponds) == 1 else "")
            if target in given:
                given[target].append(known)
            else:
                table.fault("pond", f"{pond!r} is not a pond here;", did_you_mean(pond, ponds))
        self.read_features = [
            (_with_known(feature, given.get(feature.id, [])), table)
            for feature, table in self.read_features
        ]
        for feature, table in self.read_features:
            self._needs_depth(feature, table)
        return tuple(feature for feature, _ in self.read_features)

    def soundings(self) -> tuple[tuple[Sounding, Table], ...]:
        """Soundings with the tables they come from."""
        return tuple((at, table) for _, at, table in self._known if isinstance(at, Sounding))

    def _read_entry(self, raw: RawFeature) -> None:
        given = _read(raw, ENTRY)
        if isinstance(raw.shape, Point):
            self.entries.append(Entry(given["id"] or "", raw.shape, given["label"] or ""))
        else:
            given.fault("", "is an entry but not a point.", "Draw it as a point.")

    def _read_depth(self, raw: RawFeature, kind: str) -> None:
        """Take up a depth contour or a sounding."""
        raw.table.required("depth", declared("feature.depth").line)
        given = _read(raw, kind)
        depth, shape = given["depth"], raw.shape
        if depth == UNKNOWN:
            given.fault("depth", f"of a {kind} is unknown.", f"Leave the {kind} out.")
        if shape.is_empty:
            return  # told where its points are read
        if not isinstance(shape, Polygon if kind == DEPTH_CONTOUR else Point):
            drawn, mend = ("polygon", "closed ring") if kind == DEPTH_CONTOUR else ("point",) * 2
            given.fault("", f"is a {kind} but not a {drawn}.", f"Draw it as a {mend}.")
        elif isinstance(depth, float):
            known: DepthContour | Sounding
            if isinstance(shape, Polygon):
                known = DepthContour(depth, shape)
            else:
                number = 1 + len(self.soundings())
                known = Sounding(given["id"] or f"S{number}", Point(shape.coords[0]), depth)
            self._known.append((given["pond"] or "", known, raw.table))

    def _read_shore_entry(self, raw: RawFeature) -> None:
        given = _read(raw, SHORE_ENTRY)
        if raw.shape.is_empty:
            return  # told where its points are read
        if isinstance(raw.shape, Point):
            entry = ShoreEntry(given["id"] or SHORE_ENTRY, raw.shape)
            self._known.append((given["pond"] or "", entry, raw.table))
        else:
            given.fault("", "is a shore entry but not a point.", "Draw it as a point.")

    def _read_adjoining(self, raw: RawFeature) -> None:
        given = _read(raw, ADJOINING)
        if isinstance(raw.shape, Polygon) and judge_outline(raw.shape, raw.table):
            self.adjoining.append(AdjoiningParcel(raw.shape, given["label"] or given["id"] or ""))
        elif not isinstance(raw.shape, Polygon) and not raw.shape.is_empty:
            given.fault("", "is an adjoining parcel but not an area.", "Draw its whole outline.")

    def _read_feature(self, raw: RawFeature, kind: Kind) -> None:
        given = _read(raw, kind.name)
        raw = _round(given, raw)
        shape = shape_name(raw.shape)
        if not raw.shape.is_empty and shape not in kind.shapes:
            raw.table.fault(
                "",
                f"is drawn as a {shape}, but a {kind.name} is a {' or '.join(kind.shapes)}.",
                "Draw it so, or correct its kind.",
            )
        _wide_lines_alone(given, raw)
        called = _called(kind, raw.table.text("kind"), given["id"] or "")
        feature = Feature(
            id=given["id"] or self._numbered(kind, called),
            kind=kind.name,
            shape=raw.shape,
            label=given["label"] or called,
            use=given["use"] or "",
            depth_m=None if given["depth"] == UNKNOWN else given["depth"],
            width_m=given["width"] + 2 * raw.departs_m if shape == "line" else 0.0,
            overhang_m=given["overhang"] or 0.0,
            voltage_v=given["voltage"],
            pump_rate_m3s=given["pump_rate"],
            daily_flow_m3s=given["daily_flow"],
            pipe=given["pipe"] or "",
            owner=given["owner"] or "",
            lies=given["lies"] or "",
            casing_m=given["casing"],
            survey=_survey(given),
            level_m=given["static_level"],
            well_m=given["well_depth"],
            yield_m3s=given["yield"],
            use_assumed=bool(given["use"]) and not raw.table.text("use"),
        )
        self._own_distance(given, feature)
        self._root_zone(given, feature)
        _within_the_well(given)
        self.read_features.append((feature, raw.table))

    def _numbered(self, kind: Kind, called: str) -> str:
        """What a feature without an id is named by: the word it was called by, and its number."""
        word = called.casefold()
        alike = [each for each, _ in self.read_features if each.kind == kind.name]
        number = 1 + sum(not word or each.label.casefold() == word for each in alike)
        return f"{called or kind.name} {number}"

    def _own_distance(self, given: Read, feature: Feature) -> None:
        """What a feature keeps off by its own clearance, as a rule of its own."""
        if not given.says("clearance"):
            if given.says("clearance_source"):
                given.fault("clearance_source", "is given without a clearance.", "Add clearance.")
            return
        written = given.table.raw("clearance")
        self.rules.append(
            Rule(
                id=f"{feature.id}-clearance",
                subject=feature.kind,
                parts=element_parts(),
                distance_m=given["clearance"] or 0.0,
                printed=written if isinstance(written, str) else f"{written} {given.unit}",
                book=OWN_BOOK,
                source=given["clearance_source"] or "written in the site file",
                feature=feature.id,
            )
        )

    def _root_zone(self, given: Read, feature: Feature) -> None:
        """What a tree whose crown is stated keeps trenches off, as a rule of its own."""
        if given["canopy"] is None:
            return
        reach = given["canopy"] / 2
        if feature.shape.area > 0:
            given.fault(
                "canopy",
                "is given for a tree drawn as an area.",
                "Draw the tree as a point, or leave canopy out.",
            )
        self.rules.append(
            Rule(
                id=f"{feature.id}-canopy",
                subject=feature.kind,
                parts=ROOTS_KEEP_OFF,
                distance_m=reach,
                printed=format_length(reach, given.unit, 1, rounding="up"),
                book=OWN_BOOK,
                source=ROOT_ZONE,
                feature=feature.id,
            )
        )

    def _needs_depth(self, feature: Feature, table: Table) -> None:
        known = feature.depth_m is not None or feature.contours or feature.survey.soundings
        missing = feature.kind == "pond" and not known and table.raw("depth") != UNKNOWN
        if missing and self.quick and not table.has("depth"):
            self.assumed.append(reason("pond-depth-not-said", pond=feature.id))
        elif missing:
            table.fault(
                "depth",
                "is missing: a pond coil needs the water depth at the lowest level.",
                'Add depth = "10 ft", features of kind "depth contour" or "sounding", or '
                'depth = "unknown" for a pond that shall hold no coil.',
            )
        sloped = feature.survey.side_slope is not None
        if sloped and (feature.contours or feature.survey.soundings):
            table.fault(
                "side_slope",
                "is given beside depth contours or soundings, which say how the bottom falls.",
                "Leave out one of the two.",
            )


def _wide_lines_alone(given: Read, raw: RawFeature) -> None:
    """Note a width of what is no line; a file may have a column of that name."""
    shape = shape_name(raw.shape)
    if given["width"] and shape != "line" and not raw.shape.is_empty and not raw.from_file:
        what = f"is given for a {shape}; it is that of a line."
        given.fault("width", what, "Leave it out, or draw the thing as an area.")


def _round(given: Read, raw: RawFeature) -> RawFeature:
    """What is drawn, or where a diameter is given the round thing around it."""
    across, shape = given["diameter"], shape_name(raw.shape)
    if not across or raw.shape.is_empty:
        return raw
    if shape != "point":
        # a file may have a column of that name
        if not raw.from_file:
            what = f"is given for a {shape}; it is that of a point."
            given.fault("diameter", what, 'Leave it out, or draw the middle alone, by "at".')
        return raw
    return replace(raw, shape=grow(raw.shape, across / 2))


def _within_the_well(given: Read) -> None:
    """Note a casing or a water level below the lower end of a well."""
    for key in ("casing", "static_level"):
        if given["well_depth"] is not None and (given[key] or 0.0) > given["well_depth"]:
            given.fault(key, "is deeper than the well, by its well_depth.", "Correct one of them.")


def _with_known(feature: Feature, known: list[OfPond]) -> Feature:
    """A pond with what is known of it beside its outline."""
    if not known:
        return feature
    contours = [each for each in known if isinstance(each, DepthContour)]
    ordered = tuple(sorted(contours, key=lambda contour: contour.depth_m))
    soundings = tuple(each for each in known if isinstance(each, Sounding))
    entries = tuple(_on_shore(each, feature) for each in known if isinstance(each, ShoreEntry))
    survey = replace(feature.survey, soundings=soundings, shore_entries=entries)
    return replace(feature, contours=ordered, survey=survey)


def _on_shore(entry: ShoreEntry, pond: Feature) -> ShoreEntry:
    """A shore entry moved onto the outline that it was drawn beside."""
    shore = pond.shape.boundary
    if shore.is_empty or shore.distance(entry.at) > SHORE_M:
        return entry
    return replace(entry, at=shore.interpolate(shore.project(entry.at)))


def _survey(given: Read) -> PondSurvey:
    """What a pond's own table says of its water."""
    return PondSurvey(
        side_slope=given["side_slope"],
        drawdown_m=given["drawdown"] or 0.0,
        inflow_m3s=given["inflow"] or 0.0,
        inflow_c=given["inflow_temperature"],
    )


def _read(raw: RawFeature, kind: str) -> Read:
    """What the table of a feature says, the keys that its kind has not as if not written.

    A geometry file may hold columns that are not ours.
    """
    for key in READ_BEFORE:
        raw.table.has(key)
    own = _options_of(kind, raw.from_file)
    given = read_table(raw.table, own, strict=not raw.from_file)
    options = declared("feature").options
    return replace(given, values={**dict.fromkeys(options), **given.values})


@lru_cache(maxsize=256)
def _options_of(kind: str, from_file: bool) -> Mapping[str, Option]:
    """What may be said of one kind of feature, by key: the same for all features of the kind."""
    own = {
        key: replace(_of_kind(option, kind), filled=option.filled and not from_file)
        for key, option in declared("feature").options.items()
        if key not in READ_BEFORE and option.belongs_to(kind)
    }
    if kind not in kinds() or not kinds()[kind].uses:
        own.pop("use", None)
    return MappingProxyType(own)


def _of_kind(option: Option, kind: str) -> Option:
    """An option as it is for one kind of feature."""
    if option.key != "use":
        return option
    usual = PRIVATE if PRIVATE in kinds()[kind].uses else None
    return replace(option, choices=uses_of(kind), default=usual)


def _called(kind: Kind, word: str, name: str) -> str:
    """What a feature is called besides, a building by its name too; else nothing.

    A house, a garage or a deck is labelled so.
    """
    words = (word, name) if kind.name == "building" else (word,)
    single = (each for word in words for each in (word, word.removesuffix("s")))
    return next((each for each in single if kind.as_called and each.casefold() in kind.also), "")
