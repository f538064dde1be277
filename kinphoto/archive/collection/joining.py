"""Several scans of one object become one photograph, and apart again.

Joining keeps the first photograph and moves onto it whatever refers to the others: scans, appearances, regions,
statements, older codes, and the rows of any table yet to come. Parting looks up in the change log what had been
recorded on a photograph before it was joined, and gives it that back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, NamedTuple

from PIL import Image
from sqlalchemy import Column, Connection, RowMapping, Table, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding import (
    added_in,
    find_photograph,
    find_scan,
    find_scans,
    photograph_code,
    scans_of,
)
from kinphoto.archive.catalogue.vocabulary import SIDES
from kinphoto.archive.collection.frames_following import frames_following, move_frames
from kinphoto.archive.collection.images import front_of, source_of
from kinphoto.archive.collection.removing import show_superseded_again
from kinphoto.archive.words.fields import FIELDS
from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.scans.likeness import Likeness, bits_apart, likeness, side_by_name
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work, rows_before

_WORDS = ("title", "place", "rights", "maker", "former_number")


class JoinedScan(NamedTuple):
    """A scan of the photograph."""

    path: Annotated[str, "path of one of its scans"]
    side: Annotated[str, "`recto`, `verso` or `detail`"]


@dataclass(frozen=True, slots=True)
class Joined:
    """A photograph made of several scans."""

    photograph: Annotated[str, "the photograph they are now"]
    scans: Annotated[tuple[JoinedScan, ...], "its scans"]
    aliases: Annotated[tuple[str, ...], "codes that lead to it from now on"]
    why: Annotated[str, "why the others were taken to be what they are now; empty where `--side` said it"] = ""


@dataclass(frozen=True, slots=True)
class Separated:
    """A scan that is a photograph of its own again."""

    photograph: Annotated[str, "the code of the scan that is a photograph of its own again"]
    taken_out_of: Annotated[str, "the photograph it was taken out of"]
    scan: Annotated[str, "the scan's path"]


def join(work: Work, texts: Sequence[str], side: str | None = None) -> Joined:
    """Make the photographs of these scans one: the first.

    `side` is set on the scans named after the first. Without it, each of them is looked at: whether it is
    the back of the first or the same picture again. Where the first has several scans, every
    side stays. Raises InvalidValueError for an unknown side, fewer than two scans, or two that look like two pictures;
    NotFoundError, AmbiguousError.
    """
    side = None if side is None else SIDES.read(side)
    found = [find_scans(work.connection, text) for text in texts]
    scans = [frozenset(scan["id"] for scan in each) for each in found]
    if len(set(scans)) < 2:
        raise InvalidValueError("one scan alone cannot be joined", remedy="Name two or more different scans.")
    keeper, *others = [find_photograph(work.connection, text) for text in texts]
    joined = {other["id"]: other for other in others if other["id"] != keeper["id"]}
    turned = sorted(frozenset().union(*scans[1:]) - (scans[0] if len(scans[0]) == 1 else frozenset()))
    sides: dict[int, str | None] = dict.fromkeys(turned, side)
    why: list[str] = []
    folder = folder_of(work.connection.engine)
    if side is None and joined and len(scans[0]) == 1:
        named = {scan["id"]: scan for each in found for scan in each}
        for other_scan in turned:
            seen, reason = _seen(found[0][0], named[other_scan], folder, alone=len(turned) == 1)
            sides |= seen
            why += [reason] if reason else []
    for other in joined.values():
        take_over(work, keeper["id"], other)
    for scan, shows in sides.items():
        if shows is not None:
            work.update(t.scan, [scan], side=shows)
    work.what = f"joined {', '.join(row['code'] for row in joined.values()) or 'its scans'} to {keeper['code']}"
    return replace(_joined(work.connection, keeper), why="; ".join(why))


def _seen(first: RowMapping, second: RowMapping, folder: Path, *, alone: bool) -> tuple[dict[int, str | None], str]:
    """The sides of two scans where nobody said which side each shows, and why.

    Raises InvalidValueError for two pictures. What cannot be looked at is a back when it is the only other scan.
    """
    files = [Path(file_path(row["path"], row["page"])) for row in (first, second)]
    one, other = (Path(row["path"]).name for row in (first, second))
    named = side_by_name(files[0].stem, files[1].stem)
    if named == "front":
        return {first["id"]: "verso", second["id"]: "recto"}, f"{one} is named as the back of {other}"
    if named == "back":
        return {second["id"]: "verso"}, f"{other} is named as the back of {one}"
    pictures = [_small(row, folder) for row in (first, second)]
    if pictures[0] is None or pictures[1] is None:
        why = f"{other} cannot be opened, so it was taken to be the back"
        return ({second["id"]: "verso"}, why) if alone else ({}, "")
    match likeness(pictures[0], pictures[1], bits_apart(first["phash"], second["phash"])):
        case Likeness.BACK:
            why = f"{other} shows little more than paper and writing, so it was taken to be the back"
            return {second["id"]: "verso"}, why
        case Likeness.SAME:
            why = f"{other} shows the same picture, so it was taken to be another scan of the front"
            return {second["id"]: "recto"}, why
    raise InvalidValueError(
        f"{other} looks like a different picture, not the back of {one}; nothing was joined",
        remedy="If they show the same print or slide, say which side it shows: verso (the back), recto (the same "
        "picture again) or detail.",
    )


def _small(row: RowMapping, folder: Path) -> Image.Image | None:
    """The thumbnail of a scan; None when there is none and the file cannot give one."""
    from kinphoto.scans.tiles import small_path

    try:
        with Image.open(small_path(folder, source_of(row))) as image:
            return image.convert("RGB")
    except (OSError, KinphotoError):
        return None


def separate(work: Work, text: str) -> Separated:
    """Take a scan out into a photograph of its own.

    A scan that was joined under a code of its own gets it back, with what had been recorded there; any other gets a
    new code, and links stay. Raises InvalidValueError when it is the only scan, NotFoundError, AmbiguousError.
    """
    scan = find_scan(work.connection, text)
    whole = row_of(work.connection, t.photograph, scan["photograph_id"])
    if len(scans_of(work.connection, whole["id"])) < 2:
        raise InvalidValueError(
            f"it is the only scan of {whole['code']}",
            where=scan["path"],
            remedy="Only one of several can be taken out.",
        )
    a = t.alias.c
    same = select(t.alias).where(a.code == scan["first_code"], a.photograph_id == whole["id"])
    alias = work.connection.execute(same).mappings().first()
    if alias is None:
        code, new = _new_photograph(work, scan, whole)
    else:
        code, new = alias["code"], _given_back(work, alias, whole)
    with frames_following(work, whole["id"]) as followed:
        work.update(t.scan, [scan["id"]], photograph_id=new, side="recto", position=0, superseded=0)
        show_superseded_again(work, whole["id"])
    front = followed.fronts[whole["id"]]
    if front is not None and front["id"] != scan["id"]:  # what was framed on the common front goes with it
        framed = work.connection.scalars(select(t.region.c.id).where(t.region.c.photograph_id == new)).all()
        move_frames(work, list(framed), front, scan)
    work.what = f"separated {Path(scan['path']).name} from {whole['code']} as {code}"
    return Separated(code, whole["code"], scan["path"])


def take_over(work: Work, keeper_id: int, other: RowMapping) -> None:
    """Move everything from one photograph to another and drop the emptied one."""
    keeper = row_of(work.connection, t.photograph, keeper_id)
    fronts = [front_of(work.connection, each) for each in (keeper_id, other["id"])]
    framed = work.connection.scalars(select(t.region.c.id).where(t.region.c.photograph_id == other["id"])).all()
    scans = [*scans_of(work.connection, keeper_id), *scans_of(work.connection, other["id"])]
    rows = [{"id": scan["id"], "photograph_id": keeper_id, "position": at} for at, scan in enumerate(scans)]
    work.rewrite(t.scan, rows)
    for table, column in _references():
        ids = work.connection.scalars(select(table.c.id).where(column == other["id"])).all()
        work.update(table, ids, **{column.name: keeper_id})
    s = t.statement.c
    to_itself = select(s.id).where(s.photograph_id == keeper_id, s.other_id == keeper_id)
    work.delete(t.statement, work.connection.scalars(to_itself).all())
    work.update(t.photograph, [keeper_id], **_described(keeper, other))
    if fronts[0] is not None and fronts[1] is not None:
        move_frames(work, list(framed), fronts[1], fronts[0])
    work.insert_one(t.alias, code=other["code"], photograph_id=keeper_id)
    work.delete(t.photograph, [other["id"]])


def _references() -> Iterator[tuple[Table, Column[Any]]]:
    """Every column of the change log's tables that refers to a photograph."""
    for table in t.metadata.sorted_tables:
        for column in table.columns:
            if "id" in table.c and any(key.column is t.photograph.c.id for key in column.foreign_keys):
                yield table, column


