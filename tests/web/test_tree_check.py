"""The check of the tree, the tree written with its pictures, and how well dates are estimated: in the pages."""

from __future__ import annotations

import html
from pathlib import Path

from kinphoto.archive import Archive
from kinphoto.archive.dates.hindsight import in_words

from .conftest import Browser

ODD_TREE = """\
0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 BIRT
2 DATE 1 MAY 1900
1 DEAT
2 DATE 3 JUN 1890
0 @I2@ INDI
1 NAME Tom /Marsh/
1 BIRT
2 DATE 1910
1 FAMC @F1@
0 @I3@ INDI
1 NAME Old /Marsh/
1 BIRT
2 DATE 1830
1 SEX F
1 FAMS @F1@
0 @F1@ FAM
1 WIFE @I3@
1 CHIL @I2@
0 TRLR
"""


def done(browser: Browser) -> str:
    """Wait for what goes on in the background; the page that says what came of it."""
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    return html.unescape(browser.get("/tree-check"))


def test_what_cannot_be_true_is_shown(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """A death before the birth, and a mother of eighty, as the archive finds them, with the line of the file."""
    tree = tmp_path / "odd.ged"
    tree.write_text(ODD_TREE, encoding="utf-8")
    archive.tree.import_file(tree)
    found = archive.tree.check()
    assert found.impossible
    text = html.unescape(browser.get("/tree-check"))
    for one in found.impossible:
        assert one.headline in text
        for fact in one.facts:
            assert fact.told.text in text
            assert not fact.line or f"line {fact.line} of the file" in text
    for odd in found.unlikely:
        assert odd.text[1:] in text


def test_births_that_photographs_suggest(browser: Browser, archive: Archive) -> None:
    """Each with what the tree says, and that it is no proof."""
    births = archive.tree.check().births
    assert births
    text = html.unescape(browser.get("/tree-check"))
    assert all(f'href="/person/{one.id}"' in text and (not one.tree or one.tree in text) for one in births)
    assert "is not proof" in text


def test_the_tree_is_written_with_its_pictures(browser: Browser, archive: Archive, tmp_path: Path) -> None:
    """As `kinphoto tree write` writes it; nothing is overwritten, and a file of another kind is refused."""
    target, same = tmp_path / "with-pictures.ged", tmp_path / "by-command.ged"
    browser.done("/tree-check/write", {"target": str(target), "living": "1"}, "/tree-check")
    text = done(browser)
    archive.tree.write_file(same, leave_out_living=True)
    assert target.read_bytes() == same.read_bytes()
    assert str(target) in text
    browser.done("/tree-check/write", {"target": str(target)}, "/tree-check")
    assert "That did not work" in done(browser)
    assert target.read_bytes() == same.read_bytes()
    for typed in ("", "family.txt"):
        said = browser.refused("/tree-check/write", {"target": typed}, archive)
        assert "no file was named" in said.lower() or "does not end in" in said


def test_known_dates_are_compared_with_estimates(browser: Browser, archive: Archive) -> None:
    """All that `kinphoto hindsight` says."""
    browser.done("/hindsight", {}, "/hindsight")
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    text = html.unescape(browser.get("/hindsight"))
    for line in in_words(archive.dates.hindsight()):
        assert line.strip() in text
