"""How far a county is: a bar with lots a second and the time left, or a word now and then."""

from __future__ import annotations

import sys
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from siteplan.cli.patience import QUIET_S

BAR_WIDTH, LEAST_BAR = 24, 8
"""Width of the bar itself, and the least that is one [letters]."""
WORDS_WIDTH: Final = 68
"""What stands beside the bar at most, with room for two million lots [letters]."""
RECENT_S: Final = 30.0
"""Over so long lots a second are counted [s]."""
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
        yield _now_and_then()


def _now_and_then() -> Tell:
    """Function that says how far a run is when nothing was said for long."""
    pace, said = Pace(), [time.monotonic()]

    def tell(what: str, done: int, whole: int) -> None:
        words = pace.words(what, done, whole)
        if time.monotonic() - said[0] >= QUIET_S:
            said[0] = time.monotonic()
            print(f"siteplan: {words}", file=sys.stderr, flush=True)

    return tell


@contextmanager
def _bar(console: Console) -> Iterator[Tell]:
    width = min(BAR_WIDTH, console.width - WORDS_WIDTH)
    bars = (BarColumn(width),) if width >= LEAST_BAR else ()
    pace = Pace()
    # no thread of its own: the children of a run are forked
    with Progress(
        *bars, TextColumn("{task.description}"), console=console, auto_refresh=False, transient=True
    ) as progress:
        bar = progress.add_task(SCREENING, total=None)

        def tell(what: str, done: int, whole: int) -> None:
            words = pace.words(what, done, whole, console.width)
            progress.update(
                bar, description=words, completed=done, total=whole or None, refresh=True
            )

        yield tell


class Pace:
    """Lots a second, and the time left, of what runs now: what an earlier run did is not counted.

    ``clock``: seconds that go on.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._what, self._told = "", deque[tuple[float, int]]()

    def words(self, what: str, done: int, whole: int, width: int = 200) -> str:
        """What runs and how far it is, in no more letters than a line has.

        Examples
        --------
        >>> seconds = iter([100.0, 102.0])
        >>> pace = Pace(lambda: next(seconds))
        >>> pace.words("screening", 1000, 21000)
        'screening 1,000 of 21,000 lots'
        >>> pace.words("screening", 11000, 21000)
        'screening 11,000 of 21,000 lots, 5,000 lots/s, 2 s left'
        """
        if not whole:
            return what
        rate, far = self._rate(what, done), f"{what} {done:,} of {whole:,}"
        if rate <= 0:
            return f"{far} lots"[:width]
        left = f"{_time_words((whole - done) / rate)} left"
        lines = (f"{far} lots, {_rate_words(rate)} lots/s, {left}", f"{far}, {left}", far)
        return next((line for line in lines if len(line) <= width), far[:width])

    def _rate(self, what: str, done: int) -> float:
        """Lots a second of late, 0 where none is known."""
        now = self._clock()
        if what != self._what:
            self._what = what
            self._told.clear()
        self._told.append((now, done))
        while len(self._told) > 2 and self._told[1][0] < now - RECENT_S:
            self._told.popleft()
        began, first = self._told[0]
        return (done - first) / (now - began) if now > began else 0.0


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
