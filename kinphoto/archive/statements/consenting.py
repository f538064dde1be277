"""Recording what may leave the archive: audiences, what the living agreed to, what the keeper marked or looked through.

All of it goes through the journal, so the history shows who was asked and when it was revoked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of, with_id
from kinphoto.archive.catalogue.consents import (
    EVERYTHING,
    FACES,
    HOUSEHOLD,
    NOTHING,
    PICTURES,
    PUBLIC,
    TELLING,
    WORDS,
    faces_digest,
    story_digest,
    words_digest,
)
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.finding_people import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.catalogue.stories import find_story, is_story
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model.span import iso
from kinphoto.store import tables as t
from kinphoto.store.session import Work

_WHAT = {
    EVERYTHING: "name, life and pictures", PICTURES: "pictures without a name", NOTHING: "nothing",
    FACES: "the faces without a name", WORDS: "the words", TELLING: "sharing it",
}  # fmt: skip
_RELEASES = (FACES, WORDS)


@dataclass(frozen=True, slots=True)
class Audience:
    """Somebody that something can be given to."""

    name: Annotated[str, "what the audience is called; `household` and `public` are always there"]
    who: Annotated[str, "who belongs to it, in words"]
    changed: Annotated[bool, "true when this command added or changed it"] = False
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


@dataclass(frozen=True, slots=True)
class Consent:
    """What one of the living agreed to, or what the keeper released of a photograph."""

    id: Annotated[str, "its id, `C3`, as `give revoke` takes it"]
    audience: Annotated[str, "the audience it is for"]
    person: Annotated[Named | None, "who agreed; null for a release of a photograph or story"]
    photograph: Annotated[str | None, "the photograph released; null for a consent"]
    what: Annotated[
        str,
        "`everything`, `pictures` or `nothing` of a person; of a photograph `faces`, those without a name, or `words`, "
        "everything written on it or about it; of a story `telling`, its teller's consent, or `words`, all of it",
    ]
    branch: Annotated[bool, "true when it also holds for everybody descended from the person, and those they married"]
    on: Annotated[str, "the day on which it was given, YYYY-MM-DD"]
    asked_by: Annotated[str, "who asked, or who looked it through"]
    note: Annotated[str, "what else was noted"]
    revoked: Annotated[bool, "true when it was revoked and no longer holds"] = False
    story: Annotated[str | None, "the story it is about, `T3`; null for another"] = None

    @property
    def was_asked(self) -> bool:
        """Whether somebody was asked, and not something looked through."""
        return self.person is not None or self.what == TELLING

    @property
    def words(self) -> str:
        """ "Ada Marsh (I12) and her branch: name, life and pictures" """
        if self.person is None:
            return f"{self.story or self.photograph}: {_WHAT[self.what]}"
        branch = " and their branch" if self.branch else ""
        return f"{self.person.name} ({self.person.id}){branch}: {_WHAT[self.what]}"


class ConsentsRecorded(NamedTuple):
    """Consents or releases that were recorded or revoked in one change."""

    consents: Annotated[tuple[Consent, ...], "what holds now, or was revoked"]
    warnings: Annotated[tuple[str, ...], "what to look at"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


@dataclass(frozen=True, slots=True)
class Marked:
    """Photographs that were marked private, or are no longer."""

    photographs: Annotated[tuple[str, ...], "codes of the photographs named, ids of the stories"]
    private: Annotated[bool, "true when they are private now and never leave the archive"]
    changed: Annotated[tuple[str, ...], "those of them that were not so before"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


def audiences(connection: Connection) -> tuple[Audience, ...]:
    """The audiences, the household first and the public last."""
    rows = connection.execute(select(t.audience.c.name, t.audience.c.who)).all()
    relatives = sorted((Audience(row.name, row.who) for row in rows), key=lambda one: fold(one.name))
    return Audience(HOUSEHOLD, _WHO[HOUSEHOLD]), *relatives, Audience(PUBLIC, _WHO[PUBLIC])


_WHO = {HOUSEHOLD: "everybody under the keeper's roof", PUBLIC: "everybody"}


def find_audience(connection: Connection, text: str) -> str:
    """The name of the audience meant. Raises NotFoundError with those there are."""
    known = {fold(one.name): one.name for one in audiences(connection)}
    found = known.get(fold(text))
    if found is None:
        remedy = f"There are: {', '.join(known.values())}. To add one: kinphoto give audience NAME."
        raise NotFoundError(f"there is no audience called '{text}'", remedy=remedy)
    return found


def add_audience(work: Work, name: str, who: str | None = None) -> Audience:
    """Add a group of relatives, or say who belongs to it. Raises InvalidValueError."""
    plain = " ".join(name.split())
    if not plain or fold(plain) in (HOUSEHOLD, PUBLIC):
        raise InvalidValueError(
            f"'{name}' cannot be the name of a group of relatives",
            remedy=f"Use a name such as 'cousins'; {HOUSEHOLD} and {PUBLIC} are always there.",
        )
    row = next(
        (row for row in work.connection.execute(select(t.audience)).mappings() if fold(row["name"]) == fold(plain)),
        None,
    )
    if row is None:
        work.insert_one(t.audience, name=plain, who=(who or "").strip())
        work.what = f"added the audience {plain}"
        return Audience(plain, (who or "").strip(), True, work.id)
    if who is None or row["who"] == who.strip():
        return Audience(row["name"], row["who"])
    work.update(t.audience, [row["id"]], who=who.strip())
    work.what = f"said who belongs to the audience {row['name']}"
    return Audience(row["name"], who.strip(), True, work.id)


def record_consent(
    work: Work,
    person: str,
    audience: str,
    *,
    asked_by: str,
    on: str = "",
    what: str = EVERYTHING,
    branch: bool = False,
    note: str = "",
) -> ConsentsRecorded:
    """Record what somebody agreed to: everything, pictures or nothing. It takes the place of an earlier answer.

    Raises NotFoundError, AmbiguousError, and InvalidValueError for an unusable day, no name of who asked, a branch of
    the public, or a consent for the household.
    """
    to, who = _audience(work.connection, audience), find_person(work.connection, person)
    if what not in (EVERYTHING, PICTURES, NOTHING):
        raise InvalidValueError(
            f"'{what}' is not what somebody can agree to", remedy=f"Use {EVERYTHING}, {PICTURES} or {NOTHING}."
        )
    if branch and to == PUBLIC:
        raise InvalidValueError(
            "nobody can agree to publication for a whole branch",
            remedy="Ask each of them, or use --branch for a group of relatives.",
        )
    row = {"person_id": who["id"], "what": what, "branch": int(branch)}
    recorded = _record(work, to, [row], asked_by, on, note)
    warnings = []
    if who["id"] not in may_be_living(work.connection, {who["id"]}) and not branch:
        warnings.append(f"{with_id(who)} is not living, so nothing has to be agreed to.")
    work.what = f"recorded what {with_id(who)} agreed to for {to}: {_WHAT[what]}"
    return recorded._replace(warnings=tuple(warnings))


def release(
    work: Work, photographs: Sequence[str], audience: str, *, what: str, looked_by: str, on: str = "", note: str = ""
) -> ConsentsRecorded:
    """Record that the keeper looked through photographs: that those in them without a name may be shown, or that their
    words may go; or through stories, by their ids. Raises as `record_consent` does, and InvalidValueError for no
    photograph."""
    if not photographs:
        raise InvalidValueError("no photograph was named", remedy="Give codes such as K00042.")
    if what not in _RELEASES:
        raise InvalidValueError(f"'{what}' cannot be released", remedy=f"Use {FACES} or {WORDS}.")
    to = _audience(work.connection, audience)
    told = {find_story(work.connection, text)["id"] for text in photographs if is_story(text)}
    if told and what == FACES:
        raise InvalidValueError("a story shows no faces", remedy="To release all of a story use --words.")
    pictures = [find_photograph(work.connection, text) for text in photographs if not is_story(text)]
    found = {row["id"]: row["code"] for row in pictures}
    digests = (faces_digest if what == FACES else words_digest)(work.connection, found)
    heard = story_digest(work.connection, told)
    rows = [
        *({"photograph_id": id_, "what": what, "seen": digests[id_]} for id_ in found),
        *({"story_id": id_, "what": what, "seen": heard[id_]} for id_ in sorted(told)),
    ]
    recorded = _record(work, to, rows, looked_by, on, note)
    names = [*found.values(), *(f"T{id_}" for id_ in sorted(told))]
    work.what = f"released {_WHAT[what]} of {', '.join(names)} for {to}"
    return recorded


def record_telling(
    work: Work, story: str, audience: str, *, asked_by: str, on: str = "", note: str = ""
) -> ConsentsRecorded:
    """Record that the teller of a story agreed that it is passed on to an audience. Raises as `record_consent` does."""
    to, row = _audience(work.connection, audience), find_story(work.connection, story)
    recorded = _record(work, to, [{"story_id": row["id"], "what": TELLING}], asked_by, on, note)
    work.what = f"recorded that the teller of T{row['id']} agreed that it may be told to {to}"
    return recorded


def revoke(work: Work, id_: str) -> ConsentsRecorded:
    """Revoke a consent or release by its id. Raises NotFoundError."""
    number = id_.strip().upper().removeprefix("C")
    c = t.consent.c
    row = (
        work.connection.execute(select(t.consent).where(c.id == int(number))).mappings().first()
        if number.isdecimal() and len(number) < 16
        else None
    )
    if row is None:
        raise NotFoundError(f"there is no consent '{id_}'", remedy="To see them all: kinphoto give consents.")
    if not row["withdrawn"]:
        work.update(t.consent, [row["id"]], withdrawn=1)
    done = _shown(work.connection, [{**row, "withdrawn": 1}])
    work.what = f"revoked {done[0].id} for {done[0].audience} ({done[0].words})"
    return ConsentsRecorded(done, (), work.id)


def mark_private(work: Work, photographs: Sequence[str], *, private: bool = True) -> Marked:
    """Mark photographs, or stories by their ids, private, or no longer. Raises NotFoundError, AmbiguousError,
    InvalidValueError for none."""
    if not photographs:
        raise InvalidValueError("no photograph was named", remedy="Give codes such as K00042.")
    told = {row["id"]: row for row in (find_story(work.connection, text) for text in photographs if is_story(text))}
    shown = (find_photograph(work.connection, text) for text in photographs if not is_story(text))
    found = {row["id"]: row for row in shown}
    fresh = [id_ for id_, row in found.items() if bool(row["private"]) != private]
    stories = [id_ for id_, row in told.items() if bool(row["private"]) != private]
    work.update(t.photograph, fresh, private=int(private))
    work.update(t.story, stories, private=int(private))
    changed = (*(found[id_]["code"] for id_ in fresh), *(f"T{id_}" for id_ in stories))
    work.what = f"marked {', '.join(changed)} {'private' if private else 'no longer private'}"
    named = (*(row["code"] for row in found.values()), *(f"T{id_}" for id_ in told))
    return Marked(named, private, changed, work.id)


def consents(connection: Connection, audience: str = "", *, revoked: bool = False) -> tuple[Consent, ...]:
    """What was agreed to and released, oldest first; with `revoked` what no longer holds, too."""
    c = t.consent.c
    query = select(t.consent).order_by(c.id)
    if audience:
        query = query.where(c.audience == find_audience(connection, audience))
    if not revoked:
        query = query.where(c.withdrawn == 0)
    return _shown(connection, connection.execute(query).mappings().all())


def _audience(connection: Connection, text: str) -> str:
    name = find_audience(connection, text)
    if name == HOUSEHOLD:
        raise InvalidValueError(
            "the household needs no consent: it may have everything but what is private",
            remedy="Name a group of relatives, or the public.",
        )
    return name


def _record(
    work: Work, audience: str, rows: list[dict[str, object]], asked_by: str, on: str, note: str
) -> ConsentsRecorded:
    """Insert rows of one audience in place of those that answer the same question."""
    by = " ".join(asked_by.split())
    if not by:
        raise InvalidValueError("it must be recorded who asked", remedy="Add your name: --by NAME.")
    c = t.consent.c
    earlier = work.connection.execute(select(t.consent).where(c.audience == audience, c.withdrawn == 0)).mappings()
    asked = {_question(row) for row in rows}
    work.update(t.consent, [row["id"] for row in earlier.all() if _question(row) in asked], withdrawn=1)
    day = _day(on)
    ids = work.insert(
        t.consent,
        [
            {"person_id": None, "photograph_id": None, "story_id": None, "branch": 0, "seen": "", **row,
             "audience": audience, "given_on": day, "asked_by": by, "note": note.strip(), "said_at": work.at}
            for row in rows
        ],
    )  # fmt: skip
    new = work.connection.execute(select(t.consent).where(c.id.in_(list(ids))).order_by(c.id)).mappings().all()
    return ConsentsRecorded(_shown(work.connection, new), (), work.id)


def _question(row: RowMapping | dict[str, object]) -> tuple[object, ...]:
    """What a consent answers: of a person for the same people, of a photograph the same thing."""
    if row.get("person_id") is not None:
        return "person", row["person_id"], row["branch"]
    if row.get("story_id") is not None:
        return "story", row["story_id"], row["what"]
    return "photograph", row["photograph_id"], row["what"]


def _day(text: str) -> int:
    if not text.strip():
        return date.today().toordinal()
    span = parse_date(text).span
    if span.first is None or span.first != span.last:
        raise InvalidValueError(f"'{text}' is not a day", remedy="Give one, such as 3 May 2026.")
    if span.first > date.today().toordinal():
        raise InvalidValueError(f"'{text}' has not come yet", remedy="Give the day on which they were asked.")
    return span.first


def _shown(connection: Connection, rows: Sequence[RowMapping | dict[str, object]]) -> tuple[Consent, ...]:
    identity = read_identity(connection)
    found = []
    for row in rows:
        person = photograph = None
        if isinstance(id_ := row["person_id"], int):
            who = row_of(connection, t.person, identity.of(id_))
            person = Named(who["code"], who["name"])
        if isinstance(id_ := row["photograph_id"], int):
            photograph = row_of(connection, t.photograph, id_)["code"]
        found.append(
            Consent(
                f"C{row['id']}", str(row["audience"]), person, photograph, str(row["what"]), bool(row["branch"]),
                iso(int(str(row["given_on"]))) or "", str(row["asked_by"]), str(row["note"]), bool(row["withdrawn"]),
                f"T{row['story_id']}" if row["story_id"] is not None else None,
            )
        )  # fmt: skip
    return tuple(found)
