"""Finding people in one line, naming those who are in no tree, and telling who they turned out to be."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.people.people import FoundPerson
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.words.dates import life_years
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.gedcom.dates import read_gedcom
from kinphoto.reason.model.evidence import LifeDate
from kinphoto.store import tables as t
from kinphoto.store.session import Work

TREE = (
    # code, sex, names (surname between slashes), nickname, events
    ("I1", "F", ["Ada /Marsh/", "Ada /Fenwick/"], "Addie", {"BIRT": "ABT 1890", "DEAT": "9 NOV 1961"}),
    ("I2", "F", ["Ada /Marsh/"], "", {"BIRT": "2 MAY 1850", "DEAT": "1885"}),
    ("I3", "M", ["Tom /Holm/"], "", {"BIRT": "1888"}),
    ("I4", "F", ["Zoë /O’Hara-Krüger/"], "", {"CHR": "3 JUN 1902", "BURI": "1980"}),
    ("I5", "M", ["Юрий /Степанов/", "Yuri Stepanov"], "", {"DEAT": "1944"}),
    ("I6", "M", ["Karl /Meyer/"], "", {}),
    ("I7", "F", ["Adaline /Marshall/"], "", {"BIRT": "BET 1880 AND 1895"}),
)


def add_to_tree(
    work: Work, code: str, sex: str, names: list[str], nickname: str = "", events: dict[str, str] | None = None
) -> int:
    """A person as an import of a tree writes them."""
    first = names[0].replace("/", "")
    id_ = work.insert_one(t.person, code=code, sex=sex, name=first)
    for at, name in enumerate(names):
        given, _, surname = name.strip("/").partition("/")
        text = name.replace("/", "")
        work.insert_one(
            t.name, person_id=id_, position=at, text=text, given=given.strip(), surname=surname, folded=fold(text),
            nickname="" if at else nickname,
        )  # fmt: skip
    for tag, written in (events or {}).items():
        d = read_gedcom(written).dated
        work.insert_one(
            t.event, person_id=id_, tag=tag, date_text=written, first=d.span.first, last=d.span.last,
            shape=str(d.shape), centre=d.centre, spread=d.spread,
        )  # fmt: skip
    return id_


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two Ada Marshes, the younger married to Tom Holm, people of other scripts and spellings; three photographs."""
    archive = Archive.create(tmp_path / "family")
    with archive.working("the tree") as work:
        ids = [add_to_tree(work, *one) for one in TREE]
        family = work.insert_one(t.family, code="F1")
        for partner in (ids[2], ids[0]):
            work.insert_one(t.partner, family_id=family, person_id=partner)
        for number in (1, 2, 3):
            work.insert_one(t.photograph, code=f"K0000{number}", indexed=739_000)
    return archive


def found(archive: Archive, text: str) -> list[str]:
    """The ids found, best first."""
    return [one.id for one in archive.people.find(text).people]


def only(archive: Archive, text: str) -> FoundPerson:
    """The only one found."""
    (one,) = archive.people.find(text).people
    return one


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("ada marsh", ["I2", "I1", "I7"]),  # whole words before parts of words, the elder first
        ("Marsh, ADA", ["I2", "I1", "I7"]),
        ("ada marsh 1890", ["I1", "I7"]),  # both may be born in 1890
        ("1890 ada marsh", ["I1", "I7"]),
        ("ada marsh 1880", ["I1", "I7", "I2"]),  # who may be born then before who lived then
        ("ada marsh 1960", ["I1", "I7"]),  # a year of the life
        ("ada marsh 1870", ["I2"]),
        ("ada marsh (1850-1885)", ["I2"]),
        ("ada marsh 1850–1961", []),
        ("holm", ["I3", "I1"]),  # her husband's surname
        ("ada holm", ["I1"]),
        ("tom marsh", []),  # he did not take hers
        ("ada fenwick", ["I1"]),  # another name of hers
        ("addie 1890", ["I1"]),
        ("zoe kruger", ["I4"]),
        ("OHARA", ["I4"]),
        ("zoë 1902", ["I4"]),  # christened
        ("степан юрий", ["I5"]),
        ("yuri 1930", ["I5"]),  # only the death is known
        ("karl 1930", []),  # nothing is known of his years
        ("Ada Holm née Marsh", ["I1"]),
        ("I4", ["I4"]),
        ("@i4@", ["I4"]),
    ],
)
def test_people_are_found_by_names_and_years_in_one_line(archive: Archive, text: str, ids: list[str]) -> None:
    """Parts of names in any order, other and married names, other scripts, years of the life."""
    answer = archive.people.find(text)
    assert [one.id for one in answer.people if not answer.similar] == ids


@pytest.mark.parametrize(
    ("text", "id_"), [("karl maier", "I6"), ("Zoey Krueger", "I4"), ("Ada Marhs 1961", "I1"), ("Тим Степанов", "")]
)
def test_another_spelling_is_tried_when_nobody_fits(archive: Archive, text: str, id_: str) -> None:
    """A slip of the pen is forgiven, and the answer says that nobody is written so."""
    answer = archive.people.find(text)
    assert [one.id for one in answer.people][:1] == ([id_] if id_ else [])
    assert answer.similar == bool(id_)


