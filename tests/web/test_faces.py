"""The page that turns the search for faces on and off, and the frames on offer on the page of a photograph."""

from __future__ import annotations

import re

import numpy as np
import portraits
import pytest

from kinphoto.archive import Archive
from kinphoto.store import face_file

from .conftest import Browser


@pytest.fixture
def archive(own_portraits: Archive) -> Archive:
    """Takes the place of the sample: an archive with real faces."""
    return own_portraits


def test_the_page_says_what_happens_before_it_can_be_turned_on(browser: Browser, archive: Archive) -> None:
    """What it does and cannot do, where it stays, that it is biometric data; and who decides is asked."""
    archive.faces.turn_off()
    text = browser.get("/faces")
    for words in ("biometric data", "faces.db", "cannot reliably tell brothers and sisters apart", "Who decides this?"):
        assert words in text
    assert "Look for faces" not in text
    browser.refused("/faces/on", {"by": " ", "compare": "1"}, archive)
    browser.done("/faces/on", {"by": "Aunt Edda", "compare": "1"}, "/faces")
    assert "Turned on by Aunt Edda" in browser.get("/faces")


def test_a_search_from_the_page(browser: Browser, archive: Archive) -> None:
    """Its progress is shown, and what came of it; the photographs with offers are listed."""
    archive.faces.turn_off()
    archive.faces.turn_on("Aunt Edda")
    browser.done("/faces/find", {}, "/faces")
    browser.client.app.state.jobs.finish()  # type: ignore[attr-defined]
    text = browser.get("/faces")
    assert "4 photographs searched: 4 faces in all." in text
    assert "4 frames are on offer" in text
    assert "turned to the right, its faces are upright" in text


def test_frames_on_offer_stand_among_the_faces(browser: Browser, archive: Archive) -> None:
    """Dashed on the picture, to be named like any face: the place goes along with the name."""
    text = browser.get("/photograph/K00001?naming=1")
    (frame,) = archive.faces.offers(["K00001"])[0].frames
    assert f'id="frame-{frame.id}" class="frame offered"' in text
    assert f'data-face="{frame.id}"' in text
    region = re.search(f'data-face="{frame.id}" data-region="([^"]+)"', text)
    assert region is not None
    browser.done("/photograph/K00001/name", {"region": region[1], "person": "I1"}, "/photograph/K00001")
    (face,) = archive.photographs.faces("K00001").faces
    assert face.names[0].name == "Ada Marsh"
    assert "frame offered" not in browser.get("/photograph/K00001")


def test_one_press_accepts_or_refuses_all_frames_of_a_photograph(browser: Browser, archive: Archive) -> None:
    """And one refuses a single one."""
    first, second = (frame.id for frame in archive.faces.offers(["K00004"])[0].frames)
    browser.done("/photograph/K00004/refuse-frames", {"frame": second}, "/photograph/K00004?naming=1")
    assert [frame.id for frame in archive.faces.offers(["K00004"])[0].frames] == [first]
    browser.done("/photograph/K00004/accept-frames", {}, "/photograph/K00004?naming=1")
    assert archive.faces.offers(["K00004"]) == ()
    assert len(archive.photographs.faces("K00004").faces) == 1
    browser.refused("/photograph/K00004/accept-frames", {"frame": second}, archive)


def test_a_frame_on_offer_is_moved_and_so_accepted(browser: Browser, archive: Archive) -> None:
    """The same way as the frame of a face."""
    (frame,) = archive.faces.offers(["K00001"])[0].frames
    browser.done("/photograph/K00001/frame", {"face": frame.id, "region": "0.3,0.1,0.25,0.3"}, "/photograph/K00001")
    assert archive.photographs.faces("K00001").faces[0].box == pytest.approx((0.3, 0.1, 0.25, 0.3))


