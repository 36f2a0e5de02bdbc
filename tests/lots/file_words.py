"""Words that belong to a file and to no permit sheet: keys, tables, assignments, names of books."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from siteplan.rule_books.loader import book_ids
from siteplan.site.options.declared import every_option

KEYS = sorted({option.key for option in every_option()})
TABLE = re.compile(r"\[\[?[a-z][a-z_. ]*\]")
"""A table of a site file, such as [circuits]; the number of a source, [1], is none."""
SNAKE = re.compile(r"[a-z0-9]+_[a-z0-9_]+")
ASSIGNED = re.compile(rf"\b({'|'.join(KEYS)}) ?= ?\S")
QUOTED = re.compile(r"= ?[\"{\[]")
BOOKS = re.compile(rf"(?<![\w./-])({'|'.join(book_ids())})(?![\w-])")
OTHERS = re.compile(r"site file|\.toml|site\.|, no source|\{\w*\}")


def file_words(text: str) -> Iterator[str]:
    """What of a text no clerk should have to read."""
    for pattern in (TABLE, SNAKE, ASSIGNED, QUOTED, BOOKS, OTHERS):
        yield from (match[0] for match in pattern.finditer(text.replace("\u00a0", " ")))


def file_words_in(texts: Iterable[str]) -> list[tuple[str, str]]:
    """Each such word with the text that has it."""
    return [(word, text) for text in texts for word in file_words(text)]