def test_who_is_found_by_another_name_shows_it(archive: Archive) -> None:
    """The other name stands beside the one they go by."""
    assert only(archive, "ada holm").found_as == "Holm"
    assert only(archive, "ada fenwick").found_as == "Ada Fenwick"
    assert only(archive, "addie").found_as == "Addie"
    assert only(archive, "zoe").found_as == ""


def test_no_words_find_everybody(archive: Archive) -> None:
    """In the order of surnames."""
    assert sorted(found(archive, "")) == ["I1", "I2", "I3", "I4", "I5", "I6", "I7"]
    assert found(archive, "")[:3] == ["I3", "I2", "I1"]


@pytest.mark.parametrize("text", ["%", "_", "'; DROP TABLE person; --", "\\", "....", "\N{PILE OF POO}"])
def test_wild_cards_and_odd_characters_are_no_danger(archive: Archive, text: str) -> None:
    """Whatever is typed, the search answers, and the people are still there."""
    archive.people.find(text)
    assert len(found(archive, "")) == 7


def test_christening_and_burial_stand_in_for_birth_and_death(archive: Archive) -> None:
    """And are called what they are."""
    life = only(archive, "zoe").life
    assert life_years(life.begin, life.end) == "christened 1902, buried 1980"


def test_somebody_outside_the_tree_is_named_with_dates_the_reasoner_sees(archive: Archive) -> None:
    """A neighbour with a vague birth: found like anybody else, and her dates bound her pictures."""
    added = archive.people.add("Mrs /Tveit/", born="about 1880", died="1950", note="next door")
    assert (added.id, added.namesakes) == ("X1", ())
    one = only(archive, "tveit 1880")
    assert (one.id, one.name, one.outside, one.note) == ("X1", "Mrs Tveit", True, "next door")
    assert life_years(one.life.begin, one.life.end) == "about 1880 to 1950"
    archive.statements.link(Link(photograph="K00001", person="X1"))
    with archive.reading() as connection:
        dates = [s for s in gather(connection).statements if isinstance(s, LifeDate) and s.person == "X1"]
    assert [(str(s.event), s.date.span.bounded) for s in dates] == [("birth", True), ("death", True)]


def test_the_same_name_again_is_somebody_else_with_a_warning(archive: Archive) -> None:
    """Two neighbours may have one name; the other is named with what tells them apart."""
    archive.people.add("Berit Tveit", born="1880")
    again = archive.people.add("BERIT  TVEIT")
    assert again.id == "X2"
    assert again.namesakes == ("Berit Tveit (1880–), X1",)


def test_the_number_of_a_person_taken_back_is_not_used_again(archive: Archive) -> None:
    """So that an X1 on paper is never two people."""
    archive.people.add("Berit Tveit")
    archive.statements.undo()
    assert archive.people.add("Jon Tveit").id == "X2"


def test_an_x_number_of_the_tree_is_left_to_it(archive: Archive) -> None:
    """Some trees have ids that begin with X."""
    with archive.working("tree") as work:
        add_to_tree(work, "X1", "F", ["Berit Tveit"])
    assert archive.people.add("Jon Tveit").id == "X2"


def test_an_x_number_in_small_letters_is_taken_too(archive: Archive) -> None:
    """Whoever types x1 or X1 means one person."""
    with archive.working("tree") as work:
        add_to_tree(work, "x1", "F", ["Berit Tveit"])
    assert archive.people.add("Jon Tveit").id == "X2"


@pytest.mark.parametrize(
    ("text", "code"),
    [("ada holm", "I1"), ("Addie", "I1"), ("Addie Holm", "I1"), ("Ada Holm née Marsh", "I1"), ("Holm", "I3")],
)
def test_a_command_understands_married_names_and_nicknames(archive: Archive, text: str, code: str) -> None:
    """When nobody has the words in one name of theirs; Holm alone is he who was always called so."""
    with archive.reading() as connection:
        assert find_person(connection, text)["code"] == code


def test_part_of_a_married_name_is_no_name(archive: Archive) -> None:
    """What is searched may be a part of a word; what is recorded must be whole."""
    with archive.reading() as connection, pytest.raises(NotFoundError):
        find_person(connection, "ada hol")


@pytest.mark.parametrize(
    ("name", "born", "died", "problem"),
    [
        ("", None, None, "needs a name"),
        (" / ", None, None, "needs a name"),
        ("Berit", "31 FEB 1880", None, "no such date"),
        ("Berit", "soon", None, "cannot be understood"),
        ("Berit", "1880", "1870", "the death \\(1870\\) comes before the birth \\(1880\\)"),
    ],
)
def test_what_cannot_be_is_refused(
    archive: Archive, name: str, born: str | None, died: str | None, problem: str
) -> None:
    """Nobody is added with a name or dates that cannot be."""
    with pytest.raises(InvalidValueError, match=problem):
        archive.people.add(name, born, died)
    assert len(found(archive, "")) == 7


