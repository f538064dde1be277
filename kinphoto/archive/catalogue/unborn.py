"""A date before anybody in the picture was born: a slip of the pen, or a wrong name, and worth saying at once."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import Connection

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.words.sentences import on
from kinphoto.gedcom.wording import year
from kinphoto.phrases import listed
from kinphoto.reason.model.evidence import Role
from kinphoto.reason.model.span import Dated, doubted
from kinphoto.store import tables as t


def unborn(connection: Connection, photograph: str, people: Collection[int], date: Dated) -> str:
    """Who of the people (row ids) named in a photograph (its code) was not born by this date, in words; or ""."""
    last = (doubted(date) if date.doubtful else date).span.last
    if last is None or not people:
        return ""
    identity = read_identity(connection)
    people = {identity.of(id_) for id_ in people}
    begins = {id_: life.begin for id_, life in lives(connection, people, identity).items()}
    late = [
        (begin.date.span.first, id_, begin.date)
        for id_, begin in begins.items()
        if begin is not None and begin.verb == "born" and begin.date.span.first is not None
    ]
    late = sorted((each for each in late if each[0] > last), key=lambda each: each[:2])
    if not late:
        return ""
    births = [f"{row_of(connection, t.person, id_)['name']} was born {on(born)}" for _, id_, born in late[:3]]
    who = "nobody" if len(late) == len(people) else "not everybody"
    return f"{who} named in {photograph} was born by {year(last)}: {listed(births)}"


def in_the_picture(role: str, denied: int, person_id: int | None) -> bool:
    """Whether an appearance says that somebody was there, and so had been born."""
    return person_id is not None and not denied and role != Role.LIKENESS
