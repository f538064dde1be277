"""Every picture of a person, in the order in which they were taken."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.freshness import stamp
from kinphoto.archive.dates.stored import keep_all
from kinphoto.archive.people.pictures import Pictures
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.words.conflict_stories import StoryBook
from kinphoto.cli.pictures import picture_lines
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.reason.model.findings import Estimate, Findings, State
from kinphoto.store import tables as t

PEOPLE = {"I1": "Ada Marsh", "I2": "Tom Holm", "I3": "Berit Holm", "I4": "Carl Holm", "I5": "Jon Marsh"}
PARENTS = (("I3", "I1"), ("I3", "I2"), ("I4", "I3"), ("I1", "I5"))


def _day(year: int, month: int = 7, day: int = 1) -> int:
    return date(year, month, day).toordinal()


def _estimate(code: str, best: int | None, earliest: int = 1890, latest: int = 1960) -> Estimate:
    """Likely within three years of `best`; open when that is None."""
    if best is None:
        return Estimate(code, _day(earliest), _day(latest), None, None, None, "", State.OPEN)
    return Estimate(
        code, _day(earliest), _day(latest), _day(best - 3), _day(best + 3), _day(best), f"[{best - 3}..{best + 3}]",
        State.DATED,
    )  # fmt: skip


ESTIMATES = (
    _estimate("K00001", 1924),
    _estimate("K00002", 1910),
    _estimate("K00003", None, 1900, 1930),
    _estimate("K00004", 1910, earliest=1885),
    _estimate("K00005", 1950),
    _estimate("K00006", None, 1880, 1890),
)


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Five generations of pictures, with estimates as they are kept."""
    archive = Archive.create(tmp_path / "family")
    with archive.working("a family and its pictures") as work:
        ids = {code: work.insert_one(t.person, code=code, name=name) for code, name in PEOPLE.items()}
        for code, name in PEOPLE.items():
            work.insert_one(t.name, person_id=ids[code], text=name, folded=fold(name))
        for child, parent in PARENTS:
            work.insert_one(t.parent_link, child_id=ids[child], parent_id=ids[parent])
        for number in range(1, 8):
            photograph = work.insert_one(
                t.photograph,
                code=f"K0000{number}",
                indexed=739_000,
                page=int(number == 7),
                title="" if number > 1 else "Tea",
            )
            for side, at in (("verso", 0), ("recto", 1)):
                work.insert_one(
                    t.scan, photograph_id=photograph, path=f"/box/{number}-{side}.jpg", sha256="0", size=1, mtime_ns=1,
                    side=side, position=at, file_type="JPEG", width=1, height=1, indexed_at="", first_sha256="0",
                )  # fmt: skip
    for number, people in {1: ["I1", "I2"], 2: ["I1"], 3: ["I1"], 4: ["I1", "I3"], 5: ["I4"], 6: ["I5"]}.items():
        for person in people:
            archive.statements.link(Link(photograph=f"K0000{number}", person=person))
    fresh(archive)
    return archive


def fresh(archive: Archive) -> None:
    """Keep the estimates as those of this moment."""
    with archive.reading() as connection:
        moment = stamp(connection)
    keep_all(archive.engine, Findings(ESTIMATES, (), (), (), 0.0), StoryBook((), (), (), 0.0), moment)


def link(archive: Archive, photograph: str, person: str, region: str | None = None, *, denied: bool = False) -> None:
    """One more appearance, the estimates staying as they are."""
    archive.statements.link(Link(photograph=photograph, person=person, region=region, denied=denied))
    fresh(archive)


def codes(found: Pictures) -> list[str]:
    """The codes in their order."""
    return [picture.code for picture in found.photographs]


def test_pictures_come_by_best_date_then_earliest_and_undated_ones_last(archive: Archive) -> None:
    """Two of 1910, of which one may be older, then 1924, then what nobody has dated."""
    found = archive.people.pictures("I1")
    assert (found.id, found.name) == ("I1", "Ada Marsh")
    assert codes(found) == ["K00004", "K00002", "K00001", "K00003"]


def test_each_picture_has_everybody_and_every_scan(archive: Archive) -> None:
    """The front comes first, though the back was scanned before it."""
    (tea,) = (one for one in archive.people.pictures("Ada Marsh").photographs if one.code == "K00001")
    assert [(one.id, one.name, one.perhaps) for one in tea.people] == [
        ("I1", "Ada Marsh", False), ("I2", "Tom Holm", False)
    ]  # fmt: skip
    assert tea.scans == ("/box/1-recto.jpg", "/box/1-verso.jpg")
    assert tea.title == "Tea"


@pytest.mark.parametrize(
    ("person", "ancestors", "descendants", "expected"),
    [
        ("I3", True, False, ["K00004", "K00002", "K00001", "K00006", "K00003"]),
        ("I3", False, True, ["K00004", "K00005"]),
        ("I1", True, True, ["K00004", "K00002", "K00001", "K00005", "K00006", "K00003"]),
    ],
)
def test_a_whole_line_of_the_family(
    archive: Archive, person: str, ancestors: bool, descendants: bool, expected: list[str]
) -> None:
    """Parents and theirs, children and theirs, each picture once."""
    assert codes(archive.people.pictures(person, ancestors=ancestors, descendants=descendants)) == expected


