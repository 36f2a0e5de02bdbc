"""How far a county is: a bar with lots a second and the time left, or a word now and then."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from siteplan.cli.patience import words_now_and_then

BAR_WIDTH: Final = 24
"""The bar itself, which a narrow terminal has no room for [letters]."""
WORDS_WIDTH: Final = 66
"""What stands beside the bar at most, with room for two million lots [letters]."""
SCREENING: Final = "screening"

Tell = Callable[[str, int, int], None]
"""What runs, and how many of how many lots are done; none of none: they are not counted."""


@contextmanager
def county_bar(*, quiet: bool) -> Iterator[Tell]:
    """Function that is told how far a run is, which it shows on stderr."""
    console = Console(stderr=True)
    if quiet:
        yield lambda _what, _done, _whole: None
    elif console.is_terminal:
        with _bar(console) as tell:
            yield tell
    else:
        with words_now_and_then(SCREENING) as named:
            pace = Pace()
            yield lambda what, done, whole: named(f"{what} {pace.words(what, done, whole)}".strip())


@contextmanager
def _bar(console: Console) -> Iterator[Tell]:
    parts = [TextColumn("{task.description}"), TextColumn("{task.fields[words]}")]
    if console.width >= BAR_WIDTH + WORDS_WIDTH:
        parts.insert(1, BarColumn(BAR_WIDTH))  # type: ignore[arg-type]
    pace = Pace()
    # no thread of its own: the children of a run are forked
    with Progress(*parts, console=console, auto_refresh=False, transient=True) as progress:
        bar = progress.add_task(SCREENING, total=None, words="")

        def tell(what: str, done: int, whole: int) -> None:
            words = pace.words(what, done, whole)
            progress.update(
                bar, description=what, completed=done, total=whole or None, words=words,
                refresh=True,
            )  # fmt: skip

        yield tell


class Pace:
    """Lots a second, and the time left, of what runs now: what an earlier run did is not counted.

    ``clock``: seconds that go on.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._what, self._from, self._began = "", 0, 0.0

    def words(self, what: str, done: int, whole: int) -> str:
        """How far it is, in words.

        Examples
        --------
        >>> seconds = iter([100.0, 102.0])
        >>> pace = Pace(lambda: next(seconds))
        >>> pace.words("screening", 1000, 21000)
        '1,000 of 21,000 lots'
        >>> pace.words("screening", 11000, 21000)
        '11,000 of 21,000 lots, 5,000 lots/s, 2 s left'
        """
        if not whole:
            return ""
        now, told = self._clock(), f"{done:,} of {whole:,} lots"
        if what != self._what:
            self._what, self._from, self._began = what, done, now
        spent = now - self._began
        if done <= self._from or spent <= 0:
            return told
        rate = (done - self._from) / spent
        return f"{told}, {_rate_words(rate)} lots/s, {_time_words((whole - done) / rate)} left"


def _rate_words(rate: float) -> str:
    return f"{rate:,.0f}" if rate >= 10 else f"{rate:.1f}"


def _time_words(seconds: float) -> str:
    """A time as it is read at a glance.

    Examples
    --------
    >>> _time_words(42), _time_words(125), _time_words(5000)
    ('42 s', '2 min 5 s', '1 h 23 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return f"{minutes} min {rest} s"
    return f"{minutes // 60} h {minutes % 60} min"
