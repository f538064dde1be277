"""Who is where in a photograph: its faces in reading order, the names on each, and those that are on no face.

What a page needs to draw one photograph's faces and to say who was named, by whom, and how old they look; read by
indexes alone, so that it costs the same in an archive of any size.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.kinds import AGE_KINDS
from kinphoto.archive.catalogue.lives import Life, lives
from kinphoto.archive.catalogue.regions import Region, box
from kinphoto.archive.catalogue.rivals import with_rivals
from kinphoto.archive.words.sentences import aged
from kinphoto.documents import INLINE, INTERNAL, Key
from kinphoto.reason.model.evidence import AgeBasis, Role
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class AgeSaid:
    """An age somebody gave."""

    id: Annotated[str, "an age's id, `S14`"]
    low: Annotated[float, "completed years, lowest"]
    high: Annotated[float, "completed years, highest"]
    basis: Annotated[AgeBasis, "`apparent` or `stated`"]
    blind: Annotated[bool, Key("unseen"), "true when it was judged before any name or date was seen"]
    informant: Annotated[str | None, "who gave it, or null"]

    @property
    def words(self) -> str:
        """ "looks 6 to 8", "aged 7"."""
        return aged(f"{self.basis}-age", self.low, self.high)


@dataclass(frozen=True, slots=True)
class NameOnFace:
    """An appearance. `rival`: another name is on the same face; `contested`: somebody says that it is not them."""

    id: Annotated[str, Key("appearance"), "the id of a name on the picture, `A7`"]
    person: Annotated[str | None, "the person's id; null for somebody not identified yet"]
    name: Annotated[str, "their name"]
    life: Annotated[Life, INLINE]
    role: Annotated[Role, "`present`, `likeness` or `laid-out`"]
    trust: Annotated[str | None, "`certain`, `strong`, `fair` or `weak`; null when nobody said"]
    informant: Annotated[str | None, "who said so, or null"]
    why: Annotated[str, "what tells that it is them"]
    ages: tuple[AgeSaid, ...]
    called: Annotated[str, "what the file that names them calls them; empty where none does"] = ""
    rival: Annotated[bool, INTERNAL] = False
    contested: Annotated[bool, INTERNAL] = False

    @property
    def perhaps(self) -> Annotated[bool, "true when another name is on the same face, or somebody says it is not them"]:
        """Whether it may be somebody else."""
        return self.rival or self.contested

    @property
    def source(self) -> str:
        """Who says so: "says Aunt May"; for somebody not identified yet what the file calls them."""
        if self.called and not self.person:
            return f"called “{self.called}” in the file"
        return f"says {self.informant}" if self.informant else ""


@dataclass(frozen=True, slots=True)
class RecordedFace:
    """One face: `names` are those on it (rivals when there are several), `denied` those it is said not to be."""

    region: str
    box: Region
    names: tuple[NameOnFace, ...]
    denied: tuple[NameOnFace, ...]


@dataclass(frozen=True, slots=True)
class PhotographFaces:
    """The faces of one photograph, row by row and left to right; `elsewhere` are the appearances without a region, and
    `denied` those said to be nowhere in it."""

    photograph: str
    faces: tuple[RecordedFace, ...]
    elsewhere: tuple[NameOnFace, ...]
    denied: tuple[NameOnFace, ...]


def faces(connection: Connection, photograph: str) -> PhotographFaces:
    """Who is where. A region with nobody on it, named or not, is not shown: it was drawn by mistake.

    Raises NotFoundError or AmbiguousError.
    """
    row = find_photograph(connection, photograph)
    at: dict[int | None, list[NameOnFace]] = defaultdict(list)
    denied: dict[int | None, list[NameOnFace]] = defaultdict(list)
    for region_id, is_denied, names_on_faces in _everybody(connection, row["id"]):
        (denied if is_denied else at)[region_id].append(names_on_faces)
    regions = connection.execute(select(t.region).where(t.region.c.photograph_id == row["id"])).mappings()
    shown = [
        RecordedFace(f"R{r['id']}", box(r), tuple(at[r["id"]]), tuple(denied[r["id"]]))
        for r in regions
        if at.get(r["id"])
    ]
    return PhotographFaces(row["code"], tuple(in_reading_order(shown)), tuple(at[None]), tuple(denied[None]))


def in_reading_order(found: Iterable[RecordedFace]) -> list[RecordedFace]:
    """Row by row from the top, each from the left. A face whose middle is above the chin of the row's highest face
    belongs to that row."""
    rows: list[list[RecordedFace]] = []
    for face in sorted(found, key=_middle):
        chin = rows[-1][0].box[1] + rows[-1][0].box[3] if rows else -1.0
        if _middle(face) <= chin:
            rows[-1].append(face)
        else:
            rows.append([face])
    return [face for row in rows for face in sorted(row, key=lambda face: (face.box[0], face.box[1]))]


def _middle(face: RecordedFace) -> float:
    return face.box[1] + face.box[3] / 2


def _everybody(connection: Connection, photograph_id: int) -> list[tuple[int | None, bool, NameOnFace]]:
    """Region id, whether it is a denial, and the appearance, in the order they were recorded."""
    rows = _appearances(connection, photograph_id)
    identity = read_identity(connection)
    who = {row["id"]: identity.of(row["person_id"]) for row in rows}
    known = {id_ for id_ in who.values() if id_ is not None}
    p = t.person.c
    people = connection.execute(select(p.id, p.code, p.name).where(p.id.in_(known)))
    names: dict[int | None, tuple[str | None, str]] = {row.id: (row.code, row.name) for row in people}
    lived = lives(connection, known, identity)
    ages = _ages(connection, photograph_id)
    rivals = with_rivals((row["region_id"], who[row["id"]]) for row in rows if not row["denied"])
    denied = {(row["region_id"], who[row["id"]]) for row in rows if row["denied"]}

    def names_on_faces(row: RowMapping) -> NameOnFace:
        person, region = who[row["id"]], row["region_id"]
        code, name = names.get(person, (None, ""))
        named = person is not None and not row["denied"]
        return NameOnFace(
            f"A{row['id']}", code, name, lived.get(person or 0, Life()), Role(row["role"]), row["trust"],
            row["informant"], row["why"], tuple(ages.get(row["id"], ())), row["called"],
            rival=named and region in rivals,
            contested=named and not denied.isdisjoint(((region, person), (None, person))),
        )  # fmt: skip

    return [(row["region_id"], bool(row["denied"]), names_on_faces(row)) for row in rows]


def _appearances(connection: Connection, photograph_id: int) -> Sequence[RowMapping]:
    a, i = t.appearance.c, t.informant.c
    query = (
        select(a.id, a.person_id, a.region_id, a.role, a.denied, a.trust, a.why, a.called, i.name.label("informant"))
        .outerjoin(t.informant, i.id == a.informant_id)
        .where(a.photograph_id == photograph_id, a.withdrawn == 0)
        .order_by(a.id)
    )
    return connection.execute(query).mappings().all()


def _ages(connection: Connection, photograph_id: int) -> dict[int, list[AgeSaid]]:
    """The ages that are not withdrawn, by appearance."""
    s, i = t.statement.c, t.informant.c
    query = (
        select(s.id, s.appearance_id, s.kind, s.age_low, s.age_high, s.blind, i.name.label("informant"))
        .outerjoin(t.informant, i.id == s.informant_id)
        .where(s.photograph_id == photograph_id, s.withdrawn == 0, s.kind.in_(AGE_KINDS))
        .order_by(s.id)
    )
    found: dict[int, list[AgeSaid]] = defaultdict(list)
    for row in connection.execute(query):
        basis = AgeBasis(row.kind.removesuffix("-age"))
        found[row.appearance_id].append(
            AgeSaid(f"S{row.id}", row.age_low, row.age_high, basis, bool(row.blind), row.informant)
        )
    return found
