"""What a book leaves to be stated, and that its text is no longer in force."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from siteplan.findings.model import Finding, Values, reason
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Book, Part, Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.rules.yards import rear_line
from siteplan.site.model import Site


def book_remarks(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """What somebody must state or read, so that the books' rules can be kept."""
    for book in rules.books:
        yield from superseded(book, site.project.date)
    titles = {book.id: book.title for book in rules.books}
    parts: tuple[Part, ...] = (*layout.loop.parts, "header")
    for part in parts:
        # of a rule that names several things one remark says it of all
        asked = {(rule.book, rule.id): rule for rule in rules.to_state(part, site.features)}
        for rule in asked.values():
            yield _of_rule("state-it", rule, part, titles)
        yard = rules.rear_yard(part)
        if yard is not None and rear_line(site) is None:
            yield _of_rule("rear-yard-unknown", yard, part, titles)
        for feature in site.features:
            for rule in rules.depth_limits(part, feature):
                if rule.measure == "below casing" and feature.casing_m is None:
                    yield _of_rule("casing-not-stated", rule, part, titles, feature.id)


def superseded(book: Book, today: date) -> Iterator[Finding]:
    """That the text of a book, or of some of its rows, is superseded, or will be after a day."""
    if not book.stale:
        return
    days = {row.standing.superseded_on for row in book.stale}
    sources = tuple(dict.fromkeys(row.source for row in book.stale))
    whole = book.standing.superseded_on is not None
    rows = (
        reason("superseded-whole")
        if whole
        else reason("superseded-rows", number=len(book.stale), sources=sources)
    )
    by = reason("superseded-by", document=book.superseded_by) if book.superseded_by else None
    latest = max(day for day in days if day is not None)
    when = reason("superseded-on" if latest <= today else "superseded-to-be")
    values: Values = {
        "title": book.title,
        "when": when,
        "on": latest.isoformat(),
        "by": by,
        "rows": rows,
    }
    yield Finding("superseded", subject=book.id, rule=book.id, values=values)


def _of_rule(
    code: str, rule: Rule, part: Part, titles: dict[str, str], subject: str = ""
) -> Finding:
    return Finding(
        code,
        subject=subject or part,
        rule=f"{rule.book}/{rule.id}",
        values={
            "title": titles.get(rule.book, rule.book),
            "part": part,
            "printed": rule.printed or rule.note,
            "source": rule.source,
        },
    )
