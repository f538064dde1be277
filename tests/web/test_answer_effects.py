"""What an answer did: the old range and the new one, thanks to whom, and which other photographs moved."""

from __future__ import annotations

import html
import re
from datetime import date

from kinphoto.archive import Archive
from kinphoto.archive.dates.date_changes import Moved
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.web.answer_effects import MOST
from kinphoto.web.drawing.ranges import WIDTH, ranges

from .conftest import Browser

DAY = 690_000


def estimate(first: int, last: int, likely: tuple[int, int] | None = None) -> Estimate:
    """A date that is possible from one day to another, and likely in between."""
    low, high = likely or (None, None)
    return Estimate("K00001", first, last, low, high, low, "", State.DATED if likely else State.OPEN)


def test_the_range_that_is_compared_is_the_one_that_is_shown() -> None:
    """The likely one, or where nothing is likely what is possible; by hand: 100 days became 60."""
    assert estimate(DAY, DAY + 900).shown_range == (DAY, DAY + 900)
    before, after = (
        estimate(DAY, DAY + 900, (DAY + 100, DAY + 200)),
        estimate(DAY, DAY + 900, (DAY + 120, DAY + 180)),
    )
    assert Moved("K00001", before, after).narrower == 40
    assert not Moved("K00001", before, after).notable, "a reader does not care about three weeks"
    assert Moved("K00001", estimate(DAY, DAY + 9000), before).notable


def test_both_ranges_are_drawn_on_one_axis() -> None:
    """The new one inside the old one, in proportion, whichever of them is wider."""
    for was, now in (((DAY, DAY + 999), (DAY + 500, DAY + 749)), ((DAY + 500, DAY + 749), (DAY, DAY + 999))):
        drawn = ranges(was, now)
        wide, slim = (drawn.was, drawn.now) if was[1] - was[0] > 500 else (drawn.now, drawn.was)
        assert 0 < wide[0] < slim[0] < slim[0] + slim[1] < wide[0] + wide[1] < WIDTH
        assert abs(slim[1] / wide[1] - 0.25) < 0.001


def test_an_answer_says_what_it_did_to_this_photograph_and_to_others(browser: Browser, archive: Archive) -> None:
    """A year on the photograph with the widest range: the page names who told, both ranges, and each other that moved,
    as the archive has them before and after."""
    archive.dates.refresh()
    before = {one.code: one.estimate for one in archive.dates.kept_estimates().photographs}
    fields: dict[str, str | list[str]] = {"kind": "inscription", "date": "1877", "by": "Judith Quillern"}
    page = html.unescape(browser.done("/photograph/K00018/say", fields, "/photograph/K00018"))
    said = page.partition('class="did"')[2].partition("</section>")[0]
    now = {one.code: one.estimate for one in archive.dates.kept_estimates().photographs}
    (start, end), (since, until) = before["K00018"].shown_range, now["K00018"].shown_range
    shorter = round(((end - start) - (until - since)) / 365.2425)
    assert shorter > 10
    assert f"Thanks to Judith Quillern, the likely range is {shorter} years shorter" in said
    first, middle, last = (date.fromordinal(day).year for day in (start, before["K00018"].best or 0, end))
    assert f"It was between {first} and {last}, about {middle} (worked out); now it is 1877." in said
    moved = {c for c in now if Moved(c, before[c], now[c]).notable} - {"K00018"}
    assert moved
    assert f"{len(moved)} other photograph" in said
    linked = set(re.findall(r"/photograph/(K\d+)", said))
    assert linked <= moved
    assert len(linked) == min(len(moved), MOST)
    assert 'class="did"' in browser.get("/photograph/K00018"), "as long as one stays on the page"
    browser.get("/boxes")
    assert 'class="did"' not in browser.get("/photograph/K00018"), "and not any more when one comes back"


def test_no_date_is_said_before_the_last_face_is_judged(browser: Browser, archive: Archive) -> None:
    """While ages come first the page says nothing of what the answers did; after the last face it offers to, and then
    compares with what was known before the first of them."""
    code = "K00016"
    faces = archive.photographs.faces(code).faces
    for face in faces:
        if face.names[0].person:
            archive.statements.take_name_off(face.names[0].id)
    archive.dates.refresh()
    before = archive.dates.kept_estimates([code]).photographs[0]
    page = ""
    for number, face in enumerate(faces):
        assert "That was the last framed face" not in browser.get(f"/photograph/{code}?naming=1"), number
        fields: dict[str, str | list[str]] = {
            "person": face.names[0].person or "", "region": face.region, "age": "30",
            "by": "Judith Quillern", "blind": "1", "naming": "1",
        }  # fmt: skip
        page = browser.done(f"/photograph/{code}/name", fields, f"/photograph/{code}?naming=1")
        assert 'class="did"' not in page
        assert "worked out" not in page.partition("<main")[2]
    assert "That was the last framed face" in page
    shown = html.unescape(browser.get(f"/photograph/{code}?naming=1&seen=1"))
    assert 'class="did"' in shown
    after = archive.dates.kept_estimates([code]).photographs[0]
    if Moved(code, before.estimate, after.estimate).notable:
        assert "Thanks to Judith Quillern" in shown


def test_faces_that_are_only_framed_are_still_to_be_judged(browser: Browser, archive: Archive) -> None:
    """Faces are framed one after another first: nothing was said of any of them, so none was the last."""
    code = "K00009"
    browser.get(f"/photograph/{code}?naming=1")
    for left in ("0.1", "0.5"):
        fields: dict[str, str | list[str]] = {"region": f"{left},0.7,0.05,0.08", "blind": "1", "naming": "1"}
        page = browser.done(f"/photograph/{code}/name", fields, f"/photograph/{code}?naming=1")
        assert "How old do they look?" in page
        assert "That was the last framed face" not in page


def test_where_ages_are_asked_no_date_is_told(browser: Browser, archive: Archive) -> None:
    """On the page of the questions only how many dates moved, with a link to the page that shows them."""
    archive.dates.refresh()
    fields: dict[str, str | list[str]] = {
        "kind": "date", "photograph": "K00018", "date": "1877", "by": "Judith Quillern", "next": "/questions",
    }  # fmt: skip
    page = html.unescape(browser.done("/questions", fields, "/questions"))
    said = page.partition('id="done"')[2].partition("<main")[0]
    assert re.search(r"\d dates have moved", said)
    assert '/photograph/K00018"' in said
    assert "18" not in said.replace("K00018", "").partition("moved")[2].partition("</span>")[0]


def test_a_clue_switched_off_leaves_a_ghost_of_what_it_was(browser: Browser, archive: Archive) -> None:
    """The result has the range with everything switched on in outline, on the same axis; with nothing off there is
    none."""
    code = "K00009"
    shown = archive.dates.evidence_strip(code)
    off = next(bar.id for bar in shown.bars if archive.dates.evidence_strip(code, [bar.id]).words != shown.words)
    without = browser.get(f"/photograph/{code}?off={off}").partition('class="result"')[2].partition("</div>")[0]
    assert 'class="ghost"' in without
    assert f"In outline, with everything switched on: {shown.words}" in html.unescape(without)
    assert 'class="ghost"' not in browser.get(f"/photograph/{code}")
