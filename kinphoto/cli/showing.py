"""`kinphoto show`: everything about one photograph; a person or a box in short."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.phrases import counted, opening

if TYPE_CHECKING:
    from kinphoto.archive.collection.container_pages import ContainerPage
    from kinphoto.archive.collection.photograph_page import ScanShown, StatementShown
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.search.about import AboutPhotograph
    from kinphoto.archive.statements.faces import NameOnFace

_CM = 2.54  # centimetres in an inch


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    app.command("show")(show)


def show(
    what: Annotated[
        str,
        typer.Argument(
            metavar="PHOTO", help="A code such as K00042 or a scan's path; a person or a box is shown in short."
        ),
    ],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show everything about one photograph: its files, where it lies, who is in it, what was said, when it was taken.

    Every name and statement comes with the id that `withdraw`, `unname` and `frame` take. A person or a box is shown in
    short, with the command that tells more.
    """
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.search.about import AboutPhotograph

    found = open_archive(archive).about(what)
    if isinstance(found, AboutPhotograph):
        answer(as_json, {"photograph": _photograph(found)}, lambda: _photograph_lines(found))
    elif isinstance(found, Lifeline):
        answer(as_json, {"person": _person(found)}, lambda: _person_lines(found))
    else:
        answer(as_json, {"box": _box(found)}, lambda: _box_lines(found))


# A photograph --------------------------------------------------------------------------------------------------------


def _photograph(found: AboutPhotograph) -> dict[str, Any]:
    from kinphoto.reason.model.span import iso

    shown, e = found.mount, found.explanation.dated.estimate if found.explanation else None
    return {
        "code": shown.code,
        "aliases": list(shown.aliases),
        "page": shown.page,
        "title": shown.title,
        "place": shown.place,
        "note": shown.note,
        "rights": shown.rights,
        "maker": shown.maker,
        "former_number": shown.former_number,
        "boxes": [box.name for box in shown.boxes],
        "place_in_box": shown.place_in_box if shown.boxes else None,
        "box_size": shown.box_size if shown.boxes else None,
        "before": shown.before,
        "after": shown.after,
        "scans": [
            {
                "path": scan.path,
                "side": scan.side,
                "width": scan.width,
                "height": scan.height,
                "ppi": scan.ppi,
                "missing": scan.missing,
                "superseded": scan.superseded,
            }
            for scan in shown.scans
        ],
        "faces": [
            *(
                _face(seat, face.region, denied)
                for face in found.faces.faces
                for seats, denied in ((face.names, False), (face.denied, True))
                for seat in seats
            ),
            *(_face(seat, None, False) for seat in found.faces.elsewhere),
            *(_face(seat, None, True) for seat in found.faces.denied),
        ],
        "statements": [
            {
                "id": mark.id,
                "kind": mark.kind,
                "text": mark.words,
                "date": mark.date,
                "other": mark.other,
                "trust": mark.trust,
                "informant": mark.informant,
                "withdrawn": mark.withdrawn,
                "cautions": list(mark.cautions),
            }
            for mark in shown.marks
        ],
        "earliest": iso(e.earliest) if e else None,
        "latest": iso(e.latest) if e else None,
        "likely_from": iso(e.likely_from) if e else None,
        "likely_to": iso(e.likely_to) if e else None,
        "best": iso(e.best) if e else None,
        "edtf": (e.edtf or None) if e else None,
        "state": str(e.state) if e else None,
        "why": list(found.reasons),
        "conflicts": list(found.explanation.conflicts) if found.explanation else [],
    }


def _face(seat: NameOnFace, region: str | None, denied: bool) -> dict[str, Any]:
    return {
        "appearance": seat.id,
        "region": region,
        "person": seat.person,
        "name": seat.name,
        "years": _years(seat),
        "role": str(seat.role),
        "denied": denied,
        "perhaps": seat.rival or seat.contested,
        "trust": seat.trust,
        "informant": seat.informant,
        "why": seat.why,
        "ages": [
            {
                "id": age.id,
                "low": age.low,
                "high": age.high,
                "basis": str(age.basis),
                "unseen": age.blind,
                "informant": age.informant,
            }
            for age in seat.ages
        ],
    }


