"""Who is meant by what they are to somebody. The family is invented; who is whose aunt can be read off its lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding_people import find_person, find_relative
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import AmbiguousError, NotFoundError

PEOPLE = {
    "I1": ("Ida /Lund/", "F"), "I2": ("Olaf /Lund/", "M"), "I3": ("Berta /Holm/", "F"), "I4": ("Jens /Holm/", "M"),
    "I5": ("Tora /Lund/", "F"), "I6": ("Karl /Holm/", "M"), "I7": ("Sanne /Holm/", "F"), "I8": ("Per /Vik/", "M"),
    "I9": ("Ruth /Vik/", "F"), "I10": ("Edda /Lund/", "F"), "I11": ("Nils /Berg/", "M"), "I12": ("Mo /Holm/", "U"),
    "I13": ("Gro /Lund/", "F"), "I14": ("Alva /Strand/", "F"),
}  # fmt: skip
FAMILIES = {  # parents, and their children
    "F1": ("I2", "I1", "I5 I10"), "F2": ("I4", "I3", "I6 I12"), "F3": ("I6", "I5", "I7"), "F4": ("I8", "I7", "I9"),
    "F5": ("I11", "I10", ""), "F6": ("", "I13", "I2"), "F7": ("", "I14", "I13"),
}  # fmt: skip


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Four generations above Ruth, who asks."""
    lines = ["0 HEAD", "1 GEDC", "2 VERS 5.5.1", "1 CHAR UTF-8"]
    for code, (name, sex) in PEOPLE.items():
        lines += [f"0 @{code}@ INDI", f"1 NAME {name}", f"1 SEX {sex}"]
    for code, (husband, wife, children) in FAMILIES.items():
        lines.append(f"0 @{code}@ FAM")
        lines += [f"1 {tag} @{who}@" for tag, who in (("HUSB", husband), ("WIFE", wife)) if who]
        lines += [f"1 CHIL @{child}@" for child in children.split()]
    tree = tmp_path / "tree.ged"
    tree.write_text("\n".join([*lines, "0 TRLR", ""]), encoding="utf-8")
    made = Archive.create(tmp_path / "archive")
    made.tree.import_file(tree)
    made.people.choose_proband("I9")
    return made


def meant(archive: Archive, text: str) -> list[str]:
    """Whom a question takes the words for; of several, all of them."""
    with archive.reading() as connection:
        try:
            return [str(find_relative(connection, text)["code"])]
        except AmbiguousError as several:
            return [words.rpartition(", ")[2] for words in several.candidates]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("my mother", "I7"), ("Mum", "I7"), ("mother's father", "I6"), ("my mothers father", "I6"), ("Opa", "I6"),
        ("grandma", "I5"), ("my maternal grandmother", "I5"), ("grandparents", "I5 I6"),
        ("grandmother on my mother's side", "I5"), ("great-grandmother", "I1 I3"), ("great grandmother", "I1 I3"),
        ("Uroma", "I1 I3"), ("great-great-grandmother", "I13"), ("great-great-great-grandmother", "I14"),
        ("Sanne's aunt", "I10 I12"), ("Sanne’s uncle", "I11 I12"), ("great-aunt", "I10 I12"),
        ("the mother of my mother", "I5"), ("Tora's sister", "I10"), ("Edda's husband", "I11"),
        ("Edda's brother-in-law", "I6"), ("Karl's mother in law", "I1"), ("Karl's daughter", "I7"),
        ("Ida's granddaughter", "I7"), ("Ida's great-granddaughter", "I9"), ("Edda's niece", "I7"),
        ("Toras Mutter", "I1"), ("me", "I9"), ("Jens' wife", "I3"), ("Mo's brother", "I6"),
    ],
)  # fmt: skip
def test_words_of_kinship_mean_people(archive: Archive, text: str, codes: str) -> None:
    """Seen from Ruth where nobody is named; Mo, whose sex nobody recorded, may be an aunt or an uncle."""
    assert sorted(meant(archive, text)) == sorted(codes.split())


@pytest.mark.parametrize("text", ["my", "Sanne's boat", "grand piano", "Duke of York", "my aunt's dog", "great"])
def test_other_words_mean_nobody(archive: Archive, text: str) -> None:
    """They are answered as any name that nobody has."""
    with pytest.raises(NotFoundError, match="there is nobody called"):
        meant(archive, text)


def test_what_is_missing_is_said(archive: Archive) -> None:
    """A relative whom the tree doesn't know, and whose relative it is, where nobody has said who they are."""
    with pytest.raises(NotFoundError, match=r"the tree has nobody who is 'my brother', seen from Ruth Vik"):
        meant(archive, "my brother")
    archive.people.choose_proband(None)
    with pytest.raises(NotFoundError, match="Say who you are: kinphoto proband PERSON"):
        meant(archive, "my brother")


def test_a_name_goes_before_kinship(archive: Archive) -> None:
    """Somebody who is called Oma is meant by it."""
    archive.people.add("Oma")
    assert meant(archive, "Oma") == ["X1"]


def test_nobody_is_linked_by_kinship(archive: Archive) -> None:
    """Whoever tells something may have meant their own mother, so the one meant is offered."""
    with archive.reading() as connection, pytest.raises(NotFoundError, match=r"Did you mean Sanne Holm, I7\?"):
        find_person(connection, "my mother")


def test_a_search_and_the_offers_know_them_too(archive: Archive, tmp_path: Path) -> None:
    """Every picture of the great-grandmothers, by line and as somebody types it on a page; a word on a back goes
    first."""
    from PIL import Image

    folder = tmp_path / "scans"
    folder.mkdir()
    for number in range(3):
        Image.linear_gradient("L").rotate(90 * number).save(folder / f"{number}.png")
    archive.scans.add([folder])
    archive.statements.link(Link(photograph="K00001", person="I1"))
    archive.statements.link(Link(photograph="K00002", person="I3"))

    def found(text: str) -> list[str]:
        return sorted(one.code for one in archive.search.find(SearchQuery(text=text)).photographs)

    assert found("my great-grandmother") == ["K00001", "K00002"]
    assert [one.code for one in archive.search.find(SearchQuery(text="Uroma"), for_anybody=True).photographs] == []
    assert sorted(one.id for one in archive.people.find("Uroma").people) == ["I1", "I3"]
    assert [one.id for one in archive.asking.name_suggestions("K00003", "grandma").people] == ["I5"]
    assert [one.id for one in archive.asking.name_suggestions("K00001", "Uroma").people] == ["I3"]  # I1 is in it
    archive.photographs.describe("K00003", Description(title="Uroma und ihr Hund"))
    assert found("Uroma") == ["K00003"]
