"""Shared by the tests of the archive."""

from __future__ import annotations

import pytest

from kinphoto.archive.dates import whole


@pytest.fixture
def as_if_large(monkeypatch: pytest.MonkeyPatch) -> None:
    """Archives are looked at as if they were too large to be looked at as a whole."""
    monkeypatch.setattr(whole, "AT_ONCE", 0)
    monkeypatch.setattr(whole, "HELD", 0)
