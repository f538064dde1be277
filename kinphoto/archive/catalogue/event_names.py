"""Events of the tree in words, with the ids of whose they are."""

from __future__ import annotations

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.codes import with_code
from kinphoto.archive.words.lapses import lapse_words
from kinphoto.archive.words.sentences import EVENT_WORDS
from kinphoto.phrases import listed
from kinphoto.reason.model.evidence import LIFE_TAGS, LifeEvent
from kinphoto.reason.model.span import Span
from kinphoto.store import tables as t


def event_words(connection: Connection, key: str) -> str:
    """ "shows the marriage of Ada Marsh and Tom Holm (F3)", from the key of an event."""
    return f"shows {event_name(connection, key)}"


def relative_words(connection: Connection, key: str, lapse: Span) -> str:
    """When a picture was taken by an event: "before the birth of Ada Marsh (I12)", "when Ada Marsh (I12) was 3"."""
    code, _, tag = key.partition(":")
    born = tag == LIFE_TAGS[LifeEvent.BIRTH] and with_code(connection, t.person, code)
    return lapse_words(event_name(connection, key), lapse, f"{born['name'] or 'somebody'} ({code})" if born else "")


def event_name(connection: Connection, key: str) -> str:
    """ "the marriage of Ada Marsh and Tom Holm (F3)", from the key of an event."""
    code, _, tag = key.partition(":")
    p, m = t.person.c, t.partner.c
    family = with_code(connection, t.family, code)
    whose = p.code == code
    if family is not None:
        whose = p.id.in_(select(m.person_id).where(m.family_id == family["id"]))
    names = list(connection.scalars(select(p.name).where(whose).order_by(p.sex.desc(), p.id)))
    who = f"{listed([name or 'somebody' for name in names])} ({code})" if names else code
    return f"{EVENT_WORDS.get(tag, f'the event {tag}')} of {who}"
