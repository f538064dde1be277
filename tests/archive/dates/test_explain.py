"""Why a photograph is dated as it is: the few clues that matter."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """One photograph of which nothing is said."""
    return archive_with(tmp_path, photographs=1)


def crowd(archive: Archive, count: int) -> None:
    """Grown-up people whose long lives bound hardly anything."""
    for n in range(count):
        somebody = archive.people.add(f"Guest {n + 1}", born=f"{1880 + n}")
        archive.statements.link(Link(photograph="K1", person=somebody.id))


def test_a_few_clues_matter_and_the_others_are_counted(archive: Archive) -> None:
    """Of ten guests of forty years and a child of seven, the child is told; nobody has to read of the guests."""
    crowd(archive, 10)
    archive.people.add("Ada Marsh", born="2 MAY 1917")
    archive.statements.link(Link(photograph="K1", person="X11", age="7"))
    found = archive.dates.explanation("K1", everything=False)
    assert "Ada Marsh was born on 2 May 1917 and looks 7" in found.clues[0].text
    assert len(found.clues) <= 5
    assert found.parts == ()
    everything = archive.dates.explanation("K1")
    in_clues = {each for clue in everything.clues for each in clue.statements}
    assert found.others == len({p.id for p in everything.parts} - in_clues) > 5


def test_two_who_say_the_same_do_not_hide_each_other(archive: Archive) -> None:
    """Without either of them the date would be the same; yet it rests on nothing else, and one of them is told."""
    for by in ("Aunt Edda", "Uncle Per"):
        archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1931", by=by))
    found = archive.dates.explanation("K1")
    assert len(found.clues) == 1
    assert "taken in 1931" in found.clues[0].text
    assert "taken in 1931" in found.text
    assert "1931" in found.text


def test_an_event_and_its_date_are_one_clue(archive: Archive, tmp_path: Path) -> None:
    """That it shows the wedding says nothing without the day of the wedding: they are told together."""
    (tmp_path / "tree.ged").write_text(
        "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"
        "0 @I1@ INDI\n1 NAME Ada /Marsh/\n1 FAMS @F1@\n0 @I2@ INDI\n1 NAME Tom /Holm/\n1 FAMS @F1@\n"
        "0 @F1@ FAM\n1 HUSB @I2@\n1 WIFE @I1@\n1 MARR\n2 DATE 12 JUN 1931\n0 TRLR\n"
    )
    archive.tree.import_file(tmp_path / "tree.ged")
    archive.statements.record(NewClaim(photograph="K1", kind="event", date="F1:MARR"))
    (clue,) = archive.dates.explanation("K1").clues
    assert "shows the marriage of Ada Marsh and Tom Holm" in clue.text or "Tom Holm and Ada Marsh" in clue.text
    assert "on 12 June 1931" in clue.text
    assert len(clue.statements) == 2


def test_a_name_alone_is_told_where_the_life_bounds_it(archive: Archive) -> None:
    """Somebody without an age, of whom only the death is known: the clue says who it is and when they died."""
    archive.people.add("Ada Marsh", born="1890", died="1900")
    archive.statements.link(Link(photograph="K1", person="X1"))
    (clue,) = archive.dates.explanation("K1").clues
    assert "Ada Marsh" in clue.text
    assert "1890" in clue.text
    assert "died in 1900" in clue.text


def test_namesakes_carry_their_years(archive: Archive) -> None:
    """Grandfather and grandson of one name are told apart; whose name is nobody else's needs no years."""
    archive.people.add("Lambert Quillern", born="1861", died="1938")
    archive.people.add("Lambert Quillern", born="1921")
    archive.people.add("Ada Marsh", born="1917")
    archive.statements.link(Link(photograph="K1", person="X1", age="40"))
    archive.statements.link(Link(photograph="K1", person="X3"))
    text = " ".join(part.text for part in archive.dates.explanation("K1").parts)
    assert "Lambert Quillern (1861 to 1938) looks 40" in text
    assert "Ada Marsh is in" in text


