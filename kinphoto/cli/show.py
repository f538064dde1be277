"""`kinphoto show`: everything about one photograph; a summary of a person or a box."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, person
from kinphoto.phrases import counted, opening

if TYPE_CHECKING:
    from kinphoto.archive.collection.container_pages import ContainerPage
    from kinphoto.archive.collection.photograph_page import ScanShown, StatementShown
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.search.about import AboutPhotograph
    from kinphoto.archive.statements.recorded_faces import NameOnFace

_CM = 2.54  # centimetres in an inch


def show(
    what: Annotated[
        str,
        typer.Argument(
            metavar="PHOTO", help="A code such as K00042 or a scan's path; of a person or a box, a summary."
        ),
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show everything about one photograph: files, box, who is in it, what people say about it, when it was taken.

    Every name and statement comes with the id that `withdraw`, `unname` and `frame` take. Of a person or a box you get
    a summary, and the command that shows more.
    """
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.search.about import AboutPhotograph

    found = open_archive(archive).search.details(what)
    if isinstance(found, AboutPhotograph):
        answer(as_json, {"photograph": found}, _photograph_lines(found))
    elif isinstance(found, Lifeline):
        answer(as_json, {"person": found}, _person_lines(found))
    else:
        answer(as_json, {"box": found}, _box_lines(found))


# A photograph --------------------------------------------------------------------------------------------------------


def _photograph_lines(found: AboutPhotograph) -> Iterator[str]:
    shown = found.page
    yield f"{shown.code}  {shown.title}".rstrip()
    yield from _date_lines(found)
    yield "Files:"
    yield from (f"  {_scan_line(scan)}" for scan in shown.scans)
    if not shown.scans:
        yield "  There is no scan of it any more."
    if shown.boxes:
        place = f"number {shown.place_in_box} of {shown.box_size}"
        yield f"In: {' > '.join(box.name for box in shown.boxes)}, {place}"
    else:
        yield f'Not in any box yet. To put it in one: kinphoto container place "NAME" {shown.code}'
    for words, value in (
        ("Taken at", shown.place), ("Made by", shown.maker), ("Former number", shown.former_number),
        ("Rights", shown.rights), ("Note", shown.note), ("Also known as", ", ".join(shown.aliases)),
    ):  # fmt: skip
        if value:
            yield f"{words}: {' / '.join(value.splitlines())}"
    yield from _people_lines(found)
    if shown.marks:
        yield "What we know about it:"
    for mark in shown.marks:
        yield f"  {mark.id:<6} {_mark_line(mark)}"
        if not mark.withdrawn:
            yield from (f"         Take care: {caution}" for caution in mark.cautions)


def _date_lines(found: AboutPhotograph) -> Iterator[str]:
    from kinphoto.archive.words.dates import when

    if found.explanation is None:
        yield "An album page: it has no date of its own."
        return
    code, estimate = found.page.code, found.explanation.dated.estimate
    head = when(estimate)
    yield opening(head) if estimate.likely_from is None or estimate.best is None else f"Taken: {head}"
    yield from (f"  {opening(reason)}" for reason in found.reasons)
    if found.explanation.conflicts:
        yield f"  It is part of a conflict ({', '.join(found.explanation.conflicts)}): kinphoto conflicts"
    if found.reasons or found.explanation.parts:
        yield f"  More: kinphoto explain {code}"


SIDES = {"recto": "front", "verso": "back", "detail": "detail"}


def _scan_line(scan: ScanShown) -> str:
    size = f"{scan.width} × {scan.height} pixels"
    if scan.ppi:
        across, down = (side / scan.ppi * _CM for side in (scan.width, scan.height))
        size += f", {scan.ppi:.0f} ppi ({across:.1f} × {down:.1f} cm)"
    gone = ", replaced by a better scan" if scan.superseded else ""
    gone += ", no longer where it was" if scan.missing else ""
    return f"{SIDES[scan.side]:<7} {scan.path}, {size}{gone}"


