"""The one gate: what may be shown to somebody who has not signed in, and what may leave the archive for an audience.

A photograph that the keeper marked private never leaves, not even for the household, and neither does another that
shows the same picture: a copy, a print from the same negative, the album page it is on.

Everything else may go to the household. For relatives and for the public a photograph is held back when anybody named
in it may be living and has not agreed; how old it is does not matter, because a name may be on it by mistake. One with
a face without a name, or in which nobody is named, is held back unless it was certainly taken so long ago that nobody
in it can be living, or the keeper looked through it and released it. Nobody can know who is in it without a frame and
without a name: whoever gives an archive to others should decide that with care.

`Public` is all of it at once for somebody who looks at the pages without having signed in. Whatever lists, counts,
searches or turns a page for them is given it, and works as if nothing else were in the archive: what is kept back is
neither found nor counted, and no gap, order or error reveals it. `View` is the same for whatever is given away. What is
written on photographs or about them may tell of anybody, so it goes only where the keeper has read and released it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import ColumnElement, Connection, Engine, select

from kinphoto.archive.catalogue.consents import HOUSEHOLD, PUBLIC, Agreed, agreed
from kinphoto.archive.catalogue.freshness import as_of
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import LONGEST, rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.story_links import about_of
from kinphoto.gedcom.calendars import years_later
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.store import tables as t
from kinphoto.store.among import among


class Reason(StrEnum):
    """Why a photograph is held back."""

    PRIVATE = "private"
    """The keeper marked it."""
    LIVING = "living"
    """Somebody named in it may be living and has not agreed."""
    FACE = "face"
    """Somebody in it without a name may be living."""
    NOBODY = "nobody"
    """Nobody is named in it, and it may be of somebody living."""
    SAME_PICTURE = "same-picture"
    """It shows what another photograph shows that is held back."""


@dataclass(frozen=True, slots=True)
class Withholding:
    """Why a photograph is held back, from whose side (row ids): who in it has not agreed, or the other photograph."""

    reason: Reason
    people: frozenset[int] = frozenset()
    other: int | None = None


class StoryReason(StrEnum):
    """Why a story is held back."""

    PRIVATE = "private"
    """The keeper marked it, or it is about a photograph that is private."""
    TELLER = "teller"
    """Its teller may be living and has not agreed that it is passed on, or nobody noted who speaks."""
    LIVING = "living"
    """It is about somebody who may be living and has not agreed."""
    PHOTOGRAPH = "photograph"
    """It is about a photograph that is held back."""
    UNREAD = "unread"
    """Nobody has gone through it for this audience."""


@dataclass(frozen=True, slots=True)
class View:
    """What may go to an audience (row ids): photographs, people who may be named with their lives, photographs whose
    words may go, and those whose faces without a name are of nobody living. `held` says why the others stay."""

    audience: str
    photographs: frozenset[int]
    people: frozenset[int]
    words: frozenset[int]
    long_ago: frozenset[int]
    held: dict[int, Withholding] = field(default_factory=dict)
    stories: frozenset[int] = frozenset()
    """Stories that may go: of nobody living unasked, with their tellers' consent, and gone through by the keeper."""
    held_stories: dict[int, StoryReason] = field(default_factory=dict)

    @property
    def at_home(self) -> bool:
        """Whether it is for the household, who may have everything but what is private."""
        return self.audience == HOUSEHOLD


@dataclass(frozen=True, slots=True)
class Public:
    """What may be shown to anybody (row ids), in one state of the archive and on one day (`as_of`): photographs, people
    who are dead, and the containers that hold such a photograph, directly or in one inside."""

    as_of: tuple[str, int]
    photographs: frozenset[int]
    people: frozenset[int]
    containers: frozenset[int]


_KEPT: WeakKeyDictionary[Engine, Public] = WeakKeyDictionary()


def public_view(connection: Connection, for_anybody: bool) -> Public | None:
    """What may be shown `for_anybody`, kept in memory until something changes; None, for everything, to a keeper."""
    if not for_anybody:
        return None
    known, moment = _KEPT.get(connection.engine), (as_of(connection), date.today().toordinal())
    if known is None or known.as_of != moment:  # changed or dated again since, or another day
        known = _KEPT[connection.engine] = _read(connection, moment)
    return known


