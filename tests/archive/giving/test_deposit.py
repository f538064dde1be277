"""A package to deposit: only what may go to its audience, valid, and never taken for a whole one."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import bagit
import pytest
from hiding import is_shown, secrets_in

from kinphoto.archive import Archive
from kinphoto.archive.keeping.unpacking import unpack
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import ArchiveError, InvalidValueError


def deposited(archive: Archive, audience: str) -> Path:
    """The package, in the folder `deposits` beside the archive."""
    place = archive.folder.parent / "deposits"
    return Path(archive.give.make_deposit(place, audience, write=True, rights_asked=True).folder)


@pytest.mark.parametrize("audience", ["public", "cousins"])
def test_nothing_of_the_living_is_in_it(planted: Archive, audience: str) -> None:
    """In no file and no name of one, that of the package among them: neither names, days, stories, positions, counts,
    addresses nor words of kinship; neither pictures nor thumbnails inside them."""
    package = deposited(planted, audience)
    assert secrets_in(package.parent) == []
    assert not is_shown(package)
    assert sorted(path.stem for path in (package / "data" / "copies").iterdir()) == ["K00001", "K00008"]
    assert [path.name for path in (package / "data" / "site" / "sounds").iterdir()] == ["T8.flac"]
    rows = list(csv.DictReader((package / "data" / "tables" / "people.csv").open(encoding="utf-8")))
    assert [row["name"] for row in rows] == ["Ada Marsh", "Tom Marsh"]
    stories = json.loads((package / "data" / "tables" / "stories.json").read_text(encoding="utf-8"))
    assert [one["story"] for one in stories] == ["T8"]


def test_bagit_validates_it_and_its_first_page_says_for_whom(planted: Archive) -> None:
    """The reference implementation of the Library of Congress reads every file."""
    package = deposited(planted, "cousins")
    bag = bagit.Bag(str(package))
    bag.validate()
    assert "'cousins'" in bag.info["External-Description"]
    assert (package / "data" / "READ ME FIRST.txt").read_text(encoding="utf-8").startswith("FOR 'cousins'\n")


def test_no_archive_is_made_of_it(planted: Archive, tmp_path: Path) -> None:
    """It says why, and what to use; nothing is left in the folder."""
    package = deposited(planted, "public")
    with pytest.raises(ArchiveError, match=r"made for 'public' and holds only what may go to them.*a whole package"):
        unpack(package, tmp_path / "again")
    assert not (tmp_path / "again").exists()


def test_without_write_nothing_is_written(planted: Archive) -> None:
    """The report says what would go."""
    done = planted.give.make_deposit(planted.folder.parent / "deposits", "public")
    assert set(done.report.going) == {"K00001", "K00008"}
    assert not (planted.folder.parent / "deposits").exists()


def test_studio_portraits_are_asked_about_first(planted: Archive) -> None:
    """A recorded studio without rights stops it, until somebody says that they asked."""
    planted.give.release(["K00001"], "public", what="words", looked_by="Clemence")
    planted.photographs.describe("K00001", Description(rights=""))
    planted.give.release(["K00001"], "public", what="words", looked_by="Clemence")
    place = planted.folder.parent / "deposits"
    with pytest.raises(InvalidValueError, match=r"K00001.*--rights-asked"):
        planted.give.make_deposit(place, "public", write=True)
    assert list(place.glob("*")) == []


def test_a_studio_counts_also_where_its_name_may_not_go(planted: Archive) -> None:
    """Nobody has looked through the words of K00008 for this audience, so its maker is not named to it. Somebody holds
    the copyright all the same."""
    planted.photographs.describe("K00008", Description(maker="Holm & Son", rights=""))
    place = planted.folder.parent / "deposits"
    with pytest.raises(InvalidValueError, match=r"K00008.*--rights-asked"):
        planted.give.make_deposit(place, "public", write=True)


@pytest.mark.parametrize("inside", [".", "scans"])
def test_it_is_not_made_inside_the_archive(planted: Archive, inside: str) -> None:
    """It would be taken for a part of it."""
    with pytest.raises(InvalidValueError, match="outside the archive and the scans"):
        planted.give.make_deposit(planted.folder / inside, "public", write=True)


def test_another_never_replaces_it(planted: Archive) -> None:
    """Each has a folder of its own, and a half-made one leaves nothing."""
    assert deposited(planted, "public") != deposited(planted, "public")
    assert len(list((planted.folder.parent / "deposits").iterdir())) == 2
