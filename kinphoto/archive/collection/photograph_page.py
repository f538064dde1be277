"""One photograph as an object with everything recorded of it: its scans, where it lies and between which others, what
is written on it, how it was made, and what it hangs together with. Who is in it and when it was taken stand elsewhere.

Read by queries on indexes only, so that a large archive answers as fast as a small one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.finding import find_photograph, scans_of
from kinphoto.archive.catalogue.kinds import DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.catalogue.privacy import Public
from kinphoto.archive.catalogue.recorded_dates import dated
from kinphoto.archive.catalogue.unborn import in_the_picture, unborn
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.statements.claims import event_words
from kinphoto.gedcom.wording import words as plain
from kinphoto.phrases import opening
from kinphoto.reason.model import processes
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.span import Dated
from kinphoto.scans.upright import ScanFile, framed_alike, turned, upright_size
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class ScanShown:
    """One scan of it. `version` changes when what is shown of it does; `width` and `height` are those of the upright
    picture in pixels; `ppi` is None when unknown; `superseded`: a better scan of the same side took its place."""

    id: int
    side: str
    path: str
    width: int
    height: int
    ppi: float | None
    missing: bool
    version: str
    superseded: bool = False


@dataclass(frozen=True, slots=True)
class ContainerName:
    """A container with its row id."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class StatementShown:
    """Something stated about it: `words` tell it (a process or format by its full title, with its `cautions`), `date`
    is the date in it in plain words, `other` is the photograph a relation leads to. `withdrawn` statements are kept and
    shown."""

    id: str
    kind: str
    words: str
    date: str
    trust: str | None
    informant: str | None
    said_at: str
    withdrawn: bool
    other: str | None = None
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PhotographPage:
    """A photograph and everything recorded of it as an object. `estimate` is None for an album page, and for a
    photograph that has not been dated yet. `place_in_box` counts from 1 of `box_size`."""

    code: str
    page: bool
    title: str
    place: str
    note: str
    rights: str
    maker: str
    former_number: str
    scans: tuple[ScanShown, ...]
    boxes: tuple[ContainerName, ...]
    place_in_box: int
    box_size: int
    before: str | None
    after: str | None
    marks: tuple[StatementShown, ...]
    aliases: tuple[str, ...]
    estimate: Estimate | None

    @property
    def recto(self) -> ScanShown | None:
        """The scan that shows the picture; None when no file is left."""
        return next((s for s in self.scans if s.side == "recto"), self.scans[0] if self.scans else None)

    @property
    def framed_otherwise(self) -> bool:
        """Whether the front has other proportions than a scan whose place it took, so that faces may sit wrong."""
        front = self.recto
        older = [s for s in self.scans if s.superseded and front is not None and s.side == front.side]
        return front is not None and any(
            not framed_alike((front.width, front.height), (s.width, s.height)) for s in older
        )

    @property
    def others(self) -> tuple[ScanShown, ...]:
        """The other scans: the back, details, rescans."""
        return tuple(s for s in self.scans if s is not self.recto)


def read_page(connection: Connection, photograph: str, public: Public | None = None) -> PhotographPage:
    """The photograph meant. Raises NotFoundError or AmbiguousError; with `public` as if there were only the photographs
    it holds, before and after this one too."""
    row = find_photograph(connection, photograph, public)
    before, after, place, size = _neighbours(connection, row, public)
    return PhotographPage(
        code=row["code"],
        page=bool(row["page"]),
        **{field: row[field] for field in ("title", "place", "note", "rights", "maker", "former_number")},
        scans=tuple(sorted(map(scanned, scans_of(connection, row["id"])), key=lambda s: _SIDES.get(s.side, 3))),
        boxes=tuple(boxes_above(connection, row["container_id"])),
        place_in_box=place,
        box_size=size,
        before=before,
        after=after,
        marks=tuple(_marks(connection, row)),
        aliases=tuple(
            connection.scalars(
                select(t.alias.c.code).where(t.alias.c.photograph_id == row["id"]).order_by(t.alias.c.code)
            )
        ),
        estimate=_estimate(connection, row),
    )


_SIDES = {"recto": 0, "verso": 1, "detail": 2}


def scanned(row: RowMapping) -> ScanShown:
    """A row of table scan as what a page shows."""
    source = ScanFile(row["path"], row["sha256"], row["turn"])
    across, down = upright_size((row["width"], row["height"]), turned(row["orientation"], row["turn"]))
    return ScanShown(
        row["id"], row["side"], row["path"], across, down, row["ppi"], bool(row["missing"]), source.version,
        bool(row["superseded"]),
    )  # fmt: skip