def test_together_with_somebody(archive: Archive) -> None:
    """Only the pictures in which all of them are."""
    assert codes(archive.people.pictures("I1", beside=["Tom Holm"])) == ["K00001"]
    assert codes(archive.people.pictures("I1", beside=["I2", "I3"])) == []


@pytest.mark.parametrize(
    ("since", "until", "expected"),
    [
        ("1921", "1921", ["K00001", "K00003"]),  # a likely range that begins in 1921; possible until 1930
        ("1928", None, ["K00003"]),
        (None, "1907", ["K00004", "K00002", "K00003"]),
        ("JUL 1913", "AUG 1913", ["K00004", "K00002", "K00003"]),
        ("2 JUL 1913", "1915", ["K00003"]),  # their likely ranges end on 1 July
        ("1951", None, []),
        ("BEF 1885", None, ["K00004", "K00002", "K00001", "K00003"]),
        (None, "ABT 1899", ["K00004", "K00002", "K00003"]),  # ten years later at most
    ],
)
def test_within_years(archive: Archive, since: str | None, until: str | None, expected: list[str]) -> None:
    """The likely range counts where there is one, else what is possible; both ends are included."""
    assert codes(archive.people.pictures("I1", since=since, until=until)) == expected


def test_an_album_page_has_no_date_and_lies_within_no_years(archive: Archive) -> None:
    """It comes last of all, and is left out when years are asked for."""
    link(archive, "K00007", "I2")
    found = archive.people.pictures("I2")
    assert codes(found) == ["K00001", "K00007"]
    assert found.photographs[-1].estimate is None
    assert codes(archive.people.pictures("I2", since="1800")) == ["K00001"]
    assert "no date of its own" in list(picture_lines(found))[-1]


def test_a_rival_name_makes_both_perhaps(archive: Archive) -> None:
    """Either may be the one on the face; both find the picture."""
    for person in ("I4", "I3"):
        link(archive, "K00002", person, "0.1,0.1,0.2,0.2")
    picture = archive.people.pictures("I4").photographs[0]
    assert {one.id: one.perhaps for one in picture.people} == {"I1": False, "I4": True, "I3": True}
    assert list(picture_lines(archive.people.pictures("I4")))[1] == (
        "K00002  between 1907 and 1913, about 1910 (worked out)  perhaps  with Ada Marsh, perhaps Berit Holm  "
        "/box/2-recto.jpg"
    )


def test_a_denied_or_withdrawn_name_finds_no_picture(archive: Archive) -> None:
    """What somebody said is not so, or took back, shows nothing."""
    link(archive, "K00005", "I1", denied=True)
    assert "K00005" not in codes(archive.people.pictures("I1"))
    with archive.reading() as connection:
        mine = connection.scalar(t.appearance.select().with_only_columns(t.appearance.c.id).limit(1))
    archive.statements.withdraw(f"A{mine}")
    fresh(archive)
    assert "K00001" not in codes(archive.people.pictures("I1"))


def test_a_name_that_is_said_and_denied_is_perhaps(archive: Archive) -> None:
    """Two people may disagree; both statements stay."""
    link(archive, "K00001", "I2", denied=True)
    (tea,) = archive.people.pictures("I2").photographs
    assert {one.id: one.perhaps for one in tea.people} == {"I1": False, "I2": True}


def test_the_lines_for_a_reader(archive: Archive) -> None:
    """A line each: code, when, who else, title, where the scan is."""
    lines = list(picture_lines(archive.people.pictures("I1")))
    assert lines[0] == "Ada Marsh (I1): 4 pictures"
    assert lines[3] == "K00001  between 1921 and 1927, about 1924 (worked out)  with Tom Holm  “Tea”  /box/1-recto.jpg"
    assert lines[4] == "K00003  not dated yet, between 1900 and 1930  /box/3-recto.jpg"


def test_nobody_and_nothing(archive: Archive) -> None:
    """An unknown name, one that fits two, and a person without a picture each say so."""
    with pytest.raises(NotFoundError):
        archive.people.pictures("Nobody Known")
    with pytest.raises(AmbiguousError, match="Tom Holm"):
        archive.people.pictures("Holm")
    with archive.working("somebody") as work:
        id_ = work.insert_one(t.person, code="I6", name="Elin")
        work.insert_one(t.name, person_id=id_, text="Elin", folded="elin")
    fresh(archive)
    assert list(picture_lines(archive.people.pictures("Elin"))) == ["There is no picture of Elin (I6) yet."]


@pytest.mark.parametrize(("since", "until"), [("1930", "1920"), ("soon", None), (None, "31 FEB 1920")])
def test_years_that_cannot_be_are_refused(archive: Archive, since: str | None, until: str | None) -> None:
    """The wrong way round, no date at all, and a day that never was."""
    with pytest.raises(InvalidValueError):
        archive.people.pictures("I1", since=since, until=until)
