"""Removing a photograph or a scan from the archive that was added by mistake. The files stay where they are.

A removal is one change of the log and undone like any other: names, statements and relations come back with it. What
was removed is remembered by its bytes, so that adding its folder again leaves it out and says so; `scans add --again`
adds it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, RowMapping, Table, case, func, or_, select

from kinphoto.archive.catalogue.finding import added_in, find_photograph, find_scans, scans_of
from kinphoto.archive.collection.images import front_of
from kinphoto.archive.statements.withdrawing import update_page_flag
from kinphoto.archive.words.fields import FIELDS
from kinphoto.documents import INLINE
from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.phrases import counted, listed
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.walk import FoundFile
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import Work, reading

_DESCRIBED = ("title", "place", "note", "rights", "maker", "former_number")


@dataclass(frozen=True, slots=True)
class RemovalPreview:
    """What is removed with a photograph. What was withdrawn is not counted."""

    names: Annotated[int, "how many names were removed with it"] = 0
    faces: Annotated[int, "how many faces without a name"] = 0
    statements: Annotated[int, "how many statements, ages among them"] = 0
    related: Annotated[tuple[str, ...], "photographs that had been related to it"] = ()
    described: Annotated[tuple[str, ...], "fields of the object that had been filled in"] = ()

    @property
    def words(self) -> str:
        """ "2 names, 3 statements and its title"; "" for nothing."""
        parts = [
            counted(self.names, "name") if self.names else "",
            counted(self.faces, "face without a name", "faces without a name") if self.faces else "",
            counted(self.statements, "statement") if self.statements else "",
            f"the relation to {listed(self.related)}" if self.related else "",
            f"its {listed([FIELDS[field] for field in self.described])}" if self.described else "",
        ]
        return listed([part for part in parts if part])


@dataclass(frozen=True, slots=True)
class Removed:
    """A photograph that is gone as a whole, or one that lost some of its scans."""

    photograph: Annotated[str, "the code of a photograph"]
    whole: Annotated[bool, "true when it is gone as a whole, false when only some of its scans are"]
    scans: Annotated[tuple[str, ...], "paths of the scans removed; the files are where they were"]
    contents: Annotated[RemovalPreview, INLINE]
    note: Annotated[str, "what to look at; empty for nothing"] = ""


@dataclass(frozen=True, slots=True)
class Removal:
    """What was removed in one change."""

    removed: tuple[Removed, ...]
    change: Annotated[int | None, "its number in the log, for `undo`"]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file that was not indexed again, because it had been removed."""

    path: Annotated[str, "a file that was removed from the archive"]
    photograph: Annotated[str, "the photograph it was"]
    change: Annotated[int, "the change that removed it, for `undo`"]


def remove(work: Work, photographs: Sequence[str], *, with_statements: bool = False) -> Removal:
    """Remove photographs (by code, or by their only scan) and single scans (by path), all of them or none.

    Raises NotFoundError, AmbiguousError, and InvalidValueError where names or statements would go with one and
    `with_statements` is not given, or where the picture that faces are framed on would be gone.
    """
    if not photographs:
        raise InvalidValueError("nothing was named to remove", remedy="Give codes such as K00042, or scans.")
    done: list[Removed] = []
    for photograph, scans in _meant(work.connection, photographs):
        if scans is None:
            done.append(_remove_photograph(work, photograph, with_statements))
        else:
            done.append(_remove_scans(work, photograph, scans))
    work.what = f"removed {listed([_in_short(one) for one in done[:3]])}"
    if len(done) > 3:
        work.what += f" (and {len(done) - 3} more)"
    return Removal(tuple(done), work.id)


def preview(connection: Connection, photograph: str) -> RemovalPreview:
    """What would be removed with a photograph. Raises NotFoundError or AmbiguousError."""
    return _preview(connection, find_photograph(connection, photograph))


