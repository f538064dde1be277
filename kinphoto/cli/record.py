"""`kinphoto link`, `state`, `process`, `format`, `relate`, `describe`: one by one, or many at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, warn
from kinphoto.phrases import counted
from kinphoto.reason.model.evidence import Claim

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.dates.outcome import Outcome
    from kinphoto.archive.statements.appearances import Linked
    from kinphoto.archive.statements.claims import NewClaim, Recorded
    from kinphoto.documents import Together
    from kinphoto.gedcom.dates_in_text import DateFound

Rejected = Sequence[tuple[int, str]]  # the line of a row, and why it could not be applied
Photo = Annotated[
    str | None, typer.Argument(metavar="PHOTO", help="A code, the path of a scan or the end of it.", show_default=False)
]
Trust = Annotated[
    str | None, typer.Option(metavar="certain|strong|fair|weak", help="How sure they are; there is a sensible default.")
]
By = Annotated[str | None, typer.Option(metavar="NAME", help="Who told us.")]
From = Annotated[
    Path | None, typer.Option("--from", metavar="FILE.csv", help="Apply the rows of a spreadsheet instead.")
]
KeepGoing = Annotated[
    bool, typer.Option("--keep-going", help="With --from: apply the good rows even if others cannot be.")
]


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
            metavar="L,T,W,H", help="Where the face is, as fractions of the upright picture; or a face's id (R3, A7)."
        ),
    ] = None,
    age: Annotated[
        str | None, typer.Option(metavar="AGE", help="How old the person looks: 7, 25-30, about 30, 6m.")
    ] = None,
    stated_age: Annotated[
        str | None, typer.Option(metavar="AGE", help="How old the person was, if somebody knows.")
    ] = None,
    unseen: Annotated[
        bool, typer.Option("--unseen", help="The age was judged before any name or date was seen.")
    ] = False,
    role: Annotated[
        str | None,
        typer.Option(
            metavar="present|likeness|laid-out", help="There in person, a likeness, or photographed after death."
        ),
    ] = None,
    denied: Annotated[bool, typer.Option("--not", help="Record that it is not this person.")] = False,
    trust: Trust = None,
    by: By = None,
    why: Annotated[
        str | None, typer.Option(metavar="TEXT", help="What shows that it is (or is not) this person.")
    ] = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record who is in a photograph, where, and how old.

    A second name on the same face is a rival: one of the two is right, and neither counts alone.
    """
    store = open_archive(archive)
    if source is not None:
        _apply_sheet(store, "links", source, keep_going, as_json, alone=not (photograph or person))
        return
    if unseen and not (age or stated_age):
        raise typer.BadParameter("--unseen is about an age: give --age too.")
    from kinphoto.archive.statements.appearances import Link

    link_ = Link(
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
    done, warnings = store.statements.link(link_)
    _warn_all(warnings)
    then = store.dates.outcome(done.photograph, [done.appearance, *done.statements])
    answer(as_json, _with_consequence(done, then), _linked_lines(done, then))


def state(
    photograph: Photo = None,
    kind: Annotated[
        str | None,
        typer.Argument(
            metavar="KIND",
            help=f"{', '.join(Claim)} or event.",
            show_default=False,
        ),
    ] = None,
    date: Annotated[
        str | None,
        typer.Argument(
            metavar="[DATE]",
            help="As people say it: 1924, about 1924, May 1924, before Ada was born, when Ada was three. For event its "
            'name, "wedding of Lambert and Agnes", or its key F3:MARR; `exif` with taken for a picture from a digital '
            "camera.",
            show_default=False,
        ),
    ] = None,
    event: Annotated[
        str | None,
        typer.Option(
            "--event",
            metavar="EVENT",
            help='The event in the tree it shows, instead of KIND and DATE: "wedding of Lambert and Agnes".',
        ),
    ] = None,
    text: Annotated[str | None, typer.Option(metavar="WORDS", help="The words, exactly as they are written.")] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a clue to when a photograph was taken, or the words on its back."""
    store = open_archive(archive)
    if source is not None:
        _apply_sheet(store, "statements", source, keep_going, as_json, alone=not (photograph or kind or event))
        return
    from kinphoto.archive.statements.claims import NewClaim

    if event is not None:
        if kind is not None and (date is not None or kind.casefold() != "event"):
            raise typer.BadParameter("give KIND and DATE, or --event, not both.")
        kind, date = "event", event
    claim = NewClaim(
        photograph=_needed(photograph, "PHOTO"), kind=_needed(kind, "KIND"), date=date, text=text, trust=trust, by=by
    )
    done, warnings = store.statements.record(claim)
    _answer_recorded(store, as_json, done, warnings, _dates_offered(done, claim))


def _dates_offered(done: Recorded, claim: NewClaim) -> Iterator[str]:
    """The dates in the words, none of which is used yet, and how to record one."""
    if not done.dates_found:
        return
    from shlex import quote

    from kinphoto.archive.words.dates import found_in_words

    for found in done.dates_found:
        yield f"In these words: {found_in_words(found)}."
    if any(found.readings for found in done.dates_found):
        by = f" --by {quote(claim.by)}" if claim.by else ""
        again = f"kinphoto state {done.photograph} {claim.kind} DATE --text {quote(claim.text or '')}{by}"
        yield f"No date is used until you record it: {again}"


def read(
    text: Annotated[
        str, typer.Argument(metavar="WORDS", help="The words, such as those on a back.", show_default=False)
    ],
    as_json: JsonOption = False,
) -> None:
    """Show which dates are in some words, and how they would be read. Nothing is recorded, and no archive is needed.

    A date with several meanings is shown with all of them: record the one that is meant.
    """
    from datetime import date

    from kinphoto.cli.documents import DatesInWords
    from kinphoto.gedcom.dates_in_text import find_dates

    found = find_dates(text, date.today())
    answer(as_json, DatesInWords(found), _dates_read(found))


def _dates_read(found: tuple[DateFound, ...]) -> Iterator[str]:
    from kinphoto.archive.words.dates import found_in_words
    from kinphoto.gedcom.on_photographs import REMEDY

    if not found:
        yield f"There is no date in these words. If there should be one: {REMEDY}"
    for one in found:
        yield f"{found_in_words(one)}."


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
    """Record how a photograph was made; the years of that process help to date it."""
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
    """Record what kind of object a photograph is; the years when such objects were made help to date it."""
    _made("format", photograph, name, trust, by, source, keep_going, archive, as_json)


def relate(
    photograph: Photo = None,
    relation: Annotated[
        str | None,
        typer.Argument(
            metavar="RELATION",
            help="before, after, same-occasion, same-strip (frames of one film), copy-of, same-negative, or part-of (a "
            "print on an album page).",
            show_default=False,
        ),
    ] = None,
    others: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="PHOTO...",
            help="The other photograph, or the page. If you give several, each is related to the first in this way.",
            show_default=False,
        ),
    ] = None,
    trust: Trust = None,
    by: By = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record how two photographs are related, or several to the first; their dates follow."""
    store = open_archive(archive)
    if source is not None:
        _apply_sheet(store, "relations", source, keep_going, as_json, alone=not (photograph or relation))
        return
    from kinphoto.archive.statements.claims import Tie

    one, how = _needed(photograph, "PHOTO"), _needed(relation, "RELATION")
    named = others or [_needed(None, "the other PHOTO")]
    ties = [Tie(photograph=one, relation=how, other=other, trust=trust, by=by) for other in named]
    if len(ties) == 1:
        _answer_recorded(store, as_json, *store.statements.relate(ties[0]))
        return
    done = store.statements.relate_all(ties)
    then = store.dates.outcome(done[0].photograph, [each.statement for each in done])
    words = chain.from_iterable(_recorded_lines(each, None) for each in done)
    answer(as_json, {"recorded": done}, chain(words, _outcome_lines(then, done[0].change)))


def describe(
    photograph: Photo = None,
    title: Annotated[str | None, typer.Option(metavar="TEXT", help="A short title.")] = None,
    place: Annotated[str | None, typer.Option(metavar="TEXT", help="Where it was taken.")] = None,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="Anything else about it.")] = None,
    rights: Annotated[str | None, typer.Option(metavar="TEXT", help="Whose it is, and who may use it.")] = None,
    maker: Annotated[str | None, typer.Option(metavar="TEXT", help="The photographer or studio.")] = None,
    former_number: Annotated[str | None, typer.Option(metavar="TEXT", help="An earlier number.")] = None,
    container: Annotated[str | None, typer.Option(metavar="NAME", help="The box, album or envelope it is in.")] = None,
    source: From = None,
    keep_going: KeepGoing = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Describe the object: title, place, maker, the box it is in."""
    store = open_archive(archive)
    if source is not None:
        _apply_sheet(store, "objects", source, keep_going, as_json, alone=photograph is None)
        return
    if photograph is None:
        raise typer.BadParameter("PHOTO is missing (or give a spreadsheet with --from).")
    from kinphoto.archive.statements.descriptions import Description

    description = Description(
        title=title,
        place=place,
        note=note,
        rights=rights,
        maker=maker,
        former_number=former_number,
        container=container,
    )
    from kinphoto.archive.words.fields import FIELDS

    done = store.photographs.describe(photograph, description)
    fields = "; ".join(f"{FIELDS[name]}: {value or '(nothing)'}" for name, value in done.given.items())
    answer(as_json, done, f"{done.photograph}: {fields}")


def _apply_sheet(store: Archive, name: str, source: Path, keep_going: bool, as_json: bool, *, alone: bool) -> None:
    """Apply a spreadsheet and print what became of its rows; `alone` is False when a photograph was named beside it."""
    from kinphoto.archive.statements.spreadsheets import Applied, RejectedRow
    from kinphoto.errors import RowsRejectedError

    if not alone:
        raise typer.BadParameter("give either a photograph or a spreadsheet with --from, not both.")
    try:
        done = store.statements.apply_spreadsheet(name, source, keep_going)
    except RowsRejectedError as problem:
        if as_json:
            answer(True, Applied(0, tuple(RejectedRow(*row) for row in problem.rejected), ()), iter(()))
        raise
    _warn_all(done.warnings)
    answer(as_json, done, _sheet_lines(done.applied, done.rejected))


def _made(
    kind: str, photograph: str | None, name: str | None, trust: str | None, by: str | None, source: Path | None,
    keep_going: bool, archive: Path | None, as_json: bool,
) -> None:  # fmt: skip
    store = open_archive(archive)
    if source is not None:
        sheet = {"process": "processes", "format": "formats"}[kind]
        _apply_sheet(store, sheet, source, keep_going, as_json, alone=not (photograph or name))
        return
    _answer_recorded(
        store,
        as_json,
        *store.statements.record_making(_needed(photograph, "PHOTO"), kind, _needed(name, "NAME"), trust, by),
    )


def _needed(value: str | None, what: str) -> str:
    if value is None:
        raise typer.BadParameter(f"{what} is missing (or give a spreadsheet with --from).")
    return value


def _sheet_lines(applied: int, rejected: Rejected) -> Iterator[str]:
    yield f"{counted(applied, 'row')} applied."
    for line, why in rejected:
        yield f"  line {line} was left out: {why}"


def _answer_recorded(
    store: Archive, as_json: bool, done: Recorded, warnings: list[str], offered: Iterable[str] = ()
) -> None:
    _warn_all(warnings)
    then = store.dates.outcome(done.photograph, [done.statement])
    answer(as_json, _with_consequence(done, then), chain(_recorded_lines(done, then), offered))


def _recorded_lines(done: Recorded, then: Outcome | None) -> Iterator[str]:
    before = "" if done.changed else " (already recorded)"
    yield f"{done.photograph}: {done.words} [{done.statement}]{before}"
    for caution in done.cautions:
        yield f"Take care: {caution}"
    yield from _outcome_lines(then, done.change)


def _linked_lines(done: Linked, then: Outcome | None) -> Iterator[str]:
    before = "" if done.changed else " (already recorded)"
    yield f"{done.photograph}: {done.words} [{done.appearance}]{before}"
    for each in done.replaced:
        yield f"It replaces the earlier age: {each}."
    if done.rivals:
        yield f"There is another name on this face ({', '.join(done.rivals)}): one is right, and neither counts alone."
    yield from _outcome_lines(then, done.change)


def _outcome_lines(then: Outcome | None, change: int | None) -> Iterator[str]:
    """What follows from it: the date as it is now, or what does not fit."""
    if then is None:
        return
    from kinphoto.archive.words.ways_out import QUIET

    yield from then.misfits
    if then.touches_parentage:
        yield QUIET
    if then.misfits:
        back = f" To undo this: kinphoto undo {change}" if change is not None else ""
        yield f"For possible answers: kinphoto conflicts.{back}"
    elif then.disputed:
        yield "It is also part of another conflict: kinphoto conflicts"
    yield f"Date of {then.dated.code}: {then.date}."


def _with_consequence(done: Linked | Recorded, then: Outcome | None) -> Together:
    """The same for scripts."""
    from kinphoto.cli.documents import Consequence
    from kinphoto.documents import Together

    return Together(done, Consequence.of(then))


def _warn_all(warnings: Sequence[str]) -> None:
    for warning in warnings:
        warn(warning)
