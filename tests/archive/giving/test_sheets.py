"""Sheets and labels, read again with pdftotext and pdfinfo (poppler)."""

from __future__ import annotations

import csv
import subprocess
from pathlib import Path

import pytest
from hiding import scans_of, secrets_in

from kinphoto.archive import Archive
from kinphoto.archive.giving.selection import Wanted
from kinphoto.archive.statements.appearances import Link
from kinphoto.errors import KinphotoError


def text_of(path: Path) -> str:
    """What can be read and searched on the pages, line breaks aside."""
    done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def test_a_sheet_asks_and_suggests_nothing(own_sample: Archive, tmp_path: Path) -> None:
    """Its code, the faces without a name by number, large questions; no date that was worked out, no likely name."""
    path = tmp_path / "nora.pdf"
    answers = tmp_path / "nora.csv"
    wanted = Wanted(photographs=("K00014", "K00015"))
    done = own_sample.give.write_sheets(
        path, "Nora Quillern", "household", wanted, sender="Susanne Vale", answers=answers, write=True
    )
    text = text_of(path)
    assert done.photographs == ("K00014", "K00015")
    assert "For Nora Quillern K00014 sheet 1 of 2" in text
    assert "When was it taken, and how do you know?" in text
    assert "Please send it back to Susanne Vale." in text
    worked_out = {one.code: one.estimate for one in own_sample.dates.estimates(["K00014", "K00015"])}
    assert all(one.inferred and one.edtf.strip("[]?").split("..")[0] not in text for one in worked_out.values())
    suggested = {one.name for one in own_sample.asking.name_suggestions("K00015", "").people}
    named = {one.name for one in own_sample.photographs.cards(["K00014", "K00015"])[0].people}
    assert suggested - named
    assert not any(name in text for name in suggested - named if len(name) > 3)
    rows = list(csv.DictReader(answers.open(encoding="utf-8-sig")))
    assert {row["photo"] for row in rows} == {"K00014", "K00015"}


def test_the_answers_are_taken_in_with_her_as_who_told_us(own_sample: Archive, tmp_path: Path) -> None:
    """Whoever typed what she wrote into the spreadsheet gives it to `link --from`; her word names the very face."""
    answers = tmp_path / "nora.csv"
    wanted = Wanted(photographs=("K00015",))
    own_sample.give.write_sheets(tmp_path / "n.pdf", "Nora Quillern", "household", wanted, answers=answers, write=True)
    rows = list(csv.DictReader(answers.open(encoding="utf-8-sig")))
    filled = {**rows[0], "person": "Emil Quillern", "age_from": "9"}
    with answers.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, filled)
        writer.writeheader()
        writer.writerow(filled)
    own_sample.statements.apply_spreadsheet("links", answers)
    names = [name for face in own_sample.photographs.faces("K00015").faces for name in face.names]
    assert [(one.name, one.informant) for one in names if one.name == "Emil Quillern"] == [
        ("Emil Quillern", "Nora Quillern")
    ]


def test_what_is_worth_asking_comes_first(own_sample: Archive, tmp_path: Path) -> None:
    """The photographs of the best questions for this informant, as many as were asked for."""
    done = own_sample.give.write_sheets(tmp_path / "n.pdf", "Peter Quillern", "household", most=3)
    best = dict.fromkeys(c for q in own_sample.asking.questions("Peter Quillern").questions for c in q.photographs)
    assert done.photographs == tuple(best)[:3]
    assert not (tmp_path / "n.pdf").exists()


def test_the_pdf_is_tagged_and_its_pictures_described(own_sample: Archive, tmp_path: Path) -> None:
    """So that a screen reader finds its way (PDF 1.7, 14.7 and 14.9); names have all their letters."""
    path = tmp_path / "n.pdf"
    wanted = Wanted(photographs=("K00005",))
    own_sample.give.write_sheets(path, "Zofia Łącka", "household", wanted, write=True)
    info = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True).stdout
    assert "Tagged:          yes" in info
    structure = subprocess.run(["pdfinfo", "-struct", str(path)], capture_output=True, text=True, check=True).stdout
    assert "Figure" in structure
    if "DejaVu" in subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True).stdout:
        assert "For Zofia Łącka" in text_of(path)


@pytest.mark.parametrize("boxes", [False, True])
def test_nothing_of_the_living_on_paper(planted: Archive, tmp_path: Path, boxes: bool) -> None:
    """A sheet and labels for cousins tell nothing of Zelda; and what is private is on no paper at all."""
    folder = tmp_path / "paper"
    folder.mkdir()
    planted.statements.link(Link(photograph="K00008", person="-", region="0.6,0.2,0.2,0.2"))
    planted.dates.refresh()
    planted.give.write_labels(folder / "l.pdf", boxes=boxes, audience="cousins", write=True)
    done = planted.give.write_sheets(folder / "s.pdf", "Aunt May", "cousins", write=True)
    assert done.photographs == ("K00001",)
    assert secrets_in(folder) == []
    household = planted.give.write_sheets(folder / "h.pdf", "Aunt May", "household", write=True)
    assert not {"K00003", "K00004", "K00007"} & set(household.photographs)


def test_labels_for_sleeves_and_boxes(own_sample: Archive, tmp_path: Path) -> None:
    """Each with its code, or the box with what is in it; and the caution about photographs."""
    own_sample.give.write_labels(tmp_path / "l.pdf", write=True)
    text = text_of(tmp_path / "l.pdf")
    assert all(words in text for words in ("K00009", "On the ferry", "Pellering", "Willow box"))
    assert "Stick nothing on a photograph" in text
    own_sample.give.write_labels(tmp_path / "b.pdf", boxes=True, write=True)
    assert "Willow box" in text_of(tmp_path / "b.pdf")
    assert "photographs" in text_of(tmp_path / "b.pdf")


def test_mistakes_are_answered(planted: Archive, tmp_path: Path) -> None:
    """A name that is no PDF, a folder of scans, no folder, too many sheets."""
    for path, most, words in (
        (tmp_path / "s.doc", 12, "ending in .pdf"),
        (scans_of(planted) / "s.pdf", 12, "folder of scans"),
        (tmp_path / "no" / "s.pdf", 12, "no such folder"),
        (tmp_path / "s.pdf", 0, "0 sheets"),
    ):
        with pytest.raises(KinphotoError, match=words):
            planted.give.write_sheets(path, "Aunt May", "cousins", most=most, write=True)
