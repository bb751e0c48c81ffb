"""Work done by several hands at once and given back in the order in which it came."""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as NotYet
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Given = TypeVar("Given")

LOOK_EVERY_S = 0.25
DONE_AHEAD = 3
"""How many tasks a hand are held at most: those done wait for the slow one that comes before them."""


class Stopped(Exception):
    """Raised inside work whose result nobody waits for any more."""


@dataclass(eq=False)
class Task(Generic[Given]):
    """One piece of work; without ``work`` it only keeps its place in the order.

    ``work`` is given a function that it tells, now and then, how far it has come, in whatever unit
    the asker counts in.
    """

    work: Callable[[Callable[[float], None]], Given] | None = None
    reached: float = 0.0
    _future: Future[Given] = field(default_factory=Future, repr=False)

    def result(self) -> Given:
        """What the work gave, waited for.

        Raises:
            Exception: whatever the work raised.
        """
        return self._future.result()


Kind = TypeVar("Kind", bound=Task)  # type: ignore[type-arg]


def in_order(
    tasks: Iterable[Kind], *, hands: int, meanwhile: Callable[[Kind], None] = lambda _: None
) -> Iterator[Kind]:
    """Every task once it is done, in order; ``hands`` are at work at once, and one more task lies ready.

    ``tasks`` is drawn from only as far as that, in the caller's thread. ``meanwhile`` is called now and then
    for the task that is waited for. Where the caller stops, or ``tasks`` raises, what is at work is told to stop
    the next time it says how far it has come, and what waits is dropped; what was done before is given first.

    Raises:
        BaseException: whatever ``tasks`` raised. What the work raised comes with ``Task.result``.
    """
    stop = threading.Event()
    waiting: deque[Kind] = deque()
    broken: BaseException | None = None
    source = iter(tasks)
    pool = ThreadPoolExecutor(max_workers=hands, thread_name_prefix="hand")
    try:
        drawn = True
        while True:
            while drawn and len(waiting) < DONE_AHEAD * hands and _undone(waiting) <= hands:
                try:
                    task = next(source)
                except StopIteration:
                    drawn = False
                    break
                except BaseException as error:
                    broken, drawn = error, False
                    break
                _set_to(task, pool, stop)
                waiting.append(task)
            if not waiting or (broken is not None and not waiting[0]._future.done()):
                break
            _waited(waiting[0], meanwhile)
            yield waiting.popleft()
        if broken is not None:
            raise broken
    finally:
        stop.set()
        pool.shutdown(wait=True, cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _set_to(task: Task[Given], pool: ThreadPoolExecutor, stop: threading.Event) -> None:
    work, task.work = task.work, None  # what it holds, sound above all, is let go as soon as it is done
    if work is None:
        task._future.set_result(None)  # type: ignore[arg-type]
        return

    def reached(far: float) -> None:
        if stop.is_set():
            raise Stopped
        task.reached = far

    task._future = pool.submit(work, reached)


def _undone(waiting: Iterable[Kind]) -> int:
    return sum(not task._future.done() for task in waiting)


def _waited(task: Kind, meanwhile: Callable[[Kind], None]) -> None:
    while not task._future.done():
        try:
            task._future.exception(timeout=LOOK_EVERY_S)
        except NotYet:
            meanwhile(task)
