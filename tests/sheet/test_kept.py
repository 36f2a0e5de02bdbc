"""Results kept while a sheet is composed."""

import gc
import weakref

import pytest

from siteplan.sheet import kept as module
from siteplan.sheet.kept import composing, kept


@pytest.fixture
def desk():
    """A sheet that is being composed."""
    with composing():
        yield


def counted():
    """A function that is kept, and the calls that reached it."""
    calls = []

    @kept
    def joined(thing, width, *, most=1):
        calls.append((thing, width, most))
        return [*thing, width, most]

    return joined, calls


@pytest.mark.usefixtures("desk")
def test_the_same_call_is_worked_out_once():
    joined, calls = counted()
    thing = ["a"]
    assert joined(thing, 2.0) is joined(thing, 2.0)
    assert len(calls) == 1


@pytest.mark.usefixtures("desk")
def test_other_words_and_numbers_are_another_call():
    joined, calls = counted()
    thing = ["a"]
    results = [joined(thing, 2.0), joined(thing, 3.0), joined(thing, 2.0, most=4)]
    assert results == [["a", 2.0, 1], ["a", 3.0, 1], ["a", 2.0, 4]]
    assert len(calls) == 3


@pytest.mark.usefixtures("desk")
def test_an_equal_thing_is_another_thing():
    joined, calls = counted()
    first, second = ["a"], ["a"]
    joined(first, 2.0)
    joined(second, 2.0)
    assert len(calls) == 2


@pytest.mark.usefixtures("desk")
def test_a_truth_is_not_taken_for_a_number():
    joined, calls = counted()
    thing = ["a"]
    assert joined(thing, 1)[1] is not joined(thing, True)[1]
    assert len(calls) == 2


@pytest.mark.usefixtures("desk")
def test_a_thing_that_is_gone_is_never_taken_for_a_new_one():
    joined, _ = counted()
    # without a reference kept, later lists would get the identity of earlier ones
    for number in range(50):
        assert joined([number], 2.0)[0] == number


@pytest.mark.usefixtures("desk")
def test_old_results_make_room_for_new_ones(monkeypatch):
    monkeypatch.setattr(module, "MOST", 3)
    joined, calls = counted()
    thing = ["a"]
    for width in (1.0, 2.0, 3.0, 4.0, 4.0, 1.0):
        joined(thing, width)
    # the fourth pushed the first out, which is worked out again
    assert [width for _, width, _ in calls] == [1.0, 2.0, 3.0, 4.0, 1.0]


class Thing:
    """Something whose end can be watched."""


def test_nothing_is_held_on_to_when_composing_is_done():
    numbered = kept(lambda thing, width: [id(thing), width])
    thing = Thing()
    watched = weakref.ref(thing)
    with composing():
        with composing():
            first = numbered(thing, 2.0)
        # what stands in another composition ends with it
        assert numbered(thing, 2.0) is first
    del thing
    gc.collect()
    assert watched() is None


def test_results_are_dropped_where_composing_fails():
    joined, calls = counted()
    thing = ["a"]

    def fails():
        with composing():
            joined(thing, 2.0)
            raise ValueError("no room")

    with pytest.raises(ValueError, match="no room"):
        fails()
    joined(thing, 2.0)
    assert len(calls) == 2
