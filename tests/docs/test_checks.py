"""docs/checks.md and the limits it lists are the same ones."""

from __future__ import annotations

from pathlib import Path

from docs_scripts import script

ROOT = Path(__file__).parents[2]


def test_the_tables_of_checks_are_up_to_date() -> None:
    """As the code says now; `python docs/make_checks.py` mends it."""
    page = (ROOT / "docs" / "checks.md").read_text(encoding="utf-8")
    assert page == script("make_checks").filled(page)