def _read(connection: Connection, moment: tuple[str, int]) -> Public:
    p, c = t.photograph.c, t.container.c
    lies_in: dict[int, int | None] = {
        row.id: row.container_id for row in connection.execute(select(p.id, p.container_id))
    }
    photographs = for_anybody(connection, set(lies_in), moment[1])
    above: dict[int, int | None] = {row.id: row.parent_id for row in connection.execute(select(c.id, c.parent_id))}
    containers: set[int] = set()
    for inside in {lies_in[id_] for id_ in photographs}:
        while inside is not None and inside not in containers:
            containers.add(inside)
            inside = above[inside]
    people = _nameable(connection, agreed(connection, PUBLIC), moment[1])
    return Public(moment, frozenset(photographs), people, frozenset(containers))


def view(connection: Connection, audience: str, today: int | None = None) -> View:
    """What may go to an audience by the archive as it is. The caller makes sure that the dates are up to date."""
    ids = set(connection.scalars(select(t.photograph.c.id)))
    allowed = agreed(connection, audience)
    held = held_back(connection, ids, audience, today, allowed)
    going = frozenset(ids - held.keys())
    at_home = audience == HOUSEHOLD
    people = frozenset(connection.scalars(select(t.person.c.id))) if at_home else _nameable(connection, allowed, today)
    old = going if at_home else frozenset(taken_long_ago(connection, going, today))
    words = going if at_home else going & allowed.words
    kept = _stories_held(connection, held, allowed, people, at_home=at_home)
    told = frozenset(connection.scalars(select(t.story.c.id).where(t.story.c.withdrawn == 0))) - kept.keys()
    return View(audience, going, people, words, old, held, told, kept)


def _stories_held(
    connection: Connection, held: dict[int, Withholding], allowed: Agreed, people: frozenset[int], *, at_home: bool
) -> dict[int, StoryReason]:
    """The stories that may not go, and why. Free words can be about anybody, and a voice is somebody's own: so a story
    goes to others than the household only when its teller agreed and the keeper has gone through all of it."""
    s, i = t.story.c, t.informant.c
    query = select(s.id, s.private, s.sound, s.informant_id, i.person_id).outerjoin(t.informant, i.id == s.informant_id)
    rows = connection.execute(query.where(s.withdrawn == 0)).all()
    photographs, about = about_of(connection, [row.id for row in rows])
    tellers = {row.person_id for row in rows if row.person_id is not None}
    living = may_be_living(connection, tellers) if tellers else set()
    found: dict[int, StoryReason] = {}
    for row in rows:
        theirs = {held[id_].reason for id_ in photographs[row.id] if id_ in held}
        speaks = row.informant_id is not None or row.sound
        if row.private or Reason.PRIVATE in theirs or (at_home and theirs):
            found[row.id] = StoryReason.PRIVATE
        elif at_home:
            continue
        elif not people.issuperset(about[row.id]):
            found[row.id] = StoryReason.LIVING
        elif theirs:
            found[row.id] = StoryReason.PHOTOGRAPH
        elif speaks and row.id not in allowed.told and (row.person_id is None or row.person_id in living):
            found[row.id] = StoryReason.TELLER
        elif row.id not in allowed.stories:
            found[row.id] = StoryReason.UNREAD
    return found


def held_back(
    connection: Connection, ids: Collection[int], audience: str, today: int | None = None, allowed: Agreed | None = None
) -> dict[int, Withholding]:
    """Those of these photographs that may not go to an audience, and why."""
    if allowed is None:
        allowed = agreed(connection, audience)
    showing = _showing_the_same(connection, ids)
    everything = set(ids).union(showing, *showing.values())
    p = t.photograph.c
    private = select(p.id).where(p.private == 1)
    held = {row[0]: Withholding(Reason.PRIVATE) for row in rows_of(connection, private, p.id, everything)}
    if audience != HOUSEHOLD:
        held = _of_the_living(connection, everything - held.keys(), allowed, today) | held
    reached = list(held)
    for id_ in reached:  # grows while it is gone through
        for other in showing.get(id_, ()):
            if other not in held:
                held[other] = Withholding(Reason.SAME_PICTURE, other=id_)
                reached.append(other)
    return {id_: why for id_, why in held.items() if id_ in ids}


