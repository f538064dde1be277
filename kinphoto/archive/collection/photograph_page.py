"""One photograph as an object with everything recorded of it: its scans, where it is and between which others, what is
written on it, how it was made, and what it is related to. Who is in it and when it was taken is shown elsewhere.

Read by queries on indexes only, so that a large archive answers as fast as a small one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.event_names import event_words, relative_words
from kinphoto.archive.catalogue.finding import find_photograph, scans_of
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.kinds import DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.catalogue.privacy import Public, public_view
from kinphoto.archive.catalogue.recorded_dates import dated, lapse_of
from kinphoto.archive.catalogue.scan_numbers import number_of
from kinphoto.archive.catalogue.unborn import in_the_picture, unborn
from kinphoto.archive.collection.images import shown_size
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.dates.numbered_with import numbered_with
from kinphoto.archive.words.kinds import KINDS
from kinphoto.documents import INLINE, INTERNAL, OR_NULL, Key
from kinphoto.gedcom.wording import words as plain
from kinphoto.phrases import opening
from kinphoto.reason.model import processes
from kinphoto.reason.model.findings import Estimate
from kinphoto.scans.upright import POSITIVE, ScanFile, same_proportions
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class ScanShown:
    """One scan of a photograph. `version` changes when what is shown of it does."""

    id: Annotated[int, INTERNAL]
    side: Annotated[str, "`recto`, `verso` or `detail`"]
    path: Annotated[str, "path of one of its scans, the front first"]
    width: Annotated[int, "pixels of the upright picture"]
    height: Annotated[int, "likewise"]
    ppi: Annotated[float | None, "pixels per inch; null when unknown"]
    missing: Annotated[bool, "true when the file was not where it was"]
    version: Annotated[str, INTERNAL]
    superseded: Annotated[bool, "true when a better scan of the same side took its place"] = False
    positive: Annotated[bool, INTERNAL] = False


@dataclass(frozen=True, slots=True)
class ContainerName:
    """A container."""

    id: Annotated[int, "a container's number, for programs"]
    name: Annotated[str, "its name"]


@dataclass(frozen=True, slots=True)
class StatementShown:
    """Something stated about a photograph. What was withdrawn is kept and shown."""

    id: Annotated[str, "a statement's id, `S12`; `N4` of a number"]
    kind: Annotated[str, "`inscription`, `process`, `same-occasion`, `number`, ..."]
    words: Annotated[str, Key("text"), "its words; a process or format by its full title"]
    date: Annotated[str, "the date in it in words; empty for none"]
    trust: Annotated[str | None, "`certain`, `strong`, `fair` or `weak`; null when nobody said"]
    informant: Annotated[str | None, "who said so, or null"]
    said_at: Annotated[str, "when it was said, UTC"]
    withdrawn: Annotated[bool, "true when it was withdrawn"]
    other: Annotated[str | None, "the photograph a relation leads to, or null"] = None
    cautions: Annotated[tuple[str, ...], "what to take care of with such an object"] = ()


@dataclass(frozen=True, slots=True)
class PhotographPage:
    """A photograph and everything recorded of it as an object. `estimate` is None for an album page, and for a
    photograph that has not been dated yet."""

    code: Annotated[str, "the photograph's code"]
    page: Annotated[bool, "true for an album page"]
    title: Annotated[str, "its title"]
    place: Annotated[str, "where it was taken"]
    note: Annotated[str, "what else was noted about it"]
    rights: Annotated[str, "whose it is, and who may use it"]
    maker: Annotated[str, "the photographer or studio"]
    former_number: Annotated[str, "a number it had before"]
    scans: tuple[ScanShown, ...]
    boxes: Annotated[tuple[ContainerName, ...], INTERNAL]
    place_in_box: Annotated[int, OR_NULL, "its place in the innermost container, from 1; null when it is in none"]
    box_size: Annotated[int, OR_NULL, "how many are in that container"]
    before: Annotated[str | None, "the code of the one before it there, or null"]
    after: Annotated[str | None, "the code of the one after it, or null"]
    marks: Annotated[tuple[StatementShown, ...], Key("statements")]
    aliases: Annotated[tuple[str, ...], "other codes that lead to it, of photographs that were joined to it"]
    estimate: Annotated[Estimate | None, INLINE]

    @property
    def box_names(self) -> Annotated[list[str], Key("boxes"), "the containers it is inside, the outermost first"]:
        """The names of the containers it is inside."""
        return [box.name for box in self.boxes]

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
            not same_proportions((front.width, front.height), (s.width, s.height)) for s in older
        )

    @property
    def others(self) -> tuple[ScanShown, ...]:
        """The other scans: the back, details, rescans."""
        return tuple(s for s in self.scans if s is not self.recto)


def read_page(connection: Connection, photograph: str, *, for_anybody: bool = False) -> PhotographPage:
    """One photograph as an object, with everything recorded of it. Raises NotFoundError or AmbiguousError. With
    `for_anybody` as if there were only what anybody may see, before and after it too."""
    public = public_view(connection, for_anybody)
    row = find_photograph(connection, photograph, public)
    before, after, place, size = _neighbours(connection, row, public)
    e, code = t.estimate.c, t.alias.c.code
    dated_row = connection.execute(select(t.estimate).where(e.photograph_id == row["id"])).mappings().first()
    aliases = connection.scalars(select(code).where(t.alias.c.photograph_id == row["id"]).order_by(code))
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
        marks=tuple(_marks(connection, row) + _number(connection, row)),
        aliases=tuple(aliases),
        estimate=as_estimate({"code": row["code"], **dated_row}) if dated_row else None,
    )


_SIDES = {"recto": 0, "verso": 1, "detail": 2}


def scanned(row: RowMapping) -> ScanShown:
    """A row of table scan as what a page shows."""
    source = ScanFile(row["path"], row["sha256"], row["turn"], straight=row["straight"])
    across, down = shown_size(row)
    return ScanShown(
        row["id"], row["side"], row["path"], across, down, row["ppi"], bool(row["missing"]), source.version,
        bool(row["superseded"]), bool(row["turn"] & POSITIVE),
    )  # fmt: skip


def boxes_above(connection: Connection, container_id: int | None) -> list[ContainerName]:
    """A container and those it is inside, the outermost first."""
    found: list[ContainerName] = []
    seen: set[int] = set()
    while container_id is not None and container_id not in seen:
        seen.add(container_id)
        row = row_of(connection, t.container, container_id)
        found.insert(0, ContainerName(container_id, row["name"]))
        container_id = row["parent_id"]
    return found


def _neighbours(
    connection: Connection, row: RowMapping, public: Public | None
) -> tuple[str | None, str | None, int, int]:
    """The codes before and after it in its container, its place there and how many are there."""
    p = t.photograph.c
    inside = p.container_id == row["container_id"]  # IS NULL for those in none
    rows = connection.execute(select(p.id, p.code).where(inside).order_by(p.position, p.id))
    codes = [code for id_, code in rows if public is None or id_ in public.photographs]
    at = codes.index(row["code"])
    before = codes[at - 1] if at else None
    after = codes[at + 1] if at + 1 < len(codes) else None
    return before, after, at + 1, len(codes)


def _marks(connection: Connection, photograph: RowMapping) -> list[StatementShown]:
    """What was stated about the object, with relations recorded from either side."""
    photograph_id = photograph["id"]
    s, i, p = t.statement.c, t.informant.c, t.photograph.c
    columns = (
        s.id, s.kind, s.text, s.date_text, s.first, s.last, s.shape, s.centre, s.spread, s.doubtful, s.value, s.trust,
        s.days_from, s.days_to, s.said_at, s.withdrawn, i.name.label("informant"), p.code.label("other"),
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
    identity = read_identity(connection)
    people = {identity.of(person) for role, denied, person in seen if in_the_picture(role, denied, person)}
    lived = lives(connection, people, identity)
    marks = []
    for row in rows:
        has_date = row["kind"] in DATED_KINDS and row["date_text"] and lapse_of(row) is None
        date = dated(row) if has_date else None
        odd = "" if date is None or row["withdrawn"] else unborn(connection, photograph["code"], lived, date.as_stated)
        marks.append(_mark(connection, row, False, (f"{opening(odd)}.",) if odd else ()))
    return [*marks, *(_mark(connection, row, True) for row in back)]


def _number(connection: Connection, photograph: RowMapping) -> list[StatementShown]:
    """Its number, where that says when it was taken, or was withdrawn."""
    id_, box, withdrawn = photograph["id"], photograph["container_id"], bool(photograph["number_withdrawn"])
    number = None if box is None else number_of(connection, id_)
    says = box is not None and number is not None and numbered_with(connection, id_, box).number is not None
    if box is None or not (withdrawn or says):
        return []
    value = "" if number is None else str(number.value)
    return [StatementShown(f"N{id_}", "number", value, "", None, None, "", withdrawn)]


def _mark(connection: Connection, row: RowMapping, turned: bool, cautions: tuple[str, ...] = ()) -> StatementShown:
    words = row["text"]
    if row["kind"] in MADE_KINDS:
        entry = processes.load().get(row["value"])
        words, cautions = (entry.title, entry.cautions) if entry else (row["value"], ())
    elif row["kind"] == "event":
        words = event_words(connection, row["value"])
    kind = (turned and KINDS[row["kind"]].other_way) or row["kind"]
    fields: dict[str, Any] = {key: row[key] for key in ("trust", "informant", "said_at", "other")}
    if (lapse := lapse_of(row)) is not None:
        date = relative_words(connection, row["value"], lapse)
    else:
        date = plain(dated(row)) if row["date_text"] else ""
    return StatementShown(
        f"S{row['id']}", kind, words, date, withdrawn=bool(row["withdrawn"]), cautions=cautions, **fields
    )
