"""What is said before an original is put on the glass: where its box, its register or its material calls for it."""

from __future__ import annotations

from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive.collection.care import BEFORE, needed


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("Green album, some prints stuck down", ["stuck"]),
        ("smells musty, mould on two of them", ["mould"]),
        ("Schimmel an den Rändern", ["mould"]),
        ("six glass plates and a roll of nitrate negatives", ["film", "glass", "curled"]),
        ("a daguerreotype in its case", ["case"]),
        ("curled, a corner torn", ["curled", "brittle"]),
        ("Suitcase from the attic, in good condition", []),
        ("Tin trunk", []),
    ],
)
def test_words_that_call_for_care(words: str, kinds: list[str]) -> None:
    """As people write them; a suitcase is no case, and a tin calls for nothing."""
    assert [each.kind for each in needed([words])] == kinds


def test_a_box_by_its_register_and_its_photographs(tmp_path: Path) -> None:
    """What came in it, in what condition, and what its photographs were recorded to be; nothing any more once it went
    back. That albums are never peeled and mould is never wiped is common practice of conservators (from memory)."""
    archive = archive_with(tmp_path, scans=2)
    assert archive.photographs.care("From Clara") == ()
    archive.photographs.lend("From Clara", "Clara Ombry", None, "mouldy at one corner", "an album")
    mould, stuck = archive.photographs.care("from clara")
    assert "do not wipe it" in mould
    assert "never peel" in stuck
    archive.photographs.give_back("From Clara")
    assert archive.photographs.care("From Clara") == ()
    archive.statements.record_making("K00001", "process", "nitrate")
    (film,) = archive.photographs.care("scans")
    assert "can catch fire" in film


def test_before_the_first_print() -> None:
    """Film, glass, albums, curled and cased prints, mould, feeders and cleaning: said whatever is in the box, and no
    film is ever called safe."""
    said = " ".join(BEFORE)
    for word in (
        "nitrate",
        "vinegar",
        "Glass plates",
        "never peel",
        "Curled",
        "case",
        "Mould",
        "feeder",
        "never spray",
    ):
        assert word in said
    assert "Nothing here can show that a film is safe" in said


def test_the_list_to_hand_over_knows_what_came_with_mould(tmp_path: Path) -> None:
    """The register alone is enough: nobody has to record it at each photograph."""
    archive = archive_with(tmp_path, scans=1)
    archive.photographs.lend("From Clara", "Clara Ombry", condition="mould on the lid")
    lines = archive.photographs.hand_over().lines
    assert any(
        line.startswith("Not to be scanned at home without advice: what is in From Clara. Mould") for line in lines
    )
    assert archive.photographs.hand_over("scans").not_at_home == ()
    assert [each.containers for each in archive.photographs.hand_over("From Clara").not_at_home] == [("From Clara",)]
