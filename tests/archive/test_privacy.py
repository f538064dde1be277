"""What may be shown to somebody who has not signed in: nothing of people who may be living."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.links import Link
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """One dead, one living, one of whom nothing is known, and five photographs."""
    archive = Archive.create(tmp_path / "family")
    with archive.working("five photographs") as work:
        for number in range(1, 6):
            work.insert_one(t.photograph, code=f"K0000{number}", indexed=739_000)
    archive.add_person("Dead Long", born="1850", died="1901")
    archive.add_person("Living Still", born="1990")
    archive.add_person("Nobody Knows")
    archive.link(Link(photograph="K1", person="X1"))
    archive.link(Link(photograph="K2", person="X1"))
    archive.link(Link(photograph="K2", person="X2"))
    archive.link(Link(photograph="K3", person="X1"))
    archive.link(Link(photograph="K3", person="-", region="0.1,0.1,0.2,0.2"))
    archive.link(Link(photograph="K4", person="X3"))
    archive.refresh_estimates()
    return archive


def test_only_pictures_of_the_dead_are_for_anybody(archive: Archive) -> None:
    """One who may be living keeps a picture back, and so does a face without a name in one that is not old enough.

    K3 shows somebody who died in 1901 beside a stranger: both died long ago, whoever the stranger is.
    """
    every = [f"K0000{n}" for n in range(1, 6)]
    assert archive.of_the_dead(every) == {"K00001", "K00003"}


def test_a_name_that_somebody_denies_decides_nothing(archive: Archive) -> None:
    """“It is not her” says nothing about who is in it; the picture has nobody named and stays back."""
    archive.link(Link(photograph="K5", person="X1", denied=True))
    assert archive.of_the_dead(["K00005"]) == frozenset()


def test_who_may_be_living(archive: Archive) -> None:
    """Nobody is taken to be dead for want of a date."""
    assert archive.the_living(["X1", "X2", "X3"]) == {"X2", "X3"}