def _preview(connection: Connection, photograph: RowMapping) -> RemovalPreview:
    a, s, p = t.appearance.c, t.statement.c, t.photograph.c
    here = photograph["id"]
    standing = select(a.person_id).where(a.photograph_id == here, a.withdrawn == 0)
    people = connection.scalars(standing).all()
    said = select(func.count()).select_from(t.statement).where(s.withdrawn == 0, s.photograph_id == here)
    related = (
        select(p.code).join(t.statement, p.id == s.photograph_id).where(s.other_id == here, s.withdrawn == 0).distinct()
    )
    return RemovalPreview(
        names=sum(1 for person in people if person is not None),
        faces=sum(1 for person in people if person is None),
        statements=connection.scalar(said) or 0,
        related=tuple(connection.scalars(related.order_by(p.code))),
        described=tuple(field for field in _DESCRIBED if photograph[field]),
    )


def show_superseded_again(work: Work, photograph_id: int) -> None:
    """Where only superseded scans of a side are left, show the first of them again."""
    sides: dict[str, list[RowMapping]] = {}
    for scan in scans_of(work.connection, photograph_id):
        sides.setdefault(scan["side"], []).append(scan)
    for scans in sides.values():
        if all(scan["superseded"] for scan in scans):
            work.update(t.scan, [scans[0]["id"]], superseded=0)


def without_removed(engine: Engine, found: Sequence[FoundFile]) -> tuple[list[FoundFile], list[LeftOut]]:
    """The files that may be indexed, and those that were removed earlier; only files of the same size are hashed."""
    r = t.removed_scan.c
    with reading(engine) as connection:
        rows = connection.execute(select(r.id, r.sha256, r.size, r.code)).all()
        if not rows:
            return list(found), []
        s = t.scan.c
        hashes = [row.sha256 for row in rows]
        of_file = case((s.file_sha256 != "", s.file_sha256), else_=s.sha256)
        here = set(connection.scalars(select(of_file).where(or_(s.sha256.in_(hashes), s.file_sha256.in_(hashes)))))
        removed = {row.sha256: row for row in rows if row.sha256 not in here}
        sizes = {row.size for row in removed.values()}
        changes = {row.sha256: added_in(connection, t.removed_scan, row.id) for row in removed.values()}
    kept: list[FoundFile] = []
    left_out: list[LeftOut] = []
    for each in found:
        row = removed.get(_sha256(each)) if each.size in sizes else None
        if row is None:
            kept.append(each)
        else:
            left_out.append(LeftOut(each.path, row.code, changes[row.sha256]))
    return kept, left_out


def forget(work: Work, hashes: Collection[str]) -> None:
    """No longer remember files of these bytes as removed: they were indexed again."""
    r = t.removed_scan.c
    ids = work.connection.scalars(select(r.id).where(among(work.connection, r.sha256, hashes)))
    work.delete(t.removed_scan, sorted(ids))


def _meant(connection: Connection, texts: Sequence[str]) -> list[tuple[RowMapping, list[RowMapping] | None]]:
    """Each photograph once, with the scans to be taken from it; None for all there is."""
    wanted: dict[int, dict[int, RowMapping]] = {}
    rows: dict[int, RowMapping] = {}
    for text in texts:
        photograph = find_photograph(connection, text)
        rows[photograph["id"]] = photograph
        for scan in find_scans(connection, text) or scans_of(connection, photograph["id"]):
            wanted.setdefault(photograph["id"], {})[scan["id"]] = scan
        wanted.setdefault(photograph["id"], {})
    found: list[tuple[RowMapping, list[RowMapping] | None]] = []
    for id_, scans in wanted.items():
        everything = len(scans) == len(scans_of(connection, id_))
        found.append((rows[id_], None if everything else list(scans.values())))
    return found


def _remove_photograph(work: Work, photograph: RowMapping, with_statements: bool) -> Removed:
    with_it = _preview(work.connection, photograph)
    code = photograph["code"]
    if with_it.words and not with_statements:
        raise InvalidValueError(
            f"removing {code} would also remove {with_it.words}",
            remedy=f"To remove it anyway: kinphoto remove {code} --with-statements. `kinphoto undo` brings "
            f"everything back. For a better scan of it: kinphoto replace {code} FILE.",
        )
    here, s = photograph["id"], t.statement.c
    scans = scans_of(work.connection, here)
    pages = work.connection.scalars(
        select(s.other_id).where(s.photograph_id == here, s.kind == "part-of", s.withdrawn == 0)
    ).all()
    work.delete(t.statement, _ids(work.connection, t.statement, s.other_id, here))
    _delete_about(work, [scan["id"] for scan in scans])
    b = t.story_about.c
    if photograph["private"]:  # what was told about it stays at home as before
        told = set(work.connection.scalars(select(b.story_id).where(b.photograph_id == here)))
        work.update(t.story, sorted(told), private=1)
    for table in (t.consent, t.story_about, t.statement, t.appearance, t.region, t.alias, t.scan):
        work.delete(table, _ids(work.connection, table, table.c.photograph_id, here))
    framed_there = _ids(work.connection, t.print_frame, t.print_frame.c.photograph_id, here)
    work.update(t.print_frame, framed_there, photograph_id=None)
    work.delete(t.photograph, [here])
    for page in dict.fromkeys(pages):
        update_page_flag(work, page)
    _remember(work, scans, code)
    return Removed(code, True, tuple(scan["path"] for scan in scans), with_it)


