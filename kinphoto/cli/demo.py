"""Commands of this group."""

from __future__ import annotations

import typer


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
