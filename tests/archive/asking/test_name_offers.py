"""Who is offered while somebody types, in which order, and who is not."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from pathlib import Path
from statistics import median
from typing import Any

import pytest
from sqlalchemy import Connection, RowMapping, select, update

from kinphoto.archive import Archive
from kinphoto.archive.asking import name_offers
from kinphoto.archive.asking.name_offers import Offer
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.name_search import search
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.words.ages import age_words
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.reason.dating import date_without
from kinphoto.reason.model.evidence import Evidence
from kinphoto.store import tables as t

FAMILY = """\
0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Otto /Holm/
1 SEX M
1 BIRT
2 DATE 1840
1 DEAT
2 DATE 1899
1 FAMS @F1@
0 @I2@ INDI
1 NAME Ada /Holm/
2 NICK Addie
1 SEX F
1 BIRT
2 DATE 1870
1 DEAT
2 DATE 1950
1 FAMC @F1@
1 FAMS @F2@
0 @I3@ INDI
1 NAME Tom /Marsh/
1 SEX M
1 BIRT
2 DATE 1868
1 DEAT
2 DATE 1940
1 FAMS @F2@
0 @I4@ INDI
1 NAME Beth /Marsh/
1 SEX F
1 BIRT
2 DATE 1897
1 FAMC @F2@
0 @I5@ INDI
1 NAME Carl /Marsh/
1 SEX M
1 BIRT
2 DATE 1902
1 FAMC @F2@
0 @I6@ INDI
1 NAME Dora /Marsh/
1 SEX F
1 BIRT
2 DATE 1930
1 FAMC @F3@
0 @I7@ INDI
1 NAME Tomas /Adair/
1 SEX M
1 BIRT
2 DATE 1869
0 @F1@ FAM
1 HUSB @I1@
1 CHIL @I2@
0 @F2@ FAM
1 HUSB @I3@
1 WIFE @I2@
1 CHIL @I4@
1 CHIL @I5@
0 @F3@ FAM
1 HUSB @I5@
1 CHIL @I6@
0 TRLR
"""
LEFT, RIGHT = "0.10,0.10,0.20,0.20", "0.60,0.10,0.20,0.20"


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A family of three generations and a stranger, and four photographs of a box, the first taken in 1905."""
    (tmp_path / "family.ged").write_text(FAMILY)
    made = Archive.create(tmp_path / "family")
    made.tree.import_file(tmp_path / "family.ged")
    with made.working("filled") as work:
        box = work.insert_one(t.container, name="Blue box")
        rows = [{"code": f"K0000{n}", "indexed": 738000, "container_id": box} for n in range(1, 5)]
        work.insert(t.photograph, rows)
    made.statements.record(NewClaim(photograph="K1", kind="taken", date="1905"))
    made.dates.refresh()
    return made


def link(archive: Archive, photograph: str, person: str, **said: Any) -> str:
    """Record a link and return its appearance."""
    return archive.statements.link(Link(photograph=photograph, person=person, **said))[0].appearance


def offered(archive: Archive, letters: str = "", **how: Any) -> dict[str, Offer]:
    """The offers for K00001 by id, in their order."""
    return {offer.id: offer for offer in archive.asking.name_suggestions("K1", letters, **how).people}


def test_letters_begin_any_of_the_words_of_a_name(archive: Archive) -> None:
    """Name, nickname and married surname, in any order, whatever the case and accents; and what it was is told."""
    for letters in ("ad ma", "MA ád", "addie", "ada holm", "i2"):
        assert next(iter(offered(archive, letters))) == "I2", letters
    assert {letters: offered(archive, letters)["I2"].found_as for letters in ("ada", "addi", "ad ma", "i2")} == {
        "ada": "", "addi": "Addie", "ad ma": "Marsh", "i2": "",
    }  # fmt: skip


def test_a_name_that_begins_with_the_letters_comes_before_one_that_has_them(archive: Archive) -> None:
    """Typing "to" means Tom, and Otto only after everybody of whom it is the beginning."""
    assert list(offered(archive, "to")) == ["I3", "I7", "I1"]


