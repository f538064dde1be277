"""For the tests of the database."""

from __future__ import annotations

import pytest

from kinphoto.store import opening


@pytest.fixture
def created_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """A new database is made by kinphoto itself, not copied from one that it made before."""
    monkeypatch.setattr(opening, "create", opening.create.create)  # type: ignore[attr-defined]
