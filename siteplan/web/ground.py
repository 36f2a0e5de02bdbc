"""What each thing on the lot keeps a part off by, and why a part may not lie at a point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import shapely

from siteplan.available.area import PARCEL, why_not
from siteplan.available.prepared import reach_of
from siteplan.rule_books.model import Part, Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.sheet.tables.source_words import source_words
from siteplan.site.model import Site
from siteplan.units.lengths import format_length
from siteplan.vocabulary.loop_types import all_parts, element_parts

Json = dict[str, Any]
LINE: Final = "property line"


IN_WATER: Final[Part] = "coil"
"""What lies in a pond, and nowhere else."""
POND: Final = "pond"


def part_is_here(site: Site, part: Part) -> bool:
    """Whether a part can lie on a lot at all: a coil lies in a pond."""
    return part != IN_WATER or bool(site.of_kind(POND))


@dataclass(frozen=True, slots=True)
class Ground:
    """A lot under its rules, as the page asks of it."""

    site: Site
    rules: RuleSet

    def parts(self) -> list[Json]:
        """For each part that is laid how far every thing keeps its centre or centre line off."""
        return [self.part(part) for part in element_parts() if part_is_here(self.site, part)]

    def part(self, part: Part) -> Json:
        """How far the property line and every thing keep a part off, and by which rule [m]."""
        reach = reach_of(part, self.site.exchanger)
        more = self.site.exchanger.allowance_m
        kept = {}
        for feature in self.site.features:
            rule = self.rules.deciding(part, feature, reach)
            if rule is not None:
                asked = self.rules.asked(rule, part, feature, reach) + more
                kept[feature.id] = [round(asked, 4), self.words(rule)]
        line = self.rules.deciding(part, None, reach)
        own = self.rules.asked(line, part, None, reach) + more if line is not None else 0.0
        return {
            "part": part,
            "line": [round(own, 4), self.words(line) if line is not None else ""],
            "things": kept,
            "land": part != IN_WATER,
        }

    def words(self, rule: Rule) -> str:
        """A rule with who says so."""
        said = source_words(rule.book, rule.source, self.site.unit)
        return f"{rule.printed} from {rule.subject} ({said})"

    def why(self, x: float, y: float) -> list[Json]:
        """Of each part whether it may lie at a point [m], and every rule that keeps it off."""
        found = []
        for part in all_parts():
            if not part_is_here(self.site, part):
                continue
            reasons = why_not(self.site, self.rules, part, x, y)
            told = [self._reason(each.feature, each.distance_m, each.rule) for each in reasons]
            told += self._off_the_water(part, x, y)
            found.append({"part": part, "may": not told, "because": told})
        return found

    def _off_the_water(self, part: Part, x: float, y: float) -> list[Json]:
        """Of what lies in water alone, how far the nearest pond is; nothing within one [m]."""
        if part != IN_WATER:
            return []
        spot = shapely.Point(x, y)
        far_m, name = min((each.shape.distance(spot), each.id) for each in self.site.of_kind(POND))
        away = format_length(far_m, self.site.unit, 1, rounding="down")
        return [{"thing": name, "away": away, "rule": "a coil lies in its water"}] if far_m else []

    def _reason(self, feature: str, distance_m: float, rule: Rule | None) -> Json:
        away = format_length(distance_m, self.site.unit, 1, rounding="down")
        outside, feature = feature == PARCEL, LINE if feature == PARCEL else feature
        if rule is not None:
            return {"thing": feature, "away": away, "rule": self.words(rule)}
        return {
            "thing": feature,
            "away": away,
            "rule": "outside of the lot" if outside else "the header never crosses it",
        }
