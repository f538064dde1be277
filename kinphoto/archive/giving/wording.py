"""What is said about a photograph in a file or on a page that is given away, put together from what may go."""

from __future__ import annotations

from collections.abc import Iterator

from kinphoto.archive.giving.given import Given, GivenScan, Region
from kinphoto.phrases import listed, opening
from kinphoto.scans.upright import as_filed_region, stored_region, turned, turned_region
from kinphoto.share.facts import PersonFact, PictureFacts


def description(given: Given) -> str:
    """Everything said about it, in paragraphs: notes, what was written or told, when it was taken, who told us."""
    return "\n".join(_sentences(given))


def _sentences(given: Given) -> Iterator[str]:
    if given.note:
        yield given.note
    yield from (f"“{words}”" for words in given.said)
    if given.date.words:
        yield f"Taken: {given.date.words}."
    yield from (f"{mark}." for mark in given.marks)
    if given.told_by:
        yield f"Told by {listed(given.told_by)}."
    if given.boxes:
        yield f"Kept in: {' › '.join(given.boxes)}."


def facts(
    given: Given, scan: GivenScan, orientation: int, size: tuple[int, int], *, whole: bool = False
) -> PictureFacts:
    """What to write into a copy of one of its scans whose pixels have to be turned by this orientation and have this
    size; `whole` for the picture as its file has it, also where the print on it is shown straight. Names and regions go
    with the front alone: a detail may show others, a back shows nobody."""
    front = scan is given.front

    def stored(region: Region) -> Region:
        if whole and scan.corners:
            region = turned_region(as_filed_region(region, scan.turn, scan.straight), scan.turn)
        return stored_region(region, orientation)

    people = [PersonFact(one.name, one.region and stored(one.region)) for one in given.names]
    exact = given.date.exact
    return PictureFacts(
        identifier=given.code,
        size=size,
        orientation=orientation,
        title=given.title,
        description=description(given) if front else f"{opening(_SIDES.get(scan.side, 'a detail'))} of {given.code}.",
        people=tuple(people) if front else (),
        nameless=tuple(stored(region) for region in given.nameless) if front else (),
        place=given.place,
        maker=given.maker,
        rights=given.rights,
        source=" › ".join(given.boxes),
        taken=exact if front and len(exact) == len("1931-06-12") else "",
        created=exact if front else "",
        edtf=given.date.edtf if front else "",
        digitized=scan.digitized.strip(),
    )


_SIDES = {"recto": "another scan", "verso": "the back"}


def orientation_of(scan: GivenScan) -> int:
    """How the stored pixels have to be turned, a person's turn included."""
    return turned(scan.orientation, scan.turn)
