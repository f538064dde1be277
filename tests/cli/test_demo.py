"""The demonstration: the whole job on the sample, and what must come out of it."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from statistics import median

import pytest
from commands import invoked

from kinphoto.archive import Archive
from kinphoto.archive.sample import build, source
from kinphoto.errors import ArchiveError
from kinphoto.reason.model.findings import State


def rows(name: str) -> list[dict[str, str]]:
    """A spreadsheet of the sample's truth, which the program itself never reads."""
    with (source() / "truth" / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_the_four_mistakes_are_found_and_nothing_else_is_set_aside(shared_sample: Archive) -> None:
    """A wrong name, a misread digit, a mistyped death and a relation that cannot be: each in a conflict of its own."""
    book = shared_sample.dates.conflicts()
    told = {s.id: s for story in book.stories for s in story.statements}
    assert len(rows("mistakes.csv")) == len(book.stories) == len(book.aside) == 4
    aside = sorted((told[s].kind, told[s].text) for s in book.aside)
    assert [kind for kind, _ in aside] == ["appearance", "death", "inscription", "same-occasion"]
    texts = " ".join(text for _, text in aside)
    for part in ("Ambrose Quillern (1890 to 1974) is in K00023", "19 July 1919", "August 1900", "same occasion"):
        assert part in texts
    assert not any(story.tie for story in book.stories)


def test_true_dates_lie_where_they_should(shared_sample: Archive) -> None:
    """At least 31 of 40 in the likely range, all undisputed ones inside the bounds, median error at most 3.5 years."""
    truth = {row["photo"]: date.fromisoformat(row["date"]).toordinal() for row in rows("dates.csv")}
    likely, errors, outside = [], [], []
    for dated in shared_sample.dates.estimates():
        day = next(truth["/".join(Path(scan).parts[-2:])] for scan in dated.scans)
        e = dated.estimate
        if e.state is not State.DISPUTED and not e.earliest <= day <= e.latest:
            outside.append(dated.code)
        assert e.best is not None
        assert e.likely_from is not None
        assert e.likely_to is not None
        likely.append(e.likely_from <= day <= e.likely_to)
        errors.append(abs(e.best - day) / 365.2425)
    assert outside == []
    assert len(likely) >= 40
    assert sum(likely) / len(likely) >= 31 / 40
    assert median(errors) <= 3.5


def test_births_that_photographs_suggest_against_the_truth(shared_sample: Archive, tmp_path: Path) -> None:
    """All six are right, and Ottilie's is more than twice as near to her true birth as the tree's "about 1870"."""
    births = {one.id: one.birth for one in shared_sample.tree.check().births}
    true = {row["person"]: date.fromisoformat(row["date"]).toordinal() for row in rows("births.csv")}
    assert sorted(births) == ["I14", "I16", "I46", "I5", "I64", "I8"]
    assert all(births[id_].likely_from <= true[id_] <= births[id_].likely_to for id_ in births)
    about_1870 = (date(1870, 1, 1).toordinal() + date(1870, 12, 31).toordinal()) / 2
    assert abs(births["I8"].best - true["I8"]) < abs(about_1870 - true["I8"]) / 2
    assert shared_sample.tree.write_file(tmp_path / "with-notes.ged").births == 6


def test_the_report_needs_no_other_reading(tmp_path: Path) -> None:
    """What went in, dates with their ranges, conflicts as stories, a great-grandmother's pictures, what to try next."""
    done = invoked(["demo", str(tmp_path / "demo")])
    assert done.exit_code == 0
    for part in (
        "82 people in 25 families",
        "(worked out)",
        "K00006  between 1926 and 1930, about 1928 (worked out)  The day we borrowed the car",
        "  K00006 is kept in Green album, near a picture of about 1928. Without it: between 1926 and 193",
        "When did Clemence Ombry die?",
        "set aside for now",
        "Every picture of Clemence Ombry",
        "Ottilie Quillern (I8): born about 1865 (between 1862 and 1868, from 6 photographs). The tree says about 1870",
        "What to ask next",
        "How old does Clara Quillern look in K00006?",
        "Three commands to try next",
    ):
        assert part in done.output
    assert "wrong" not in done.output
    for line in done.stdout.splitlines()[-3:]:
        assert line.split()[0].endswith("kinphoto")


def test_the_commands_it_ends_with_work(shared_sample: Archive) -> None:
    """Whoever types them gets an answer."""
    from kinphoto.cli.demo import CLOSER_LOOK, GREAT_GRANDMOTHER

    folder = str(shared_sample.folder)
    for words in (["explain", CLOSER_LOOK], ["pictures", GREAT_GRANDMOTHER, "--descendants"], ["log"]):
        done = invoked([*words, "--archive", folder])
        assert done.exit_code == 0
        assert done.output.strip()


def test_the_scans_are_copied_and_never_touched(shared_sample: Archive) -> None:
    """The archive works on copies that are the same to the byte."""
    for scan in (source() / "scans").rglob("*.*"):
        copy = shared_sample.folder / "scans" / scan.relative_to(source() / "scans")
        assert copy.read_bytes() == scan.read_bytes()


def test_a_folder_with_something_in_it_is_refused(tmp_path: Path) -> None:
    """Nothing of anybody's is written over."""
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(ArchiveError, match="not empty"):
        build(tmp_path)


def test_an_album_page_has_no_date(shared_sample: Archive) -> None:
    """Asked for one, the page answers with what to ask instead; its five prints are dated."""
    done = invoked(["explain", "album-green/album_0001.jpg", "--archive", str(shared_sample.folder)])
    assert "album page" in str(done.exception)
