"""What bears on a photograph's date: what was said or written, what it is, and what it hangs together with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from kinphoto.archive.desk import Desk, Row, parse_trust
from kinphoto.archive.kinds import DATED_KINDS, RELATION_KINDS
from kinphoto.archive.sentences import EVENT_WORDS
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.reason import processes
from kinphoto.reason.span import Dated, Span
from kinphoto.store import tables as t
from kinphoto.tree.dates import parse_date
from kinphoto.tree.wording import words


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A statement about one photograph. `date` is a date in GEDCOM or EDTF, the key of an event, or "exif"."""

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
    """What was recorded: `words` tells it, `cautions` warn; `changed` is False when it had been recorded before."""

    photograph: str
    statement: str
    words: str
    changed: bool
    cautions: tuple[str, ...] = ()


def state(desk: Desk, said: Said) -> Recorded:
    """Record a dated statement, or words without a date.

    Raises NotFoundError, AmbiguousError, or InvalidValueError for an unknown kind, a date that cannot be read, or an
    event that is not in the tree.
    """
    kind = said.kind.strip().casefold()
    if kind not in DATED_KINDS:
        raise InvalidValueError(
            f"'{said.kind}' is no kind of statement", remedy=f"Use one of {', '.join(DATED_KINDS)}."
        )
    photograph = desk.photograph(said.photograph)
    date, text, trust = (said.date or "").strip(), said.text or "", parse_trust(said.trust)
    values: dict[str, Any] = {"text": text}
    if kind == "event":
        values["value"] = find_event(desk.connection, date)
        told = _event_words(values["value"])
    elif date.casefold() == "exif" and kind == "taken":
        values |= _day_of_camera(desk.connection, photograph)
        told = f"taken {words(parse_date(values['date_text']))}, by its camera"
    elif date:
        values |= date_columns(parse_date(date)) | {"date_text": date}
        told = f"{kind} {words(parse_date(date))}"
    elif text:
        told = f"{kind} “{text}”"
    else:
        raise InvalidValueError(f"a statement of kind {kind} needs a date or words", remedy="Add a date, or --text.")
    return _record(desk, photograph, kind, values, trust, said.by, told)


def made(
    desk: Desk, photograph: str, kind: str, name: str, trust: str | None = None, by: str | None = None
) -> Recorded:
    """Record a process or format; what the same informant said of it before is withdrawn.

    Raises InvalidValueError for a name that is not in the table.
    """
    row = desk.photograph(photograph)
    entry = processes.named(name, kind)
    if entry is None:
        near = processes.near(name, kind) or [e.name for e in processes.load().values() if e.kind == kind]
        raise InvalidValueError(f"there is no {kind} '{name}'", remedy=f"Did you mean {', '.join(near)}?")
    level, informant = parse_trust(trust), desk.informant(by)
    for old in list(desk.of(t.statement, row["id"])):
        if (old["kind"], old.get("informant_id")) == (kind, informant) and old["value"] != entry.name:
            desk.withdraw(t.statement, old)
    told = f"{kind} {entry.title}"
    return _record(desk, row, kind, {"value": entry.name, "text": ""}, level, by, told, entry.cautions)


def relate(desk: Desk, tie: Tie) -> Recorded:
    """Record how two photographs hang together. Raises InvalidValueError for a photograph and itself."""
    relation = tie.relation.strip().casefold()
    if relation not in RELATION_KINDS:
        raise InvalidValueError(f"'{tie.relation}' is no relation", remedy=f"Use one of {', '.join(RELATION_KINDS)}.")
    one, other = desk.photograph(tie.photograph), desk.photograph(tie.other)
    if one["id"] == other["id"]:
        raise InvalidValueError(
            f"{one['code']} cannot be related to itself", remedy="For a back or rescan: kinphoto scans join."
        )
    trust = parse_trust(tie.trust)
    if relation == "part-of" and not other["page"]:
        desk.work.update(t.photograph, [other["id"]], page=1)
    told = f"{relation} {other['code']}"
    return _record(desk, one, relation, {"other_id": other["id"], "text": ""}, trust, tie.by, told)


