"""Work done once for the very same objects."""

from __future__ import annotations

from episode.models import Transcript
from episode.once import once_for_the_same


def test_the_same_objects_are_worked_on_once_and_equal_ones_anew():
    asked: list[object] = []

    @once_for_the_same
    def work(transcript: Transcript, number: object) -> list[object]:
        asked.append(transcript)
        return [number]

    one, other, five = Transcript(), Transcript(), object()
    first = work(one, five)
    assert work(one, five) is first and len(asked) == 1
    assert one == other and work(other, five) is not first
    assert work(one, five) is first and len(asked) == 2
    assert work(one, number=five) is not first


def test_only_the_last_results_are_kept():
    asked: list[object] = []

    @once_for_the_same
    def work(value: object) -> object:
        asked.append(value)
        return object()

    values = [object() for _ in range(5)]
    for value in (*values, values[-1], values[-2]):
        work(value)
    assert asked == values
    work(values[0])
    assert asked[-1] is values[0]
