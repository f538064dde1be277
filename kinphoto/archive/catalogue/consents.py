"""What has been agreed may leave the archive: consents of the living, and what the keeper has looked through.

An output is for an audience. The household is everybody under the keeper's roof; the public is everybody; any other is
a group of relatives with a name. What somebody agreed to for the public holds for relatives too. What they said for
themselves comes before what was said for a branch they belong to, so one person can always say no.

The keeper's release of a photograph (of the faces in it without a name, or of its words) holds for what was there
when they looked: `digest` of it is kept, and when a face or a word is added the release lapses.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.story_links import about_of
from kinphoto.store import tables as t
from kinphoto.store.kindred import descendants

HOUSEHOLD, PUBLIC = "household", "public"
EVERYTHING, PICTURES, NOTHING = "everything", "pictures", "nothing"
"""What one of the living agreed to: name, life and pictures; pictures without a name; neither."""
FACES, WORDS = "faces", "words"
"""What a keeper released of a photograph: the faces without a name; everything written on it or about it. The words of
a story are all of it, what is heard in its recording too."""
TELLING = "telling"
"""What the teller of a story agreed to: that it is passed on."""


@dataclass(frozen=True, slots=True)
class Agreed:
    """What may go to one audience (row ids): the living who may be named and shown, those who may only be shown, and
    the photographs whose nameless faces, or whose words, the keeper released."""

    everything: frozenset[int] = frozenset()
    pictures: frozenset[int] = frozenset()
    faces: frozenset[int] = frozenset()
    words: frozenset[int] = frozenset()
    stories: frozenset[int] = frozenset()
    """Stories that the keeper has gone through."""
    told: frozenset[int] = frozenset()
    """Stories whose tellers agreed that they are passed on."""


def agreed(connection: Connection, audience: str) -> Agreed:
    """What holds for an audience now. For the household nothing has to be agreed to."""
    c = t.consent.c
    query = select(t.consent).where(c.withdrawn == 0, c.audience.in_({audience, PUBLIC})).order_by(c.id)
    rows = connection.execute(query).mappings().all()
    if not rows or audience == HOUSEHOLD:
        return Agreed()
    identity = read_identity(connection)
    said: dict[int, tuple[tuple[bool, bool, int], str]] = {}
    for row in rows:
        if row["person_id"] is None:  # of a photograph or a story
            continue
        for person in _covered(connection, identity.of(row["person_id"]), bool(row["branch"]), identity):
            own = not row["branch"] or person == identity.of(row["person_id"])
            place = own, row["audience"] == audience, row["id"]  # the last of these counts
            said[person] = max(said.get(person, (place, row["what"])), (place, row["what"]))
    released = {
        what: {row["photograph_id"]: row["seen"] for row in rows if row["what"] == what and row["photograph_id"]}
        for what in (FACES, WORDS)
    }
    gone_through = {row["story_id"]: row["seen"] for row in rows if row["what"] == WORDS and row["story_id"]}
    stories = story_digest(connection, gone_through)
    now = {FACES: faces_digest(connection, released[FACES]), WORDS: words_digest(connection, released[WORDS])}
    by_what = {
        kind: frozenset(id_ for id_, (_, what) in said.items() if what == kind) for kind in (EVERYTHING, PICTURES)
    }
    still = {
        kind: frozenset(id_ for id_, seen in released[kind].items() if now[kind][id_] == seen)
        for kind in (FACES, WORDS)
    }
    return Agreed(
        by_what[EVERYTHING], by_what[PICTURES], still[FACES], still[WORDS],
        stories=frozenset(id_ for id_, seen in gone_through.items() if stories[id_] == seen),
        told=frozenset(row["story_id"] for row in rows if row["what"] == TELLING),
    )  # fmt: skip


def branch_of(connection: Connection, person_id: int, identity: Identity) -> set[int]:
    """A person, everybody descended from them, and those whom any of them married and did not divorce (row ids)."""
    people = {identity.of(id_) for id_ in (person_id, *descendants(connection, person_id))}
    m, e = t.partner.c, t.event.c
    divorced = select(e.family_id).where(e.tag == "DIV", e.withdrawn == 0)
    families = select(m.person_id, m.family_id).where(m.family_id.not_in(divorced))
    own = {row.family_id for row in rows_of(connection, families, m.person_id, people)}
    partners = select(m.family_id, m.person_id)
    return people | {identity.of(row.person_id) for row in rows_of(connection, partners, m.family_id, own)}


def _covered(connection: Connection, person_id: int, branch: bool, identity: Identity) -> set[int]:
    return branch_of(connection, person_id, identity) if branch else {person_id}


def faces_digest(connection: Connection, photographs: Collection[int]) -> dict[int, str]:
    """A word for who is in each photograph without a name; another one when such a face or somebody is added."""
    a = t.appearance.c
    query = select(a.photograph_id, a.id).where(a.person_id.is_(None), a.denied == 0, a.withdrawn == 0)
    found: dict[int, list[int]] = {id_: [] for id_ in photographs}
    for row in rows_of(connection, query.order_by(a.id), a.photograph_id, found):
        found[row.photograph_id].append(row.id)
    return {id_: _digest(faces) for id_, faces in found.items()}


def words_digest(connection: Connection, photographs: Collection[int]) -> dict[int, str]:
    """A word for everything written on each photograph or about it, its backs among it; another when any of it is."""
    p, s, scan = t.photograph.c, t.statement.c, t.scan.c
    found: dict[int, list[object]] = defaultdict(list)
    columns = (p.title, p.place, p.note, p.rights, p.maker, p.former_number)
    for row in rows_of(connection, select(p.id, *columns), p.id, photographs):
        found[row.id].append(list(row[1:]))
    said = select(s.photograph_id, s.kind, s.text, s.date_text).where(s.withdrawn == 0).order_by(s.id)
    for row in rows_of(connection, said, s.photograph_id, photographs):
        found[row.photograph_id].append(list(row[1:]))
    backs = select(scan.photograph_id, scan.sha256).where(scan.side == "verso").order_by(scan.id)
    for row in rows_of(connection, backs, scan.photograph_id, photographs):
        found[row.photograph_id].append(row.sha256)
    return {id_: _digest(found[id_]) for id_ in photographs}


def story_digest(connection: Connection, stories: Collection[int]) -> dict[int, str]:
    """A word for all of each story and what it is about; another when any of it is."""
    s = t.story.c
    photographs, people = about_of(connection, stories)
    query = select(s.id, s.title, s.text, s.date_text, s.informant_id, s.sha256)
    return {
        row.id: _digest([list(row[1:]), sorted(photographs[row.id]), sorted(people[row.id])])
        for row in rows_of(connection, query, s.id, stories)
    }


def _digest(what: object) -> str:
    return hashlib.sha256(repr(what).encode(errors="surrogatepass")).hexdigest()[:16]