@pytest.mark.parametrize("letters", ["a", "ma", "dai", "to mar", "zz", "%", "\\", "Ада", "ad ma 1905", "1960", "i9"])
def test_nobody_whom_a_search_finds_is_hidden(archive: Archive, letters: str) -> None:
    """The offers are the people that `kinphoto people` finds with the same line, in another order."""
    with archive.reading() as connection:
        found = search(connection, letters)
    codes = {"I1": 1, "I2": 2, "I3": 3, "I4": 4, "I5": 5, "I6": 6, "I7": 7}
    ids = set() if found.similar else {match.person_id for match in found.people}
    assert {codes[id_] for id_ in offered(archive, letters)} == ids


def test_half_a_year_is_no_year_yet(archive: Archive) -> None:
    """While 1905 is being typed, the digits so far take nobody away."""
    assert list(offered(archive, "to 19")) == list(offered(archive, "to"))


def test_who_cannot_have_been_there_comes_last_and_it_is_said_why(archive: Archive) -> None:
    """Dead in 1899, born in 1930, and the photograph is of 1905; both are offered all the same."""
    people = offered(archive)
    assert set(list(people)[-2:]) == {"I1", "I6"}
    assert (people["I1"].fits, people["I1"].why) == (False, "had died by 1899")
    assert (people["I6"].fits, people["I6"].why) == (False, "was not born before 1930")
    assert all(people[id_].fits for id_ in ("I2", "I3", "I4", "I5", "I7"))


def test_a_photograph_without_an_estimate_shuts_nobody_out(archive: Archive) -> None:
    """One that was indexed since the estimates were made: everybody fits, and nothing is said about ages."""
    with archive.working("filled") as work:
        work.insert_one(t.photograph, code="K00009", indexed=738000)
    people = archive.asking.name_suggestions("K9", most=20).people
    assert len(people) == 7
    assert all(offer.fits and not offer.why for offer in people)


def test_an_age_brings_the_fitting_ones_forward(archive: Archive) -> None:
    """In 1905 Beth was 7 or 8, Carl 2 or 3, and their parents over 30."""
    assert next(iter(offered(archive, age="8"))) == "I4"
    assert next(iter(offered(archive, age="2"))) == "I5"
    assert set(list(offered(archive, age="30-40"))[:3]) == {"I2", "I3", "I7"}
    assert offered(archive)["I4"].why == "would have been 7 to 8"


def test_the_near_kin_of_those_named_come_first(archive: Archive) -> None:
    """With Beth in the picture, her mother, father and brother come before the stranger of her father's age."""
    link(archive, "K1", "I4", region=LEFT)
    order = list(offered(archive))
    assert set(order[:3]) == {"I2", "I3", "I5"}
    assert order[3] == "I7"
    assert offered(archive)["I2"].kin == "mother of Beth Marsh"


def test_kinship_to_the_proband_is_told(archive: Archive) -> None:
    """Where nobody is named yet, who they are to the one from whom kinship is told."""
    archive.people.choose_proband("I6")
    assert offered(archive)["I2"].kin == "your grandmother"


def test_who_is_often_in_the_box_comes_forward(archive: Archive) -> None:
    """The stranger, three times in the same box, comes before the namesake who is kin to nobody; and it is told."""
    assert list(offered(archive, "tom")) == ["I3", "I7"]
    for photograph in ("K2", "K3", "K4"):
        link(archive, photograph, "I7")
    assert list(offered(archive, "tom")) == ["I7", "I3"]
    stranger = offered(archive)["I7"]
    assert stranger.why == "would have been 35 to 36, in 3 other pictures in Blue box"
    assert stranger.pictures == 3


def test_who_was_named_last_comes_forward(archive: Archive) -> None:
    """In a photograph of no box; also when a face that was drawn before only gets its name now."""
    with archive.working("filled") as work:
        work.insert_one(t.photograph, code="K00009", indexed=738000)
    link(archive, "K9", "-", region=LEFT)
    assert list(offered(archive, "tom")) == ["I3", "I7"]
    link(archive, "K9", "I7", region=LEFT)
    assert list(offered(archive, "tom")) == ["I7", "I3"]


