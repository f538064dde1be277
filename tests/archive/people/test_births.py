"""Births that photographs suggest: what they are, of whom they are told, and the notes they become in a tree."""

from __future__ import annotations

from datetime import date
from math import erf, exp, log
from pathlib import Path

import gedcom7
import numpy as np
import pytest
from ged4py import GedcomReader
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.reason.model.findings import BirthEstimate

YEAR = 365.2425
FIVE = "1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"
SEVEN = "1 GEDC\n2 VERS 7.0\n"
VAGUE = "1 BIRT\n2 DATE BET 1895 AND 1940\n1 DEAT Y\n"


def family(folder: Path, *records: str, head: str = FIVE) -> Archive:
    """An archive of this tree and three photographs, taken on 1 July of 1923, 1930 and 1936."""
    archive = Archive.create(folder / "archive")
    (folder / "tree.ged").write_text(f"0 HEAD\n{head}{''.join(records)}0 TRLR\n")
    archive.tree.import_file(folder / "tree.ged")
    (folder / "scans").mkdir()
    for number, year in enumerate((1923, 1930, 1936), 1):
        Image.new("L", (40, 20), number).save(folder / "scans" / f"{number}.png")
        archive.scans.add([folder / "scans"])
        archive.statements.record(NewClaim(photograph=f"K0000{number}", kind="taken", date=f"1 JUL {year}"))
    return archive


def person(code: str, name: str, sex: str = "F", facts: str = VAGUE) -> str:
    """A record of the tree."""
    return f"0 @{code}@ INDI\n1 NAME {name}\n1 SEX {sex}\n{facts}"


def ada(facts: str = VAGUE) -> str:
    """The record most of these trees hold."""
    return person("I1", "Ada /Marsh/", facts=facts)


def seen(archive: Archive, photograph: str, age: str, who: str = "I1", **more: str | bool) -> None:
    """Somebody is in a photograph and looks so old."""
    archive.statements.link(Link(photograph=photograph, person=who, age=age, **more))  # type: ignore[arg-type]


def told(archive: Archive, *people: str) -> dict[str, BirthEstimate]:
    """The births worth telling of these people, everything being dated."""
    archive.dates.refresh()
    return archive.people.suggested_births(people or ("I1",))


def g(age: np.ndarray) -> np.ndarray:
    return np.where(age <= 51, np.log(np.maximum(age, -1.9) + 2), log(53) + (age - 51) / 53)


def summed(photographed: int, low: int, high: int) -> np.ndarray:
    """The birth by the formulas of docs/method.md, day by day: flat from 1895 to the photograph; an age judged with a
    bias and a spread nobody knows, off by the look of the face besides, carelessly once in twenty, on a face that is
    somebody else's once in a hundred. Its distribution function."""
    days = np.arange(date(1895, 1, 1).toordinal(), photographed + 1)
    age = (photographed - days) / YEAR
    phi = np.vectorize(lambda z: 0.5 * (1 + erf(z / 2**0.5)))
    careful, weights = np.zeros(len(days)), 0.0
    for spread in np.linspace(-0.9, 0.9, 13):
        of_age = 0.17**2 * (0.59 + 0.41 * exp(2 * spread))  # the spread is that of the judge's own error alone
        sd = (of_age + 0.08**2) ** 0.5  # the bias is normal too, so the variances add up
        weight = exp(-0.5 * (spread / 0.3) ** 2)
        ends = [(float(g(np.array(a))) - g(age)) / sd for a in (low, high + 1)]
        careful += weight * (phi(ends[1]) - phi(ends[0]))
        weights += weight
    careless = (phi((high + 1 - age) / 12) - phi((low - age) / 12)) / phi(age / 12)
    density = 0.99 * (0.95 * careful / weights + 0.05 * careless) + 0.01 * (high + 1 - low) / 100
    return np.asarray(np.cumsum(density) / density.sum())


@pytest.mark.parametrize(("age", "low", "high"), [("7", 7, 7), ("3 to 4", 3, 4), ("20 to 24", 20, 24)])
def test_one_age_in_one_photograph_of_a_known_day(tmp_path: Path, age: str, low: int, high: int) -> None:
    """Range and median agree with the plain sum over days (docs/method.md): the range holds nine tenths of it and is
    as short as any that does."""
    archive = family(tmp_path, ada())
    seen(archive, "K00001", age)
    (birth,) = told(archive).values()
    first = date(1895, 1, 1).toordinal()
    below = summed(date(1923, 7, 1).toordinal(), low, high)
    assert birth.best == pytest.approx(first + np.searchsorted(below, 0.5), abs=46)  # half a quarter-year
    assert below[birth.likely_to - first] - below[birth.likely_from - first] == pytest.approx(0.9, abs=0.02)
    ends = np.searchsorted(below, below + 0.9)
    shortest = min(int(end) - start for start, end in enumerate(ends) if end < len(below))
    assert birth.likely_to - birth.likely_from == pytest.approx(shortest, abs=92)  # it reckons in quarter-years
    assert birth.photographs == 1
    assert told(archive, "I9") == {}


