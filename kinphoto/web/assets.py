"""The style sheets and scripts that came with the program, and the word for their present state."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources

from kinphoto.translation.catalogues import catalogue
from kinphoto.translation.scripts import script_in_language

KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


@cache
def assets() -> dict[str, tuple[bytes, str]]:
    """The contents and media type of each file, by name."""
    folder = resources.files("kinphoto.web") / "static"
    known = ((entry, "." + entry.name.rpartition(".")[2]) for entry in folder.iterdir())
    files = {entry.name: (entry.read_bytes(), KINDS[end]) for entry, end in known if end in KINDS}
    book = catalogue("scripts")
    if book:
        words, kind = files["words.js"]
        files["words.js"] = script_in_language(words.decode(), book.gettext).encode(), kind
    return files


@cache
def version() -> str:
    """A word that changes whenever one of the files does."""
    whole = hashlib.sha256()
    for name, (data, _) in sorted(assets().items()):
        whole.update(f"{name} {len(data)} ".encode() + data)
    return whole.hexdigest()[:12]


def asset(name: str) -> str:
    """The address of a file."""
    return f"/static/{version()}/{name}"
