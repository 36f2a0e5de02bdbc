"""A file changed here and elsewhere since one state: both changes in one text, where they part."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import Final

Files = Mapping[str, str]
"""Texts of the site file and of the lot's GeoJSON that it names, by their names."""
TABLE: Final = re.compile(r"\s*\[")
"""A line that begins a table of a TOML file."""
MOST_LINES: Final = 2000
"""Longer files are not compared line by line: it would take seconds."""
MOST_STATES: Final = 12
"""States that are looked at, the newest ones."""


def put_together(states: Sequence[Files], mine: Files, theirs: Files) -> Files | None:
    """What was changed here and elsewhere, both; None where that is for people to say.

    Parameters
    ----------
    states
        Files as they were, the oldest first; what was changed elsewhere began as one of them.
    mine
        Files as they are here.
    theirs
        Files as somebody else has written them.
    """
    if set(mine) != set(theirs) or any(dict(theirs) == dict(state) for state in states):
        return None  # an old state put back is a wish of its own
    known = [state for state in states[-MOST_STATES:] if set(state) == set(mine)]
    if not known or any(len(text.splitlines()) > MOST_LINES for text in theirs.values()):
        return None
    # the state it differs from least is what somebody else had before him; of two that are as
    # near he may have meant either
    apart = [_apart(state, theirs) for state in known]
    nearest = [state for state, far in zip(known, apart, strict=True) if far == min(apart)]
    base = nearest[-1]
    if any(dict(state) != dict(base) for state in nearest):
        return None
    found: dict[str, str] = {}
    for name, text in base.items():
        both = merged(text, mine[name], theirs[name])
        if both is None:
            return None
        found[name] = both
    return found if all(_is_read(name, text) for name, text in found.items()) else None


def merged(base: str, mine: str, theirs: str) -> str | None:
    r"""A text with two people's changes; None where both have touched one table.

    Examples
    --------
    >>> base = "[a]\nx = 1\n[b]\ny = 1\n"
    >>> merged(base, base.replace("x = 1", "x = 2"), base.replace("y = 1", "y = 2"))
    '[a]\nx = 2\n[b]\ny = 2\n'
    >>> merged(base, base.replace("x = 1", "x = 2"), base.replace("x = 1", "x = 3")) is None
    True
    """
    if mine == base or theirs in (base, mine):
        return theirs if mine == base else mine
    lines = base.splitlines(keepends=True)
    tables = [0]
    for line in lines:
        tables.append(tables[-1] + bool(TABLE.match(line)))
    ours, others = (list(_changes(lines, text)) for text in (mine, theirs))
    touched = [{tables[at] for one in some for at in _lines_of(one)} for some in (ours, others)]
    if touched[0] & touched[1]:
        return None
    for first, last, new in sorted([*ours, *others], reverse=True):
        lines[first:last] = new
    return "".join(lines)


Change = tuple[int, int, list[str]]


def _changes(lines: list[str], text: str) -> Iterator[Change]:
    """Lines from one to before another, and what stands in their place."""
    after = text.splitlines(keepends=True)
    for what, first, last, new, end in SequenceMatcher(None, lines, after, False).get_opcodes():
        if what != "equal":
            yield first, last, after[new:end]


def _lines_of(change: Change) -> range:
    """Places whose tables a change touches: of what is put in, the line before it."""
    first, last, _ = change
    return range(first + 1, last + 1) if last > first else range(first, first + 1)


def _apart(one: Files, other: Files) -> int:
    """How many lines two states differ by."""
    return sum(
        max(last - first, len(new))
        for name in other
        for first, last, new in _changes(one[name].splitlines(keepends=True), other[name])
    )


def _is_read(name: str, text: str) -> bool:
    """Whether a site file is still one; what else lies there was changed on one side alone."""
    if not name.endswith(".toml"):
        return True
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True
