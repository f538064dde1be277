"""docs/checks.md and the limits it lists are the same ones."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_tables_of_checks_are_up_to_date() -> None:
    """As the code says now; `python docs/make_checks.py` mends it."""
    spec = importlib.util.spec_from_file_location("make_checks", ROOT / "docs" / "make_checks.py")
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    page = (ROOT / "docs" / "checks.md").read_text(encoding="utf-8")
    assert page == maker.filled(page)
