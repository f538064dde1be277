"""What affects a photograph's date: what was said or written, what it is, and how it is related to others."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from textwrap import shorten
from typing import Annotated, Any, TypeVar

from sqlalchemy import select

from kinphoto.archive.catalogue.by_life import ByEvent, by_life, company_of
from kinphoto.archive.catalogue.event_names import event_words, relative_words
from kinphoto.archive.catalogue.finding_events import find_event
from kinphoto.archive.catalogue.kinds import OF_EXPOSURE
from kinphoto.archive.catalogue.recorded_dates import date_columns
from kinphoto.archive.catalogue.unborn import in_the_picture, unborn
from kinphoto.archive.catalogue.vocabulary import KINDS, MADE_UNCLEAR, RELATIONS, plain
from kinphoto.archive.statements.dates_in_words import found_in
from kinphoto.archive.statements.recorder import Recorder, Row, parse_trust, recorded_with_warnings
from kinphoto.archive.words.dates import on_the_clock
from kinphoto.archive.words.sentences import on
from kinphoto.errors import ImpossibleDateError, InvalidValueError, NotFoundError, UnclearDateError
from kinphoto.gedcom.dates import parse_photograph_date
from kinphoto.gedcom.dates_in_text import DateFound, parse_said, read_date
from kinphoto.gedcom.wording import words
from kinphoto.reason.model import processes
from kinphoto.reason.model.span import Dated
from kinphoto.store import tables as t
from kinphoto.store.session import Work

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewClaim:
    """A statement about one photograph. `date` is a date as people say it, in GEDCOM or EDTF, or an event of a life
    ("before Ada was born"); the key of an event; or "exif"."""

    photograph: str
    kind: str
    date: str | None = None
    text: str | None = None
    trust: str | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """One photograph's relation to another."""

    photograph: str
    relation: str
    other: str
    trust: str | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded."""

    photograph: Annotated[str, "the photograph's code"]
    statement: Annotated[str, "the id of the statement, `S12`"]
    words: Annotated[str, "what was recorded, in words"]
    changed: Annotated[bool, "false when it had been recorded before"]
    cautions: Annotated[tuple[str, ...], "what to take care of with such an object"] = ()
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None
    dates_found: Annotated[tuple[DateFound, ...], "dates in the words, when none was given; none of them is used"] = ()


def state(recorder: Recorder, said: NewClaim) -> Recorded:
    """Record a dated statement, or words without a date. The date of words that the same informant gave before without
    one is added to them.

    Raises NotFoundError, AmbiguousError, or InvalidValueError for an unknown kind, a date that cannot be read, or an
    event that is not in the tree.
    """
    kind = _kind(said.kind, _today(recorder))
    photograph = recorder.photograph(said.photograph)
    written, text, trust = (said.date or "").strip(), said.text or "", parse_trust(said.trust)
    values: dict[str, Any] = {"text": text}
    found: tuple[DateFound, ...] = ()
    if kind == "event":
        values["value"] = find_event(recorder.connection, written)
        summary = event_words(recorder.connection, values["value"])
    elif written.casefold() == "exif" and kind == "taken":
        values |= _day_of_camera(recorder, photograph) | ({"text": text} if text else {})
        summary = f"taken {on(parse_photograph_date(values['date_text'], _today(recorder)))}, by its camera"
    elif written:
        written = marked_as_in(text, written)
        dated = _date_or_event(recorder, photograph, written, said.by)
        if isinstance(dated, ByEvent):
            values |= _dated_by_event(kind, dated) | {"date_text": written}
            when = relative_words(recorder.connection, dated.event, dated.lapse)
            summary = f"{kind} {when}"
        else:
            values |= date_columns(dated) | {"date_text": written}
            summary = f"taken {on(dated)}" if kind == "taken" else f"{kind} {words(dated)}"
            recorder.warnings += _doubts(recorder, photograph, dated)
    elif text:
        summary = f"{kind} “{shorten(text, 80, placeholder=' …')}”"
        found = found_in(recorder.connection, photograph["id"], text, said.by, _today(recorder))
    else:
        raise InvalidValueError(f"a statement of kind {kind} needs a date or words", remedy="Add a date, or --text.")
    done = _record(recorder, photograph, kind, values, trust, said.by, summary)
    return replace(done, dates_found=found)


def _date_or_event(recorder: Recorder, photograph: Row, written: str, by: str | None) -> Dated | ByEvent:
    """A date; or where the words are none, the event that they date the picture by. Raises what `parse_said` and
    `by_life` raise."""
    try:
        return parse_said(written, _today(recorder))
    except (UnclearDateError, ImpossibleDateError):
        raise
    except InvalidValueError:
        found = by_life(recorder.connection, written, company_of(recorder.connection, photograph["id"], by))
        if found is None:
            raise
        return found


def _dated_by_event(kind: str, found: ByEvent) -> dict[str, Any]:
    """The columns of a date that is given by an event."""
    if kind not in OF_EXPOSURE:
        raise InvalidValueError(
            f"a {kind} has a date of its own, and cannot be dated by somebody's life",
            remedy=f"Use one of {', '.join(OF_EXPOSURE)}; or give the date.",
        )
    return {"value": found.event, "days_from": found.lapse.first, "days_to": found.lapse.last}


record = recorded_with_warnings(state)


def record_all(work: Work, claims: Sequence[NewClaim]) -> tuple[Recorded, ...]:
    """Record several statements, all of them or none. Raises the same."""
    return _all(work, claims, state)


def _all(work: Work, given: Sequence[T], record_one: Callable[[Recorder, T], Recorded]) -> tuple[Recorded, ...]:
    recorder = Recorder(work)
    done = [record_one(recorder, one) for one in given]
    if len(done) > 1:
        work.what += f" (and {len(done) - 1} more)"
    return recorder.finish(done)


def marked_as_in(text: str, written: str) -> str:
    """A year with the mark it has in the words it was read from: 1924 of "Skerry Point, 1924?" is "1924?".

    Somebody who types the words as they stand and a bare year beside them means the year with its mark.
    """
    year = written.strip()
    if not re.fullmatch(r"\d{4}", year):
        return written
    about = re.search(rf"(?i)\b(?:c\.?|ca\.?|circa|about|abt\.?)\s*{year}(?!\d)", text)
    perhaps = re.search(rf"(?<!\d){year}\s*(?:\?|\(\?\))", text)
    return f"{'about ' if about else ''}{year}{'?' if perhaps else ''}"


def _today(recorder: Recorder) -> date:
    return on_the_clock(recorder.work.at).date()


def _doubts(recorder: Recorder, photograph: Row, dated: Dated) -> list[str]:
    """What is odd about a date that was recorded all the same."""
    seen = recorder.of(t.appearance, photograph["id"])
    people = {a["person_id"] for a in seen if in_the_picture(a["role"], a["denied"], a["person_id"])}
    found = unborn(recorder.connection, photograph["code"], recorder.lived(people), dated)
    return [f"{found}. If the date is right, look at the names again."] if found else []


def made(
    recorder: Recorder, photograph: str, kind: str, name: str, trust: str | None = None, by: str | None = None
) -> Recorded:
    """Record a process or format.

    An object was made in one way: another process that the same informant gave before is withdrawn. It can be of
    several formats: a postcard with a divided back and a white border. Raises InvalidValueError for a name that is not
    in the table.
    """
    row, entry = recorder.photograph(photograph), find_process(name, kind)
    level, informant = parse_trust(trust), recorder.informant(by)
    summary = f"{kind} {entry.title}"
    for old in list(recorder.of(t.statement, row["id"])) if kind == "process" else ():
        if (old["kind"], old["informant_id"]) == (kind, informant) and old["value"] != entry.name:
            recorder.withdraw(t.statement, old)
            summary += f", not {processes.load()[old['value']].title} (S{old['id']}, withdrawn)"
    return _record(recorder, row, kind, {"value": entry.name, "text": ""}, level, by, summary, entry.cautions)


record_making = recorded_with_warnings(made)


def record_making_of_all(
    work: Work, photographs: Sequence[str], kind: str, name: str, by: str | None = None
) -> tuple[Recorded, ...]:
    """Record one process or format of several photographs, of all of them or none. Raises the same."""
    return _all(work, photographs, lambda recorder, code: made(recorder, code, kind, name, by=by))


def _kind(text: str, today: date) -> str:
    """The kind of statement that is meant. Raises InvalidValueError; for a date, with what is missing before it."""
    try:
        return KINDS.read(text)
    except InvalidValueError:
        found = read_date(text, today)
        if not (found.readings or found.impossible):
            raise
    raise InvalidValueError(
        f"'{text}' is a date, not a kind of statement",
        remedy="Say first how it is known: inscription for a date written on the photograph, recollection for one that "
        "somebody remembers, taken where there is no doubt.",
    )


def relate(recorder: Recorder, tie: Tie) -> Recorded:
    """Record how two photographs are related.

    Raises InvalidValueError for a photograph and itself, and for two that would each be the copy or page of the other.
    """
    relation = RELATIONS.read(tie.relation)
    one, other = recorder.photograph(tie.photograph), recorder.photograph(tie.other)
    if one["id"] == other["id"]:
        raise InvalidValueError(
            f"{one['code']} cannot be related to itself", remedy="For a back or rescan: kinphoto scans join."
        )
    trust, summary = parse_trust(tie.trust), f"{relation} {other['code']}"
    turned = _turned(recorder, one["id"], relation, other["id"])
    if turned is not None and relation in ("copy-of", "part-of"):
        raise InvalidValueError(
            f"{other['code']} is already recorded as {relation} {one['code']} (S{turned['id']})",
            remedy=f"If that is the wrong way round: kinphoto withdraw S{turned['id']}, then this again.",
        )
    opposite = _opposite(recorder, one["id"], relation, other["id"])
    if opposite is not None:
        recorder.warnings.append(
            f"S{opposite['id']} says the opposite: {one['code']} {_TURNED[relation]} {other['code']}. "
            "Both are kept until somebody says which is right: kinphoto conflicts."
        )
    if relation == "part-of":
        recorder.change(t.photograph, other, page=1)
    if turned is not None and turned["informant_id"] == recorder.informant(tie.by):  # said already, from the other side
        changed = trust is not None and recorder.change(t.statement, turned, trust=trust)
        return Recorded(one["code"], f"S{turned['id']}", summary, changed)
    return _record(recorder, one, relation, {"other_id": other["id"], "text": ""}, trust, tie.by, summary)


record_relation = recorded_with_warnings(relate)


def relate_all(work: Work, ties: Sequence[Tie]) -> tuple[Recorded, ...]:
    """Record several relations, all of them or none. Raises the same."""
    return _all(work, ties, relate)


_TURNED = {"before": "after", "after": "before"}


def _turned(recorder: Recorder, one: int, relation: str, other: int) -> Row | None:
    """The same relation as said from the other photograph: that one is before this, this one is after that."""
    kind = _TURNED.get(relation, relation)
    return next((s for s in recorder.of(t.statement, other) if s["kind"] == kind and s["other_id"] == one), None)


def _opposite(recorder: Recorder, one: int, relation: str, other: int) -> Row | None:
    """A statement that puts two photographs in the other order."""
    if relation not in _TURNED:
        return None
    return _turned(recorder, other, relation, one) or _turned(recorder, one, _TURNED[relation], other)


def find_process(name: str, kind: str) -> processes.Process:
    """The process or format of this name. Raises InvalidValueError with the words to use when there is none, or when
    it can be several."""
    found = processes.named(name, kind)
    if found is not None:
        return found
    unclear = MADE_UNCLEAR.get(plain(name)) or MADE_UNCLEAR.get(plain(name).removesuffix("s"))
    if unclear is not None:
        which = "which process" if kind == "process" else "which format"
        raise InvalidValueError(f"'{name}' alone does not say {which}", remedy=unclear)
    other = "process" if kind == "format" else "format"
    elsewhere = processes.named(name, other)
    if elsewhere is not None:
        raise InvalidValueError(f"'{name}' is a {other}, not a {kind}", remedy=f"Record it as the {other}: "
                                f"kinphoto {other} PHOTO {elsewhere.name}.")  # fmt: skip
    near = processes.near(name, kind)
    known = ", ".join(near or (p.name for p in processes.load().values() if p.kind == kind))
    remedy = f"Did you mean {known}?" if near else f"Choose one of {known}."
    raise InvalidValueError(f"there is no {kind} '{name}'", remedy=remedy)


def _record(
    recorder: Recorder, photograph: Any, kind: str, values: dict[str, Any], trust: str | None, by: str | None,
    summary: str, cautions: tuple[str, ...] = (),
) -> Recorded:  # fmt: skip
    """Record a statement, or find that the same informant said the same before."""
    said = {"kind": kind, "informant_id": recorder.informant(by), **values}
    for old in recorder.of(t.statement, photograph["id"]):
        if all(old[key] == value for key, value in said.items()):
            changed = trust is not None and recorder.change(t.statement, old, trust=trust)
            return Recorded(photograph["code"], f"S{old['id']}", summary, changed, cautions)
    undated = _same_words_undated(recorder, photograph, said)
    if undated is not None:
        recorder.change(t.statement, undated, **values, **({} if trust is None else {"trust": trust}))
        recorder.work.what = f"recorded the date of words on {photograph['code']}: {summary}"
        return Recorded(photograph["code"], f"S{undated['id']}", summary, True, cautions)
    id_ = recorder.add(t.statement, photograph_id=photograph["id"], trust=trust, said_at=recorder.work.at, **said)
    recorder.work.what = f"recorded for {photograph['code']}: {summary}"
    return Recorded(photograph["code"], f"S{id_}", summary, True, cautions)


def _same_words_undated(recorder: Recorder, photograph: Any, said: dict[str, Any]) -> Row | None:
    """The statement of the same words, by the same informant, that has no date yet; None when there is none, or when
    no date is given now either."""
    if not said.get("date_text") or not said["text"]:
        return None
    same = ("kind", "informant_id", "text")
    return next(
        (
            old
            for old in recorder.of(t.statement, photograph["id"])
            if not old["date_text"] and all(old[key] == said[key] for key in same)
        ),
        None,
    )


def _day_of_camera(recorder: Recorder, photograph: Any) -> dict[str, Any]:
    """The day a camera wrote into the file: EXIF DateTimeOriginal, `YYYY:MM:DD HH:MM:SS`, blank when unknown.

    A clock that was never set, or runs ahead, says nothing.
    """
    s = t.scan.c
    found = recorder.connection.scalars(
        select(s.exif_original)
        .where(s.photograph_id == photograph["id"], s.exif_original.is_not(None))
        .order_by(s.side != "recto", s.position, s.id)
    )
    for written in found:
        day = str(written)[:10].replace(":", "-")
        try:
            columns = date_columns(parse_photograph_date(day, _today(recorder)))
            return columns | {"date_text": day, "text": "born digital"}
        except InvalidValueError:
            continue
    raise NotFoundError(
        f"no scan of {photograph['code']} records when it was taken",
        remedy=f"Give the date yourself: kinphoto state {photograph['code']} taken DATE.",
    )
