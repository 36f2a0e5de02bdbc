"""Which rule decides between one part of the exchanger and one thing on the lot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from siteplan.rules.loader import Book, load_book
from siteplan.rules.model import COMMON_PRACTICE, PROPERTY_LINE, Part, Rule
from siteplan.site.model import Feature, Site


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The rules that hold on one site, and the books they come from."""

    rules: tuple[Rule, ...]
    books: tuple[Book, ...]

    def deciding(self, part: Part, feature: Feature | None) -> Rule | None:
        """Strictest rule between a part and a feature; None means the property line.

        Common practice speaks only where no book and no own rule does.
        """
        binding = [rule for rule in self.rules if _binds(rule, part, feature)]
        codes = [rule for rule in binding if rule.book != COMMON_PRACTICE]
        return max(codes or binding, key=lambda rule: rule.distance_m, default=None)


def rules_of(site: Site) -> RuleSet:
    """Rules that hold on a site: its books, its own rules, and common practice behind them.

    Raises
    ------
    RuleError
        A book that does not exist or has faults.
    """
    named = [book for book in site.books if book != COMMON_PRACTICE]
    books = tuple(load_book(book) for book in (*named, COMMON_PRACTICE))
    return RuleSet(rules=(*site.own_rules, *_all_rules(books)), books=books)


def _all_rules(books: Iterable[Book]) -> tuple[Rule, ...]:
    return tuple(rule for book in books for rule in book.rules)


def _binds(rule: Rule, part: Part, feature: Feature | None) -> bool:
    if part not in rule.parts:
        return False
    if feature is None:
        return rule.subject == PROPERTY_LINE
    if rule.feature:
        return rule.feature == feature.id
    return rule.subject == feature.kind and rule.use in ("", feature.use)