def test_who_is_elsewhere_in_the_picture_is_not_offered_again(archive: Archive) -> None:
    """Unless it is open which of two names is right there, or the name was only a likeness on the wall."""
    link(archive, "K1", "I2", region=LEFT)
    assert "I2" not in offered(archive, region=RIGHT)
    assert "I2" in offered(archive, region=LEFT)
    link(archive, "K1", "I7", region=LEFT)
    assert {"I2", "I7"} <= offered(archive, region=RIGHT).keys()
    link(archive, "K1", "I1", region="0.4,0.5,0.1,0.1", role="likeness")
    assert "I1" in offered(archive, region=RIGHT)


def test_whoever_is_offered_can_be_linked(archive: Archive) -> None:
    """On each of the faces every offer is accepted by `link`; so none is made that only ends in a refusal."""
    link(archive, "K1", "I2", region=LEFT)
    link(archive, "K1", "I3")
    link(archive, "K1", "-", region=RIGHT)
    there_already = {("I2", LEFT), ("I2", "R1")}
    for region in (LEFT, RIGHT, "0.4,0.5,0.1,0.1", "R1", "R2"):
        people = offered(archive, region=region)
        assert len(people) > 1, region
        for id_ in people:
            done, _ = archive.statements.link(Link(photograph="K1", person=id_, region=region))
            found = archive.photographs.faces("K1")
            assert [one.person for face in found.faces for one in face.names].count(id_) == 1, (id_, region)
            assert done.changed == ((id_, region) not in there_already), (id_, region)
            if done.changed:
                archive.statements.undo()


def test_who_is_known_to_be_in_it_comes_first_on_an_open_face(archive: Archive) -> None:
    """Tom is in the picture, nobody knows where: so this may be his face."""
    link(archive, "K1", "I3")
    first = next(iter(offered(archive, region=RIGHT).values()))
    assert (first.id, first.why) == ("I3", "in this photograph, on no face yet, would have been 36 to 37")
    assert "I3" not in offered(archive)


def test_who_is_denied_is_not_offered(archive: Archive) -> None:
    """Not on that face, by its id as well as its region; not in the whole photograph where it was said of that."""
    link(archive, "K1", "I2", region=LEFT, denied=True)
    for region in (LEFT, "R1", "0.11,0.11,0.2,0.2"):
        assert "I2" not in offered(archive, region=region)
    assert "I2" in offered(archive, region=RIGHT)
    link(archive, "K1", "I3", denied=True)
    assert "I3" not in offered(archive, region=RIGHT)


def test_who_turned_out_to_be_somebody_else_is_offered_as_that(archive: Archive) -> None:
    """The miller's girl is Beth; whoever types "mill" is offered Beth, and told why."""
    archive.people.add("The miller's girl")
    assert list(offered(archive, "mill")) == ["X1"]
    archive.people.identify("X1", "I4")
    assert {id_: offer.found_as for id_, offer in offered(archive, "mill").items()} == {"I4": "The miller's girl"}


def test_more_than_are_shown(archive: Archive) -> None:
    """The first few, and whether there are others."""
    few = archive.asking.name_suggestions("K1", most=3)
    assert (len(few.people), few.more) == (3, True)
    assert not archive.asking.name_suggestions("K1", most=7).more


@pytest.mark.parametrize(
    ("photograph", "how", "error"),
    [
        ("K7", {}, NotFoundError),
        ("K1", {"region": "R9"}, NotFoundError),
        ("K1", {"region": "left"}, InvalidValueError),
        ("K1", {"age": "old"}, InvalidValueError),
    ],
)
def test_what_cannot_be_asked(archive: Archive, photograph: str, how: dict[str, str], error: type[Exception]) -> None:
    """No such photograph, no such face, no region, no age."""
    with pytest.raises(error):
        archive.asking.name_suggestions(photograph, **how)


@pytest.mark.parametrize("letters", ["", "a", "ada"])
def test_an_archive_without_people_offers_nobody(tmp_path: Path, letters: str) -> None:
    """No tree, nobody named: an empty list, and no complaint."""
    archive = Archive.create(tmp_path / "empty")
    with archive.working("filled") as work:
        work.insert_one(t.photograph, code="K00001", indexed=738000)
    assert archive.asking.name_suggestions("K1", letters).people == ()


