"""A photograph as it may leave the archive, and reading it so: with what may be said of it and nothing else.

A name is given only where nobody disputes it: as in a tree file, whoever receives it takes it for a fact.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.archive.catalogue.kinds import DATED_KINDS, OF_EXPOSURE
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.privacy import View
from kinphoto.archive.catalogue.recorded_dates import dated
from kinphoto.archive.dates.estimates import as_estimate, kept_findings
from kinphoto.archive.tree.pictures import NamesOnPhotographs
from kinphoto.archive.words.dates import when
from kinphoto.archive.words.kinds import KINDS
from kinphoto.gedcom.wording import words as date_words
from kinphoto.phrases import listed, opening
from kinphoto.reason.model.evidence import DEFAULT_TRUST, Trust
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import Span, year_of
from kinphoto.reason.soft.summary import stated_edtf
from kinphoto.scans.captures.straight import read
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import ScanFile, shown_size
from kinphoto.store import tables as t

Region = tuple[float, float, float, float]

LIVING = "living"
"""What somebody is called who agreed to be shown and not to be named."""


class GivenScan(NamedTuple):
    """A scan that may be given, by its file; sizes and orientation as stored."""

    path: str
    page: int
    file_type: str
    size: tuple[int, int]
    orientation: int
    turn: int
    side: str
    sha256: str
    file_sha256: str
    ppi: float | None
    digitized: str
    missing: bool
    bytes: int
    mtime_ns: int
    picture_end: int
    straight: str = ""

    @property
    def upright(self) -> tuple[int, int]:
        """Width and height as it is looked at."""
        return shown_size(self.size, self.orientation, self.turn, self.straight)

    @property
    def source(self) -> ScanFile:
        """The file and how it is shown."""
        return ScanFile(self.path, self.sha256, self.turn, self.page, self.file_sha256, self.straight)

    @property
    def corners(self) -> tuple[str, ...]:
        """The corners of a photographed print that is shown straight; none for any other."""
        return () if read(self.straight) is None else (self.straight,)


class GivenName(NamedTuple):
    """Somebody in a photograph who may be named; "living" with no id and no place for one who may only be shown."""

    id: str
    name: str
    years: str
    region: Region | None


class GivenDate(NamedTuple):
    """When a photograph was taken, as it may leave: in words that say how that is known, as EDTF, and `exact` where
    somebody stated a whole day, month or year of exposure that nobody disputes ("1931-06-12", "1931-06", "1931").
    `bare` is the date in words alone."""

    words: str = ""
    edtf: str = ""
    exact: str = ""
    inferred: bool = False
    bare: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A photograph as it may leave the archive."""

    id: int
    code: str
    page: bool
    title: str
    place: str
    note: str
    maker: str
    rights: str
    boxes: tuple[str, ...]
    told_by: tuple[str, ...]
    said: tuple[str, ...]
    """What was written on it or told about it, in the words of whoever did."""
    marks: tuple[str, ...]
    """Dates of the object rather than of the exposure, in words: a postmark, a print stamp."""
    names: tuple[GivenName, ...]
    nameless: tuple[Region, ...]
    date: GivenDate
    year: int | None
    front: GivenScan
    others: tuple[GivenScan, ...]

    @property
    def who(self) -> list[str]:
        """The names, each once."""
        return list(dict.fromkeys(one.name for one in self.names))

    @property
    def label(self) -> str:
        """What to call it: its title, or else who is in it."""
        return self.title or listed(self.who) or ("Album page" if self.page else "Photograph")