def _described(keeper: RowMapping, other: RowMapping) -> dict[str, Any]:
    """What is known about the object, from both. Where both say something else, the other's words go into the note."""
    known: dict[str, Any] = {word: keeper[word] or other[word] for word in _WORDS}
    numbered = other if other["former_number"] and not keeper["former_number"] else keeper
    notes = [keeper["note"], other["note"] if other["note"] != keeper["note"] else ""]
    for word in _WORDS:
        if other[word] and other[word] != known[word]:
            notes.append(f"{FIELDS[word]} of {other['code']}: {other[word]}")
    return {
        **known,
        "note": "\n".join(note for note in notes if note),
        "page": max(keeper["page"], other["page"]),
        "number_withdrawn": numbered["number_withdrawn"],
        "private": max(keeper["private"], other["private"]),
        "container_id": keeper["container_id"] or other["container_id"],
        "indexed": min(keeper["indexed"], other["indexed"]),
    }


def _new_photograph(work: Work, scan: RowMapping, whole: RowMapping) -> tuple[str, int]:
    """The code and id of a photograph made for a scan that never had one of its own."""
    code = photograph_code(work.take("photograph.code").start)
    new = work.insert_one(
        t.photograph,
        code=code,
        container_id=whole["container_id"],
        position=whole["position"],
        indexed=datetime.fromisoformat(scan["indexed_at"]).astimezone().toordinal(),
        private=whole["private"],
    )
    return code, new