def test_conflicts_tell_namesakes_apart(archive: Archive) -> None:
    """The question itself says which Lambert."""
    archive.people.add("Lambert Quillern", born="1861", died="1938")
    archive.people.add("Lambert Quillern", born="1921")
    archive.statements.link(Link(photograph="K1", person="X2"))
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1905", trust="certain"))
    (story,) = archive.dates.conflicts().stories
    assert "Lambert Quillern (born 1921)" in " ".join([story.headline, *(way.words for way in story.ways)])


def test_a_clue_names_the_ages_seen_in_this_photograph(shared_sample: Archive) -> None:
    """Ottilie looks eleven at the fair; how old she looks in other pictures is not said of this one."""
    (ottilie,) = [
        c for c in shared_sample.dates.explanation("K00008").clues if c.text.startswith("Ottilie Quillern was")
    ]
    assert "looks 11 or 10 to 11" in ottilie.text
    assert "15 to 19" not in ottilie.text


def test_where_it_lies_is_a_clue(tmp_path: Path) -> None:
    """A child of about eight between two pictures of 1911 in a folder: that is told, with what the date would be
    without it, and can be switched off for a look like anything else."""
    archive = archive_with(tmp_path, scans=5)
    archive.people.add("Ada Marsh", born="1900")
    for number, code in enumerate(("K1", "K2", "K4", "K5")):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date=f"{1910 + (number > 0)}"))
    archive.statements.link(Link(photograph="K3", person="X1", age="8"))
    found = archive.dates.explanation("K3")
    [clue] = [clue for clue in found.clues if "is kept in" in clue.text]
    assert "between two pictures of about 1911" in clue.text
    assert clue.effect.startswith("Without it: between 190")
    with_it, without = (archive.dates.evidence_strip("K3", off) for off in ((), clue.statements))
    width, wider = ((s.estimate.likely_to or 0) - (s.estimate.likely_from or 0) for s in (with_it, without))
    assert wider > 1.5 * width
    [bar] = [bar for bar in with_it.bars if bar.kind == "container"]
    assert bar.soft
    assert next(bar for bar in without.bars if bar.kind == "container").state == "off"


def test_the_strip_it_is_on_is_a_clue(tmp_path: Path) -> None:
    """A child of about eight on one strip with two pictures of 1911: that is told once, however many statements say so,
    with what the date would be without it, and is switched off for a look like anything else."""
    archive = archive_with(tmp_path, photographs=5)
    archive.people.add("Ada Marsh", born="1900")
    for code in ("K1", "K2"):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date="1911"))
    archive.statements.link(Link(photograph="K3", person="X1", age="8"))
    archive.statements.relate_all([Tie(photograph="K3", relation="same roll", other=f"K{i}") for i in (1, 2)])
    found = archive.dates.explanation("K3")
    [clue] = [clue for clue in found.clues if "strip" in clue.text]
    assert clue.text.endswith("K00003 is on the same strip of film as 2 pictures of about 1911")
    assert len(clue.statements) == 2
    assert clue.effect.startswith("Without it: between 190")
    with_it, without = (archive.dates.evidence_strip("K3", off) for off in ((), clue.statements))
    width, wider = ((s.estimate.likely_to or 0) - (s.estimate.likely_from or 0) for s in (with_it, without))
    assert wider > 3 * width
    bars = [bar for bar in with_it.bars if bar.kind == "same-strip"]
    assert [bar.label for bar in bars] == ["On the same strip of film as K00001", "On the same strip of film as K00002"]
    assert all(bar.soft and bar.curve for bar in bars)
    assert {bar.state for bar in without.bars if bar.kind == "same-strip"} == {"off"}