def test_who_somebody_turned_out_to_be_gets_their_pictures(archive: Archive) -> None:
    """The pictures move, the old id and name still lead there, and it can all be taken back."""
    archive.people.add("The girl with the plait", born="1889")
    archive.statements.link(Link(photograph="K00001", person="X1", age="8", by="Aunt Elin"))
    archive.statements.link(Link(photograph="K00002", person="X1"))
    before = _rows(archive)
    done = archive.people.identify("X1", "I1")
    assert (done.id, done.was, done.moved) == ("I1", "X1", 2)
    assert only(archive, "X1").id == only(archive, "girl plait").id == "I1"
    assert only(archive, "girl plait").found_as == "The girl with the plait"
    assert only(archive, "I1").pictures == 2
    with archive.reading() as connection:
        assert find_person(connection, "X1")["code"] == "I1"
    archive.statements.undo()
    assert _rows(archive) == before
    assert only(archive, "X1").pictures == 2
    assert only(archive, "I1").pictures == 0


def test_two_appearances_on_one_photograph_become_one(archive: Archive) -> None:
    """What either said is kept: the region of one, the age of the other."""
    archive.people.add("The girl with the plait")
    archive.statements.link(Link(photograph="K00001", person="X1", region="0.1,0.1,0.2,0.2", age="8", why="the plait"))
    archive.statements.link(Link(photograph="K00001", person="I1", trust="strong"))
    archive.people.identify("X1", "I1")
    (row,) = _rows(archive)["appearance"]
    assert (row["trust"], row["why"], row["region_id"] is not None) == ("strong", "the plait", True)
    (age,) = _rows(archive)["statement"]
    assert age["appearance_id"] == row["id"]
    archive.statements.undo()
    assert len(_rows(archive)["appearance"]) == 2


def test_rivals_for_one_face_who_are_one_person_are_rivals_no_more(archive: Archive) -> None:
    """Two names on one region become one appearance."""
    archive.people.add("The girl with the plait")
    for person in ("X1", "I1"):
        archive.statements.link(Link(photograph="K00001", person=person, region="0.1,0.1,0.2,0.2"))
    archive.people.identify("X1", "I1")
    assert len(_rows(archive)["appearance"]) == 1


def test_two_who_stand_side_by_side_are_not_one(archive: Archive) -> None:
    """At different places of one photograph they cannot be the same person; nothing is changed."""
    archive.people.add("The girl with the plait")
    archive.statements.link(Link(photograph="K00001", person="X1", region="0.1,0.1,0.2,0.2"))
    archive.statements.link(Link(photograph="K00001", person="I1", region="0.6,0.1,0.2,0.2"))
    before = _rows(archive)
    with pytest.raises(InvalidValueError, match=r"both in K00001, at different places.*kinphoto withdraw A1, or A2"):
        archive.people.identify("X1", "I1")
    assert _rows(archive) == before


def test_what_is_not_known_of_a_person_is_filled_by_who_they_were_taken_for(archive: Archive) -> None:
    """The tree's own dates come first."""
    archive.people.add("The girl with the plait", born="1895", died="1970")
    archive.people.identify("X1", "I3")
    life = only(archive, "I3").life
    assert life_years(life.begin, life.end) == "1888 to 1970"
    archive.statements.link(Link(photograph="K00001", person="I3"))
    with archive.reading() as connection:
        told = [s.text for s in gather(connection).statements if isinstance(s, LifeDate) and s.person == "I3"]
    assert told == ["1888", "1970"]


@pytest.mark.parametrize(
    ("somebody", "other", "problem"),
    [("I1", "X1", "is in the tree"), ("X1", "X1", "the same person already"), ("X1", "I99", "there is nobody called")],
)
def test_only_somebody_outside_the_tree_turns_out_to_be_another(
    archive: Archive, somebody: str, other: str, problem: str
) -> None:
    """People of the tree are what the tree says they are."""
    archive.people.add("The girl with the plait")
    with pytest.raises((InvalidValueError, NotFoundError), match=problem):
        archive.people.identify(somebody, other)


def test_two_people_outside_the_tree_can_be_one(archive: Archive) -> None:
    """And later turn out to be somebody of the tree, with all that was theirs."""
    for name in ("The girl with the plait", "Berit"):
        archive.people.add(name)
    archive.statements.link(Link(photograph="K00001", person="X1"))
    archive.statements.link(Link(photograph="K00002", person="X2"))
    archive.people.identify("X1", "X2")
    archive.people.identify("X1", "I1")
    assert only(archive, "girl").id == only(archive, "berit").id == "I1"
    assert only(archive, "I1").pictures == 2


def _rows(archive: Archive) -> dict[str, list[dict[str, object]]]:
    """Everything said, and who is who."""
    with archive.reading() as connection:
        return {
            table.name: [dict(row) for row in connection.execute(table.select().order_by(table.c.id)).mappings()]
            for table in (t.appearance, t.statement, t.person)
        }
