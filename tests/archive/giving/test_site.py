"""The site on a stick: what is in its files. How it works in a browser stands in `tests/browser/test_given_site.py`."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from building import archive_with
from hiding import is_shown, secrets_in
from PIL import Image

from kinphoto.archive import Archive
from kinphoto.archive.giving.selection import Wanted
from kinphoto.archive.giving.site import EDGE, SiteWritten
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description


def give(archive: Archive, audience: str, wanted: Wanted = Wanted(), *, rights_asked: bool = True) -> SiteWritten:
    """The site in the folder `site` beside the archive."""
    place = archive.folder.parent / "site"
    return archive.give.write_site(place, audience, wanted, rights_asked=rights_asked, write=True)


@pytest.mark.parametrize("audience", ["public", "cousins"])
def test_nothing_of_the_living_is_on_any_page(planted: Archive, audience: str) -> None:
    """Neither in words, names of files, relatives, search, nor in pictures and what is inside them."""
    done = give(planted, audience)
    assert set(done.report.going) == {"K00001", "K00008"}
    site = planted.folder.parent / "site"
    assert secrets_in(site) == []
    assert not is_shown(site)
    tom = (site / "people" / "I2.html").read_text(encoding="utf-8")
    assert "Ada Marsh" in tom
    assert "Children" not in tom  # he has one, of whom nothing tells


@pytest.mark.parametrize("audience", ["public", "cousins"])
def test_stories_go_only_where_their_tellers_and_the_keeper_let_them(planted: Archive, audience: str) -> None:
    """Of eight the one that a dead man told and that was gone through; its sound goes without what its file says. The
    report says of each other why it stays."""
    done = give(planted, audience)
    assert done.report.stories == ("T8",)
    assert {one.story: one.reason for one in done.report.stories_held} == {
        "T1": "teller", "T2": "unread", "T3": "living", "T4": "unread", "T5": "private", "T7": "private",
    }  # fmt: skip
    site = planted.folder.parent / "site"
    assert [path.name for path in (site / "sounds").iterdir()] == ["T8.flac"]
    told = (site / "stories.html").read_text(encoding="utf-8")
    assert "The miller sang." in told
    assert "told by Tom Marsh, 1949" in told
    for page in (site / "photo" / "K00001.html", site / "people" / "I1.html"):
        assert 'src="../sounds/T8.flac"' in page.read_text(encoding="utf-8")


def test_a_story_that_is_revoked_is_removed_by_the_next_run(planted: Archive) -> None:
    """Its words and its recording; and the household hears recordings as they were put in."""
    give(planted, "public")
    (release,) = (one for one in planted.give.consents("public") if one.story == "T8")
    planted.give.revoke(release.id)
    done = give(planted, "public")
    site = planted.folder.parent / "site"
    assert done.removed > 0
    assert not (site / "sounds").exists()
    assert "miller" not in (site / "photo" / "K00001.html").read_text(encoding="utf-8")
    planted.give.write_site(planted.folder.parent / "home", "household", write=True)
    kept = planted.stories.details("T8").recording
    assert kept is not None
    assert (planted.folder.parent / "home" / "sounds" / "T8.mp3").read_bytes() == Path(kept.path).read_bytes()
    assert not (planted.folder.parent / "home" / "sounds" / "T5.mp3").exists()


def test_whoever_may_be_named_is_there_with_her_life(planted: Archive) -> None:
    """Zelda agreed: she has a page, is her father's child, and her husband, who said no, is not on it."""
    planted.give.record_consent("I3", "cousins", asked_by="Clemence")
    give(planted, "cousins")
    people = planted.folder.parent / "site" / "people"
    zelda = (people / "I3.html").read_text(encoding="utf-8")
    assert "Born 7 May 1991, Leeds" in zelda
    assert "Xavier" not in zelda
    assert "Partners" not in zelda
    assert 'href="../people/I3.html">Zelda' in (people / "I2.html").read_text(encoding="utf-8")