class GivenReader:
    """Reads photographs that may go, all at once: a few queries for any number of them."""

    def __init__(self, connection: Connection, seen: View, ids: Collection[int]) -> None:
        self._connection, self._view, self._ids = connection, seen, set(ids)
        self.identity: Identity = read_identity(connection)
        self.missing: list[str] = []
        self.speechless: set[int] = set()
        self.living: set[str] = set()
        self.disputed = 0

    def given(self) -> list[Given]:
        """The photographs in the order of their codes; those without a file are `missing`."""
        p = t.photograph.c
        rows = list(rows_of(self._connection, select(t.photograph).order_by(p.code), p.id, self._ids))
        scans, names, nameless = self._scans(), self._names(), self._nameless()
        estimates, said = self._estimates(), self._statements()
        told, boxes = self._told(), self._boxes({row.container_id for row in rows})
        aside = frozenset(kept_findings(self._connection).aside)
        found = []
        for row in rows:
            there = [scan for scan in scans[row.id] if not scan.missing]
            front = next((scan for scan in there if scan.side == "recto"), None)
            if front is None:
                self.missing.append(row.code)
                continue
            open_ = row.id in self._view.words
            written = tuple(dict.fromkeys(each.text for each in said[row.id] if each.text))
            # Whoever agreed only to be shown did not agree to the date: it gives away how old they are.
            undated = any(not one.id for one in names.get(row.id, ()))
            if not open_ and (written or row.title or row.place or row.note or any(s.side == "verso" for s in there)):
                self.speechless.add(row.id)
            found.append(
                Given(
                    id=row.id,
                    code=row.code,
                    page=bool(row.page),
                    **{
                        key: getattr(row, key) if open_ else "" for key in ("title", "place", "note", "maker", "rights")
                    },
                    boxes=boxes.get(row.container_id, ()) if self._view.at_home else (),
                    told_by=told.get(row.id, ()),
                    said=written if open_ else (),
                    marks=() if undated else tuple(_marks(said[row.id])),
                    names=names.get(row.id, ()),
                    nameless=nameless.get(row.id, ()),
                    date=GivenDate() if undated else _date(estimates.get(row.id), said[row.id], aside),
                    year=None if undated else _year(estimates.get(row.id)),
                    front=front,
                    others=tuple(s for s in there if s is not front and (open_ or s.side == "detail")),
                )
            )
        return found

    def _scans(self) -> dict[int, list[GivenScan]]:
        s = t.scan.c
        query = select(t.scan).where(s.superseded == 0).order_by(s.side != "recto", s.position, s.id)
        found: dict[int, list[GivenScan]] = defaultdict(list)
        for row in rows_of(self._connection, query, s.photograph_id, self._ids):
            found[row.photograph_id].append(
                GivenScan(
                    file_path(row.path, row.page), row.page, row.file_type, (row.width, row.height), row.orientation,
                    row.turn, row.side, row.sha256, row.file_sha256, row.ppi, row.exif_digitized or "",
                    bool(row.missing), row.size, row.mtime_ns, row.picture_end, row.straight,
                )
            )  # fmt: skip
        return found

    def _names(self) -> dict[int, tuple[GivenName, ...]]:
        """The names nobody disputes, from left to right; those without a place last."""
        named = NamesOnPhotographs(self._connection)
        undisputed = {key: region for key, region in named.undisputed().items() if key[0] in self._ids}
        self.disputed = sum(1 for photo, _ in named.rows if photo in self._ids) - len(undisputed)
        p = t.person.c
        who = {person for _, person in undisputed}
        query = select(p.id, p.code, p.name)
        people = {row.id: row for row in rows_of(self._connection, query, p.id, who)}
        lived: dict[int, Life] = lives(self._connection, who & self._view.people, self.identity)
        self.living = {people[id_].code for id_ in self._living(who)}
        found: dict[int, list[GivenName]] = defaultdict(list)
        for (photo, person), region in undisputed.items():
            row = people[person]
            if person in self._view.people:
                found[photo].append(GivenName(row.code, row.name or row.code, lived[person].years, region))
            else:
                found[photo].append(GivenName("", LIVING, "", None))
        order = {id_: sorted(names, key=lambda one: one.region or (2.0, 0, 0, 0)) for id_, names in found.items()}
        return {id_: tuple(names) for id_, names in order.items()}

    def _living(self, people: Collection[int]) -> set[int]:
        return set() if self._view.at_home else may_be_living(self._connection, people) & self._view.people

    def _nameless(self) -> dict[int, tuple[Region, ...]]:
        """Where faces without a name are, in pictures of nobody living."""
        a, r = t.appearance.c, t.region.c
        named = select(a.region_id).where(a.withdrawn == 0, a.person_id.is_not(None), a.region_id.is_not(None))
        query = (
            select(a.photograph_id, r.left, r.top, r.width, r.height)
            .join(t.region, r.id == a.region_id)
            .where(a.withdrawn == 0, a.denied == 0, a.person_id.is_(None), a.region_id.not_in(named))
            .order_by(r.left)
        )
        found: dict[int, list[Region]] = defaultdict(list)
        for id_, *region in rows_of(self._connection, query, a.photograph_id, self._ids & self._view.long_ago):
            found[id_].append(tuple(region))
        return {id_: tuple(dict.fromkeys(regions)) for id_, regions in found.items()}

    def _estimates(self) -> dict[int, Estimate]:
        p, e = t.photograph.c, t.estimate.c
        query = select(p.code, *e).join(t.photograph, p.id == e.photograph_id)
        found = rows_of(self._connection, query, e.photograph_id, self._ids)
        return {row.photograph_id: as_estimate(row._mapping) for row in found}

    def _statements(self) -> dict[int, list[Any]]:
        s = t.statement.c
        query = select(t.statement).where(s.withdrawn == 0, s.kind.in_(DATED_KINDS)).order_by(s.id)
        found: dict[int, list[Any]] = defaultdict(list)
        for row in rows_of(self._connection, query, s.photograph_id, self._ids):
            found[row.photograph_id].append(row)
        return found

    def _told(self) -> dict[int, tuple[str, ...]]:
        """Who told us about each photograph, of those who may be named."""
        found: dict[int, dict[str, None]] = defaultdict(dict)
        i = t.informant.c
        for table in (t.appearance, t.statement):
            c = table.c
            query = select(c.photograph_id, i.name, i.person_id).join(t.informant, i.id == c.informant_id)
            for row in rows_of(self._connection, query.where(c.withdrawn == 0), c.photograph_id, self._ids):
                if self._view.at_home or row.person_id in self._view.people:
                    found[row.photograph_id][row.name] = None
        return {id_: tuple(names) for id_, names in found.items()}

    def _boxes(self, containers: set[int | None]) -> dict[int | None, tuple[str, ...]]:
        c = t.container.c
        rows = {row.id: row for row in self._connection.execute(select(c.id, c.name, c.parent_id))}
        found: dict[int | None, tuple[str, ...]] = {}
        for id_ in containers - {None}:
            names: list[str] = []
            at, seen = id_, set[int]()
            while at is not None and at not in seen:
                seen.add(at)
                names.insert(0, rows[at].name)
                at = rows[at].parent_id
            found[id_] = tuple(names)
        return found