@pytest.mark.parametrize(
    "facts",
    ["1 BIRT\n2 DATE 3 MAR 1916\n", "1 BIRT\n2 DATE 1916\n", "1 BIRT\n2 DATE BET MAR 1915 AND FEB 1917\n",
     "1 CHR\n2 DATE 7 MAY 1916\n"],
)  # fmt: skip
def test_what_the_tree_knows_is_not_guessed_at(tmp_path: Path, facts: str) -> None:
    """A birth known to within two years, and a christening, which stands for one."""
    archive = family(tmp_path, ada(facts))
    seen(archive, "K00001", "7")
    assert told(archive) == {}
    archive.tree.write_file(tmp_path / "out.ged")
    assert "NOTE" not in (tmp_path / "out.ged").read_text()


def test_photographs_that_say_nothing_new(tmp_path: Path) -> None:
    """Somebody whose age nobody judged; and "about 1890" of a woman who looks about thirty in 1923."""
    archive = family(tmp_path, ada(), person("I2", "Berit /Holm/", facts="1 BIRT\n2 DATE ABT 1890\n1 DEAT Y\n"))
    archive.statements.link(Link(photograph="K00001", person="I1"))
    seen(archive, "K00001", "30 to 35", "I2")
    assert told(archive, "I1", "I2") == {}
    seen(archive, "K00002", "14")
    assert list(told(archive, "I1", "I2")) == ["I1"]


def test_a_tree_that_is_far_off(tmp_path: Path) -> None:
    """Estimated for 1905, a child of three in 1923: the photographs say about 1920, and it is told."""
    archive = family(tmp_path, ada("1 BIRT\n2 DATE EST 1905\n1 DEAT Y\n"))
    for photograph, age in (("K00001", "3"), ("K00002", "10"), ("K00003", "16")):
        seen(archive, photograph, age, trust="certain")
    (birth,) = told(archive).values()
    assert birth.likely_from <= date(1920, 1, 1).toordinal() <= birth.likely_to
    assert birth.photographs == 3


def test_a_conflict_keeps_it_back(tmp_path: Path) -> None:
    """What is concluded of somebody hangs on what is set aside, so it is not told until that is settled."""
    archive = family(tmp_path, ada(VAGUE.replace("1 DEAT Y", "1 DEAT\n2 DATE 1925")))
    seen(archive, "K00001", "7")
    assert list(told(archive)) == ["I1"]
    seen(archive, "K00003", "20", trust="certain")  # eleven years after her death
    assert archive.dates.conflicts().stories != ()
    assert told(archive) == {}


@pytest.mark.parametrize(("child", "is_told"), [("1928", False), ("1938", True)])
def test_nothing_is_hinted_of_who_was_whose_child(tmp_path: Path, child: str, is_told: bool) -> None:
    """A mother who by her photographs would have been eleven, or twenty-one, at the birth."""
    records = [ada(), person("I2", "Ida /Marsh/", facts=f"1 BIRT\n2 DATE {child}\n1 DEAT Y\n")]
    archive = family(tmp_path, *records, "0 @F1@ FAM\n1 WIFE @I1@\n1 CHIL @I2@\n")
    for photograph, age in (("K00001", "6"), ("K00002", "13"), ("K00003", "19")):
        seen(archive, photograph, age)
    archive.dates.refresh()
    assert (archive.people.suggested_births(["I1"]) != {}) is is_told
    assert (archive.tree.check().births != ()) is is_told


def test_a_withdrawn_age_suggests_nothing_any_more(tmp_path: Path) -> None:
    """At once, though the estimates are still those from before."""
    archive = family(tmp_path, ada())
    seen(archive, "K00001", "7")
    assert list(told(archive)) == ["I1"]
    (statement,) = [part.id for part in archive.dates.explanation("K00001").parts if part.kind == "apparent-age"]
    archive.statements.withdraw(statement)
    assert archive.people.suggested_births(["I1"]) == {}


def birth_facts_by_ged4py(path: Path) -> list[tuple[str, str]]:
    """The person and the date of every birth, as ged4py reads them."""
    with GedcomReader(str(path)) as reader:
        return [(one.xref_id, str(one.sub_tag_value("BIRT/DATE"))) for one in reader.records0("INDI")]


def birth_facts_by_gedcom7(path: Path) -> list[tuple[str, list[str | None]]]:
    """The same as gedcom7 reads them."""
    people = [record for record in gedcom7.loads(path.read_text()) if record.tag == "INDI"]
    births = [(one.xref or "", [b for b in one.children if b.tag == "BIRT"]) for one in people]
    return [(xref, [d.text for b in found for d in b.children if d.tag == "DATE"]) for xref, found in births]


