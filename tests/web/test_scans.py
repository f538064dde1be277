"""Pictures over HTTP: the right pixels, kept by the browser as long as they hold, and nothing of the files around them.

References for the headers: RFC 9110 (entity tags, 304) and RFC 9111, RFC 8246 (private, immutable).
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from starlette.applications import Starlette

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.scans import tiles
from kinphoto.web.access import Access, Credentials
from kinphoto.web.pages import scans

from .client import Client

PAPER, RED = (60, 150, 90), (210, 30, 30)


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """An archive with one scan of 1500 by 1100 pixels, and on it one face, a red square."""
    picture = Image.new("RGB", (1500, 1100), PAPER)
    picture.paste(RED, (900, 200, 1000, 300))
    (tmp_path / "scans").mkdir()
    exif = Image.Exif()
    exif[0x010E] = "Skerry Point"  # ImageDescription
    picture.save(tmp_path / "scans" / "a.jpg", quality=95, exif=exif)
    made = Archive.create(tmp_path / "archive")
    made.scans.add([tmp_path / "scans"])
    made.statements.link(
        Link(photograph="K00001", person="-", region=f"{900 / 1500},{200 / 1100},{100 / 1500},{100 / 1100}")
    )
    return made


@pytest.fixture
def client(archive: Archive) -> Client:
    """The keeper's browser on a bare application with nothing but these pages."""
    return asking(archive, Access(Credentials("secret")))


def asking(archive: Archive, access: Access) -> Client:
    """A browser that meets this access."""
    app = Starlette(routes=scans.routes)
    app.state.archive = archive
    app.state.access = access
    return Client(app)


def picture(data: bytes) -> Image.Image:
    """A JPEG that came, and nothing but pixels in it."""
    assert b"Skerry" not in data
    assert b"Exif" not in data
    image = Image.open(io.BytesIO(data))
    assert image.format == "JPEG"
    return image


def red(image: Image.Image) -> tuple[int, int, int, int]:
    """Left, top, right and lower edge of what is red, in pixels."""
    pixels = np.asarray(image)
    down, across = np.nonzero((pixels[..., 0] > 140) & (pixels[..., 1] < 100))
    return int(across.min()), int(down.min()), int(across.max()) + 1, int(down.max()) + 1


def version(archive: Archive) -> str:
    """The version of the scan."""
    return archive.scans.picture(1).source.version


def test_small_whole_and_face(client: Client) -> None:
    """Each has its size, and the red square is where it should be."""
    small = picture(client.get("/scan/1/small.jpg").content)
    assert small.size == (512, 375)
    whole = picture(client.get("/scan/1/view.jpg").content)
    assert whole.size == (1500, 1100)
    assert red(whole) == pytest.approx((900, 200, 1000, 300), abs=2)
    face = picture(client.get("/face/1.jpg").content)
    assert face.size == (160, 160)
    assert red(face) == pytest.approx((30, 30, 130, 130), abs=2)


def test_tiles_are_where_they_are_said_to_be(client: Client) -> None:
    """The facts, then the tile with the red square on each level: 900 lies in the second column of 512, 450 in the
    first."""
    facts = client.get("/scan/1/tiles.json").json()
    assert facts == {"width": 1500, "height": 1100, "tile": 512, "levels": 3}
    full = picture(client.get("/scan/1/tiles/0/1-0.jpg").content)
    assert red(full) == pytest.approx((900 - 512, 200, 1000 - 512, 300), abs=2)
    half = picture(client.get("/scan/1/tiles/1/0-0.jpg").content)
    assert red(half) == pytest.approx((450, 100, 500, 150), abs=2)
    assert picture(client.get("/scan/1/tiles/2/0-0.jpg").content).size == (375, 275)


def test_turned_scans_come_turned(client: Client, archive: Archive) -> None:
    """After a turn to the right the square is 200 to 300 from the right edge and 900 to 1000 from the top, the face is
    still a face, and the old addresses are not good for ever any more."""
    old = version(archive)
    archive.scans.turn("K00001", "right")
    assert red(picture(client.get("/scan/1/view.jpg").content)) == pytest.approx((800, 900, 900, 1000), abs=2)
    assert red(picture(client.get("/face/1.jpg").content)) == pytest.approx((30, 30, 130, 130), abs=2)
    assert client.get("/scan/1/tiles.json").json()["width"] == 1100
    assert picture(client.get("/scan/1/small.jpg").content).size == (375, 512)
    assert client.get(f"/scan/1/view.jpg?v={old}").headers["cache-control"] == scans.ASK_AGAIN