def _date(estimate: Estimate | None, said: list[Any], aside: frozenset[str]) -> GivenDate:
    if estimate is None or estimate.likely_from is None or not estimate.edtf:
        return GivenDate()
    if not estimate.inferred:
        sure = estimate.state is State.DATED and any(_is_sure(row, estimate.edtf, aside) for row in said)
        exact = estimate.edtf if sure and estimate.edtf.replace("-", "").isdecimal() else ""
        stated = when(estimate)
        return GivenDate(f"{stated} (stated)", estimate.edtf, exact, bare=stated)
    first, last = year_of(estimate.likely_from), year_of(estimate.likely_to or estimate.likely_from)
    between = str(first) if first == last else f"between {first} and {last}"
    return GivenDate(f"{between} (inferred: nobody stated it)", estimate.edtf, inferred=True, bare=between)


def _is_sure(row: Any, edtf: str, aside: frozenset[str]) -> bool:
    """Whether a statement says of the exposure just this, without a doubt."""
    if row.kind not in OF_EXPOSURE or row.doubtful or f"S{row.id}" in aside:
        return False
    date = dated(row._mapping)
    return Trust(row.trust or DEFAULT_TRUST.get(row.kind, Trust.FAIR)) is not Trust.WEAK and (
        date.span != Span() and stated_edtf(date) == edtf
    )


def _marks(said: list[Any]) -> Iterator[str]:
    for row in said:
        words = KINDS[row.kind].given if row.kind in KINDS else ""
        if words and (row.first is not None or row.last is not None):
            yield opening(f"{words} {date_words(dated(row._mapping))}")


def _year(estimate: Estimate | None) -> int | None:
    return None if estimate is None or estimate.best is None else year_of(estimate.best)
