"""What indexing found, in words: the same for the command line and the pages."""

from __future__ import annotations

from collections.abc import Iterator

from kinphoto.archive.collection.scanning import FiledScan, PagedFile, ScansAdded, code_ranges
from kinphoto.phrases import counted


def notes(result: ScansAdded) -> Iterator[tuple[str, list[str]]]:
    """Headings with what is worth a look, a line each; nothing that there is none of."""
    found = (
        ("Files with several pages, each a photograph of its own", [_paged(each) for each in result.paged]),
        ("Moved or renamed, code and links kept", [f"{old} is now {new}" for old, new in result.moved]),
        ("Changed since they were indexed", [_changed(each) for each in result.changed]),
        (
            "Not there any more; what was recorded is kept. If they were moved, add the folder where they are now",
            [f"{each.photograph}  {each.path}" for each in result.vanished],
        ),
        (
            "Copies of scans that are there already, not added again",
            [f"{path} is the same as {original}" for path, original in result.duplicates],
        ),
        (
            "Removed earlier, left out (to index them anew: --again)",
            [f"{one.path}, which was {one.photograph}: kinphoto undo {one.change}" for one in result.left_out],
        ),
        ("Could not be read", [f"{each.path}: {each.why}" for each in result.unreadable]),
    )
    return ((heading, lines) for heading, lines in found if lines)


def _paged(each: PagedFile) -> str:
    return f"{each.path}: {counted(each.pages, 'page')} with pictures, {code_ranges(each.photographs)}"


def _changed(each: FiledScan) -> str:
    """A face was framed on the picture as it was, which may have been cropped or turned since."""
    question = {0: "", 1: ": is the face on it still framed rightly?"}.get(
        each.faces, f": are the {each.faces} faces on it still framed rightly?"
    )
    return f"{each.photograph}  {each.path}{question}"
