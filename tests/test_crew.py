"""Several hands at once, and everything back in its order."""

from __future__ import annotations

import threading
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.crew import DONE_AHEAD, Stopped, Task, in_order


class Interrupted(BaseException):
    """As Ctrl-C is, but no end of the tests where it goes astray."""


def worth(value, after=0.0):
    def work(_):
        time.sleep(after)
        return value

    return Task(work)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 3), max_size=20), st.integers(1, 4))
def test_everything_comes_back_once_and_in_order(delays, hands):
    tasks = [worth(number, delay / 2000) for number, delay in enumerate(delays)]
    assert [task.result() for task in in_order(iter(tasks), hands=hands)] == list(range(len(delays)))


def test_as_many_are_at_work_as_there_are_hands():
    both = threading.Barrier(2, timeout=10)
    tasks = [Task(lambda _: both.wait()) for _ in range(6)]
    assert sorted(task.result() for task in in_order(tasks, hands=2)) == [0, 0, 0, 1, 1, 1]


def test_no_more_is_drawn_than_is_needed():
    drawn = []

    def source():
        for number in range(50):
            drawn.append(number)
            yield worth(number)

    for count, _ in enumerate(in_order(source(), hands=2), start=1):
        assert len(drawn) <= count + DONE_AHEAD * 2
    assert len(drawn) == 50


def test_a_failure_belongs_to_its_task_and_the_rest_goes_on():
    def fails(_):
        raise RuntimeError("out of memory")

    first, second, third = in_order([worth(1), Task(fails), worth(3)], hands=2)
    assert (first.result(), third.result()) == (1, 3)
    with pytest.raises(RuntimeError, match="out of memory"):
        second.result()


def test_a_source_that_stops_ends_what_is_at_work():
    begun, told = threading.Event(), []

    def long(reached):
        begun.set()
        try:
            while True:
                reached(1.0)
                time.sleep(0.01)
        except Stopped:
            told.append("stopped")
            raise

    def source():
        first = worth("done")
        yield first
        first.result()  # done before the stop comes, so it is given
        yield Task(long)
        assert begun.wait(10)
        raise Interrupted

    given = in_order(source(), hands=2)
    assert next(given).result() == "done"
    with pytest.raises(Interrupted):
        list(given)
    assert told == ["stopped"]


def test_a_place_without_work_keeps_its_place():
    tasks = [worth("a", 0.05), Task(), worth("b")]
    assert [task.result() for task in in_order(tasks, hands=3)] == ["a", None, "b"]
