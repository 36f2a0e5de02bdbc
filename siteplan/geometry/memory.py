"""Results that are worked out once, owned by whoever asks for them and gone with their owner."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import wraps
from typing import Concatenate, Final, ParamSpec, Protocol, TypeVar, cast

Given = ParamSpec("Given")
Result = TypeVar("Result")

_NONE_YET: Final = object()


class Memory:
    """Results of functions, known again by what they were worked out from.

    Only for functions whose result depends on nothing but their arguments, and for results that
    nobody changes. What an earlier memory knows is taken over when it is asked for, so that a
    second plan works out only what differs from the first, and keeps only what it asked for
    itself.

    Parameters
    ----------
    earlier
        Memory of which results are taken over; None: there is none.

    Examples
    --------
    >>> first = Memory()
    >>> first.of(sorted, "cab")
    ['a', 'b', 'c']
    >>> second = Memory(first)
    >>> second.of(sorted, "cab") is first.of(sorted, "cab"), len(second)
    (True, 1)

    So is what one earlier still knows, until it is let go.

    >>> third = Memory(Memory(first))
    >>> third.of(sorted, "cab") is first.of(sorted, "cab")
    True
    """

    __slots__ = ("_earlier", "_results")

    def __init__(self, earlier: Memory | None = None) -> None:
        self._results: dict[Hashable, object] = {}
        self._earlier = earlier

    def of(self, work: Callable[Given, Result], *args: Given.args, **named: Given.kwargs) -> Result:
        """Result of a function for its arguments, worked out where it is not known yet."""
        key = (work, args, tuple(sorted(named.items())))
        known = self._results.get(key, _NONE_YET)
        if known is _NONE_YET:
            known = self._taken_over(key)
            if known is _NONE_YET:
                known = work(*args, **named)
            self._results[key] = known
        return cast("Result", known)

    def _taken_over(self, key: Hashable) -> object:
        """What the earlier memory knows, or one earlier still that it has not let go."""
        before = self._earlier
        while before is not None:
            known = before._results.get(key, _NONE_YET)
            if known is not _NONE_YET:
                return known
            before = before._earlier
        return _NONE_YET

    def let_go(self) -> None:
        """Take over nothing more: the earlier memory may go."""
        self._earlier = None

    def __len__(self) -> int:
        """How many results are known."""
        return len(self._results)

    def __reduce__(self) -> tuple[type[Memory], tuple[()]]:
        """A copy, also in another process, begins empty: it can work everything out again."""
        return Memory, ()


class Remembering(Protocol):
    """What has a memory of its own."""

    @property
    def memory(self) -> Memory:
        """What was worked out for it."""


Owner = TypeVar("Owner", bound=Remembering)


def remembered(
    work: Callable[Concatenate[Owner, Given], Result],
) -> Callable[Concatenate[Owner, Given], Result]:
    """The function, its results kept in the memory of its first argument."""

    @wraps(work)
    def known(owner: Owner, /, *args: Given.args, **named: Given.kwargs) -> Result:
        return owner.memory.of(work, owner, *args, **named)

    return known
