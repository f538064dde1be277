"""Pages of one file: each is a scan of its own, named by the path of the file and `#page=3`.

That is how RFC 8118 names a page of a PDF; the pictures of a TIFF or HEIC file are named the same way. A file with one
picture is named by its path alone and counts as page 0. Pages count from 1, as in viewers.
"""

from __future__ import annotations

import re

MOST_PAGES = 2000
"""Pages of one file. A family album has a hundred or so; only a film has more than this."""

_NAMED = re.compile(r"(.+?)(?:#page=|,? page )([1-9][0-9]{0,5})", re.DOTALL | re.IGNORECASE)


def page_path(file: str, page: int) -> str:
    """The name of a scan: the file's path, and the page if it has several."""
    return f"{file}#page={page}" if page else file


def file_path(path: str, page: int) -> str:
    """The path of the file that holds the scan of this name."""
    return path.removesuffix(f"#page={page}") if page else path


def parsed(text: str) -> tuple[str, int] | None:
    """The file and page that somebody names: "album.pdf#page=3", "album.pdf page 3"; None without a page."""
    found = _NAMED.fullmatch(text.strip())
    return None if found is None else (found[1], int(found[2]))
