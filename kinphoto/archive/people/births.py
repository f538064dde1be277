"""Births that photographs suggest, for people whose birth the tree leaves open. They are never made facts.

The reasoner estimates every birth that is not known to within two years (`BirthEstimate`). One is shown only where the
photographs say something that the tree does not: an age was judged in one of them, and the likely range is shorter than
what the tree's own date leaves open, or outside it.

Somebody who is part of a conflict is left out, because the estimate then depends on what was set aside; so is somebody
whose likely birth would hardly fit the ages of their parents or children. Such a birth would say something about who
somebody's parents were, and a guess must not do that.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.kinds import AGE_KINDS
from kinphoto.archive.catalogue.lives import lives, rows_of
from kinphoto.archive.catalogue.settings import setting
from kinphoto.archive.dates.estimates import births_from_json, kept_findings
from kinphoto.archive.dates.stored import BIRTHS
from kinphoto.archive.words.dates import Vital
from kinphoto.documents import INLINE
from kinphoto.reason.hard.unlikely import LONG_PREGNANCY, OLD_FATHER, OLD_MOTHER, YOUNG_FATHER, YOUNG_MOTHER
from kinphoto.reason.model.findings import HOLDS, HOLDS_SD, KNOWN, BirthEstimate
from kinphoto.reason.model.span import DAYS_PER_YEAR, Shape, Span
from kinphoto.store import tables as t
from kinphoto.store.among import among

SHORTER = 0.9
"""A likely range is worth showing when it is at most this share of what the tree's own date leaves open (a judgement of
the project)."""


@dataclass(frozen=True, slots=True)
class SuggestedBirth:
    """Somebody of the tree whose birth photographs suggest."""

    id: Annotated[str, "somebody whose birth the tree leaves open"]
    name: Annotated[str, "their name"]
    tree: Annotated[str, "what the tree says of the birth; empty for nothing"]
    birth: Annotated[BirthEstimate, INLINE]


def suggested(connection: Connection, people: Collection[str] | None = None) -> dict[str, BirthEstimate]:
    """The births worth showing of these people (codes), or of everybody, by code: as estimated when everything was last
    dated, where the tree still leaves them open."""
    kept = _kept(connection) if people is None else None
    p, identity = t.person.c, read_identity(connection)
    there = select(p.id, p.code).where(p.same_as_id.is_(None))
    if people is not None:
        there = there.where(among(connection, p.code, people))
    codes = {row.id: row.code for row in connection.execute(there) if kept is None or row.code in kept}
    lived = lives(connection, codes, identity)
    aged = _aged(connection, {i for i in codes if not _is_known(lived[i].begin)}, identity)
    if not aged:
        return {}
    kept = _kept(connection) if kept is None else kept
    found = {i: kept[codes[i]] for i in aged if codes[i] in kept and _says_more(kept[codes[i]], lived[i].begin)}
    left_out = _doubtful(connection, found, identity) | _touching_parentage(connection, found, identity)
    return {birth.person: birth for i, birth in found.items() if i not in left_out}


def can_be_suggested(connection: Connection) -> bool:
    """Whether an age has been given of anybody at all."""
    s = t.statement.c
    return connection.scalar(select(s.id).where(s.kind.in_(AGE_KINDS), s.withdrawn == 0).limit(1)) is not None


def of_tree(connection: Connection) -> tuple[SuggestedBirth, ...]:
    """All of them in the tree, those that rest on most photographs first."""
    found = suggested(connection)
    p = t.person.c
    here = select(p.id, p.code, p.name).where(among(connection, p.code, found), p.outside == 0, p.gone == 0)
    rows = connection.execute(here.order_by(p.id)).all()
    begins = {i: life.begin for i, life in lives(connection, [row.id for row in rows]).items()}
    births = (
        SuggestedBirth(row.code, row.name, begin.text if (begin := begins[row.id]) else "", found[row.code])
        for row in rows
    )
    return tuple(sorted(births, key=lambda one: -one.birth.photographs))


def known_in_file(connection: Connection, people: Collection[int]) -> set[int]:
    """Those of these people (row ids) whose birth is in the tree file, withdrawn or not."""
    e = t.event.c
    close = select(e.person_id).where(e.tag == "BIRT", e.last - e.first < KNOWN)
    return {row[0] for row in rows_of(connection, close, e.person_id, people)}


def _kept(connection: Connection) -> dict[str, BirthEstimate]:
    return births_from_json(setting(connection, BIRTHS))


def _is_known(begin: Vital | None) -> bool:
    """Whether the tree has the birth, or a christening, which is as good."""
    span = Span() if begin is None else begin.date.span
    return span.first is not None and span.last is not None and span.last - span.first < KNOWN


def _says_more(birth: BirthEstimate, begin: Vital | None) -> bool:
    """Whether the photographs say something of a birth that is not known that the tree does not."""
    if begin is None or begin.verb != "born" or not begin.date.span.bounded:
        return True
    dated, first, last = begin.date, begin.date.span.first or 0, begin.date.span.last or 0
    if dated.shape is Shape.ABOUT and dated.centre is not None and dated.spread:
        middle, half = dated.centre, HOLDS_SD * dated.spread
    else:
        middle, half = (first + last) / 2, HOLDS * (last - first) / 2
    shorter = birth.likely_to - birth.likely_from <= SHORTER * 2 * half
    return shorter or abs(birth.best - middle) > half


def _aged(connection: Connection, people: Collection[int], identity: Identity) -> set[int]:
    """Those of these people whose age was given in some photograph."""
    a, s = t.appearance.c, t.statement.c
    query = (
        select(a.person_id).join(t.statement, s.appearance_id == a.id)
        .where(a.denied == 0, a.withdrawn == 0, s.withdrawn == 0, s.kind.in_(AGE_KINDS)).distinct()
    )  # fmt: skip
    rows = rows_of(connection, query, a.person_id, identity.names(people))
    return {identity.of(row[0]) for row in rows}


def _doubtful(connection: Connection, found: Mapping[int, BirthEstimate], identity: Identity) -> set[int]:
    """Those who are part of a conflict, or in a photograph whose likely range cannot be relied on."""
    settled = kept_findings(connection)
    disputed = {code for conflict in settled.conflicts for code in conflict.people}
    a, p = t.appearance.c, t.photograph.c
    query = select(a.person_id).join(t.photograph, p.id == a.photograph_id)
    there = connection.scalars(query.where(among(connection, p.code, settled.unconverged)))
    unsettled = {identity.of(who) for who in there}
    return {i for i, birth in found.items() if birth.person in disputed or i in unsettled}


def _touching_parentage(connection: Connection, found: Mapping[int, BirthEstimate], identity: Identity) -> set[int]:
    """Those whose likely birth would hardly fit that of a parent or a child, or the death of the father."""
    k, p = t.parent_link.c, t.person.c
    links = select(k.parent_id, k.child_id).where(k.withdrawn == 0, k.pedigree.in_(("", "birth")))
    pairs = {tuple(row) for end in (k.parent_id, k.child_id) for row in rows_of(connection, links, end, found)}
    people = {who for pair in pairs for who in pair}
    lived = lives(connection, people, identity)
    sexes = {row.id: row.sex for row in rows_of(connection, select(p.id, p.sex), p.id, people)}
    born = {i: found[i].best if i in found else _middle(lived[i].begin) for i in people}
    odd = (pair for pair in pairs if _is_odd(born[pair[0]], born[pair[1]], sexes[pair[0]], lived[pair[0]].end))
    return {who for pair in odd for who in pair if who in found}


def _middle(begin: Vital | None) -> float | None:
    span = Span() if begin is None else begin.date.span
    return None if span.first is None or span.last is None else (span.first + span.last) / 2


def _is_odd(parent: float | None, child: float | None, sex: str, death: Vital | None) -> bool:
    """Whether a parent would hardly be of an age to have the child, or be dead too long."""
    if child is None:
        return False
    youngest, oldest = (YOUNG_MOTHER, OLD_MOTHER) if sex == "F" else (YOUNG_FATHER, OLD_FATHER)
    fits = parent is None or youngest <= (child - parent) / DAYS_PER_YEAR <= oldest
    last = None if death is None else death.date.span.last
    return not fits or (last is not None and child > last + (0 if sex == "F" else LONG_PREGNANCY))
