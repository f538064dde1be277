"""Shared by all tests: which kinphoto is under test."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import settings

import kinphoto

settings.register_profile("ci", derandomize=True, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("ci")  # the same examples every time: a change is judged by what it changes


def pytest_configure() -> None:
    """With KINPHOTO_WHEEL set, refuse to test the source tree instead of the installed wheel."""
    source = Path(__file__).parents[1] / "kinphoto"
    if os.environ.get("KINPHOTO_WHEEL") and Path(kinphoto.__file__).parent == source:
        raise RuntimeError("the tests would import the source tree, not the wheel; run `sh .ci/test`")
