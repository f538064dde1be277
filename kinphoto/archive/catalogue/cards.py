"""How people and photographs stand in lists."""

from __future__ import annotations

from typing import Annotated, NamedTuple


class Named(NamedTuple):
    """Somebody by their id and what they are called."""

    id: Annotated[str, "a person's id"]
    name: Annotated[str, "their name"]
