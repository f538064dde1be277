"""The pages of the sample, asked without a browser."""

from __future__ import annotations

import html
import re
import secrets
from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from building import copied
from httpx2 import Response

from kinphoto.archive import Archive
from kinphoto.web.access import COOKIE, Credentials
from kinphoto.web.app import make_app

from .client import Client


@pytest.fixture
def archive(own_sample: Archive) -> Archive:
    """A copy of the sample, in a folder of its own."""
    return own_sample


@pytest.fixture(scope="module")
def pages(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """The pages of the sample, for tests in which it does not matter what is changed."""
    opened = copied(sample, tmp_path_factory.mktemp("pages") / "sample")
    yield Client(make_app(opened), base_url="http://127.0.0.1:5817")
    opened.engine.dispose()


class Browser:
    """A browser without a screen: it keeps its cookie and sends the token that our pages gave it."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self._tokens: dict[str | None, str] = {}

    def get(self, path: str, **more: object) -> str:
        """The page at a path, which must be there."""
        answer = self.client.get(path, **more)  # type: ignore[arg-type]
        assert answer.status_code == 200, answer.text[:300]
        return answer.text

    def token(self) -> str:
        """The token that stands in the forms of this visit."""
        visit = self.client.cookies.get(COOKIE)
        if visit not in self._tokens:
            page = self.get("/hindsight")  # one with little on it; strangers are sent on to where one signs in
            found = re.search(r'name="token" value="([0-9a-f]+)"', page)
            assert found is not None
            visit = self.client.cookies.get(COOKIE)
            self._tokens[visit] = found[1]
        return self._tokens[visit]

    def post(self, path: str, fields: dict[str, str | list[str]], **more: object) -> Response:
        """Send a form as our page does; returns the answer, redirects not followed."""
        return self.client.post(
            path, data={"token": self.token(), **fields}, follow_redirects=False, **more  # type: ignore[arg-type]
        )  # fmt: skip

    def done(self, path: str, fields: dict[str, str | list[str]], onto: str) -> str:
        """Send a form that has to be carried out, and go on to the page that comes then."""
        answer = self.post(path, fields)
        assert answer.status_code == 303, answer.text[:500]
        assert answer.headers["location"] == onto
        return self.get(onto)

    def refused(self, path: str, fields: dict[str, str | list[str]], archive: Archive) -> str:
        """Send a form that has to be refused in one line, and nothing is changed; returns what is said."""
        before = archive.statements.history(1)
        answer = self.post(path, fields)
        assert 400 <= answer.status_code < 500, (answer.status_code, answer.text[:300])
        assert archive.statements.history(1) == before
        assert "Traceback" not in answer.text
        assert "<script>" not in answer.text
        said = re.findall(r"<(?:h1|p)[^>]*>([^<]+)</", answer.text.partition("<main")[2]) or [answer.text]
        assert said[0].strip()
        assert "`" not in "".join(said), said
        return html.unescape(" ".join(said))


@pytest.fixture
def client(archive: Archive) -> Client:
    """The pages of the copy, asked for under the name of this machine; nothing is dated in the background."""
    return Client(make_app(archive), base_url="http://127.0.0.1:5817")


@pytest.fixture
def browser(client: Client) -> Browser:
    """A browser on this machine."""
    return Browser(client)


PASSWORD = "three odd words"
LAN = "http://192.168.7.7:5817"


@pytest.fixture(scope="session")
def hashed() -> str:
    """A hash of the password that is quick to check. What `choose` makes takes long on purpose; `test_sign_in.py` tests
    that, and in `tests/browser/test_signed_out.py` people sign in with it."""
    return PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(PASSWORD)


@pytest.fixture
def house(archive: Archive, hashed: str) -> Client:
    """The browser of a stranger in the house network, before the pages of the copy."""
    Credentials(secrets.token_urlsafe(32), hashed).keep(archive.folder)
    return Client(make_app(archive, ["127.0.0.1", "192.168.7.7"], open_to_house=True), base_url=LAN)


@pytest.fixture
def stranger(house: Client) -> Browser:
    """The same, with forms."""
    return Browser(house)
