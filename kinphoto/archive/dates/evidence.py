"""From rows to evidence: everything the archive knows, as the plain values the reasoner reads.

A statement's id shows which row it comes from: `S12` a statement, `A7` an appearance, `E5` a dated event of the tree,
`L9` a parent link, `M3` a marriage (the family's id). What somebody withdrew is left out; of several dates for one
event the next preferred takes its place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import replace
from functools import cached_property
from typing import Any

from sqlalchemy import Connection, Table

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.kinds import AGE_KINDS, FROM_MEMORY, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.catalogue.recorded_dates import dated, lapse_of, names_event
from kinphoto.archive.catalogue.scan_numbers import ScanName, scan_numbers
from kinphoto.archive.dates.neighbourhood import Reach
from kinphoto.archive.dates.rows import Row, rows_now
from kinphoto.archive.statements.trusts import BY_QUALITY, can_have_known, default_trust
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import processes
from kinphoto.reason.model.span import Span, doubted
from kinphoto.reason.model.subjects import Arrangement, Container, Person, Photograph
from kinphoto.reason.model.walk import Walk, is_exact
from kinphoto.store import tables as t

LIFE_TAGS = {
    "BIRT": ev.LifeEvent.BIRTH,
    "CHR": ev.LifeEvent.CHRISTENING,
    "BAPM": ev.LifeEvent.CHRISTENING,
    "DEAT": ev.LifeEvent.DEATH,
    "BURI": ev.LifeEvent.BURIAL,
    "CREM": ev.LifeEvent.BURIAL,
}
ALIVE_TAGS = frozenset(
    ("CENS", "RESI", "EMIG", "IMMI", "NATU", "GRAD", "EDUC", "OCCU", "RETI", "CONF", "FCOM", "BARM", "BASM", "CHRA",
     "ORDN")
)  # fmt: skip
"""Events of a person that only the living have. (A will is proved, and somebody honoured, after death as well.)"""


def gather(connection: Connection) -> ev.Evidence:
    """All evidence of the archive: the photographs, the statements, and the part of the tree that bears on them."""
    rows = _Rows(rows_now(connection).every, read_identity(connection), scan_numbers(connection))
    return _evidence(rows, rows.reach())


def gather_reached(reached: Reach) -> ev.Evidence:
    """The evidence in the rows that were reached, with the names of others that a sentence may need.

    For one photograph it is as good as the whole: `focus` picks the same statements from both, unless more is connected
    than the bound allowed.
    """
    near = _evidence(_Rows(reached.rows, reached.identity), reached.people)
    return replace(near, from_containers=reached.from_containers())


def withdrawn_of(reached: Reach) -> tuple[ev.Statement, ...]:
    """The statements about the photograph itself that somebody withdrew, as if they were in use."""
    gone = {(table.name, row["id"]) for table in (t.appearance, t.statement) for row in reached.withdrawn(table)}
    if not gone:
        return ()

    def as_said(table: Table) -> list[Any]:
        rows = reached.rows(table)
        return [{**row, "withdrawn": 0} if (table.name, row["id"]) in gone else row for row in rows]

    rows = _Rows(as_said, reached.identity)
    names = {f"{name[0].upper()}{i}" for name, i in gone}
    return tuple(s for s in (*rows.appearances(), *rows.claims()) if s.id in names)


def gather_tree(connection: Connection) -> tuple[ev.Evidence, tuple[ev.LifeDate, ...]]:
    """All evidence of the tree without any photograph, and the dates of lives for which another date is preferred."""
    every = rows_now(connection).every
    rows = _Rows(lambda table: every(table) if table in _OF_THE_TREE else [], Identity({}))
    people = {p["id"] for p in rows.people.values() if not p["outside"] and not p["gone"]}
    return _evidence(rows, people), tuple(rows.life_dates(people, preferred=False))


_OF_THE_TREE = (t.person, t.family, t.partner, t.parent_link, t.event)


def _evidence(rows: _Rows, reached: set[int]) -> ev.Evidence:
    statements = [
        *rows.appearances(),
        *rows.claims(),
        *rows.life_dates(reached),
        *rows.family_ties(reached),
        *rows.event_dates(reached),
    ]
    people = tuple(Person(p["code"], p["name"], p["sex"]) for p in rows.people.values() if p["id"] in reached)
    return ev.Evidence(people, rows.photographs(), tuple(statements), rows.containers())


class _Rows:
    """The tables as read once, and the evidence in them. `read` gives the rows of a table by id: all, or those near one
    photograph; of all, `named` has how they are named and numbered, by row id."""

    def __init__(
        self, read: Callable[[Table], Sequence[Row]], identity: Identity, named: Mapping[int, ScanName] | None = None
    ) -> None:
        self.named = named or {}
        self.people = {p["id"]: p for p in read(t.person)}
        self.identity = identity
        self.photos = {p["id"]: p for p in read(t.photograph)}
        self.seen = [a for a in read(t.appearance) if not a["withdrawn"]]
        self.statements = [s for s in read(t.statement) if not s["withdrawn"]]
        self.events = sorted(read(t.event), key=lambda e: (identity.is_another(e["person_id"]), e["position"], e["id"]))
        families = read(t.family)
        self.family = {f["id"]: f["code"] for f in families}
        self.wed = {f["id"] for f in families if not f["withdrawn"]}
        self.links = [k for k in read(t.parent_link) if k["pedigree"] in ("", "birth") and not k["withdrawn"]]
        self.partners: dict[int, list[int]] = defaultdict(list)
        for row in sorted(read(t.partner), key=lambda r: (r["family_id"], r["position"])):
            self.partners[row["family_id"]].append(row["person_id"])
        self.informants = {i["id"]: i for i in read(t.informant)}
        self.boxes = read(t.container)
        self.processes = processes.load()

    def code(self, person_id: int | None) -> str | None:
        return None if person_id is None else str(self.people[self.identity.of(person_id)]["code"])

    def reach(self) -> set[int]:
        """The people whose dates can bear on a photograph or a birth: everybody in a photograph or at an event that one
        shows, their families, and in turn the families of anybody whose birth is vague."""
        found = Walk[int]()
        named = {self.identity.of(a["person_id"]) for a in self.seen if a["person_id"] is not None}
        found.open(self, named | self._of_claimed_events())
        found.open(self, found.people - self.exactly_born(found.people))
        return found.people

    def families(self, people: Set[int]) -> Mapping[int, Set[int]]:
        """The parents, children and partners of each."""
        return {one: self.near[one] for one in people}

    def exactly_born(self, people: Set[int]) -> set[int]:
        """Those of them whose birth is known to within a year."""
        return {one for one in people if is_exact(self.births.get(one, Span()))}

    def photographs(self) -> tuple[Photograph, ...]:
        """Every photograph; one is a print unless it is recorded as a camera original."""
        originals = {
            s["photograph_id"]
            for s in self.statements
            if s["kind"] in MADE_KINDS and s["value"] in self.processes and self.processes[s["value"]].original
        }
        return tuple(
            Photograph(
                p["code"], p["indexed"], p["id"] not in originals, bool(p["page"]),
                None if p["container_id"] is None else f"B{p['container_id']}", p["position"],
                *self.named.get(p["id"], ScanName()),
            )
            for p in self.photos.values()
        )  # fmt: skip

    def containers(self) -> tuple[Container, ...]:
        """Every container, where all photographs are at hand."""
        return tuple(
            Container(
                f"B{c['id']}",
                None if c["parent_id"] is None else f"B{c['parent_id']}",
                Arrangement(c["arrangement"]) if c["arrangement"] else None,
            )
            for c in self.boxes
        )

    def appearances(self) -> Iterable[ev.Appearance]:
        """Who is in which photograph."""
        for a in self.seen:
            yield ev.Appearance(
                id=f"A{a['id']}",
                trust=self._appearance_trust(a),
                order=a["id"],
                text=a["why"],
                informant=self._informant(a),
                photograph=self.photos[a["photograph_id"]]["code"],
                person=self.code(a["person_id"]),
                role=ev.Role(a["role"]),
                region=None if a["region_id"] is None else f"R{a['region_id']}",
                denied=bool(a["denied"]),
            )

    def claims(self) -> Iterable[ev.Statement]:
        """Ages, dated claims, events, processes and formats, relations."""
        appearing = {a["id"] for a in self.seen}
        for s in self.statements:
            if s["appearance_id"] is not None and s["appearance_id"] not in appearing:
                continue
            if (made := self._statement(s)) is not None:
                yield made

    def life_dates(self, reached: set[int], *, preferred: bool = True) -> Iterable[ev.LifeDate]:
        """Every date on which somebody was alive; of births, christenings, deaths and burials the preferred one with a
        date, or the others instead."""
        taken = set()
        for e in self.events:
            kind = ev.LifeEvent.ALIVE if e["tag"] in ALIVE_TAGS else LIFE_TAGS.get(e["tag"])
            if kind is None or e["person_id"] is None or not _has_date(e):
                continue
            who = self.identity.of(e["person_id"])
            if who not in reached:
                continue
            counts = kind is ev.LifeEvent.ALIVE or (who, kind) not in taken
            taken.add((who, kind))
            if counts is preferred:
                yield ev.LifeDate(
                    id=f"E{e['id']}", trust=_event_trust(e), text=e["date_text"], person=self.people[who]["code"],
                    event=kind, date=dated(e),
                )  # fmt: skip

    def family_ties(self, reached: set[int]) -> Iterable[ev.Statement]:
        """Parent links by birth, and marriages of families that have a marriage event."""
        for link in self.links:
            if link["child_id"] in reached and link["parent_id"] in reached:
                child, parent = self.people[link["child_id"]]["code"], self.people[link["parent_id"]]
                ends = {"child": child, "parent": parent["code"], "parent_sex": parent["sex"]}
                yield ev.ParentLink(id=f"L{link['id']}", trust=ev.Trust.CERTAIN, **ends)
        married = {e["family_id"] for e in self.events if e["tag"] == "MARR" and e["family_id"] is not None}
        for family_id in sorted(married & self.wed):
            if spouses := tuple(str(self.people[p]["code"]) for p in self.partners[family_id] if p in reached):
                event = f"{self.family[family_id]}:MARR"
                yield ev.Marriage(id=f"M{family_id}", trust=ev.Trust.CERTAIN, event=event, spouses=spouses)

    def event_dates(self, reached: set[int]) -> Iterable[ev.EventDate]:
        """Dates of marriages, and of other events that some photograph shows."""
        claimed = {self._event(s["value"]) for s in self.statements if names_event(s)}
        done = set()
        for e in self.events:
            key = self._event_key(e)
            if key is None or key in done or not _has_date(e):
                continue
            if e["tag"] in ("BIRT", "DEAT") and key == f"{self.code(e['person_id'])}:{e['tag']}":
                continue  # a date of somebody's life, which is in the evidence already
            near = e["tag"] == "MARR" and any(p in reached for p in self.partners[e["family_id"] or 0])
            if near or key in claimed:
                done.add(key)
                yield ev.EventDate(
                    id=f"E{e['id']}", trust=_event_trust(e), text=e["date_text"], event=key, date=dated(e)
                )

    def _statement(self, s: Row) -> ev.Statement | None:
        base: dict[str, Any] = {
            "id": f"S{s['id']}", "trust": ev.Trust(s["trust"]) if s["trust"] else default_trust(s["kind"]),
            "order": s["id"], "text": s["text"], "informant": self._informant(s),
        }  # fmt: skip
        photo, kind = self.photos[s["photograph_id"]]["code"], s["kind"]
        if kind in AGE_KINDS:
            return ev.Age(
                **base,
                appearance=f"A{s['appearance_id']}",
                low=s["age_low"],
                high=s["age_high"],
                basis=ev.AgeBasis(kind.removesuffix("-age")),
                blind=bool(s["blind"]),
            )
        if kind in RELATION_KINDS:
            other = self.photos[s["other_id"]]["code"]
            return ev.Relation(**base, photograph=photo, related=ev.Related(kind), other=other)
        if kind in MADE_KINDS:
            made = self.processes.get(s["value"])
            return None if made is None else ev.Made(
                **base, photograph=photo, what=kind, name=made.name, window=made.window, common=made.common,
                original=made.original,
            )  # fmt: skip
        if kind == "event":
            return ev.EventClaim(**base, photograph=photo, event=self._event(s["value"]))
        if (lapse := lapse_of(s)) is not None:
            return ev.RelativeDate(
                **base,
                photograph=photo,
                claim=ev.Claim(kind),
                event=self._event(s["value"]),
                lapse=lapse,
                words=s["date_text"],
            )
        if not _has_date(s):
            return None
        date, hearsay = dated(s), self._is_hearsay(s)
        if hearsay and date.stated is None:
            date = doubted(date)
        return ev.DateClaim(**base, photograph=photo, claim=ev.Claim(kind), date=date, hearsay=hearsay)

    def _is_hearsay(self, s: Row) -> bool:
        """Whether somebody recalls a time before they were born, and no trust is recorded for it."""
        teller = self._teller(s)
        if teller is None or s["trust"] or s["kind"] not in FROM_MEMORY:
            return False
        born = self.births.get(teller, Span()).first
        until = s["last"] if s["centre"] is None else s["centre"]
        return born is not None and until is not None and until < born

    @cached_property
    def ids(self) -> dict[str, int]:
        """The people (row ids) by their codes."""
        return {p["code"]: p["id"] for p in self.people.values()}

    def _event(self, key: str) -> str:
        """The key of an event that a statement names; somebody's who turned out to be another is that other's."""
        code, colon, tag = key.partition(":")
        return f"{self.code(self.ids[code])}{colon}{tag}" if code in self.ids else key

    def _event_key(self, e: Row) -> str | None:
        if e["family_id"] is not None:
            return f"{self.family[e['family_id']]}:{e['tag']}"
        return None if e["person_id"] is None else f"{self.people[e['person_id']]['code']}:{e['tag']}"

    def _of_claimed_events(self) -> set[int]:
        """People of the events that photographs show."""
        codes = {s["value"].partition(":")[0] for s in self.statements if names_event(s)}
        families = [f for f, code in self.family.items() if code in codes]
        people = {self.identity.of(self.ids[code]) for code in codes if code in self.ids}
        return people.union(*(self.partners[f] for f in families))

    def _informant(self, row: Row) -> str | None:
        return None if row["informant_id"] is None else str(self.informants[row["informant_id"]]["name"])

    def _appearance_trust(self, a: Row) -> ev.Trust:
        if a["trust"]:
            return ev.Trust(a["trust"])
        teller, who = self._teller(a), self.identity.of(a["person_id"])
        known = teller is None or who is None or can_have_known(self.lives[teller], self.lives[who])
        return default_trust("appearance") if known else ev.Trust.FAIR

    def _teller(self, row: Row) -> int | None:
        return (
            None if row["informant_id"] is None else self.identity.of(self.informants[row["informant_id"]]["person_id"])
        )

    @cached_property
    def near(self) -> dict[int, set[int]]:
        """The parents, children and partners of everybody."""
        near: dict[int, set[int]] = defaultdict(set)
        for link in self.links:
            near[link["child_id"]].add(link["parent_id"])
            near[link["parent_id"]].add(link["child_id"])
        for partners in self.partners.values():
            for one in partners:
                near[one].update(partners)
        return near

    @cached_property
    def lives(self) -> dict[int, Span]:
        """First possible birth to last possible death of everybody, as the tree alone has it."""
        deaths, none = self._preferred("DEAT"), Span()
        return {p: Span(self.births.get(p, none).first, deaths.get(p, none).last) for p in self.people}

    @cached_property
    def births(self) -> dict[int, Span]:
        """When people were born, as the tree alone has it."""
        return self._preferred("BIRT")

    def _preferred(self, tag: str) -> dict[int, Span]:
        found: dict[int, Span] = {}
        for e in self.events:
            if e["tag"] == tag and e["person_id"] is not None and _has_date(e):
                found.setdefault(e["person_id"], Span(e["first"], e["last"]))
        return found


def _has_date(row: Row) -> bool:
    return not row["withdrawn"] and (row["first"] is not None or row["last"] is not None)


def _event_trust(e: Row) -> ev.Trust:
    return BY_QUALITY.get(e["quality"], ev.Trust.STRONG)
