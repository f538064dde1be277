"""`kinphoto demo`: the sample archive, and the main job run on it from start to end."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("demo")(demo)


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="[DIR]", help="Where to build it: a folder that is new or empty.")
    ] = Path("kinphoto-demo"),
) -> None:
    """Build a sample archive of an invented family and run the main job on it from start to end."""