def _years(seat: NameOnFace) -> str:
    from kinphoto.archive.words.dates import life_years

    return life_years(seat.life.begin, seat.life.end)


def _photograph_lines(found: AboutPhotograph) -> Iterator[str]:
    shown = found.mount
    yield f"{shown.code}  {shown.title}".rstrip()
    yield from _date_lines(found)
    yield "Files:"
    yield from (f"  {_scan_line(scan)}" for scan in shown.scans)
    if not shown.scans:
        yield "  No scan of it is left."
    if shown.boxes:
        place = f"number {shown.place_in_box} of {shown.box_size}"
        yield f"Lies in: {' > '.join(box.name for box in shown.boxes)}, {place}"
    else:
        yield f'Lies nowhere yet. To put it somewhere: kinphoto container place "NAME" {shown.code}'
    for words, value in (
        ("Taken at", shown.place), ("Made by", shown.maker), ("Former number", shown.former_number),
        ("Rights", shown.rights), ("Note", shown.note), ("Also known as", ", ".join(shown.aliases)),
    ):  # fmt: skip
        if value:
            yield f"{words}: {' / '.join(value.splitlines())}"
    yield from _people_lines(found)
    if shown.marks:
        yield "On it and about it:"
    for mark in shown.marks:
        yield f"  {mark.id:<6} {_mark_line(mark)}"
        if not mark.withdrawn:
            yield from (f"         Take care: {caution}" for caution in mark.cautions)


def _date_lines(found: AboutPhotograph) -> Iterator[str]:
    from kinphoto.archive.words.dates import when

    if found.explanation is None:
        yield "An album page: it has no date of its own."
        return
    code, estimate = found.mount.code, found.explanation.dated.estimate
    head = when(estimate)
    yield f"Taken: {head}" if not head.startswith("not") else opening(head)
    yield from (f"  {opening(reason)}" for reason in found.reasons)
    if found.explanation.conflicts:
        yield f"  Something of it does not fit together ({', '.join(found.explanation.conflicts)}): kinphoto conflicts"
    if found.reasons or found.explanation.parts:
        yield f"  All of it: kinphoto explain {code}"


_SIDES = {"recto": "front", "verso": "back", "detail": "detail"}


def _scan_line(scan: ScanShown) -> str:
    size = f"{scan.width} × {scan.height} pixels"
    if scan.ppi:
        across, down = (side / scan.ppi * _CM for side in (scan.width, scan.height))
        size += f", {scan.ppi:.0f} ppi ({across:.1f} × {down:.1f} cm)"
    gone = ", replaced by a better scan" if scan.superseded else ""
    gone += ", not where it was" if scan.missing else ""
    return f"{_SIDES.get(scan.side, scan.side):<7} {scan.path}, {size}{gone}"


def _people_lines(found: AboutPhotograph) -> Iterator[str]:
    faces = found.faces
    if not (faces.faces or faces.elsewhere or faces.denied):
        yield f'Nobody is named in it yet: kinphoto link {found.mount.code} "NAME" --age AGE'
        return
    yield "In it:"
    for face in faces.faces:
        place = ",".join(f"{side:.2f}" for side in face.box)
        for seat in face.names:
            yield f"  {seat.id:<6} {_name_line(seat)}  [{face.region} at {place}]"
        for seat in face.denied:
            yield f"  {seat.id:<6} not {_name_line(seat)}  [{face.region}]"
    yield from (f"  {seat.id:<6} {_name_line(seat)}  [no place in the picture]" for seat in faces.elsewhere)
    yield from (f"  {seat.id:<6} not {_name_line(seat)}" for seat in faces.denied)


