"""Work on several files at once."""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event

import pytest

from kinphoto.scans.copying import several_at_once


def test_each_item_comes_back_with_its_result() -> None:
    """Whatever is ready first."""
    assert dict(several_at_once(lambda number: number**2, range(500))) == {number: number**2 for number in range(500)}


def test_few_items_are_taken_before_they_are_wanted() -> None:
    """So that reading for so many minutes ends in time, and nothing piles up in memory."""
    taken = []

    def items() -> Iterator[int]:
        for number in range(10_000):
            taken.append(number)
            yield number

    found = several_at_once(lambda number: number, items())
    for _ in range(10):
        next(found)
    assert len(taken) < 600  # four a processor, of which there may be many
    found.close()  # type: ignore[attr-defined]
    before = len(taken)
    assert list(found) == []
    assert len(taken) == before


def test_what_goes_wrong_is_raised_where_it_is_waited_for() -> None:
    """And nothing goes on in the background afterwards."""
    done, gate = [], Event()

    def work(number: int) -> int:
        if number == 3:
            raise OSError("the disk is full")
        gate.wait(5)
        done.append(number)
        return number

    def all_of_them() -> None:
        for _ in several_at_once(work, range(1000)):
            gate.set()

    gate.set()
    with pytest.raises(OSError, match="full"):
        all_of_them()
    before = len(done)
    gate.wait(0.1)
    assert len(done) == before < 1000


def test_nothing_to_do_is_done_at_once() -> None:
    """No file, no result."""
    assert list(several_at_once(len, [])) == []