def test_prints_of_one_month_are_told_of_each_other(tmp_path: Path) -> None:
    """A print of July 1961 that is kept with two of the same month that were taken at Whitsun: that is told with its
    printed date, which is switched off like anything else, and taken back with the change that recorded it."""
    archive = archive_with(tmp_path, photographs=4)
    archive.photographs.move(["K1", "K2", "K3"], "Green tin")
    for code in ("K1", "K2"):
        archive.statements.record(NewClaim(photograph=code, kind="taken", date="Whitsun 1961"))
        archive.statements.record(NewClaim(photograph=code, kind="print-stamp", date="JUL 1961"))
    alone = archive.dates.explanation("K3").dated.estimate
    archive.statements.record(NewClaim(photograph="K3", kind="processing date", date="JUL 1961"))
    found = archive.dates.explanation("K3")
    [clue] = [clue for clue in found.clues if "printed" in clue.text]
    assert clue.text.casefold() == (
        "the border of k00003 says it was printed in july 1961, like 2 pictures of about 1961 kept with it"
    )
    with_it, without = (archive.dates.evidence_strip("K3", off) for off in ((), clue.statements))
    assert with_it.estimate.edtf == found.dated.estimate.edtf
    assert without.estimate.likely_from is None
    archive.statements.undo()
    assert archive.dates.explanation("K3").dated.estimate == alone


def company(archive: Archive, **unseen: bool) -> None:
    """Three people who look as about 1930, to three judges, and a boy of six who was born in 1945."""
    for number, (who, born, age) in enumerate(
        (("Ada", 1920, 10), ("Tom", 1890, 40), ("Eva", 1900, 30), ("Jon", 1945, 6))
    ):
        somebody = archive.people.add(f"{who} Marsh", born=f"1 JUL {born}")
        archive.statements.link(Link(photograph="K1", person=somebody.id, age=f"{age}", by=f"Judge {number}", **unseen))


def test_a_name_that_may_be_wrong_is_said_in_words(archive: Archive) -> None:
    """The likely range lies before the birth of somebody named: it is said what would be possible, and why it is not
    kept to. So does the strip."""
    company(archive, blind=True)
    found = archive.dates.explanation("K1")
    assert found.dated.estimate.doubts_a_name
    assert "If every name were right it could be any time from July 1945" in found.text
    assert "one of the names may be wrong" in found.text
    assert "one of the names may be wrong" in archive.dates.evidence_strip("K1").note


def test_an_age_judged_unseen_is_said_to_count_for_more(archive: Archive) -> None:
    """The clause of somebody says so; that of an age with the date in view does not."""
    somebody = archive.people.add("Ada Marsh", born="2 MAY 1917")
    archive.statements.link(Link(photograph="K1", person=somebody.id, age="7", by="Edda"))
    assert "counts for more" not in archive.dates.explanation("K1").text
    archive.statements.link(Link(photograph="K1", person=somebody.id, age="8", by="Tom", blind=True))
    text = archive.dates.explanation("K1").text
    assert "looks 8 (judged before the date was seen, so it counts for more) or 7" in text


@pytest.mark.parametrize(("fits", "share"), [(True, (0.6, 1.0)), (False, (0.0, 0.25))])
def test_where_ages_were_often_fitted_to_a_date_that_is_said(
    tmp_path: Path, fits: bool, share: tuple[float, float]
) -> None:
    """Ages in twelve undated pictures are as reckoned from 1920 and the years after it, or off as ages judged by eye
    are: an explanation says that they count for less, or nothing of the kind. `hindsight` has the share it rests on."""
    archive = archive_with(tmp_path, photographs=12)
    people = {born: archive.people.add(f"Ada {born}", born=f"1 JUL {born}").id for born in (1880, 1895, 1908)}
    off = (0, 0, 0) if fits else (9, -6, 3)
    for number in range(12):
        for (born, person), more in zip(people.items(), off, strict=True):
            age = f"{1920 + number - born + more * (-1) ** number}"
            archive.statements.link(Link(photograph=f"K{number + 1}", person=person, age=age, by=f"Judge {born}"))
    text = archive.dates.explanation("K3").text
    assert ("many were fitted to one, so they count for less" in text) is fits
    fitted = archive.dates.hindsight().fitted
    assert fitted is not None
    assert (fitted.photographs, fitted.unseen) == (12, 0)
    assert share[0] < fitted.share < share[1]
