"""`kinphoto link`, `state`, `process`, `format`, `relate`: what people say of photographs, one by one or many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.dates.outcome import Outcome
    from kinphoto.archive.statements.appearances import Linked
    from kinphoto.archive.statements.claims import Recorded

Rejected = Sequence[tuple[int, str]]  # the line of a row, and why it could not be applied
Photo = Annotated[
    str | None, typer.Argument(metavar="PHOTO", help="A code, a scan's path or the end of one.", show_default=False)
]
Trust = Annotated[
    str | None, typer.Option(metavar="certain|strong|fair|weak", help="How sure it is; a sensible default otherwise.")
]
By = Annotated[str | None, typer.Option(metavar="NAME", help="Who says so.")]
From = Annotated[
    Path | None, typer.Option("--from", metavar="FILE.csv", help="Apply a spreadsheet instead, row by row.")
]
KeepGoing = Annotated[
    bool, typer.Option("--keep-going", help="With --from: apply the good rows even if others cannot be.")
]


def register(app: typer.Typer) -> None:
    """Add this file's commands."""
    for name, command in (
        ("link", link), ("state", state), ("process", process), ("format", format_), ("relate", relate)
    ):  # fmt: skip
        app.command(name)(command)


def link(
    photograph: Photo = None,
    person: Annotated[
        str | None,
        typer.Argument(
            metavar="PERSON", help="An id or a name; `-` for somebody not identified yet.", show_default=False
        ),
    ] = None,
    region: Annotated[
        str | None,
        typer.Option(
            metavar="L,T,W,H", help="Where the face is, as parts of the upright image; or a face's id (R3, A7)."
        ),
    ] = None,
    age: Annotated[
        str | None, typer.Option(metavar="AGE", help="How old the person looks: 7, 25-30, about 30, 6m.")
    ] = None,
    stated_age: Annotated[
        str | None, typer.Option(metavar="AGE", help="How old the person was, as somebody knows or told.")
    ] = None,
    unseen: Annotated[
        bool, typer.Option("--unseen", help="The age was judged before any name or date was seen.")
    ] = False,
    role: Annotated[
        str | None,
        typer.Option(metavar="present|likeness|laid-out", help="In the flesh, a picture of a picture, or laid out."),
    ] = None,
    denied: Annotated[bool, typer.Option("--not", help="Record that it is not this person.")] = False,
    trust: Trust = None,
    by: By = None,
    why: Annotated[
        str | None, typer.Option(metavar="TEXT", help="What tells that it is (or is not) this person.")
    ] = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record who is in a photograph, where, and how old.

    A second person on the same region is a rival name: one of them is right, and neither counts alone.
    """
    store = open_archive(archive)
    if source is not None:
        apply_sheet(store, "links", source, keep_going, as_json, alone=not (photograph or person))
        return
    if unseen and not (age or stated_age):
        raise typer.BadParameter("--unseen tells of an age: give --age too.")
    from kinphoto.archive.statements.appearances import Link

    said = Link(
        photograph=_needed(photograph, "PHOTO"),
        person=_needed(person, "PERSON"),
        region=region,
        age=age,
        stated_age=stated_age,
        role=role,
        denied=denied,
        trust=trust,
        by=by,
        why=why,
        blind=unseen,
    )
    done, warnings = store.link(said)
    _warn_all(warnings)
    document = {
        "photograph": done.photograph,
        "person": done.person,
        "appearance": done.appearance,
        "statements": list(done.statements),
        "rivals": list(done.rivals),
        "changed": done.changed,
        "change": done.change,
        "replaced": list(done.replaced),
    }
    then = store.outcome(done.photograph, [done.appearance, *done.statements])
    answer(as_json, document | _outcome_document(then), lambda: _linked(done, then))


def state(
    photograph: Photo = None,
    kind: Annotated[
        str | None,
        typer.Argument(
            metavar="KIND",
            help="taken, inscription, written, recollection, event, imprint, print-stamp or postmark.",
            show_default=False,
        ),
    ] = None,
    date: Annotated[
        str | None,
        typer.Argument(
            metavar="[DATE]",
            help='GEDCOM or EDTF; for event its name such as "wedding of Lambert and Agnes", or its key F3:MARR; '
            "`exif` with taken for a file born digital.",
            show_default=False,
        ),
    ] = None,
    event: Annotated[
        str | None,
        typer.Option(
            "--event",
            metavar="EVENT",
            help='What of the tree it shows, instead of KIND and DATE: "wedding of Lambert and Agnes".',
        ),
    ] = None,
    text: Annotated[str | None, typer.Option(metavar="WORDS", help="The words themselves, as they stand.")] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record something that bears on when a photograph was taken, or words on its back."""
    store = open_archive(archive)
    if source is not None:
        apply_sheet(store, "statements", source, keep_going, as_json, alone=not (photograph or kind or event))
        return
    from kinphoto.archive.statements.claims import NewClaim

    if event is not None:
        if kind is not None and (date is not None or kind.casefold() != "event"):
            raise typer.BadParameter("give KIND and DATE, or --event, not both.")
        kind, date = "event", event
    said = NewClaim(
        photograph=_needed(photograph, "PHOTO"), kind=_needed(kind, "KIND"), date=date, text=text, trust=trust, by=by
    )
    _tell(store, as_json, *store.state(said))


def process(
    photograph: Photo = None,
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="How it was made, such as albumen or colour-slide.", show_default=False),
    ] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record how a photograph was made; the years of that process bear on its date."""
    _made("process", photograph, name, trust, by, source, keep_going, archive, as_json)


def format_(
    photograph: Photo = None,
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="What kind of object it is, such as cabinet-card.", show_default=False),
    ] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what kind of object a photograph is; the years in which such were made bear on its date."""
    _made("format", photograph, name, trust, by, source, keep_going, archive, as_json)