def _given_back(work: Work, alias: RowMapping, whole: RowMapping) -> int:
    """The photograph that was joined under this code, made again with what had been recorded on it; its id."""
    change_id = added_in(work.connection, t.alias, alias["id"])  # in which it was joined
    old = next(row for row in _before(work.connection, change_id, t.photograph) if row["code"] == alias["code"])
    work.delete(t.alias, [alias["id"]])
    box = work.connection.scalar(select(t.container.c.id).where(t.container.c.id == old["container_id"]))
    private = max(old.get("private", 0), whole["private"])  # changes noted before there was such a mark lack it
    again = {**old, "container_id": box or whole["container_id"], "private": private}
    new = work.insert_one(t.photograph, **{key: value for key, value in again.items() if key != "id"})
    returned: dict[str, set[int]] = {}
    for table, column in _references():
        if table not in (t.scan, t.alias):
            was = {row["id"] for row in _before(work.connection, change_id, table) if row[column.name] == old["id"]}
            still = set(work.connection.scalars(select(table.c.id).where(column == whole["id"])))
            ids = (was | _with_what_returned(work.connection, table, column, returned)) & still
            work.update(table, sorted(ids), **{column.name: new})
            returned.setdefault(table.name, set()).update(ids)
    _relate_again(work, change_id, old["id"], whole["id"], new)
    return new


def _with_what_returned(
    connection: Connection, table: Table, column: Column[Any], returned: dict[str, set[int]]
) -> set[int]:
    """What was said since about a region or appearance that is given back goes with it."""
    if column.name != "photograph_id":
        return set()
    ids: set[int] = set()
    for name in ("region_id", "appearance_id"):
        if name in table.c:
            about = returned.get(name.removesuffix("_id"), set())
            ids.update(connection.scalars(select(table.c.id).where(table.c[name].in_(about))))
    return ids


def _relate_again(work: Work, change_id: int, old: int, whole: int, new: int) -> None:
    """Record again how the two were related, which made no sense while they were one."""
    for row in _before(work.connection, change_id, t.statement):
        if {row["photograph_id"], row["other_id"]} == {old, whole}:
            place = {key: new if row[key] == old else whole for key in ("photograph_id", "other_id")}
            work.insert_one(t.statement, **{key: value for key, value in row.items() if key != "id"} | place)


def _before(connection: Connection, change_id: int, table: Table) -> Iterator[dict[str, Any]]:
    """The rows of a table as they were before a change."""
    r = t.change_row.c
    notes = select(t.change_row).where(r.change_id == change_id, r.table_name == table.name)
    for note in connection.execute(notes.order_by(r.id)).mappings().all():
        yield from rows_before(note)


def _joined(connection: Connection, keeper: RowMapping) -> Joined:
    codes = select(t.alias.c.code).where(t.alias.c.photograph_id == keeper["id"]).order_by(t.alias.c.code)
    scans = tuple(JoinedScan(scan["path"], scan["side"]) for scan in scans_of(connection, keeper["id"]))
    return Joined(keeper["code"], scans, tuple(connection.scalars(codes)))