def test_a_face_of_the_sample_is_named_with_eight_keys(own_sample: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight keys name a face: the digits of an age, Enter, some for the name (letters, or arrows down the list), Enter.

    For each name in a container where somebody else is named, the name is withdrawn with its ages, the photograph dated
    anew without it, and the fewest letters and arrows are found that lead to its person. The names that do not fit with
    the rest are left out: nobody should be brought to put those down quickly.
    """
    archive = own_sample
    monkeypatch.setattr(name_offers, "kin_to", lambda *_: {})  # words beside a name, which do not change its place
    archive.dates.refresh()
    doubted = archive.dates.statements_set_aside()
    with archive.reading() as connection:
        evidence = gather(connection)
        named = _named(connection)
    beside = Counter(row["container_id"] for row in named)
    asked = [row for row in named if beside[row["container_id"]] > 1 and f"A{row['id']}" not in doubted]
    needed = [_keys(archive, evidence, row) for row in asked]
    keys = [len(f"{row['low'] or 0:.0f}") + 1 + name + 1 for row, name in zip(asked, needed, strict=True)]
    print(f"keys for each of {len(keys)} names: {dict(sorted(Counter(keys).items()))}")
    assert len(keys) > 150
    assert median(keys) <= 5
    assert max(keys) <= 8


def _named(connection: Connection) -> list[RowMapping]:
    a, k, p, s = t.appearance.c, t.photograph.c, t.person.c, t.statement.c
    judged = select(s.age_low, s.age_high).where(s.kind == "apparent-age", s.withdrawn == 0)
    low, high = (
        judged.with_only_columns(column).where(s.appearance_id == a.id).order_by(s.id).limit(1).scalar_subquery()
        for column in (s.age_low, s.age_high)
    )
    query = (
        select(a.id, a.photograph_id, a.region_id, k.code, k.container_id, p.name, p.code.label("who"),
               low.label("low"), high.label("high"))
        .join(t.photograph, k.id == a.photograph_id).join(t.person, p.id == a.person_id)
        .where(a.withdrawn == 0, a.denied == 0)
    )  # fmt: skip
    return list(connection.execute(query).mappings())


def _keys(archive: Archive, evidence: Evidence, row: RowMapping) -> int:
    """The fewest letters and arrows that lead to the person of a name that is held out; 9 when it takes more."""
    estimate = asdict(date_without(evidence, row["code"], (f"A{row['id']}",)).estimate)
    del estimate["photograph"]
    held_out = update(t.appearance).where(t.appearance.c.id == row["id"]).values(withdrawn=1)
    dated = update(t.estimate).where(t.estimate.c.photograph_id == row["photograph_id"])
    age = None if row["low"] is None else age_words(row["low"], row["high"])
    region = None if row["region_id"] is None else f"R{row['region_id']}"
    needed = 9
    with archive.working("held out") as work:
        as_it_was = work.connection.begin_nested()
        work.connection.execute(held_out)
        work.connection.execute(dated.values(**estimate | {"inferred": int(estimate["inferred"])}))
        for letters in range(9):
            begun = fold(row["name"])[:letters]
            people = name_offers.offers(work.connection, row["code"], begun, age=age, region=region).people
            place = next((n for n, offer in enumerate(people) if offer.id == row["who"]), 9)
            needed = min(needed, letters + place + (1 if letters == 0 else 0))  # the first is not chosen until typed at
            if letters >= needed:
                break
        as_it_was.rollback()
    return needed


@pytest.mark.parametrize(
    ("typed", "first"),
    [("Aunt Ada", "Ada Holm"), ("Great-Aunt Ada", "Ada Holm"), ("Oma Beht", "Beth Marsh"), ("Onkel Tom", "Tom Marsh")],
)
def test_what_people_are_called_before_their_name(archive: Archive, typed: str, first: str) -> None:
    """A tree has no aunts and no Omas: the name behind finds them, also misspelled. Alone the word is no name."""
    assert next(iter(offered(archive, typed).values())).name == first
    assert offered(archive, "aunt") == {}
