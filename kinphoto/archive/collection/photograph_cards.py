"""A photograph as one of many: on a page, in a list, among what was found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.privacy import Public, undisputed
from kinphoto.archive.catalogue.rivals import with_rivals
from kinphoto.archive.collection.photograph_page import ScanShown, scanned
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.words.dates import taken
from kinphoto.documents import INLINE, INTERNAL
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.store import tables as t


class PersonInPhotograph(NamedTuple):
    """Somebody in a photograph."""

    id: Annotated[str, "somebody named in it"]
    name: Annotated[str, "their name"]
    perhaps: Annotated[
        bool,
        "true when it may be somebody else: there is a rival name on the face, or somebody says that it is not this "
        "person",
    ]


@dataclass(frozen=True, slots=True)
class PhotographCard:
    """What to show of it, who is in it in the order they were named, and how many faces have no name. `recto`
    shows the picture. `estimate` is None for an album page and for what has not been dated yet."""

    code: Annotated[str, "the photograph's code"]
    title: Annotated[str, "its title"]
    page: Annotated[bool, "true for an album page"]
    recto: Annotated[ScanShown | None, INTERNAL]
    scans: Annotated[tuple[str, ...], "paths of its scans, the front first"]
    has_back: Annotated[bool, INTERNAL]
    people: tuple[PersonInPhotograph, ...]
    nameless: Annotated[int, "how many faces in it have no name"]
    estimate: Annotated[Estimate | None, INLINE]

    @property
    def names(self) -> Annotated[list[str], "who is named in it"]:
        """The names in it, each once."""
        return list(dict.fromkeys(one.name for one in self.people))

    @property
    def scan(self) -> Annotated[str | None, "path of its front, or null"]:
        """The path of its front."""
        return self.scans[0] if self.scans else None

    @property
    def when(self) -> Annotated[str, "when it was taken, in words"]:
        """When it was taken, in words."""
        return taken(self.estimate, page=self.page)

    @property
    def disputed(self) -> bool:
        """Whether it bears on a conflict."""
        return self.estimate is not None and self.estimate.state is State.DISPUTED


def cards(
    connection: Connection, ids: Collection[int], public: Public | None = None, *, drawn: bool = True
) -> dict[int, PhotographCard]:
    """These photographs by their row ids, in the order of `ids`; with `public` those that it holds, without backs,
    without what somebody denied and without the word that something does not fit together. A list of words alone does
    without `recto` (`drawn` is False)."""
    if public is not None:
        ids = [id_ for id_ in ids if id_ in public.photographs]
    if not ids:
        return {}
    wanted, p = set(ids), t.photograph.c
    query = select(p.id, p.code, p.title, p.page, *t.estimate.c)
    query = query.outerjoin(t.estimate, t.estimate.c.photograph_id == p.id)
    rows = {row[0]: row._mapping for row in rows_of(connection, query, p.id, wanted)}
    fronts, scans, backs = _scans(connection, wanted, public, drawn)
    people, nameless = _who(connection, wanted, public)
    shown = undisputed if public is not None else lambda estimate: estimate
    return {
        id_: PhotographCard(
            row["code"], row["title"], bool(row["page"]), fronts.get(id_), tuple(scans[id_]), id_ in backs,
            people.get(id_, ()), nameless.get(id_, 0), None if row["state"] is None else shown(as_estimate(row)),
        )
        for id_, row in ((id_, rows[id_]) for id_ in ids if id_ in rows)
    }  # fmt: skip


def cards_by_code(connection: Connection, codes: Sequence[str]) -> list[PhotographCard]:
    """The same by their codes; those that are not there are left out."""
    p = t.photograph.c
    ids = {row[0]: row[1] for row in connection.execute(select(p.code, p.id).where(p.code.in_(codes)))}
    return list(cards(connection, [ids[code] for code in codes if code in ids]).values())


def _scans(
    connection: Connection, ids: set[int], public: Public | None, drawn: bool
) -> tuple[dict[int, ScanShown], dict[int, list[str]], set[int]]:
    """The scan that shows each photograph, the paths of all, and which photographs have a back."""
    s = t.scan.c
    to_draw = (s.id, s.width, s.height, s.ppi, s.missing, s.sha256, s.turn, s.straight, s.orientation, s.superseded)
    query = select(s.photograph_id, s.side, s.path, *(to_draw if drawn else ()))
    query = query.order_by(s.side != "recto", s.position, s.id)
    if public is not None:
        query = query.where(s.side != "verso")
    fronts: dict[int, ScanShown] = {}
    paths: dict[int, list[str]] = defaultdict(list)
    backs: set[int] = set()
    for row in rows_of(connection, query, s.photograph_id, ids):
        id_, side, path = row[:3]
        if drawn and id_ not in fronts:
            fronts[id_] = scanned(row._mapping)
        if side == "verso":
            backs.add(id_)
        paths[id_].append(path)
    return fronts, paths, backs


def _who(
    connection: Connection, ids: set[int], public: Public | None
) -> tuple[dict[int, tuple[PersonInPhotograph, ...]], dict[int, int]]:
    """Who is in each photograph, and how many faces have no name."""
    a, p = t.appearance.c, t.person.c
    query = (
        select(a.photograph_id, a.region_id, a.denied, a.person_id, p.code, p.name)
        .outerjoin(t.person, p.id == a.person_id)
        .where(a.withdrawn == 0)
        .order_by(a.id)
    )
    if public is not None:
        query = query.where(a.denied == 0)
    named: dict[int, dict[str, str]] = defaultdict(dict)
    nameless: dict[int, int] = defaultdict(int)
    rows = list(rows_of(connection, query, a.photograph_id, ids))
    first: dict[int, int] = {}
    several: set[int] = set()  # faces with more than one name, which hardly any has
    doubted: set[tuple[int, str]] = set()
    for photograph_id, region, is_denied, who, code, name in rows:
        if code is None:
            nameless[photograph_id] += 1
        elif is_denied:
            doubted.add((photograph_id, code))
        else:
            named[photograph_id][code] = name
            if region is not None and first.setdefault(region, who) != who:
                several.add(region)
    if several:
        identity, names = read_identity(connection), [row for row in rows if row[1] in several and not row[2]]
        rivals = with_rivals((region, None if who is None else identity.of(who)) for _, region, _, who, *_ in names)
        doubted.update((photograph_id, code) for photograph_id, region, _, _, code, _ in names if region in rivals)
    return {
        id_: tuple(PersonInPhotograph(code, name, (id_, code) in doubted) for code, name in people.items())
        for id_, people in named.items()
    }, nameless
