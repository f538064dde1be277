"""The photographs for the family's tree file, by person: names that nobody disputes. The births that photographs
suggest are added as notes.

Whoever receives a tree takes it for facts, so a name is included only when it is undisputed: no other name is on the
face, nobody says that it is somebody else, it is more than a guess (weak trust), and it is in no conflict. What the
keeper marked private is left out. A birth is included only where none of the names behind it is in doubt, and the file
itself does not give it to within two years.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.consents import HOUSEHOLD
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.privacy import held_back
from kinphoto.archive.catalogue.rivals import with_rivals
from kinphoto.archive.dates.estimates import kept_findings
from kinphoto.archive.people import births
from kinphoto.archive.words.dates import NO_PROOF, born
from kinphoto.gedcom.write import Crop
from kinphoto.reason.model.evidence import Role, Trust
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import as_filed_region, upright_size
from kinphoto.store import tables as t

Region = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class FrontScan:
    """The scan that represents a photograph: its front, if there is one. `page` is 0 unless its file has several."""

    code: str
    title: str
    path: str
    file_type: str
    size: tuple[int, int]
    turn: int
    front: bool
    page: int = 0
    straight: str = ""

    def crop(self, region: Region) -> Crop:
        """Top, left, height and width in pixels of the picture in the file's own orientation, as other programs show
        it, without the turn that a person added."""
        left, top, width, height = as_filed_region(region, self.turn, self.straight)
        across, down = self.size
        x, y = round(left * across), round(top * down)
        return y, x, max(1, min(round(height * down), down - y)), max(1, min(round(width * across), across - x))


@dataclass(frozen=True, slots=True)
class TreePictures:
    """What can be written: the scan of each photograph; for each person of the tree (by code) their photographs, with
    the region where that is known; notes on them, by code; the photographs that show somebody who may be living, and
    those people; and the number of names left out as doubtful, and of people who are not in the tree."""

    scans: dict[str, FrontScan]
    links: dict[str, dict[str, Region | None]]
    notes: dict[str, str]
    living: frozenset[str]
    people_living: frozenset[str]
    doubtful: int
    outside: int


def pictures_for_tree(connection: Connection) -> TreePictures:
    """The pictures for a tree file. The caller makes sure that the conflicts are up to date."""
    named = NamesOnPhotographs(connection)
    private = held_back(connection, {photo for photo, _ in named.rows}, HOUSEHOLD)
    named.leave_out(private)
    undisputed = named.undisputed()
    p = t.person.c
    in_file = select(p.id, p.code).where(p.outside == 0, p.gone == 0)
    people = {row.id: row.code for row in rows_of(connection, in_file, p.id, named.who)}
    scans = _scans(connection, {photo for photo, _ in named.rows})
    links: dict[str, dict[str, Region | None]] = defaultdict(dict)
    for (photo, who), region in undisputed.items():
        if who in people and photo in scans:
            links[people[who]][scans[photo].code] = region
    living = may_be_living(connection, named.who)
    doubted = {who for photo, who in named.rows if (photo, who) not in undisputed}
    sure = {id_: code for id_, code in people.items() if id_ not in doubted}
    return TreePictures(
        scans={scan.code: scan for scan in scans.values()},
        links=dict(links),
        notes=_notes(connection, sure),
        living=frozenset(scans[photo].code for photo, who in named.rows if who in living and photo in scans),
        people_living=frozenset(people[who] for who in living if who in people),
        doubtful=len(named.rows) - len(undisputed),
        outside=len({who for _, who in undisputed} - people.keys()),
    )


def _notes(connection: Connection, people: dict[int, str]) -> dict[str, str]:
    """The notes on the births of these people (code by row id)."""
    open_ = people.keys() - births.known_in_file(connection, people)
    found = births.suggested(connection, [people[id_] for id_ in open_])
    return {code: f"{born(birth)}. {NO_PROOF}" for code, birth in found.items()}


class NamesOnPhotographs:
    """Who is named in which photograph: (photograph, person) with its rows, oldest first. Somebody outside the tree who
    turned out to be in it counts as that person."""

    def __init__(self, connection: Connection) -> None:
        a, r = t.appearance.c, t.region.c
        query = (
            select(a.id, a.photograph_id, a.person_id, a.region_id, a.denied, a.role, a.trust)
            .add_columns(r.left, r.top, r.width, r.height)
            .outerjoin(t.region, r.id == a.region_id)
            .where(a.withdrawn == 0, a.person_id.is_not(None))
            .order_by(a.id)
        )
        identity = read_identity(connection)
        self.rows: dict[tuple[int, int], list[Any]] = {}
        self._denied: set[tuple[int, int]] = set()
        self._disputed = {id_ for conflict in kept_findings(connection).conflicts for id_ in conflict.statements}
        for row in connection.execute(query):
            who = identity.of(row.person_id)
            if row.denied:
                self._denied.add((row.photograph_id, who))
                continue
            self.rows.setdefault((row.photograph_id, who), []).append(row)
        self.who = {who for _, who in self.rows}
        self._rivals = with_rivals((row.region_id, who) for (_, who), rows in self.rows.items() for row in rows)

    def leave_out(self, photographs: Collection[int]) -> None:
        """As if nobody were named in these."""
        self.rows = {key: rows for key, rows in self.rows.items() if key[0] not in photographs}
        self.who = {who for _, who in self.rows}

    def undisputed(self) -> dict[tuple[int, int], Region | None]:
        """The names that nobody disputes, with the person's region, preferably not that of a likeness."""
        found: dict[tuple[int, int], Region | None] = {}
        for key, rows in self.rows.items():
            rows = [] if key in self._denied else [row for row in rows if self._is_undisputed(row)]
            if rows:
                best = min(rows, key=lambda row: (row.role == Role.LIKENESS, row.left is None))
                found[key] = None if best.left is None else (best.left, best.top, best.width, best.height)
        return found

    def _is_undisputed(self, row: Any) -> bool:
        return row.region_id not in self._rivals and row.trust != Trust.WEAK and f"A{row.id}" not in self._disputed


def _scans(connection: Connection, photographs: set[int]) -> dict[int, FrontScan]:
    """The scan that represents each photograph: its first front, existing ones before missing ones."""
    s, p = t.scan.c, t.photograph.c
    query = (
        select(s.photograph_id, p.code, p.title, s.path, s.page, s.file_type, s.width, s.height, s.orientation, s.turn)
        .add_columns(s.straight, s.side)
        .join(t.photograph, p.id == s.photograph_id)
        .order_by(s.side != "recto", s.missing, s.side, s.position, s.id)
    )
    found: dict[int, FrontScan] = {}
    for id_, code, title, path, page, kind, width, height, orientation, turn, straight, side in rows_of(
        connection, query, s.photograph_id, photographs
    ):
        size = upright_size((width, height), orientation)
        file = file_path(path, page)
        found.setdefault(id_, FrontScan(code, title, file, kind, size, turn, side == "recto", page, straight))
    return found