def test_shown_and_not_named_is_called_living(planted: Archive) -> None:
    """A picture goes, the name stays."""
    planted.give.record_consent("I3", "cousins", asked_by="Clemence", what="pictures")
    give(planted, "cousins", Wanted(photographs=("K00002",)))
    site = planted.folder.parent / "site"
    assert "<li>living</li>" in (site / "photo" / "K00002.html").read_text(encoding="utf-8")
    assert "zelda" not in secrets_in(site)


def test_every_link_leads_somewhere_and_none_out(own_sample: Archive) -> None:
    """All addresses are relative, and their files are there: it opens from a folder, without a connection."""
    give(own_sample, "household")
    site = own_sample.folder.parent / "site"
    pages = list(site.rglob("*.html"))
    assert len(pages) > 100
    for page in pages:
        for address in re.findall(r'(?:href|src|action)="([^"#?]+)', page.read_text(encoding="utf-8")):
            assert "://" not in address
            assert (page.parent / address).is_file(), f"{page}: {address}"


def test_pictures_are_for_the_full_screen(own_sample: Archive) -> None:
    """At most 2,048 pixels, upright, never larger than the scan, with names inside."""
    give(own_sample, "household")
    for path in (own_sample.folder.parent / "site" / "pictures").iterdir():
        with Image.open(path) as image:
            assert max(image.size) <= EDGE
            assert image.getexif().get(274, 1) == 1
            assert b"mwg-rs" in image.info.get("xmp", b"") or b"dc:identifier" in image.info.get("xmp", b"")


def test_years_that_were_worked_out_are_never_given_as_known(tmp_path: Path) -> None:
    """The first page says from when to when: a year that somebody stated, and one that was worked out from an age."""
    archive = archive_with(tmp_path, scans=2)
    archive.people.add("Ada Marsh", born="1890", died="1961")
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1958"))
    archive.statements.link(Link(photograph="K1", person="X1"))
    archive.statements.link(Link(photograph="K2", person="X1", age="10"))
    archive.dates.refresh()
    archive.give.write_site(tmp_path / "site", "household", write=True)
    first = (tmp_path / "site" / "index.html").read_text(encoding="utf-8")
    assert re.search(r"2 photographs of 1 person, about 1[89]\d\d to 1958\.", first)


def test_a_second_run_writes_only_what_changed(own_sample: Archive) -> None:
    """Nothing, at first; after a new title the pages on which it is, its picture, and the search."""
    total = give(own_sample, "household").written
    again = give(own_sample, "household")
    assert (again.written, again.unchanged) == (0, total)
    own_sample.photographs.describe("K00008", Description(title="At the summer fair"))
    changed = give(own_sample, "household")
    assert 0 < changed.written < 20
    site = own_sample.folder.parent / "site"
    assert "At the summer fair" in (site / "search-words.js").read_text(encoding="utf-8")
    assert "At the fair" not in "".join(p.read_text(encoding="utf-8") for p in site.rglob("*.html"))
    own_sample.give.mark_private(["K00008"])
    assert give(own_sample, "household").removed == 3
    assert not (site / "pictures" / "K00008.jpg").exists()


def test_the_copyright_of_a_studio_is_asked_about(planted: Archive) -> None:
    """Photographs with a maker stay out of a site for others until somebody says that they asked, or records the
    rights; at home nobody has to."""
    planted.photographs.describe("K00008", Description(maker="Holm & Son", rights=""))
    done = give(planted, "public", rights_asked=False)
    assert done.studio == ("K00008",)
    assert not (planted.folder.parent / "site" / "photo" / "K00008.html").exists()
    planted.photographs.describe("K00008", Description(rights="With leave of the heirs, 2026"))
    assert give(planted, "public", rights_asked=False).studio == ()


def test_a_branch_has_only_its_own(own_sample: Archive) -> None:
    """A site for the descendants of one person shows photographs that one of the branch is in."""
    done = give(own_sample, "household", Wanted(branch="Ottilie Quillern"))
    pages = own_sample.folder.parent / "site" / "photo"
    assert 0 < len(done.report.going) < 52
    assert {page.stem for page in pages.iterdir()} == set(done.report.going)


def test_without_write_nothing_is_written(planted: Archive, tmp_path: Path) -> None:
    """The report comes first."""
    assert not planted.give.write_site(tmp_path / "new", "public").done
    assert not (tmp_path / "new").exists()