def boxes_above(connection: Connection, container_id: int | None) -> list[ContainerName]:
    """A container and those it lies in, the outermost first."""
    c = t.container.c
    found: list[ContainerName] = []
    seen: set[int] = set()
    while container_id is not None and container_id not in seen:
        seen.add(container_id)
        row = connection.execute(select(c.name, c.parent_id).where(c.id == container_id)).one()
        found.insert(0, ContainerName(container_id, row.name))
        container_id = row.parent_id
    return found


def _neighbours(
    connection: Connection, row: RowMapping, public: Public | None
) -> tuple[str | None, str | None, int, int]:
    """The codes before and after it in its container, its place there and how many lie there; 0 of 0 for none."""
    p = t.photograph.c
    inside = p.container_id == row["container_id"]  # IS NULL for those in none
    rows = connection.execute(select(p.id, p.code).where(inside).order_by(p.position, p.id))
    codes = [code for id_, code in rows if public is None or id_ in public.photographs]
    at = codes.index(row["code"])
    before = codes[at - 1] if at else None
    after = codes[at + 1] if at + 1 < len(codes) else None
    return before, after, at + 1, len(codes)


def _estimate(connection: Connection, row: RowMapping) -> Estimate | None:
    e = connection.execute(select(t.estimate).where(t.estimate.c.photograph_id == row["id"])).mappings().first()
    return None if e is None else as_estimate({"code": row["code"], **e})


def _marks(connection: Connection, photograph: RowMapping) -> list[StatementShown]:
    """What was stated of the object, relations told from either side."""
    photograph_id = photograph["id"]
    s, i, p = t.statement.c, t.informant.c, t.photograph.c
    columns = (
        s.id, s.kind, s.text, s.date_text, s.first, s.last, s.shape, s.centre, s.spread, s.doubtful, s.value, s.trust,
        s.said_at, s.withdrawn, i.name.label("informant"), p.code.label("other"),
    )  # fmt: skip
    kinds = (*DATED_KINDS, *MADE_KINDS, *RELATION_KINDS)
    joined = t.statement.outerjoin(t.informant, i.id == s.informant_id)
    own = select(*columns).select_from(joined.outerjoin(t.photograph, p.id == s.other_id))
    turned = select(*columns).select_from(joined.join(t.photograph, p.id == s.photograph_id))
    rows = connection.execute(own.where(s.photograph_id == photograph_id, s.kind.in_(kinds)).order_by(s.id)).mappings()
    back = connection.execute(turned.where(s.other_id == photograph_id).order_by(s.id)).mappings()
    a = t.appearance.c
    seen = connection.execute(
        select(a.role, a.denied, a.person_id).where(a.photograph_id == photograph_id, a.withdrawn == 0)
    )
    people = {person for role, denied, person in seen if in_the_picture(role, denied, person)}
    marks = []
    for row in rows:
        date = _date(row)
        odd = "" if date is None or row["withdrawn"] else unborn(connection, photograph["code"], people, date.as_stated)
        marks.append(_mark(connection, row, False, (f"{opening(odd)}.",) if odd else ()))
    return [*marks, *(_mark(connection, row, True) for row in back)]


def _date(row: RowMapping) -> Dated | None:
    return dated(row) if row["kind"] in DATED_KINDS and row["date_text"] else None


_TURNED = {"before": "after", "after": "before", "copy-of": "copied as", "part-of": "carries"}
"""A relation as said from the other photograph."""


def _mark(connection: Connection, row: RowMapping, turned: bool, cautions: tuple[str, ...] = ()) -> StatementShown:
    words = row["text"]
    if row["kind"] in MADE_KINDS:
        entry = processes.load().get(row["value"])
        words, cautions = (entry.title, entry.cautions) if entry else (row["value"], ())
    elif row["kind"] == "event":
        words = event_words(connection, row["value"])
    kind = _TURNED.get(row["kind"], row["kind"]) if turned else row["kind"]
    fields: dict[str, Any] = {key: row[key] for key in ("trust", "informant", "said_at", "other")}
    date = plain(dated(row)) if row["date_text"] else ""
    return StatementShown(
        f"S{row['id']}", kind, words, date, withdrawn=bool(row["withdrawn"]), cautions=cautions, **fields
    )
