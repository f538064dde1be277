"""`kinphoto people` and `kinphoto pictures` as they are typed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import invoked

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import InvalidValueError
from kinphoto.store import tables as t


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """An archive of people outside any tree, one of them called Add, in the present folder."""
    archive = Archive.create(tmp_path / "family")
    archive.people.add("Berit /Tveit/", born="ABT 1880", died="1950", note="next door")
    archive.people.add("Add Tveit")
    monkeypatch.chdir(archive.folder)
    return archive


def run(*words: str) -> tuple[str, str]:
    """Standard output and standard error of a command that succeeds."""
    done = invoked(words, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout, done.stderr


def document(*words: str) -> Any:
    """The one JSON document a command prints."""
    return json.loads(run(*words, "--json")[0])


BERIT = "X1     Berit Tveit, about 1880 to 1950, no pictures, outside the tree, next door"
ADD = "X2     Add Tveit, years not known, no pictures, outside the tree"


@pytest.mark.parametrize(
    ("words", "lines"),
    [
        ([], [ADD, BERIT]),
        (["berit"], [BERIT]),
        (["tveit", "berit", "1900"], [BERIT]),
        (["tveit berit 1900"], [BERIT]),
        (["Add"], [ADD]),
        (["find", "add"], [ADD]),
        (["--", "add"], [ADD]),
        (["find"], [ADD, BERIT]),
    ],
)
def test_people_finds_at_once(archive: Archive, words: list[str], lines: list[str]) -> None:
    """The word find may be left out; a name that is also a command is still found."""
    assert sorted(run("people", *words)[0].splitlines()) == sorted(lines)


@pytest.mark.parametrize(
    "words", [["people", "--json", "berit"], ["people", "berit", "--json"], ["people", "find", "berit", "--json"]]
)
def test_options_stand_anywhere(archive: Archive, words: list[str]) -> None:
    """Before and after what is looked for."""
    (one,) = json.loads(run(*words)[0])["people"]
    assert one == {
        "id": "X1", "name": "Berit Tveit", "sex": "U", "pictures": 0, "found_as": None, "outside": True, "gone": False,
        "years": "about 1880 to 1950",
        "born": {"text": "about 1880", "earliest": "1870-01-01", "latest": "1890-12-31"},
        "died": {"text": "1950", "earliest": "1950-01-01", "latest": "1950-12-31"},
        "note": "next door", "kin": None, "suggested_birth": None,
    }  # fmt: skip


def test_the_archive_may_be_named_before_the_command(
    archive: Archive, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Its value is not taken for the name."""
    monkeypatch.chdir(tmp_path)
    where = ["--archive", str(archive.folder)]
    assert run("people", *where, "berit")[0] == f"{BERIT}\n"
    assert run("people", *where, "add", "Jon Tveit")[0].startswith("Added Jon Tveit as X3.")


def test_nobody_and_nearly(archive: Archive) -> None:
    """What to do when nobody fits; names of like spelling when there are any."""
    assert "kinphoto people add" in run("people", "Qqq")[0]
    assert run("people", "berrit")[0].splitlines() == [
        "No exact match for 'berrit'. Nearly the same:", BERIT
    ]  # fmt: skip
    assert document("people", "Qqq") == {"people": []}


def test_an_archive_without_people(tmp_path: Path) -> None:
    """Says how to begin."""
    Archive.create(tmp_path / "empty")
    assert "kinphoto tree import" in run("people", "--archive", str(tmp_path / "empty"))[0]


def test_who_is_no_longer_in_the_tree_says_so(archive: Archive) -> None:
    """Somebody with pictures is kept when the tree's newest import does not have them any more."""
    with archive.working("a tree that shrank") as work:
        person = work.insert_one(t.person, code="I9", name="Ada Holm", gone=1)
        work.insert_one(t.name, person_id=person, text="Ada Holm", folded="ada holm")
        photograph = work.insert_one(t.photograph, code="K00001", indexed=739_000)
        work.insert_one(t.appearance, photograph_id=photograph, person_id=person, said_at="")
    assert run("people", "ada")[0] == "I9     Ada Holm, years not known, 1 picture, no longer in the tree\n"
    assert document("people", "ada")["people"][0]["gone"] is True


def test_births_that_photographs_suggest(archive: Archive) -> None:
    """Once everything is dated: in the person's line, and once below the list that they prove nothing."""
    archive.people.add("Jon Tveit", born="BET 1890 AND 1940", died="2001")
    with archive.working("a photograph") as work:
        work.insert_one(t.photograph, code="K00001", indexed=739_000)
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1 JUL 1923"))
    archive.statements.link(Link(photograph="K00001", person="X3", age="3"))
    archive.dates.refresh()
    line, *others, last = run("people", "jon")[0].splitlines()
    assert line.startswith(
        "X3     Jon Tveit, born between 1890 and 1940, died 2001, 1 picture, outside the tree, born about 19"
    )
    assert others == []
    assert last == "What photographs suggest is not proof: whoever judged the ages may have known the tree."
    birth = document("people", "jon")["people"][0]["suggested_birth"]
    assert line.endswith(", " + birth["text"])
    assert birth["text"] == (
        f"born about {birth['best'][:4]} (between {birth['likely_from'][:4]} and {birth['likely_to'][:4]}, "
        "from 1 photograph)"
    )
    assert "proof" not in run("people", "berit")[0]


def test_adding_a_namesake_warns_on_standard_error(archive: Archive) -> None:
    """The answer stays one document."""
    out, err = run("people", "add", "Berit Tveit", "--json")
    assert json.loads(out) == {
        "id": "X3", "name": "Berit Tveit", "namesakes": ["Berit Tveit (c. 1880–1950), X1"]
    }  # fmt: skip
    assert "kinphoto people same X3" in err


def test_same_tells_what_happened(archive: Archive) -> None:
    """And how to take it back."""
    out, _ = run("people", "same", "X2", "X1")
    assert out == "X2 is Berit Tveit (X1): 0 pictures moved. To undo: kinphoto undo\n"
    assert document("people", "X2")["people"][0]["id"] == "X1"


def test_a_date_that_cannot_be_is_an_error(archive: Archive) -> None:
    """It reaches the one place where errors become one line."""
    with pytest.raises(InvalidValueError, match="31 FEB"):
        run("people", "add", "Jon", "--born", "31 FEB 1900")


def test_help_is_the_groups_own(archive: Archive) -> None:
    """`people --help` tells of finding, adding and same; with a name it tells of finding."""
    assert "same X7 I12" in run("people", "--help")[0]
    assert "years of their life" in run("people", "berit", "--help")[0]