def _people_lines(found: AboutPhotograph) -> Iterator[str]:
    faces = found.faces
    if not (faces.faces or faces.elsewhere or faces.denied):
        yield f'Nobody is named in it yet: kinphoto link {found.page.code} "NAME" --age AGE'
        return
    yield "Who is in it:"
    for face in faces.faces:
        place = ",".join(f"{side:.2f}" for side in face.box)
        for one in face.names:
            yield f"  {one.id:<6} {_name_line(one)}  [{face.region} at {place}]"
        for one in face.denied:
            yield f"  {one.id:<6} not {_name_line(one)}  [{face.region}]"
    yield from (f"  {one.id:<6} {_name_line(one)}  [no place in the picture]" for one in faces.elsewhere)
    yield from (f"  {one.id:<6} not {_name_line(one)}" for one in faces.denied)


def _name_line(one: NameOnFace) -> str:
    from kinphoto.archive.words.sentences import UNSEEN

    who = person(one.name, one.person, one.life.years) if one.person else "no name yet"
    role = {"likeness": "a likeness", "laid-out": "photographed after death"}.get(str(one.role), "")
    ages = [
        f"{age.words} [{age.id}]{f' ({age.informant})' if age.informant else ''}{f', {UNSEEN}' if age.blind else ''}"
        for age in one.ages
    ]
    perhaps = "perhaps" if one.rival or one.contested else ""
    return ", ".join(filter(None, [who, role, *ages, perhaps, one.trust or "", one.source, one.why]))


def _mark_line(mark: StatementShown) -> str:
    kind = mark.kind.replace("-", " ")
    as_it_is = mark.kind in ("process", "format", "event", "number") or not mark.words
    words = mark.words if as_it_is else f"“{mark.words}”"
    line = f"{words}" if mark.kind == "event" else " ".join(filter(None, [kind, mark.other, words]))
    says = f"says {mark.informant}" if mark.informant else ""
    return ", ".join(filter(None, [line, mark.date, mark.trust or "", says, "withdrawn" if mark.withdrawn else ""]))


# A person ------------------------------------------------------------------------------------------------------------


def _person_lines(found: Lifeline) -> Iterator[str]:
    years = found.life.years or "years not known"
    yield f"{found.id}  {found.name or 'no name'}, {years}{f', {found.kin}' if found.kin else ''}"
    if found.other_names:
        yield f"Also called: {', '.join(found.other_names)}"
    if found.note:
        yield f"Note: {' / '.join(found.note.splitlines())}"
    for one in found.family[:_FEW]:
        yield f"  {one.kin or 'kin'}: {person(one.name, one.id, one.life.years)}"
    if len(found.family) > _FEW:
        yield f"  and {len(found.family) - _FEW} more"
    yield f"{counted(len(found.pictures), 'picture')}: kinphoto pictures {found.id}"


_FEW = 12  # relatives shown of a person, and boxes inside a box


# A box ---------------------------------------------------------------------------------------------------------------


def _box_lines(found: ContainerPage) -> Iterator[str]:
    tally = found.tally
    yield " > ".join([*(box.name for box in found.above), found.name])
    if found.note:
        yield f"Note: {' / '.join(found.note.splitlines())}"
    if found.folder:
        yield f"Made from the folder {found.folder}"
    wanting = [f"{count} {word}" for count, word in (
        (tally.undated, "without a date"), (tally.unnamed, "without a name"), (tally.disputed, "disputed"),
    ) if count]  # fmt: skip
    lacking = f" ({', '.join(wanting)})" if wanting else ""
    yield f"{counted(tally.photographs, 'photograph')}{lacking}"
    for each in found.inside[:_FEW]:
        yield f"  {each.name}: {counted(each.tally.photographs, 'photograph')}"
    if len(found.inside) > _FEW:
        yield f"  and {len(found.inside) - _FEW} more boxes"
    yield f'To see them: kinphoto list --box "{found.name}"'
