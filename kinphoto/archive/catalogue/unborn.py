"""A date before anybody in the picture was born: a slip of the pen, or a wrong name, and worth saying at once."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Connection

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.lives import Life
from kinphoto.archive.words.sentences import on
from kinphoto.gedcom.wording import year
from kinphoto.phrases import listed
from kinphoto.reason.model.evidence import Role
from kinphoto.reason.model.span import Dated, doubted
from kinphoto.store import tables as t


def unborn(connection: Connection, photograph: str, lived: Mapping[int, Life], date: Dated) -> str:
    """Who of the people in a photograph (its code) was not born by this date, in words; or "". `lived` are the lives of
    those who are in it, by who they turned out to be (row ids)."""
    last = (doubted(date) if date.doubtful else date).span.last
    if last is None or not lived:
        return ""
    begins = {id_: life.begin for id_, life in lived.items()}
    late = [
        (begin.date.span.first, id_, begin.date)
        for id_, begin in begins.items()
        if begin is not None and begin.verb == "born" and begin.date.span.first is not None
    ]
    late = sorted((each for each in late if each[0] > last), key=lambda each: each[:2])
    if not late:
        return ""
    births = [f"{row_of(connection, t.person, id_)['name']} was born {on(born)}" for _, id_, born in late[:3]]
    who = "nobody" if len(late) == len(lived) else "not everybody"
    return f"{who} named in {photograph} was born by {year(last)}: {listed(births)}"


def in_the_picture(role: str, denied: int, person_id: int | None) -> bool:
    """Whether an appearance says that somebody was there, and so had been born."""
    return person_id is not None and not denied and role != Role.LIKENESS