def find_event(connection: Connection, key: str) -> str:
    """The key of an event of the tree (`F3:MARR`) as the archive writes it.

    Raises InvalidValueError for something that is no key, NotFoundError when that person or family has no such event.
    """
    code, colon, tag = key.strip().replace("@", "").upper().partition(":")
    if not colon or not code or not tag:
        raise InvalidValueError(
            f"'{key}' names no event", remedy="Give a family or person and the event, such as F3:MARR or I12:GRAD."
        )
    for table, column in ((t.family, t.event.c.family_id), (t.person, t.event.c.person_id)):
        owner = connection.scalar(select(table.c.id).where(table.c.code == code))
        if owner is None:
            continue
        tags = list(connection.scalars(select(t.event.c.tag).where(column == owner).distinct()))
        if tag in tags:
            return f"{code}:{tag}"
        known = ", ".join(f"{code}:{other}" for other in sorted(tags)) or "none"
        raise NotFoundError(f"{code} has no event {tag} in the tree", remedy=f"Its events: {known}.")
    raise NotFoundError(f"there is nobody and no family {code} in the tree", remedy="Look them up: kinphoto people.")


def date_columns(dated: Dated) -> dict[str, Any]:
    """The columns in which `event` and `statement` keep a date."""
    return {
        "first": dated.span.first,
        "last": dated.span.last,
        "shape": str(dated.shape),
        "centre": dated.centre,
        "spread": dated.spread,
        "doubtful": int(dated.doubtful),
    }


def _record(
    desk: Desk, photograph: Any, kind: str, values: dict[str, Any], trust: str | None, by: str | None, told: str,
    cautions: tuple[str, ...] = (),
) -> Recorded:  # fmt: skip
    informant = desk.informant(by)
    old = _same(desk, photograph["id"], kind, values, informant)
    if old is not None:
        changed = trust is not None and desk.change(t.statement, old, trust=trust)
        return Recorded(photograph["code"], f"S{old['id']}", told, changed, cautions)
    id_ = desk.add(
        t.statement,
        photograph_id=photograph["id"],
        kind=kind,
        trust=trust,
        informant_id=informant,
        said_at=desk.work.at,
        withdrawn=0,
        **values,
    )
    desk.work.what = f"recorded of {photograph['code']}: {told}"
    return Recorded(photograph["code"], f"S{id_}", told, True, cautions)


def _same(desk: Desk, photograph_id: int, kind: str, values: dict[str, Any], informant: int | None) -> Row | None:
    """The statement that says the same by the same informant, if there is one."""
    for row in desk.of(t.statement, photograph_id):
        alike = all((row.get(key) or None) == (value or None) for key, value in values.items())
        if alike and row["kind"] == kind and row.get("informant_id") == informant:
            return row
    return None


def _event_words(key: str) -> str:
    code, _, tag = key.partition(":")
    return f"shows {EVENT_WORDS.get(tag, f'the event {tag}')} of {code}"


def _day_of_camera(connection: Connection, photograph: Any) -> dict[str, Any]:
    """The day a camera wrote into the file: EXIF DateTimeOriginal, `YYYY:MM:DD HH:MM:SS`."""
    s = t.scan.c
    taken = connection.scalar(
        select(s.exif_original).where(s.photograph_id == photograph["id"], s.exif_original.is_not(None)).limit(1)
    )
    if taken is None:
        raise NotFoundError(
            f"no scan of {photograph['code']} says when its camera took it", remedy="Give the date itself."
        )
    day = str(taken)[:10].replace(":", "-")
    dated = parse_date(day)
    if not isinstance(dated.span, Span) or not dated.span.bounded:
        raise InvalidValueError(f"the camera's date of {photograph['code']} is no date: {taken}", remedy="Give it.")
    return date_columns(dated) | {"date_text": day, "text": "born digital"}
