"""`kinphoto kin` and `kinphoto proband` as they are typed."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import invoked

from kinphoto.archive import Archive

TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
0 @I2@ INDI
1 NAME Tom /Marsh/
1 SEX M
0 @I3@ INDI
1 NAME Per /Marsh/
1 SEX M
0 @I4@ INDI
1 NAME Eva /Holm/
1 SEX F
0 @I5@ INDI
1 NAME Knut /Marsh/
1 SEX M
0 @F1@ FAM
1 HUSB @I3@
1 CHIL @I1@
1 CHIL @I2@
0 @F2@ FAM
1 HUSB @I2@
1 WIFE @I4@
1 CHIL @I5@
0 TRLR
"""


@pytest.fixture
def archive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """Ada, her brother Tom, his wife Eva and their son Knut; a neighbour. In the present folder."""
    (tmp_path / "tree.ged").write_text(TREE, encoding="utf-8")
    archive = Archive.create(tmp_path / "family")
    archive.tree.import_file(tmp_path / "tree.ged")
    archive.people.add("Jon Tveit")
    monkeypatch.chdir(archive.folder)
    return archive


def run(*words: str) -> list[str]:
    """The lines a command prints that succeeds."""
    done = invoked(words, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout.splitlines()


def document(*words: str) -> Any:
    """The one JSON document a command prints."""
    return json.loads("\n".join(run(*words, "--json")))


def test_kin_in_words(archive: Archive) -> None:
    """Both ways, and by whom."""
    assert run("kin", "I1", "Knut Marsh") == [
        "Ada Marsh (I1) is Knut Marsh's aunt.",
        "Knut Marsh (I5) is Ada Marsh's nephew.",
        "  aunt: common ancestor Per Marsh (I3); 1 generation up, 2 down; civil degree 3, canon degree 2",
    ]
    assert run("kin", "eva holm", "tom marsh")[2:] == ["  wife: by marriage"]
    assert run("kin", "I1", "I1") == ["Both are Ada Marsh (I1)."]


def test_no_kin(archive: Archive) -> None:
    """What was looked for is told, and that nothing is known of the family of somebody outside the tree."""
    first, second = run("kin", "X1", "I1")
    assert first.startswith("No relationship found between Jon Tveit (X1) and Ada Marsh (I1)")
    assert "within 4 steps" in first
    assert second == "Jon Tveit is outside the tree, so their family may not be recorded."


def test_kin_as_a_document(archive: Archive) -> None:
    """The same for scripts."""
    assert document("kin", "I5", "I1") == {
        "person": {"id": "I5", "name": "Knut Marsh"}, "other": {"id": "I1", "name": "Ada Marsh"}, "same": False,
        "words": "nephew", "in_return": "aunt", "within": 4,
        "paths": [
            {
                "words": "nephew", "in_return": "aunt", "up": 2, "down": 1, "common_ancestors": ["I3"], "full": None,
                "canon": 2, "civil": 3, "marriages": 0, "through": [],
            }
        ],
    }  # fmt: skip
    assert document("kin", "X1", "I1")["words"] is None
    assert document("kin", "I1", "I1")["same"] is True


def test_the_proband_as_typed(archive: Archive) -> None:
    """Nobody yet, somebody, nobody any more; both at once cannot be."""
    assert run("proband")[0].startswith("Relationships are not shown yet.")
    assert document("proband") == {"person": None, "changed": False, "change": None}
    assert run("proband", "knut marsh") == ["Relationships are now given from Knut Marsh's point of view (I5)."]
    assert document("proband")["person"] == {"id": "I5", "name": "Knut Marsh"}
    assert run("proband", "--nobody")[0].startswith("Relationships are no longer shown.")
    assert invoked(["proband", "I5", "--nobody"]).exit_code == 2


def test_people_are_listed_with_what_they_are_to_the_proband(archive: Archive) -> None:
    """At the end of the line, when there is a proband."""
    assert run("people", "ada") == ["I1     Ada Marsh, years not known, no pictures"]
    run("proband", "I5")
    assert run("people", "ada") == ["I1     Ada Marsh, years not known, no pictures, your aunt"]
    assert {one["id"]: one["kin"] for one in document("people")["people"]} == {
        "I1": "your aunt", "I2": "your father", "I3": "your grandfather", "I4": "your mother", "I5": "you", "X1": None
    }  # fmt: skip
