"""Which rules hold between one part of the exchanger and one thing on the lot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from siteplan.rule_books.loader import book_named, load_book
from siteplan.rule_books.model import (
    ANYWHERE,
    COMMON_PRACTICE,
    EACH_OTHER,
    OWN_BOOK,
    PROPERTY_LINE,
    SAFETY,
    SUPPLY_WELL,
    Book,
    Part,
    Rule,
    Says,
)
from siteplan.rules.conditions import Plant, binds, certain, plant_of
from siteplan.rules.measuring import Measuring, margin_of, measuring_of
from siteplan.site.model import Feature, Site

KEEPS_OFF: tuple[Says, ...] = ("at least", "not allowed")
"""What makes a keep-out; ``not allowed`` keeps off the thing itself."""


@dataclass(frozen=True)
class RuleSet:
    """The rules that hold on one site, and the books they come from.

    Parameters
    ----------
    rules
        Own rules, then those of the books, in the order they are named.
    books
        The books.
    measuring
        How distances are measured on this site.
    plant
        What rules ask of the exchanger itself.
    """

    rules: tuple[Rule, ...]
    books: tuple[Book, ...]
    measuring: Measuring = field(default_factory=Measuring)
    plant: Plant = field(default_factory=Plant)

    def holding(self, part: Part, feature: Feature | None) -> tuple[Rule, ...]:
        """Rules that keep a part off a feature, by distance; None means the property line.

        Each of them has to be kept, and measured in its own way: of a roof with an overhang 10 ft
        from the overhang may ask for more than 12 ft from the wall.
        Common practice speaks where no book and no own rule surely does. A rule that only forbids
        the thing itself, one that holds only because the feature does not state its class, the
        safety rules and the clearance of a single feature hold beside it.
        """
        binding = self._binding(part, feature, KEEPS_OFF)
        common = [rule for rule in binding if rule.book == COMMON_PRACTICE]
        others = [rule for rule in binding if rule.book != COMMON_PRACTICE]
        # common practice fills a silence: where a book surely speaks, its figure holds though it
        # be smaller
        spoken = any(self._displaces(rule, feature) for rule in others)
        holding = others if spoken else [*others, *common]
        return tuple(sorted(holding, key=lambda rule: rule.distance_m, reverse=True))

    def keeping_off(self, part: Part, feature: Feature | None) -> tuple[Rule, ...]:
        """Rules of them that also keep a part from crossing the feature."""
        return tuple(rule for rule in self.holding(part, feature) if not rule.alongside)

    def alongside(self, feature: Feature) -> tuple[Rule, ...]:
        """Rules of them that keep the header off a feature as it runs beside it."""
        return tuple(rule for rule in self.holding("header", feature) if rule.alongside)

    def asked(self, rule: Rule, part: Part, feature: Feature | None, reach_m: float = 0.0) -> float:
        """What a rule keeps between a part's centre and a feature as it is drawn [m].

        Parameters
        ----------
        rule
            A rule that holds between the two.
        part
            Part of the exchanger.
        feature
            The thing; None means the property line.
        reach_m
            How far the part reaches around its centre or centre line [m].
        """
        margin = margin_of(feature, rule) if feature is not None else 0.0
        return margin + rule.distance_m + reach_m + self.measuring.extra(rule, part, reach_m)

    def nested(self, part: Part, feature: Feature | None) -> tuple[Rule, ...]:
        """Rules of them that keep a part off all around, so that the widest holds them all."""
        keeping = self.keeping_off(part, feature)
        return tuple(rule for rule in keeping if not rule.unless_outside)

    def deciding(self, part: Part, feature: Feature | None, reach_m: float = 0.0) -> Rule | None:
        """Rule that keeps a part farthest from a feature as it is drawn: the others lie within.

        ``reach_m``: how far the part reaches around its centre or centre line [m].
        """
        return max(
            self.nested(part, feature),
            key=lambda rule: self.asked(rule, part, feature, reach_m),
            default=None,
        )

    def replaced(self, part: Part, feature: Feature | None, reach_m: float = 0.0) -> Rule | None:
        """Common practice that would keep a part farther off than the rules in its stead."""

        def asked(rule: Rule) -> float:
            return self.asked(rule, part, feature, reach_m)

        deciding = self.deciding(part, feature, reach_m)
        binding = self._binding(part, feature, KEEPS_OFF)
        common = [rule for rule in binding if rule.book == COMMON_PRACTICE and not rule.alongside]
        stricter = [rule for rule in common if deciding and asked(rule) > asked(deciding)]
        return max(stricter, key=asked, default=None)

    def approvals(self, part: Part, feature: Feature) -> tuple[Rule, ...]:
        """Rules by which an authority must approve a part within a distance of a feature."""
        return self._binding(part, feature, ("approval within",))

    def ban(self, part: Part) -> Rule | None:
        """Rule that does not allow a part anywhere."""
        return next(self._of_subject(part, ANYWHERE, "not allowed"), None)

    def unregulated(self, part: Part) -> Rule | None:
        """Rule that says a part is not regulated."""
        return next(self._of_subject(part, ANYWHERE, "not regulated"), None)

    def farthest_return(self) -> Rule | None:
        """Rule that keeps the return well near the supply well: the shortest of them."""
        most = self._of_subject("return well", SUPPLY_WELL, "at most")
        return min(most, key=lambda rule: rule.distance_m, default=None)

    def nearest_return(self) -> Rule | None:
        """Rule that keeps the return well off the supply well: the longest of them."""
        least = self._of_subject("return well", SUPPLY_WELL, "at least")
        return max(least, key=lambda rule: rule.distance_m, default=None)

    def apart(self, part: Part) -> Rule | None:
        """Rule that keeps parts of a kind off each other: the longest of them."""
        least = self._of_subject(part, EACH_OTHER, "at least")
        return max(least, key=lambda rule: rule.distance_m, default=None)

    def depth_limits(self, part: Part, feature: Feature | None) -> tuple[Rule, ...]:
        """Rules that limit how deep a part goes, near a feature; None: anywhere."""
        if feature is None:
            return tuple(self._of_subject(part, ANYWHERE, "no deeper than"))
        return self._binding(part, feature, ("no deeper than",))

    def rear_yard(self, part: Part) -> Rule | None:
        """Rule that allows a part in the rear yard only."""
        return next(self._of_subject(part, ANYWHERE, "rear yard only"), None)

    def to_state(self, part: Part, features: Sequence[Feature]) -> tuple[Rule, ...]:
        """Rules whose distance another document has, and no own rule states for the part."""
        things = (None, *features)
        asked = [rule for thing in things for rule in self._binding(part, thing, ("as stated",))]
        own = {rule.subject for rule in self.rules if rule.book == OWN_BOOK and part in rule.parts}
        return tuple(dict.fromkeys(rule for rule in asked if rule.subject not in own))

    def without(self, rule: Rule) -> RuleSet:
        """The same rules, as if one had never been written."""
        kept = tuple(
            other for other in self.rules if (other.book, other.id, other.subject) != _name_of(rule)
        )
        return replace(self, rules=kept)

    def relaxed(self, rule: Rule, distance_m: float) -> RuleSet:
        """The same rules, with one of them asking for another distance [m]."""
        changed = tuple(
            replace(other, distance_m=distance_m)
            if (other.book, other.id, other.subject) == _name_of(rule)
            else other
            for other in self.rules
        )
        return replace(self, rules=changed)

    def _binding(
        self, part: Part, feature: Feature | None, says: tuple[Says, ...]
    ) -> tuple[Rule, ...]:
        return tuple(
            rule
            for rule in self.rules
            if part in rule.parts and rule.says in says and self._speaks_of(rule, part, feature)
        )

    def _speaks_of(self, rule: Rule, part: Part, feature: Feature | None) -> bool:
        if feature is None:
            return rule.subject == PROPERTY_LINE and self.plant.meets(rule.when, part)
        if rule.feature:
            return rule.feature == feature.id
        return rule.subject == feature.kind and binds(rule.when, feature, self.plant, part)

    def _displaces(self, rule: Rule, feature: Feature | None) -> bool:
        """Whether a rule stands in the place of common practice."""
        # safety rules guard against another danger, an own clearance is for one thing only, and
        # a way out of a rule is no word on what else is usual: none of them says that the usual
        # distance is not needed
        if rule.book == SAFETY or rule.feature or rule.unless_outside or rule.says != "at least":
            return False
        return feature is None or certain(rule.when, feature, self.plant)

    def _of_subject(self, part: Part, subject: str, says: Says) -> Iterator[Rule]:
        return iter(
            rule
            for rule in self.rules
            if part in rule.parts
            and rule.subject == subject
            and rule.says == says
            and self.plant.meets(rule.when, part)
        )


def safety_clearance(line: Feature) -> Rule | None:
    """Safety rule of what machines at work keep from a power line; None: its owner decides."""
    holding = (
        rule
        for rule in load_book(SAFETY).rules
        if rule.subject == line.kind and rule.measure == "machine" and binds(rule.when, line)
    )
    return max(holding, key=lambda rule: rule.distance_m, default=None)


def _name_of(rule: Rule) -> tuple[str, str, str]:
    return rule.book, rule.id, rule.subject


def rules_of(site: Site) -> RuleSet:
    """Rules that hold on a site: its own, its books, the safety rules and common practice.

    Raises
    ------
    RuleError
        A book that does not exist or has faults.
    """
    named = [book for book in site.books if book not in (COMMON_PRACTICE, SAFETY)]
    beside = site.source.parent
    books = tuple(book_named(book, beside) for book in (*named, SAFETY, COMMON_PRACTICE))
    rules = (*site.own_rules, *(rule for book in books for rule in book.rules))
    return RuleSet(rules, books, measuring_of(site), plant_of(site))
