"""Photographs as they are looked at one after another, filling the screen: the picture, its back, and who is where."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.kinds import AGE_KINDS
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.privacy import public_view
from kinphoto.archive.catalogue.regions import Region, box
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.collection.photograph_page import ScanShown, scanned
from kinphoto.archive.collection.shown_unasked import shown_unasked
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class FaceInView:
    """A face: where it is, and the names on it, none for somebody who is not known yet; rivals when there are several.
    `aged` says whether somebody has judged the age."""

    region: str
    box: Region
    names: tuple[str, ...]
    aged: bool


@dataclass(frozen=True, slots=True)
class PhotographView:
    """One photograph. `unasked` says whether it may be shown to somebody who did not ask for it."""

    card: PhotographCard
    back: ScanShown | None
    faces: tuple[FaceInView, ...]
    unasked: bool

    @property
    def judged(self) -> bool:
        """Whether nothing is left to judge that its date could influence: each face has a name and an age."""
        return bool(self.card.people) and not self.card.nameless and all(f.names and f.aged for f in self.faces)


def views(connection: Connection, codes: Sequence[str], *, for_anybody: bool = False) -> list[PhotographView]:
    """These photographs in this order; those that are not there are left out. With `for_anybody` as if there were only
    what anybody may see, and no backs."""
    public, p = public_view(connection, for_anybody), t.photograph.c
    ids = {row.code: row.id for row in connection.execute(select(p.id, p.code).where(p.code.in_(codes)))}
    found = cards(connection, list(dict.fromkeys(ids[code] for code in codes if code in ids)), public)
    backs = {} if for_anybody else _backs(connection, found)
    faces, unasked = _faces(connection, found), shown_unasked(connection, found)
    return [
        PhotographView(card, backs.get(id_), tuple(faces.get(id_, ())), id_ in unasked) for id_, card in found.items()
    ]


def _backs(connection: Connection, ids: dict[int, PhotographCard]) -> dict[int, ScanShown]:
    s = t.scan.c
    query = select(t.scan).where(s.side == "verso").order_by(s.position.desc(), s.id.desc())
    return {row.photograph_id: scanned(row._mapping) for row in rows_of(connection, query, s.photograph_id, ids)}


def _faces(connection: Connection, ids: dict[int, PhotographCard]) -> dict[int, list[FaceInView]]:
    """The faces with somebody on them, named or not, by photograph."""
    a, r, s = t.appearance.c, t.region.c, t.statement.c
    standing = select(a.id, a.photograph_id, a.region_id, a.person_id).where(
        a.denied == 0, a.withdrawn == 0, a.region_id.is_not(None)
    )
    ages = select(s.appearance_id).where(s.withdrawn == 0, s.kind.in_(AGE_KINDS))
    aged = {row[0] for row in rows_of(connection, ages, s.photograph_id, ids)}
    identity, on = read_identity(connection), defaultdict(list)
    for row in rows_of(connection, standing.order_by(a.id), a.photograph_id, ids):
        on[row.region_id].append((identity.of(row.person_id), row.id in aged))
    people = {who for names in on.values() for who, _ in names if who is not None}
    p = t.person.c
    called = dict(rows_of(connection, select(p.id, p.name), p.id, people))
    found: dict[int, list[FaceInView]] = defaultdict(list)
    for row in rows_of(connection, select(t.region).order_by(r.left), r.photograph_id, ids):
        if names := on.get(row.id):
            known = dict.fromkeys(called[who] or "no name" for who, _ in names if who is not None)
            found[row.photograph_id].append(
                FaceInView(f"R{row.id}", box(row._mapping), tuple(known), any(has for _, has in names))
            )
    return found
