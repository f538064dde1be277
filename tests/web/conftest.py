"""The pages of the sample, asked without a browser."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from kinphoto.archive import Archive
from kinphoto.archive.sample import build
from kinphoto.web.app import make_app


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample archive, built once and copied for each test that changes it."""
    folder = tmp_path_factory.mktemp("sample") / "family"
    archive = build(folder).archive
    archive.engine.dispose()
    return folder


@pytest.fixture
def archive(built: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of the sample, in a folder of its own."""
    folder = tmp_path / "family"
    shutil.copytree(built, folder)
    opened = Archive.open(folder)
    yield opened
    opened.engine.dispose()


class Browser:
    """A browser without a screen: it keeps its cookie and sends the token that our pages gave it."""

    def __init__(self, client: TestClient) -> None:
        self.client = client

    def get(self, path: str, **more: object) -> str:
        """The page at a path, which must be there."""
        answer = self.client.get(path, **more)  # type: ignore[arg-type]
        assert answer.status_code == 200, answer.text[:300]
        return answer.text

    def token(self, path: str = "/photograph/K00009") -> str:
        """The token that stands in the forms of a page."""
        found = re.search(r'name="token" value="([0-9a-f]+)"', self.get(path))
        assert found is not None
        return found[1]

    def post(self, path: str, fields: dict[str, str], **more: object) -> object:
        """Send a form as our page does; returns the answer, redirects not followed."""
        return self.client.post(
            path, data={"token": self.token(), **fields}, follow_redirects=False, **more  # type: ignore[arg-type]
        )  # fmt: skip


@pytest.fixture
def client(archive: Archive) -> TestClient:
    """The pages of the copy, asked for under the name of this machine; nothing is dated in the background."""
    return TestClient(make_app(archive), base_url="http://127.0.0.1:5817")


@pytest.fixture
def browser(client: TestClient) -> Browser:
    """A browser on this machine."""
    return Browser(client)