ADDRESSES = ("/scan/1/small.jpg", "/scan/1/view.jpg", "/scan/1/tiles.json", "/scan/1/tiles/0/0-0.jpg", "/face/1.jpg")


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_browser_keeps_what_has_its_version_in_the_address(client: Client, archive: Archive, address: str) -> None:
    """For good with the version, else only after asking; and never in a cache that others share."""
    now = archive.scans.face_picture(1).version if "face" in address else version(archive)
    kept = client.get(address, params={"v": now})
    assert kept.headers["cache-control"] == "private, max-age=31536000, immutable"
    for other in ({}, {"v": "older"}):
        assert client.get(address, params=other).headers["cache-control"] == "private, no-cache"
    assert kept.headers["etag"] == f'"{now}"'


@pytest.mark.parametrize("address", ADDRESSES)
def test_who_has_the_newest_is_told_so(client: Client, archive: Archive, address: str) -> None:
    """304 without a body for the same tag, also in a list or marked weak; 200 for another one."""
    tag = client.get(address).headers["etag"]
    for sent in (tag, f'"other", {tag}', f"W/{tag}"):
        same = client.get(address, headers={"If-None-Match": sent})
        assert (same.status_code, same.content, same.headers["etag"]) == (304, b"", tag)
    assert client.get(address, headers={"If-None-Match": '"other"'}).status_code == 200
    archive.scans.turn("K00001", "left")
    if "tiles/" not in address:
        assert client.get(address, headers={"If-None-Match": tag}).status_code == 200


@pytest.mark.parametrize(
    "address",
    [
        "/scan/2/view.jpg", "/scan/0/small.jpg", "/scan/99999999999999999999999/small.jpg", "/face/2.jpg",
        "/face/99999999999999999999999.jpg", "/scan/1/tiles/3/0-0.jpg", "/scan/1/tiles/0/3-0.jpg",
        "/scan/1/tiles/99999999999999999999/0-0.jpg", "/scan/-1/view.jpg", "/scan/x/view.jpg",
        "/scan/..%2f..%2fkinphoto.db/view.jpg", "/scan/1/tiles/0/..%2f..%2fpyramid.json", "/scan/1/tiles/0/0-0.png",
    ],
)  # fmt: skip
def test_what_is_not_there(client: Client, address: str) -> None:
    """404 in plain text, whatever was asked."""
    answer = client.get(address)
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/plain")


def test_while_the_file_is_away_its_thumbnail_serves(client: Client, archive: Archive) -> None:
    """The view and the face are made of it and kept nowhere; tiles cannot be, and the answer does not tell where the
    file lay. When it is back, so is everything."""
    path = Path(archive.scans.picture(1).source.path)
    away = path.rename(path.with_name("away"))
    whole = client.get("/scan/1/view.jpg", params={"v": version(archive)})
    assert picture(whole.content).size == (512, 375)
    assert whole.headers["cache-control"] == "no-store"
    assert "etag" not in whole.headers
    assert max(picture(client.get("/face/1.jpg").content).size) < 100
    gone = client.get("/scan/1/tiles.json")
    assert (gone.status_code, gone.text) == (404, "the file is no longer there\n")
    away.rename(path)
    assert picture(client.get("/scan/1/view.jpg").content).size == (1500, 1100)
    assert picture(client.get("/face/1.jpg").content).size == (160, 160)


def test_a_changed_file_is_not_shown_as_the_old_one(client: Client, archive: Archive) -> None:
    """Until it is indexed again the thumbnail of the old one serves."""
    path = Path(archive.scans.picture(1).source.path)
    Image.new("RGB", (1500, 1100), RED).save(path)
    assert picture(client.get("/scan/1/view.jpg").content).size == (512, 375)
    assert "changed since it was added" in client.get("/scan/1/tiles.json").text


def test_a_full_disk_is_told_as_such(client: Client, archive: Archive) -> None:
    """503: it is not the picture that is missing. A file stands where the folder should be."""
    (archive.folder / tiles.FOLDER).write_text("in the way")
    answer = client.get("/scan/1/view.jpg")
    assert answer.status_code == 503
    assert str(archive.folder) not in answer.text


@pytest.mark.parametrize("address", ADDRESSES)
def test_who_may_not_see_a_photograph_sees_none_of_its_pictures(client: Client, archive: Archive, address: str) -> None:
    """Somebody of the house who has not signed in, and a face of nobody knows whom: neither picture nor tag, also when
    their browser has it. Once it is known to be somebody long dead, there it is."""
    guest = asking(archive, Access(Credentials("secret", "hash of a password"), open_to_house=True))
    tag = client.get(address).headers["etag"]
    answer = guest.get(address, headers={"If-None-Match": tag})
    missing = "face R1" if address.startswith("/face/") else "scan 1"  # in the words for one that is not there
    assert (answer.status_code, answer.text) == (404, f"there is no {missing}\n")
    archive.people.add("Ada Marsh", born="1840", died="1900")
    archive.statements.link(Link(photograph="K00001", person="Ada Marsh", region="R1"))
    assert guest.get(address).status_code == 200