def test_faces_that_look_alike_are_named_together(browser: Browser, archive: Archive) -> None:
    """Side by side, each with a box to leave it out; their pictures are for keepers."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    (group,) = archive.faces.alike().groups
    text = browser.get("/faces/alike")
    assert "These 3 may be one person" in text
    for face in group.faces:
        assert f'src="/face-on-offer/{face.face[1:]}.jpg"' in text
        assert browser.client.get(f"/face-on-offer/{face.face[1:]}.jpg").content.startswith(b"\xff\xd8")  # JPEG
    everybody = [face.face for face in group.faces]
    browser.done("/faces/apart", {"group": everybody, "face": everybody[:2], "person": "", "by": ""}, "/faces/alike")
    assert everybody[2] not in [face.face for face in archive.faces.alike().groups[0].faces]
    browser.refused("/faces/apart", {"group": everybody, "person": ""}, archive)
    chosen = everybody[:2]
    browser.done("/faces/name", {"person": "Ada Marsh", "face": chosen, "by": "Aunt Edda"}, "/faces/alike")
    named = [archive.photographs.faces(face.photograph).faces[0].names[0].name for face in group.faces[:2]]
    assert named == ["Ada Marsh", "Ada Marsh"]
    browser.refused("/faces/name", {"person": "Ada Marsh"}, archive)


def test_somebody_is_left_out_for_good(browser: Browser, archive: Archive) -> None:
    """By their name; it stands on the page and in the history."""
    browser.done("/faces/leave-out", {"person": "Ada Marsh"}, "/faces")
    assert "Never compared: Ada Marsh (I1)" in browser.get("/faces")
    assert archive.statements.history(1)[0].what == "left faces of Ada Marsh (I1) out of comparing"
    browser.refused("/faces/leave-out", {"person": ""}, archive)


def test_no_page_holds_a_description(browser: Browser, archive: Archive) -> None:
    """Neither its bytes in hex nor its numbers are in a page, nor in what a script is answered."""
    archive.faces.turn_on("", living=True)
    archive.faces.find()
    archive.faces.name_together("I1", ["F1"])
    with face_file.reading(archive.folder) as file:
        packed = [row[0] for row in file.execute("SELECT descriptor FROM face")]
    numbers = [f"{float(number)!r}"[:8] for each in packed for number in np.frombuffer(each, dtype="<f4")[:4]]
    signs = [*numbers, *(each.hex()[:32] for each in packed)]
    assert len(signs) == 4 * 4 + 4
    pages = "/faces", "/faces/alike", "/photograph/K00001", "/photograph/K00002?naming=1", "/log", "/keep", "/person/I1"
    for address in (*pages, "/photograph/K00002/offers?region=0.2,0.4,0.2,0.2"):
        assert not [sign for sign in signs if sign in browser.get(address)], address


def test_brothers_and_sisters_are_shown_beside_a_name_in_doubt(browser: Browser, archive: Archive) -> None:
    """With the years between, and a picture of them where one of their faces is compared."""
    portraits.like_each_other(
        archive, [("I4", 1.0, 1911), ("I4", 0.8, 1912), ("I4", 0.8, 1913), ("I4", -0.1, 1912), ("I5", 0.1, 1912)]
    )
    text = browser.get("/faces/alike")
    assert "Is this Ruth Pell (I4)?" in text
    assert "It may be a brother or sister" in text
    assert re.search(r"Vera Pell</a>, 2 years younger, in <a[^>]*>K00009</a>, about 1912", text)
    assert re.search(r"Walter Pell</a>, 3 years older \(no face compared\)", text)
    assert "Xaver Pell" not in text  # twenty years younger


def test_off_erases(browser: Browser, archive: Archive) -> None:
    """The file is gone, and nothing is on offer."""
    browser.done("/faces/off", {}, "/faces")
    assert not (archive.folder / "faces.db").exists()
    assert "frame offered" not in browser.get("/photograph/K00001?naming=1")


def test_strangers_see_nothing_of_it(stranger: Browser) -> None:
    """Neither the page nor a frame on offer, nor can they turn it on."""
    assert stranger.client.get("/faces", follow_redirects=False).status_code in (302, 303, 403)
    assert "/faces" not in stranger.get("/")
    for address in ("/faces/alike", "/face-on-offer/1.jpg"):
        assert stranger.client.get(address, follow_redirects=False).status_code in (302, 303, 403, 404)