def _remove_scans(work: Work, photograph: RowMapping, scans: list[RowMapping]) -> Removed:
    here, code = photograph["id"], photograph["code"]
    gone = {scan["id"] for scan in scans}
    front = front_of(work.connection, here)
    on_it = framed(work.connection, here)
    left = [scan for scan in scans_of(work.connection, here) if scan["id"] not in gone]
    shown_on = ""
    faces = counted(on_it, "face is", "faces are")
    if on_it and front is not None and front["id"] in gone:
        next_front = next((scan for scan in left if scan["side"] == "recto"), None)
        if next_front is None:
            raise InvalidValueError(
                f"{faces} framed on it, and no other front of {code} would be left",
                where=front["path"],
                remedy=f"For a better scan: kinphoto replace {code} FILE. To remove the photograph as a whole: "
                f"kinphoto remove {code}.",
            )
        shown_on = Path(next_front["path"]).name
    from kinphoto.archive.collection.frames_following import frames_following  # loads numpy, Pillow and scipy

    with frames_following(work, here) as followed:
        _delete_about(work, sorted(gone))
        work.delete(t.scan, sorted(gone))
        show_superseded_again(work, here)
    note = ""
    if shown_on and followed.stayed:
        note = f"{faces} shown on {shown_on} now: check that the frames still fit."
    elif shown_on and followed.moved:
        note = f"{faces} shown on {shown_on} now; they moved with the picture."
    _remember(work, scans, code)
    return Removed(code, False, tuple(scan["path"] for scan in scans), RemovalPreview(), note)


def framed(connection: Connection, photograph_id: int) -> int:
    """How many faces of a photograph have somebody on them, named or not."""
    a = t.appearance.c
    query = select(func.count(a.region_id.distinct())).where(a.photograph_id == photograph_id, a.withdrawn == 0)
    return connection.scalar(query) or 0


def _delete_about(work: Work, scans: Sequence[int]) -> None:
    """Delete what is kept about these scans by themselves."""
    for table, columns in (
        (t.former_name, ("scan_id",)),
        (t.unpaired, ("one_id", "other_id")),
        (t.accepted_finding, ("scan_id",)),
        (t.print_frame, ("scan_id",)),
    ):
        where = or_(*(among(work.connection, table.c[column], scans) for column in columns))
        work.delete(table, list(work.connection.scalars(select(table.c.id).where(where).order_by(table.c.id))))


def _ids(connection: Connection, table: Table, column: Any, value: int) -> list[int]:
    return list(connection.scalars(select(table.c.id).where(column == value).order_by(table.c.id)))


def _remember(work: Work, scans: Sequence[RowMapping], code: str) -> None:
    """Files are known again by their bytes: of a page by those of its file, which is left out once no page is here."""
    rows = [
        {"path": s["path"], "sha256": s["file_sha256"] or s["sha256"], "size": s["size"], "code": code} for s in scans
    ]
    work.insert(t.removed_scan, rows)


def _sha256(each: FoundFile) -> str:
    """The hash of a file; "" for one that cannot be read, which indexing will report."""
    try:
        return sha256_at(each.path)
    except KinphotoError:
        return ""


def _in_short(one: Removed) -> str:
    if one.whole:
        return f"{one.photograph}{f' with {one.contents.words}' if one.contents.words else ''}"
    names = listed([Path(path).name for path in one.scans])
    return f"{names} of {one.photograph}"
