"""Ages are judged blind, and the server decides what is: nothing of the page tells when it was taken or who is on it
until the ages are judged, and a form cannot claim what the visitor has seen.

That a judgement is led by what the judge has been told is common knowledge of measuring; the rules here are our own.
"""

from __future__ import annotations

import html
import re

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.statements.recorded_faces import AgeSaid
from kinphoto.web.app import make_app

from .client import Client
from .conftest import Browser

CODE = "K00016"
NAMING = f"/photograph/{CODE}?naming=1"


@pytest.fixture
def annotated(archive: Archive) -> Archive:
    """A photograph with a date, names, an age by somebody else, words on its back, a title and a box that tell, and a
    face that nobody has judged."""
    names = [face.names[0] for face in archive.photographs.faces(CODE).faces]
    assert len(names) > 4
    archive.statements.record(
        NewClaim(photograph=CODE, kind="inscription", date="1921", text="Summer of 1921, at Aunt Tilly's")
    )
    archive.photographs.describe(
        CODE, Description(title="The jubilee of 1921", place="Tillyport", container="Album 1921", note="see 1921")
    )
    archive.statements.link(
        Link(photograph=CODE, person=names[0].person or "-", region=names[0].id, age="77", by="Rosalind Fenn")
    )
    archive.statements.link(Link(photograph=CODE, person="-", region="0.01,0.01,0.03,0.03"))
    archive.dates.refresh_photographs([CODE])
    return archive


def ages(archive: Archive) -> list[AgeSaid]:
    """Every age said of the photograph."""
    return [age for face in archive.photographs.faces(CODE).faces for seat in face.names for age in seat.ages]


def nameless(archive: Archive) -> str:
    """The face without a name."""
    return next(f.region for f in archive.photographs.faces(CODE).faces if not any(n.person for n in f.names))


def visible(text: str) -> str:
    """The HTML without what is the same for every photograph (style sheets, the list of all informants, tokens), the
    versions of scans, and positions on the picture."""
    same = r"<head>.*?</head>|<datalist.*?</datalist>|<svg data-over.*?</svg>"
    numbers = r"\?v=\w+|placeholder=\"[^\"]*\"|(value|data-change)=\"[0-9a-f-]{9,}\""
    text = re.sub(f"{same}|{numbers}", "", text, flags=re.DOTALL)
    return html.unescape(text)


def test_while_it_is_covered_nothing_tells(annotated: Archive, client: Client) -> None:
    """The whole HTML holds no year of the estimate, no name, no other age, no word from the back or about the object,
    and no back; once it is uncovered, all of it is there."""
    page = Browser(client)
    estimate = annotated.photographs.details(CODE).estimate
    assert estimate is not None
    secrets = [seat.name for face in annotated.photographs.faces(CODE).faces for seat in face.names if seat.person]
    secrets += ["1921", "jubilee", "Tilly", "77", "Rosalind Fenn says", "says Rosalind", "Album"]
    covered, raw = visible(page.get(NAMING)), page.get(NAMING)
    for secret in secrets:
        assert secret not in covered, secret
    assert not re.search(r"\b(18|19|20)\d\d\b", covered)
    assert "How old do they look?" in covered
    versos = [scan.id for scan in annotated.photographs.details(CODE).scans if scan.side == "verso"]
    for scan in versos:
        assert f"/scan/{scan}/" not in raw
        assert f"/scan/{scan}/" not in page.get(f"{NAMING}&scan={scan}")
    for scan in annotated.photographs.details(CODE).scans:
        assert scan.path.rpartition("/")[2] not in raw
    shown = visible(page.get(f"{NAMING}&seen=1"))
    for secret in secrets[:-4]:
        assert secret in shown, secret


def test_what_is_judged_under_the_cover_is_blind(annotated: Archive, client: Client) -> None:
    """The form of the covered page, sent as it is."""
    browser = Browser(client)
    browser.get(NAMING)
    browser.done(
        f"/photograph/{CODE}/name", {"region": nameless(annotated), "age": "91", "blind": "1", "naming": "1"}, NAMING
    )
    assert [age.blind for age in ages(annotated) if age.low == 91] == [True]


@pytest.mark.parametrize("seen", [f"/photograph/{CODE}", f"{NAMING}&seen=1", f"/photograph/{CODE}?scan=1"])
def test_a_form_that_claims_to_be_blind_after_the_date_was_shown_is_not(
    annotated: Archive, client: Client, seen: str
) -> None:
    """Whoever has seen the date, on whichever page of the photograph, and sends `blind` all the same."""
    browser = Browser(client)
    browser.get(seen)
    browser.post(f"/photograph/{CODE}/name", {"region": nameless(annotated), "age": "91", "blind": "1"})
    assert [age.blind for age in ages(annotated) if age.low == 91] == [False]


def test_a_second_look_at_the_same_face_is_not_blind(annotated: Archive, client: Client) -> None:
    """Once a face is judged its names and ages are shown: another age of it rests on them."""
    browser = Browser(client)
    browser.get(NAMING)
    face = nameless(annotated)
    name = f"/photograph/{CODE}/name"
    browser.post(name, {"region": face, "age": "91", "blind": "1", "naming": "1"})
    seat = next(f for f in annotated.photographs.faces(CODE).faces if f.region == face).names[0]
    for again, age in ((face, "92"), (face.lower(), "93"), (seat.id, "94")):
        browser.post(name, {"region": again, "age": age, "blind": "1", "naming": "1", "by": f"judge {age}"})
    assert {age.low: age.blind for age in ages(annotated) if age.low in (91, 92, 93, 94)} == {
        91: True,
        92: False,
        93: False,
        94: False,
    }


def test_the_cover_comes_off_when_it_is_asked_for_and_stays_off(annotated: Archive, client: Client) -> None:
    """`seen=1` shows the date; going back to the naming page does not cover it again."""
    browser = Browser(client)
    assert "How old do they look?" in browser.get(NAMING)
    assert "How old do they look?" not in browser.get(f"{NAMING}&seen=1")
    assert "How old do they look?" not in browser.get(NAMING)


def test_another_visit_is_judged_by_itself(annotated: Archive) -> None:
    """What one browser has seen, another has not."""
    app = make_app(annotated)
    one, other = (Browser(Client(app, base_url="http://127.0.0.1:5817")) for _ in range(2))
    one.get(f"/photograph/{CODE}")
    other.get(NAMING)
    for browser, age in ((one, "91"), (other, "92")):
        browser.post(f"/photograph/{CODE}/name", {"region": nameless(annotated), "age": age, "blind": "1", "by": age})
    assert {age.low: age.blind for age in ages(annotated) if age.low in (91, 92)} == {91: False, 92: True}


def test_who_speaks_for_somebody_is_not_told_under_the_cover(annotated: Archive, client: Client) -> None:
    """The offers for a face give no reasons, which would tell the year, while it is covered."""
    browser = Browser(client)
    browser.get(NAMING)
    asked = f"/photograph/{CODE}/offers?letters=a&age=30&region={nameless(annotated)}"
    assert {row["why"] for row in browser.client.get(asked).json()["people"]} == {""}
    browser.get(f"{NAMING}&seen=1")
    assert {row["why"] for row in browser.client.get(asked).json()["people"]} != {""}
