"""Which person somebody means by an id or a name."""

from __future__ import annotations

from pathlib import Path

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.reason.model.span import span_of_years
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Two Ada Marshes, a Zoë, and a neighbour who turned out to be Zoë."""
    archive = Archive.create(tmp_path / "family")
    with archive.working("people") as work:
        for code, name, born in (
            ("I1", "Ada Marsh", 1850),
            ("I2", "Ada Marsh", 1902),
            ("I3", "Zoë O’Hara-Krüger", None),
        ):
            id_ = work.insert_one(t.person, code=code, name=name)
            work.insert_one(t.name, person_id=id_, text=name, folded=fold(name))
            if born:
                span = span_of_years(born, born)
                work.insert_one(t.event, person_id=id_, tag="BIRT", first=span.first, last=span.last)
        x = work.insert_one(t.person, code="X1", name="The baker's wife", outside=1, same_as_id=id_)
        work.insert_one(t.name, person_id=x, text="The baker's wife", folded=fold("The baker's wife"))
    return archive


def _code(archive: Archive, text: str) -> str:
    with archive.reading() as connection:
        return str(find_person(connection, text)["code"])


@pytest.mark.parametrize(
    "text", ["I3", "@I3@", "i3", "zoe o'hara krüger", "Kruger", "ZOE", "Ohara, Zoë", "X1", "baker's"]
)
def test_a_person_is_found_by_id_name_or_part_of_a_name(archive: Archive, text: str) -> None:
    """Ids as the tree writes them, names without regard to accents, case and order, and who X1 turned out to be."""
    assert _code(archive, text) == "I3"


@pytest.mark.parametrize("text", ["陳大文", "大文陳", "陳 大文", "Annemarie Sand", "Oma Annemarie Sand"])
def test_a_name_is_found_wherever_its_spaces_are(archive: Archive, text: str) -> None:
    """Chinese names are written without them, the surname first; "Annemarie" is "Anne Marie". Who is called "Oma" by
    somebody is not called so in the tree: the one who is likely meant is offered, not taken."""
    for name in ("大文 /陳/", "Anne Marie /Sand/"):
        archive.people.add(name)
    if text.startswith("Oma"):
        with pytest.raises(NotFoundError, match=r"Did you mean .*Anne Marie Sand"):
            _code(archive, text)
    else:
        assert _code(archive, text) == ("X3" if "Sand" in text else "X2")


def test_namesakes_are_told_apart_by_their_life_years(archive: Archive) -> None:
    """A name that fits two people is refused, and both are shown with what tells them apart."""
    with pytest.raises(AmbiguousError) as problem:
        _code(archive, "ada marsh")
    assert problem.value.candidates == ["Ada Marsh (1850–), I1", "Ada Marsh (1902–), I2"]


def test_a_misspelt_name_suggests_the_nearest(archive: Archive) -> None:
    """Nobody is guessed silently; the nearest names are offered."""
    with pytest.raises(NotFoundError, match=r"Did you mean .*Zoë O’Hara-Krüger, I3"):
        _code(archive, "Zoe Ohara Krueger")


@pytest.mark.parametrize("text", ["", "@@", "%", "I99", "'; DROP TABLE person"])
def test_what_fits_nobody_is_refused(archive: Archive, text: str) -> None:
    """Empty, wild-card and unknown texts find nobody, and say how to name somebody new."""
    with pytest.raises(NotFoundError, match="kinphoto people add"):
        _code(archive, text)


@pytest.mark.parametrize(
    ("name", "folded"),
    [
        ("Łucja ØRSTED", "lucja orsted"),
        ("Jürg  Weiß", "jurg weiss"),
        ("O'Brien", "obrien"),
        ("Anne-Marie", "anne marie"),
        ("陳大文", "陳 大 文"),
        ("山田 トモコ", "山 田 ト モ コ"),
    ],
)
def test_folding(name: str, folded: str) -> None:
    """Unicode case folding and decomposition (Unicode Standard, chapters 3.13 and 3.7), and letters it leaves whole."""
    assert fold(name) == folded
