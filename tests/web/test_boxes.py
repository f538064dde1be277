"""The boxes and one box opened: what its forms do to the ticked photographs, all of them or none."""

from __future__ import annotations

import re
from itertools import pairwise

from kinphoto.archive import Archive
from kinphoto.archive.collection.container_pages import A_PAGE

from .conftest import Browser

TWO: list[str] = ["K00017", "K00018"]


def box_of(archive: Archive, code: str) -> int:
    """The row of the container a photograph lies in."""
    return archive.photographs.details(code).boxes[-1].id


def test_the_boxes_page_and_every_box(browser: Browser, archive: Archive) -> None:
    """Every container is on the page and can be opened, whole and for each thing it may want."""
    listed = browser.get("/boxes")
    for box in archive.photographs.containers():
        assert f'href="/box/{box.id}"' in listed
        for wanting in ("", "?wanting=undated", "?wanting=unnamed", "?wanting=disputed"):
            text = browser.get(f"/box/{box.id}{wanting}")
            assert text.count('class="card-of"') <= A_PAGE


def test_they_are_one_object(browser: Browser, archive: Archive) -> None:
    """As `kinphoto scans join --side verso` does."""
    box = box_of(archive, TWO[0])
    onto = f"/box/{box}"
    browser.done("/several/join", {"photograph": TWO, "side": "verso", "next": onto}, onto)
    sides = [scan.side for scan in archive.photographs.details("K00017").scans]
    assert "verso" in sides
    assert len(sides) == 2


def test_they_are_put_into_another_box(browser: Browser, archive: Archive) -> None:
    """As `kinphoto container place` does; a new name makes a new box."""
    browser.done("/several/move", {"photograph": TWO, "container": "Red album"}, "/boxes")
    assert {archive.photographs.details(code).boxes[-1].name for code in TWO} == {"Red album"}


def test_the_same_is_said_of_all_in_one_change(browser: Browser, archive: Archive) -> None:
    """One line of the log, taken back at once."""
    number = archive.statements.history(1)[0].number
    browser.done("/several/describe", {"photograph": TWO, "place": "Skerry", "maker": " "}, "/boxes")
    assert {archive.photographs.details(code).place for code in TWO} == {"Skerry"}
    assert archive.statements.history(1)[0].number == number + 1
    archive.statements.undo()
    assert "Skerry" not in {archive.photographs.details(code).place for code in TWO}


def test_of_all_or_of_none(browser: Browser, archive: Archive) -> None:
    """One of the ticked is not there any more: nothing is said of the others either."""
    browser.refused("/several/describe", {"photograph": [*TWO, "K99999"], "place": "Skerry"}, archive)
    assert "Skerry" not in {archive.photographs.details(code).place for code in TWO}
    fields: dict[str, str | list[str]] = {"photograph": [*TWO, "K99999"], "relation": "before"}
    browser.refused("/several/together", fields, archive)
    assert not [m for m in archive.photographs.details(TWO[0]).marks if m.kind == "before" and m.other == TWO[1]]


def test_one_after_the_other(browser: Browser, archive: Archive) -> None:
    """Each before the next, in one change."""
    number = archive.statements.history(1)[0].number
    codes = ["K00017", "K00018", "K00019"]
    browser.done("/several/together", {"photograph": codes, "relation": "before", "by": "Edda"}, "/boxes")
    assert archive.statements.history(1)[0].number == number + 1
    for one, other in pairwise(codes):
        assert other in [m.other for m in archive.photographs.details(one).marks if m.kind == "before"]


def test_frames_of_one_strip(browser: Browser, archive: Archive) -> None:
    """All of them at once, and the first one's page then names the others with it."""
    codes = ["K00017", "K00018", "K00019"]
    browser.done("/several/together", {"photograph": codes, "relation": "same-strip", "by": "Edda"}, "/boxes")
    assert {m.other for m in archive.photographs.details(codes[0]).marks if m.kind == "same-strip"} == {*codes[1:]}
    page = browser.get(f"/photograph/{codes[0]}")
    assert "On the same strip of film as" in page


def test_another_name(browser: Browser, archive: Archive) -> None:
    """As `kinphoto container rename` does, also where another container has the name of a folder like it."""
    browser.done("/box/9/rename", {"name": "Red <b>album</b>"}, "/box/9")
    assert archive.photographs.container(9).name == "Red <b>album</b>"
    assert "Red &lt;b&gt;album&lt;/b&gt;" in browser.get("/box/9")
    taken = next(box.name for box in archive.photographs.containers() if box.id != 9)
    assert "already" in browser.refused("/box/9/rename", {"name": taken}, archive)


def test_the_sheet_tells_no_date_where_ages_are_still_to_be_judged(browser: Browser, archive: Archive) -> None:
    """Naming a box begins on its sheet: under a photograph that has a face without a name no year is to be read."""
    box = archive.photographs.container(box_of(archive, "K00016"))
    text = browser.get(f"/box/{box.id}")
    for one in box.photographs:
        start = text.index(f'href="/photograph/{one.code}"')
        caption = re.sub(r"<[^>]+>|K\d{5}", " ", text[start : text.index("</a>", start)].partition(">")[2])
        complete = bool(one.names) and not one.nameless
        years = re.findall(r"1[89]\d\d", caption.replace(one.title, ""))
        assert bool(years) == (complete and one.estimate is not None), one.code


def test_a_box_is_said_to_be_in_order(browser: Browser, archive: Archive) -> None:
    """By a form on its page, where it then stands; a word that says nothing is refused."""
    box = next(box for box in archive.photographs.containers() if box.tally.photographs > 2)
    browser.done(f"/box/{box.id}/in-order", {"arrangement": "backwards"}, f"/box/{box.id}")
    assert archive.photographs.container(box.id).arrangement == "backwards"
    assert "Its photographs are in order, the earliest last." in browser.get(f"/box/{box.id}")
    browser.refused(f"/box/{box.id}/in-order", {"arrangement": "sorted"}, archive)
    browser.done(f"/box/{box.id}/in-order", {"arrangement": ""}, f"/box/{box.id}")
    assert archive.photographs.container(box.id).arrangement is None