def relate(
    photograph: Photo = None,
    relation: Annotated[
        str | None,
        typer.Argument(
            metavar="RELATION",
            help="before, after, same-occasion, copy-of, same-negative, or part-of (a print on an album page).",
            show_default=False,
        ),
    ] = None,
    other: Annotated[
        str | None, typer.Argument(metavar="PHOTO", help="The other photograph, or the page.", show_default=False)
    ] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record how two photographs hang together; their dates follow."""
    store = open_archive(archive)
    if source is not None:
        apply_sheet(store, "relations", source, keep_going, as_json, alone=not (photograph or relation))
        return
    from kinphoto.archive.statements.claims import Tie

    tie = Tie(
        photograph=_needed(photograph, "PHOTO"),
        relation=_needed(relation, "RELATION"),
        other=_needed(other, "the other PHOTO"),
        trust=trust,
        by=by,
    )
    _tell(store, as_json, *store.relate(tie))


def apply_sheet(store: Archive, name: str, source: Path, keep_going: bool, as_json: bool, *, alone: bool) -> None:
    """Apply a spreadsheet and print what became of its rows; `alone` is False when a photograph was named beside it."""
    from kinphoto.errors import RowsRejectedError

    if not alone:
        raise typer.BadParameter("name either a photograph or a spreadsheet with --from, not both.")
    try:
        done = store.apply_sheet(name, source, keep_going)
    except RowsRejectedError as problem:
        if as_json:
            answer(True, _rows(0, problem.rejected, None), lambda: iter(()))
        raise
    _warn_all(done.warnings)
    document = _rows(done.applied, done.rejected, done.change)
    answer(as_json, document, lambda: _sheet_lines(done.applied, done.rejected))


def _made(
    kind: str, photograph: str | None, name: str | None, trust: str | None, by: str | None, source: Path | None,
    keep_going: bool, archive: Path | None, as_json: bool,
) -> None:  # fmt: skip
    store = open_archive(archive)
    if source is not None:
        sheet = {"process": "processes", "format": "formats"}[kind]
        apply_sheet(store, sheet, source, keep_going, as_json, alone=not (photograph or name))
        return
    _tell(store, as_json, *store.record_made(_needed(photograph, "PHOTO"), kind, _needed(name, "NAME"), trust, by))


def _needed(value: str | None, what: str) -> str:
    if value is None:
        raise typer.BadParameter(f"{what} is missing; or name a spreadsheet with --from.")
    return value


def _rows(applied: int, rejected: Rejected, change: int | None) -> dict[str, Any]:
    return {"applied": applied, "rejected": [{"line": line, "why": why} for line, why in rejected], "change": change}


def _sheet_lines(applied: int, rejected: Rejected) -> Iterator[str]:
    yield f"{counted(applied, 'row')} applied."
    for line, why in rejected:
        yield f"  line {line} was left out: {why}"


def _tell(store: Archive, as_json: bool, done: Recorded, warnings: list[str]) -> None:
    _warn_all(warnings)
    document = {
        "photograph": done.photograph,
        "statement": done.statement,
        "changed": done.changed,
        "change": done.change,
        "cautions": list(done.cautions),
    }
    then = store.outcome(done.photograph, [done.statement])
    answer(as_json, document | _outcome_document(then), lambda: _recorded(done, then))


def _recorded(done: Recorded, then: Outcome | None) -> Iterator[str]:
    before = "" if done.changed else " (it was recorded already)"
    yield f"{done.photograph}: {done.words} [{done.statement}]{before}"
    for caution in done.cautions:
        yield f"Take care: {caution}"
    yield from _outcome(then, done.change)


def _linked(done: Linked, then: Outcome | None) -> Iterator[str]:
    before = "" if done.changed else " (it was recorded already)"
    yield f"{done.photograph}: {done.words} [{done.appearance}]{before}"
    for each in done.replaced:
        yield f"It replaces the age given before: {each}."
    if done.rivals:
        yield f"Another name is on this face ({', '.join(done.rivals)}): one of them is right, neither counts alone."
    yield from _outcome(then, done.change)


def _outcome(then: Outcome | None, change: int | None) -> Iterator[str]:
    """What follows from it: the date as it is now, or what does not fit."""
    if then is None:
        return
    yield from then.misfits
    if then.touches_parentage:
        yield "This touches who somebody's parents were: look at it alone first."
    if then.misfits:
        back = f"; kinphoto undo {change} takes this back" if change is not None else ""
        yield f"The ways out: kinphoto conflicts{back}."
    elif then.disputed:
        yield "Something else on it does not fit together: kinphoto conflicts."
    yield f"{then.dated.code} now: {then.date}."


def _outcome_document(then: Outcome | None) -> dict[str, Any]:
    """The same for scripts."""
    from kinphoto.cli.findings import estimate_document

    return {
        "date": None if then is None else estimate_document(then.dated.estimate),
        "misfits": [] if then is None else list(then.misfits),
    }


def _warn_all(warnings: Sequence[str]) -> None:
    for warning in warnings:
        warn(warning)
