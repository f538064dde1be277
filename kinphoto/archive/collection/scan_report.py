"""What adding scans found, in words: the same for the command line and the pages."""

from __future__ import annotations

from collections.abc import Iterator

from kinphoto.archive.collection.scans_added import FiledScan, PagedFile, ScansAdded, code_ranges
from kinphoto.phrases import counted


def notes(result: ScansAdded) -> Iterator[tuple[str, list[str]]]:
    """Headings with what is worth a look, a line each; nothing that there is none of."""
    found = (
        ("Files with several pages, each a photograph of its own", [_paged(each) for each in result.paged]),
        (
            "Names, captions or dates that other programs wrote into these files are recorded, with “the file” as who "
            "told you (to say who the names mean: kinphoto scans inside; to undo it: kinphoto undo "
            f"{result.telling_change})",
            [f"{each.photograph}  {each.path}" for each in result.telling],
        ),
        ("Moved or renamed, code and links kept", [f"{old} is now {new}" for old, new in result.moved]),
        ("Changed since they were added", [_changed(each) for each in result.changed]),
        (
            "Missing files; what you recorded about them is kept. If they were moved, add the folder they are in now",
            [f"{each.photograph}  {each.path}" for each in result.vanished],
        ),
        (
            "Copies of scans you already have, not added again",
            [f"{path} is the same as {original}" for path, original in result.duplicates],
        ),
        (
            "Removed earlier, so not added again (to add them anyway: --again)",
            [f"{one.path}, which was {one.photograph}: kinphoto undo {one.change}" for one in result.left_out],
        ),
        ("Could not be read", [f"{each.path}: {each.why}" for each in result.unreadable]),
    )
    return ((heading, lines) for heading, lines in found if lines)


def _paged(each: PagedFile) -> str:
    return f"{each.path}: {counted(each.pages, 'page')} with pictures, {code_ranges(each.photographs)}"


def _changed(each: FiledScan) -> str:
    """A face was framed on the picture as it was, which may have been cropped or turned since."""
    faces = "is the face on it" if each.faces == 1 else f"are the {each.faces} faces on it"
    question = f": {faces} still framed correctly?" if each.faces else ""
    return f"{each.photograph}  {each.path}{question}"