def _of_the_living(connection: Connection, ids: set[int], allowed: Agreed, today: int | None) -> dict[int, Withholding]:
    """Those that are held back for who is in them, or may be."""
    a = t.appearance.c
    there: dict[int, set[int | None]] = defaultdict(set)
    query = select(a.photograph_id, a.person_id).where(a.denied == 0, a.withdrawn == 0)
    for photograph_id, person_id in rows_of(connection, query, a.photograph_id, ids):
        there[photograph_id].add(person_id)
    named = {who for people in there.values() for who in people if who is not None}
    identity = read_identity(connection)
    agree = allowed.everything | allowed.pictures
    living = {who for who in may_be_living(connection, named, today) if identity.of(who) not in agree}
    unknown = {id_ for id_ in ids if (not there[id_] or None in there[id_]) and id_ not in allowed.faces}
    unknown -= taken_long_ago(connection, unknown, today)
    held = {}
    for id_ in ids:
        if people := frozenset(who for who in there[id_] if who in living and who is not None):
            held[id_] = Withholding(Reason.LIVING, people)
        elif id_ in unknown:
            held[id_] = Withholding(Reason.FACE if there[id_] else Reason.NOBODY)
    return held


def taken_long_ago(connection: Connection, ids: Collection[int], today: int | None) -> set[int]:
    """Those certainly taken so long ago that nobody in them can be living."""
    e = t.estimate.c
    long_ago = years_later(today or date.today().toordinal(), -LONGEST)
    query = select(e.photograph_id).where(e.latest < long_ago)
    return {row[0] for row in rows_of(connection, query, e.photograph_id, ids)}


def _nameable(connection: Connection, allowed: Agreed, today: int | None) -> frozenset[int]:
    """Who is dead, or agreed to everything; who turned out to be such a person too."""
    everybody = set(connection.scalars(select(t.person.c.id)))
    identity = read_identity(connection)
    living = may_be_living(connection, everybody, today)
    return frozenset(id_ for id_ in everybody if id_ not in living or identity.of(id_) in allowed.everything)


_BOTH_WAYS = ("copy-of", "same-negative")


def _showing_the_same(connection: Connection, ids: Collection[int]) -> dict[int, set[int]]:
    """For each photograph the others that show it: copies both ways, and from a print the page it is on. For these
    photographs and all that they lead to."""
    s = t.statement.c
    related = select(s.photograph_id, s.other_id, s.kind).where(
        s.kind.in_((*_BOTH_WAYS, "part-of")), s.withdrawn == 0, s.other_id.is_not(None)
    )
    showing: dict[int, set[int]] = defaultdict(set)
    seen: set[int] = set()
    new = set(ids)
    while new:
        seen |= new
        found = {
            (row.photograph_id, row.other_id, row.kind)
            for column in (s.photograph_id, s.other_id)
            for row in rows_of(connection, related, column, new)
        }
        for one, other, kind in found:
            showing[one].add(other)
            if kind in _BOTH_WAYS:
                showing[other].add(one)
        new = {id_ for one, other, _ in found for id_ in (one, other)} - seen
    return dict(showing)


def photographs_shown(
    connection: Connection, photograph_id: ColumnElement[Any], public: Public | None
) -> list[ColumnElement[bool]]:
    """The condition that a photograph may be shown; none where everything may (`public` is None)."""
    return [] if public is None else [among(connection, photograph_id, public.photographs)]


def undisputed(estimate: Estimate) -> Estimate:
    """The estimate without the word that something does not fit together: that can touch what a family never said, and
    is for the keeper."""
    return replace(estimate, state=State.DATED) if estimate.state is State.DISPUTED else estimate


def of_the_dead(connection: Connection, codes: Sequence[str]) -> frozenset[str]:
    """Those of these photographs (codes) that show nobody who may be living, as far as that is known."""
    p = t.photograph.c
    ids = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(codes)))}
    return frozenset(ids[id_] for id_ in for_anybody(connection, ids))


def for_anybody(connection: Connection, ids: Collection[int], today: int | None = None) -> set[int]:
    """The same by row ids. `today` is a day, the present one by default. The pages name whoever is in a photograph, so
    those who agreed only to be shown do not suffice here."""
    allowed = replace(agreed(connection, PUBLIC), pictures=frozenset())
    return set(ids) - held_back(connection, ids, PUBLIC, today, allowed).keys()


def is_for_anybody(connection: Connection, photograph_id: int) -> bool:
    """Whether one photograph (its row id) shows nobody who may be living, as far as that is known."""
    return bool(for_anybody(connection, {photograph_id}))


def the_living(connection: Connection, people: Collection[str]) -> frozenset[str]:
    """Those of these people (ids in the tree) who may be living."""
    p = t.person.c
    ids = {row.id: row.code for row in connection.execute(select(p.id, p.code).where(p.code.in_(list(people))))}
    return frozenset(ids[id_] for id_ in may_be_living(connection, set(ids)))
