"""From placed raw features to the features, entries and own distances of a site."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from shapely import Point, Polygon

from siteplan.reading import Table, did_you_mean
from siteplan.rule_books.loader import ELEMENT_PARTS
from siteplan.rule_books.model import OWN_BOOK, Part, Rule
from siteplan.site.model import DepthContour, Entry, Feature
from siteplan.site.readers.raw import RawFeature, shape_name
from siteplan.units.lengths import format_length, parse_voltage
from siteplan.vocabulary.kinds import Kind, kinds

ENTRY = "entry"
DEPTH_CONTOUR = "depth contour"
MILLIMETRE = 1e-3
UNKNOWN = "unknown"
ROOTS_KEEP_OFF: tuple[Part, ...] = ("trench", "header")
"""Parts that keep off a tree's root zone."""
ROOT_ZONE = "root zone, at least to the edge of the crown: common practice, no source"
PRIVATE = "private"
"""What a potable well is where the site file does not say."""


@dataclass
class FeatureReader:
    """Collects features, entries and depth contours of one site.

    Parameters
    ----------
    entries
        Entries found among the features.
    rules
        Own distances of single features, as rules.
    read_features
        Features read so far, with the table they come from.
    """

    entries: list[Entry] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    read_features: list[tuple[Feature, Table]] = field(default_factory=list)
    _contours: list[tuple[str, DepthContour, Table]] = field(default_factory=list)

    def read(self, raw: RawFeature) -> None:
        """Take up one placed raw feature; its faults go where its table's go."""
        table = raw.table
        if not table.required("kind", 'kind = "building"'):
            return
        kind = table.text("kind")
        if kind == ENTRY:
            self._read_entry(raw)
        elif kind == DEPTH_CONTOUR:
            self._read_contour(raw)
        elif kind in kinds():
            self._read_feature(raw, kinds()[kind])
        else:
            known = (*kinds(), ENTRY, DEPTH_CONTOUR, "parcel")
            table.fault("kind", f"{kind!r} is not a feature kind;", did_you_mean(kind, known))

    def features(self) -> tuple[Feature, ...]:
        """All features, ponds with their depth contours."""
        ponds = [feature.id for feature, _ in self.read_features if feature.kind == "pond"]
        given: dict[str, list[DepthContour]] = {pond: [] for pond in ponds}
        for pond, contour, table in self._contours:
            target = pond or (ponds[0] if len(ponds) == 1 else "")
            if target in given:
                given[target].append(contour)
            else:
                table.fault("pond", f"{pond!r} is not a pond here;", did_you_mean(pond, ponds))
        self.read_features = [
            (_with_contours(feature, given.get(feature.id, [])), table)
            for feature, table in self.read_features
        ]
        for feature, table in self.read_features:
            self._needs_depth(feature, table)
        return tuple(feature for feature, _ in self.read_features)

    def _read_entry(self, raw: RawFeature) -> None:
        if isinstance(raw.shape, Point):
            self.entries.append(Entry(raw.table.text("id"), raw.shape, raw.table.text("label")))
        else:
            raw.table.fault("", "is an entry but not a point.", "Draw it as a point.")
        _finish(raw.table, from_file=raw.from_file)

    def _read_contour(self, raw: RawFeature) -> None:
        table = raw.table
        table.required("depth", 'depth = "8 ft"')
        contour = DepthContour(table.length("depth", 1.0, least=MILLIMETRE), Polygon())
        pond = table.text("pond")
        table.text("id")
        if isinstance(raw.shape, Polygon):
            self._contours.append((pond, replace(contour, shape=raw.shape), table))
        else:
            table.fault("", "is a depth contour but not a polygon.", "Draw it as a closed ring.")
        _finish(table, from_file=raw.from_file)

    def _read_feature(self, raw: RawFeature, kind: Kind) -> None:
        table = raw.table
        shape = shape_name(raw.shape)
        if not raw.shape.is_empty and shape not in kind.shapes:
            table.fault(
                "",
                f"is drawn as a {shape}, but a {kind.name} is a {' or '.join(kind.shapes)}.",
                "Draw it so, or correct its kind.",
            )
        feature = Feature(
            id=table.text("id") or f"{kind.name} {self._next(kind)}",
            kind=kind.name,
            shape=raw.shape,
            label=table.text("label"),
            use=self._use(table, kind),
            depth_m=_depth(table, kind),
            width_m=table.length("width", 0.0),
            overhang_m=table.length("overhang", 0.0),
            voltage_v=table.quantity("voltage", parse_voltage),
            pump_rate_m3s=table.flow("pump_rate"),
            daily_flow_m3s=table.flow("daily_flow"),
        )
        self._own_distance(table, feature)
        self._root_zone(table, feature)
        _finish(table, from_file=raw.from_file)
        self.read_features.append((feature, table))

    def _next(self, kind: Kind) -> int:
        return 1 + sum(feature.kind == kind.name for feature, _ in self.read_features)

    def _use(self, table: Table, kind: Kind) -> str:
        if not kind.uses:
            return ""
        return table.choice("use", kind.uses, PRIVATE if PRIVATE in kind.uses else "")

    def _own_distance(self, table: Table, feature: Feature) -> None:
        if not table.has("clearance"):
            return
        distance = table.length("clearance", 0.0)
        written = table.raw("clearance")
        self.rules.append(
            Rule(
                id=f"{feature.id}-clearance",
                subject=feature.kind,
                parts=ELEMENT_PARTS,
                distance_m=distance,
                printed=written if isinstance(written, str) else f"{written} {table.unit}",
                book=OWN_BOOK,
                source=table.text("clearance_source") or "written in the site file",
                feature=feature.id,
            )
        )

    def _root_zone(self, table: Table, feature: Feature) -> None:
        """What a tree whose crown is stated keeps trenches off, as a rule of its own."""
        if feature.kind != "tree" or not table.has("canopy"):
            return
        reach = table.length("canopy", 0.0, least=MILLIMETRE) / 2
        if feature.shape.area > 0:
            table.fault(
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
                printed=format_length(reach, table.unit, 1, rounding="up"),
                book=OWN_BOOK,
                source=ROOT_ZONE,
                feature=feature.id,
            )
        )

    @staticmethod
    def _needs_depth(feature: Feature, table: Table) -> None:
        known = feature.depth_m is not None or feature.contours
        if feature.kind == "pond" and not known and table.raw("depth") != UNKNOWN:
            table.fault(
                "depth",
                "is missing: a pond coil needs the water depth at the lowest level.",
                'Add depth = "10 ft", features of kind "depth contour", or depth = "unknown" '
                "for a pond that shall hold no coil.",
            )


def _depth(table: Table, kind: Kind) -> float | None:
    if kind.name != "pond" or not table.has("depth") or table.raw("depth") == UNKNOWN:
        return None
    return table.length("depth", 0.0, least=MILLIMETRE)


def _with_contours(feature: Feature, contours: list[DepthContour]) -> Feature:
    ordered = tuple(sorted(contours, key=lambda contour: contour.depth_m))
    return replace(feature, contours=ordered) if ordered else feature


def _finish(table: Table, *, from_file: bool) -> None:
    """Note unknown keys of a feature; a geometry file may hold columns that are not ours."""
    for key in ("at", "line", "area", "note"):
        table.has(key)
    table.finish(strict=not from_file)