@pytest.mark.parametrize("head", [FIVE, SEVEN])
def test_a_note_and_nothing_else(tmp_path: Path, head: str) -> None:
    """One line more; other readers see the same births; imported and written again it is the same file, nobody has
    changed, and the note has not become anybody's own."""
    archive = family(
        tmp_path, ada("1 NOTE hers\n"), person("I2", "Tom /Holm/", facts="1 BIRT\n2 DATE 1888\n"), head=head
    )
    for photograph, age in (("K00001", "7"), ("K00002", "14")):
        seen(archive, photograph, age)
    out = tmp_path / "out.ged"
    assert archive.tree.write_file(out).births == 1
    lines = out.read_text().splitlines()
    (note,) = [line for line in lines if line.startswith("1 NOTE kinphoto")]
    (birth,) = told(archive).values()
    years = [date.fromordinal(day).year for day in (birth.best, birth.likely_from, birth.likely_to)]
    assert note == (
        f"1 NOTE kinphoto: born about {years[0]} (between {years[1]} and {years[2]}, from 2 photographs). "
        "What photographs suggest is not proof: whoever judged the ages may have known the tree."
    )
    assert len(note) < 255  # the longest line of GEDCOM 5.5.1
    rest = iter(lines)
    assert all(line in rest for line in (tmp_path / "tree.ged").read_text().splitlines())  # in their order
    assert birth_facts_by_ged4py(out) == birth_facts_by_ged4py(tmp_path / "tree.ged")
    assert birth_facts_by_gedcom7(out) == birth_facts_by_gedcom7(tmp_path / "tree.ged")
    if head == SEVEN:
        assert gedcom7.validate(gedcom7.loads(out.read_text())) == []
    again = archive.tree.import_file(out)
    assert (again.added, again.changed, again.removed) == (0, 0, 0)
    assert archive.people.life("I1").note == "hers"
    assert archive.people.life("I1").life.begin is None
    assert archive.tree.write_file(tmp_path / "again.ged").births == 1
    assert (tmp_path / "again.ged").read_bytes() == out.read_bytes()


def test_a_note_in_a_tree_of_5_5_1_written_as_7(tmp_path: Path) -> None:
    """The same note, once, in a file gedcom7 finds nothing wrong with."""
    archive = family(tmp_path, ada())
    seen(archive, "K00001", "7")
    archive.tree.write_file(tmp_path / "out.ged", "7.0")
    records = gedcom7.loads((tmp_path / "out.ged").read_text())
    assert gedcom7.validate(records) == []
    (note,) = [c.text for r in records if r.tag == "INDI" for c in r.children if c.tag == "NOTE"]
    assert note is not None
    assert note.startswith("kinphoto: born about 19")


def test_the_note_goes_when_the_birth_is_known(tmp_path: Path) -> None:
    """The tree comes again with the day: the next file has that and no note; so it is with a day that was withdrawn."""
    archive = family(tmp_path, ada())
    seen(archive, "K00001", "7")
    archive.tree.write_file(tmp_path / "out.ged")
    found = (tmp_path / "out.ged").read_text().replace("BET 1895 AND 1940", "2 MAY 1916")
    (tmp_path / "found.ged").write_text(found)
    archive.tree.import_file(tmp_path / "found.ged")
    assert archive.tree.write_file(tmp_path / "later.ged").births == 0
    expected = [line for line in found.splitlines() if not line.startswith("1 NOTE kinphoto")]
    assert (tmp_path / "later.ged").read_text().splitlines() == expected
    (birth,) = [event.id for event in archive.people.life("I1").events if event.tag == "BIRT"]
    archive.statements.withdraw(birth)
    assert list(told(archive)) == ["I1"]
    assert archive.tree.write_file(tmp_path / "withdrawn.ged").births == 0


def test_no_note_rests_on_a_doubtful_name(tmp_path: Path) -> None:
    """She may be told of to the keeper, who sees the doubt; what goes out of the house is taken for a fact."""
    archive = family(tmp_path, ada())
    seen(archive, "K00001", "7")
    seen(archive, "K00002", "14", trust="weak")
    assert list(told(archive)) == ["I1"]
    assert archive.tree.write_file(tmp_path / "out.ged").births == 0


def test_notes_on_the_living(tmp_path: Path) -> None:
    """They are left out with their pictures, where those are; an older file loses them."""
    archive = family(tmp_path, ada("1 BIRT\n2 DATE AFT 1920\n"))
    seen(archive, "K00003", "12")
    assert archive.tree.write_file(tmp_path / "out.ged").births == 1
    done = archive.tree.write_file(tmp_path / "out.ged", leave_out_living=True, replace=True)
    assert (done.births, done.left_out) == (0, 1)
    assert (tmp_path / "out.ged").read_text() == (tmp_path / "tree.ged").read_text()


def test_somebody_outside_the_tree(tmp_path: Path) -> None:
    """A neighbour's birth is told to the keeper, and stands neither in the tree's check nor in its file."""
    archive = family(tmp_path, ada())
    archive.people.add("Jon Tveit", born="BET 1890 AND 1930", died="1980")
    seen(archive, "K00001", "7", "X1")
    assert list(told(archive, "I1", "X1")) == ["X1"]
    assert archive.tree.check().births == ()
    assert archive.tree.write_file(tmp_path / "out.ged").births == 0