def _name_line(seat: NameOnFace) -> str:
    from kinphoto.archive.words.sentences import UNSEEN, age_words

    years = _years(seat)
    who = f"{seat.name or 'no name'} ({seat.person}{f', {years}' if years else ''})" if seat.person else "no name yet"
    role = {"likeness": "a likeness", "laid-out": "photographed after death"}.get(str(seat.role), "")
    ages = [
        f"{'looks' if age.basis == 'apparent' else 'aged'} {age_words(age.low, age.high)} [{age.id}]"
        f"{f' ({age.informant})' if age.informant else ''}{f', {UNSEEN}' if age.blind else ''}"
        for age in seat.ages
    ]
    perhaps = "perhaps" if seat.rival or seat.contested else ""
    says = f"says {seat.informant}" if seat.informant else ""
    return ", ".join(filter(None, [who, role, *ages, perhaps, seat.trust or "", says, seat.why]))


def _mark_line(mark: StatementShown) -> str:
    kind = mark.kind.replace("-", " ")
    words = mark.words if mark.kind in ("process", "format", "event") or not mark.words else f"“{mark.words}”"
    told = f"{words}" if mark.kind == "event" else " ".join(filter(None, [kind, mark.other, words]))
    says = f"says {mark.informant}" if mark.informant else ""
    return ", ".join(filter(None, [told, mark.date, mark.trust or "", says, "withdrawn" if mark.withdrawn else ""]))


# A person ------------------------------------------------------------------------------------------------------------


def _person(found: Lifeline) -> dict[str, Any]:
    from kinphoto.archive.words.dates import life_years

    return {
        "id": found.id,
        "name": found.name,
        "other_names": list(found.other_names),
        "years": life_years(found.life.begin, found.life.end),
        "kin": found.kin or None,
        "note": found.note,
        "outside": found.outside,
        "family": [{"id": one.id, "name": one.name, "kin": one.kin, "pictures": one.pictures} for one in found.family],
        "photographs": [one.photograph.code for one in found.pictures],
    }


def _person_lines(found: Lifeline) -> Iterator[str]:
    from kinphoto.archive.words.dates import life_years

    years = life_years(found.life.begin, found.life.end) or "years not known"
    yield f"{found.id}  {found.name or 'no name'}, {years}{f', {found.kin}' if found.kin else ''}"
    if found.other_names:
        yield f"Also called: {', '.join(found.other_names)}"
    if found.note:
        yield f"Note: {' / '.join(found.note.splitlines())}"
    for one in found.family[:_FEW]:
        own = life_years(one.life.begin, one.life.end)
        yield f"  {one.kin or 'kin'}: {one.name or 'no name'} ({one.id}{f', {own}' if own else ''})"
    if len(found.family) > _FEW:
        yield f"  and {len(found.family) - _FEW} more"
    yield f"{counted(len(found.pictures), 'picture')}: kinphoto pictures {found.id}"


_FEW = 12  # relatives shown of a person, and boxes inside a box


# A box ---------------------------------------------------------------------------------------------------------------


def _box(found: ContainerPage) -> dict[str, Any]:
    return {
        "id": found.id,
        "name": found.name,
        "inside": [box.name for box in found.above],
        "note": found.note,
        "folder": found.folder,
        "boxes": [each.name for each in found.inside],
        "photographs": found.tally.photographs,
        "undated": found.tally.undated,
        "unnamed": found.tally.unnamed,
        "disputed": found.tally.disputed,
    }


def _box_lines(found: ContainerPage) -> Iterator[str]:
    tally = found.tally
    yield " > ".join([*(box.name for box in found.above), found.name])
    if found.note:
        yield f"Note: {' / '.join(found.note.splitlines())}"
    if found.folder:
        yield f"Stands for the folder {found.folder}"
    wanting = [f"{count} {word}" for count, word in (
        (tally.undated, "without a date"), (tally.unnamed, "without a name"), (tally.disputed, "that do not fit"),
    ) if count]  # fmt: skip
    lacking = f" ({', '.join(wanting)})" if wanting else ""
    yield f"{counted(tally.photographs, 'photograph')}{lacking}"
    for each in found.inside[:_FEW]:
        yield f"  {each.name}: {counted(each.tally.photographs, 'photograph')}"
    if len(found.inside) > _FEW:
        yield f"  and {len(found.inside) - _FEW} more boxes"
    yield f'To see them: kinphoto list --box "{found.name}"'
