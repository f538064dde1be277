"""Fronts and backs of a whole folder, and scans of one picture: proposals, each confirmed or not by a person.

A back is joined to its front, a rescan to the scan it repeats (the better one is shown in front). The same picture of
another size is a copy print or a second print of the negative: that is another object, so only the relation is
recorded. Nothing is done by itself, and whatever is confirmed is one change that can be undone.
"""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from PIL import Image
from sqlalchemy import Connection, Engine, RowMapping, Select, func, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.catalogue.finding import find_container, scans_of
from kinphoto.archive.catalogue.regions import Region, box
from kinphoto.archive.collection import joining, replacing
from kinphoto.archive.collection.better import ComparedAspect, better_scan
from kinphoto.archive.collection.frames_following import moved_region
from kinphoto.archive.collection.images import shown_size
from kinphoto.archive.collection.photograph_page import ScanShown, scanned
from kinphoto.archive.collection.renaming import ORDERS
from kinphoto.archive.collection.same_print import SamePicture, same_pictures
from kinphoto.archive.statements.claims import Tie, relate
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.documents import INTERNAL
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted
from kinphoto.scans.checks.outline import PaperOutline
from kinphoto.scans.checks.outline import outline as print_outline
from kinphoto.scans.checks.resolution import MM_PER_INCH
from kinphoto.scans.likeness import side_by_name, tone
from kinphoto.scans.numbering import natural_key
from kinphoto.scans.pairing import Pair, ScanOrder, Side, outline, paired, same_size
from kinphoto.scans.registration import Registration
from kinphoto.scans.thumbnails import FOLDER, thumbnail_path
from kinphoto.scans.workers import cores
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of
from kinphoto.store.roots import below as below_folder
from kinphoto.store.session import Work

_WHOLE = 0.96  # the share of a picture from which all of it is said to be on the other
_FRONT_ENDS = ("", "_front", "_recto", "-front", "-recto", " front", " recto")
_LETTERED = re.compile(r"(.*\d)[bvr]", re.IGNORECASE)


class ComparedScan(NamedTuple):
    """One of two scans that are proposed."""

    photograph: Annotated[str, "the code of the photograph of a scan"]
    path: Annotated[str, "its path"]
    width: Annotated[int, "width in pixels, as it is shown"]
    height: Annotated[int, "height in pixels"]
    ppi: Annotated[float | None, "its resolution, null when unknown"]
    shown: Annotated[ScanShown, INTERNAL]

    @property
    def words(self) -> str:
        """ "1,800 × 1,200 pixels, 300 ppi, 152 × 102 mm"."""
        pixels = f"{self.width:,} × {self.height:,} pixels"
        if not self.ppi:
            return pixels
        millimetres = (round(side / self.ppi * MM_PER_INCH) for side in (self.width, self.height))
        return f"{pixels}, {self.ppi:.0f} ppi, {' × '.join(map(str, millimetres))} mm"


@dataclass(frozen=True, slots=True)
class Proposal:
    """Two scans that may be of one object, or of one picture."""

    key: Annotated[str, "what to name it by"]
    kind: Annotated[
        str,
        "`back` (the second is the back of the first), `rescan` (the same print again), `negative` (another print of "
        "one negative) or `copy` (the second was taken of the first)",
    ]
    one: ComparedScan
    other: ComparedScan
    sure: Annotated[bool, "whether it is joined with all others that are sure"]
    why: Annotated[str, "the reason, in words"]
    better: Annotated[str, "path of the one of a `rescan` that is to stand in front; otherwise empty"] = ""
    faces: Annotated[tuple[Region, ...], "where framed faces will be on that one: left, top, width, height"] = ()
    compared: Annotated[tuple[ComparedAspect, ...], "for a `rescan`: what was compared between the two"] = ()


@dataclass(frozen=True, slots=True)
class Proposals:
    """What is proposed."""

    proposals: tuple[Proposal, ...]
    unpaired: Annotated[tuple[str, ...], "paths of scans that look like backs and have no front here"]
    left_out: Annotated[int, "pairs that may show one picture and were not compared, as there are too many"] = 0


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What was confirmed."""

    joined: Annotated[int, "how many proposals were carried out"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs they are now"]
    change: Annotated[int | None, "its number in the log, for `undo`; null where there was nothing to do"]


def proposals(connection: Connection, where: str | None = None, order: str = "name") -> Proposals:
    """Fronts and backs, rescans and copies among the photographs of one scan each: of a folder or box, with those
    inside it, or of all. Backs follow their fronts by file name, or by `time`. Raises NotFoundError, AmbiguousError."""
    rows = _single(connection, where)
    apart = {frozenset(pair) for pair in connection.execute(select(t.unpaired.c.one_id, t.unpaired.c.other_id))}
    codes = _codes(connection, [row["photograph_id"] for row in rows])
    sides = _sides(connection, rows)
    found: list[Proposal] = []
    backs: set[int] = set()
    for folder_rows in _folders(rows, ORDERS.read(order)):
        named = list(_by_name(folder_rows, sides, codes, apart))
        used = {id_ for proposal in named for id_ in (proposal.one.shown.id, proposal.other.shown.id)}
        rest = [row for row in folder_rows if row["id"] not in used]
        backs.update(row["id"] for row in rest if sides[row["id"]].is_back)
        looks = [sides[row["id"]] for row in rest]
        ordered = [
            _proposal("back", rest[pair.front], rest[pair.back], codes, pair.sure, _reason(pair))
            for pair in paired(looks)
            if frozenset((rest[pair.front]["id"], rest[pair.back]["id"])) not in apart
        ]
        backs.difference_update(proposal.other.shown.id for proposal in ordered)
        found += sorted([*named, *ordered], key=lambda each: natural_key(each.one.path))
    same, left_out = _same_pictures(connection, where, rows, sides, apart)
    found += same
    paths = {row["id"]: row["path"] for row in rows}
    return Proposals(tuple(found), tuple(sorted((paths[id_] for id_ in backs), key=natural_key)), left_out)


def confirm(work: Work, keys: Sequence[str]) -> Confirmed:
    """Carry out these proposals, as one change: join backs and rescans, record copies. Raises InvalidValueError for one
    that is none, NotFoundError for one whose scans are gone."""
    done: list[str] = []
    for key in keys:
        kind, one, other = _scans_of(work.connection, key)
        if one["photograph_id"] == other["photograph_id"]:
            continue  # confirmed already, perhaps in another window
        if kind == "back":
            done.append(joining.join(work, [one["path"], other["path"]], side="verso").photograph)
        elif kind == "rescan":
            done.append(_rescanned(work, one, other))
        else:
            codes = _codes(work.connection, [one["photograph_id"], other["photograph_id"]])
            recorder, relation = Recorder(work), "same-negative" if kind == "negative" else "copy-of"
            tie = Tie(photograph=codes[other["photograph_id"]], relation=relation, other=codes[one["photograph_id"]])
            recorder.finish([relate(recorder, tie)])
            done.append(codes[one["photograph_id"]])
    work.what = f"confirmed {counted(len(done), 'pair')} of scans" if done else ""
    return Confirmed(len(done), tuple(dict.fromkeys(done)), work.id)


def confirm_sure(work: Work, where: str | None = None, order: str = "name") -> Confirmed:
    """Carry out all proposals that are sure, of a folder or box, or of all."""
    found = proposals(work.connection, where, order).proposals
    return confirm(work, [each.key for each in found if each.sure])


def reject(work: Work, keys: Sequence[str]) -> Confirmed:
    """These scans do not belong together, so they are not proposed again. Raises as `confirm` does."""
    for key in keys:
        _, one, other = _scans_of(work.connection, key)
        work.insert_one(t.unpaired, one_id=one["id"], other_id=other["id"])
    work.what = f"said that {counted(len(keys), 'pair')} of scans {'is' if len(keys) == 1 else 'are'} none"
    return Confirmed(len(keys), (), work.id)


def _single(connection: Connection, where: str | None) -> list[RowMapping]:
    """The scans of photographs that have one scan only, and are no album pages."""
    s, p = t.scan.c, t.photograph.c
    alone = select(s.photograph_id).group_by(s.photograph_id).having(func.count() == 1)
    query = (
        select(t.scan).join(t.photograph, p.id == s.photograph_id).where(s.photograph_id.in_(alone), p.page == 0)
    ).where(s.page == 0, s.side == "recto")
    return _where(connection, query.order_by(s.id), where)


def _where(connection: Connection, query: Select[Any], where: str | None) -> list[RowMapping]:
    """Those of a folder or box, with those inside it, or all. Raises NotFoundError, AmbiguousError."""
    s, p = t.scan.c, t.photograph.c
    if where is not None:
        folder = os.path.realpath(where) if os.path.isdir(where) else ""  # noqa: PTH112 (as for a name that is too long)
        below = query.where(below_folder(connection, s.path, folder))
        rows = connection.execute(below).mappings().all() if folder else ()
        inside = [row for row in rows if Path(folder) in Path(row["path"]).parents]
        if inside:
            return inside
        container = find_container(connection, where)
        if container is None:
            raise NotFoundError(
                f"there is no folder or box called '{where}'", remedy="To see the boxes: kinphoto container list."
            )
        c = t.container.c
        parents = {row.id: row.parent_id for row in connection.execute(select(c.id, c.parent_id))}
        query = query.where(among(connection, p.container_id, within(parents, [container["id"]])))
    return list(connection.execute(query).mappings())


def _codes(connection: Connection, ids: Sequence[int]) -> dict[int, str]:
    p = t.photograph.c
    rows = connection.execute(select(p.id, p.code).where(among(connection, p.id, set(ids))))
    return {row.id: row.code for row in rows}


def _folders(rows: Sequence[RowMapping], order: str) -> Iterator[list[RowMapping]]:
    """The scans of each folder, in the order they were made."""
    folders: dict[str, list[RowMapping]] = defaultdict(list)
    for row in rows:
        folders[str(Path(row["path"]).parent)].append(row)
    for folder in sorted(folders):
        yield sorted(
            folders[folder],
            key=lambda row: (
                (row["exif_digitized"] or "", row["mtime_ns"]) if order == "time" else ("", 0),
                natural_key(Path(row["path"]).name),
            ),
        )


_measured: WeakKeyDictionary[Engine, dict[str, Side]] = WeakKeyDictionary()
"""What the thumbnails of an archive look like, by the bytes of their scans."""


def _sides(connection: Connection, rows: Sequence[RowMapping]) -> dict[int, Side]:
    known, thumbs = _measured.setdefault(connection.engine, {}), folder_of(connection.engine) / FOLDER
    fresh = [row for row in rows if row["sha256"] not in known]
    with ThreadPoolExecutor(cores()) as pool:
        known.update(pool.map(lambda row: (row["sha256"], _side(row, thumbs)), fresh))
    return {row["id"]: known[row["sha256"]] for row in rows}


def _side(row: RowMapping, thumbs: Path) -> Side:
    """What a scan looks like; one without a thumbnail may be anything."""
    scale = MM_PER_INCH / row["ppi"] if row["ppi"] else None
    size = None if scale is None else (row["width"] * scale, row["height"] * scale)
    try:
        with Image.open(thumbnail_path(thumbs, row["sha256"])) as image:
            picture = image.convert("L")
    except OSError:
        return Side(size, 0.06)
    paper = None
    if scale is not None and (found := print_outline(np.asarray(picture))) is not None and found.corners:
        paper = paper_size(found, picture.size, scale * max(row["width"], row["height"]) / max(picture.size))
    return Side(size, tone(picture), outline(picture), paper)


def paper_size(found: PaperOutline, size: tuple[int, int], scale: float = 1.0) -> tuple[float, float]:
    """Width and height of the print with this outline in a picture of this size, in pixels times `scale`."""
    corners = np.array(found.corners) * size
    top, right, lower, left = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return float(top + lower) / 2 * scale, float(left + right) / 2 * scale


def _by_name(
    rows: Sequence[RowMapping], sides: dict[int, Side], codes: dict[int, str], apart: set[frozenset[int]]
) -> Iterator[Proposal]:
    """Backs that are named after their fronts: `tin_0007_back`, and `tin_0007b` where no other letter follows."""
    stems = {Path(row["path"]).stem.casefold(): row for row in rows}
    by_start: dict[str, list[RowMapping]] = defaultdict(list)
    for stem, row in stems.items():
        if (found := _LETTERED.fullmatch(stem)) is not None:
            by_start[found[1]].append(row)
    pairs: list[tuple[RowMapping, RowMapping]] = []
    for start, lettered in by_start.items():
        if start in stems and len(lettered) == 1 and not {f"{start}{letter}" for letter in "acde"} & stems.keys():
            pairs.append((stems[start], lettered[0]))
    for row in rows:
        stem = Path(row["path"]).stem
        shorter = stem.casefold().rsplit("_", 1)[0].rsplit("-", 1)[0].rsplit(" ", 1)[0].rstrip("( ")
        front = next((stems[f"{shorter}{end}"] for end in _FRONT_ENDS if f"{shorter}{end}" in stems), None)
        if front is not None and front is not row and side_by_name(Path(front["path"]).stem, stem) == "back":
            pairs.append((front, row))
    for front, back in pairs:
        if frozenset((front["id"], back["id"])) in apart:
            continue
        sizes = same_size(sides[front["id"]], sides[back["id"]])
        why = f"{Path(back['path']).name} is named as the back"
        if sizes is False:
            why += ", but is a different size"
        yield _proposal("back", front, back, codes, sizes is not False, why)


def _reason(pair: Pair) -> str:
    where = {
        ScanOrder.ALTERNATING: "it follows its front",
        ScanOrder.LAST: "the backs were scanned last, in the same order",
        ScanOrder.REVERSED: "the backs were scanned last, from the bottom of the pile",
    }[pair.order]
    looks = [
        *(["the same size"] if pair.same_size else ["a different size"] if pair.same_size is False else []),
        *(["the same outline"] if pair.same_outline else []),
    ]
    return ", ".join([where, *looks])


def _same_pictures(
    connection: Connection, where: str | None, rows: Sequence[RowMapping], sides: dict[int, Side],
    apart: set[frozenset[int]],
) -> tuple[list[Proposal], int]:  # fmt: skip
    """The fronts among `rows` (and those of photographs with several scans there) that show the picture of another
    front anywhere in the archive; and how many that may do so were not compared."""
    ours = [row for row in _fronts(connection, where) if row["id"] not in sides or not sides[row["id"]].is_back]
    known = {row["id"] for row in (*ours, *rows)}
    others = [] if where is None else [row for row in _fronts(connection, None) if row["id"] not in known]
    fronts = [*ours, *others]
    if len(fronts) < 2 or not ours:
        return [], 0
    st = t.statement.c
    said = select(st.photograph_id, st.other_id).where(st.kind.in_(_RELATED), st.withdrawn == 0)
    ids = {row["photograph_id"]: row["id"] for row in fronts}
    related = {frozenset((ids.get(one), ids.get(other))) for one, other in connection.execute(said)}
    found, left_out = same_pictures(connection, fronts, len(ours), apart | related)  # type: ignore[operator]
    codes = _codes(connection, [fronts[at]["photograph_id"] for each in found for at in (each.one, each.other)])
    proposed = [_same_picture(connection, fronts, each, codes) for each in found]
    return sorted(proposed, key=lambda each: natural_key(each.one.path)), left_out


_RELATED = ("copy-of", "same-negative", "part-of")


def _same_picture(
    connection: Connection, fronts: Sequence[RowMapping], found: SamePicture, codes: dict[int, str]
) -> Proposal:
    """What is proposed for two scans of one picture: a sharper original comes before its copy."""
    one, other = fronts[found.one], fronts[found.other]
    if found.saved_twice:
        kind, why = "rescan", "the same scan saved twice"
    elif found.same_print:
        kind = "rescan"
        why = "the same picture, " + ("the same size" if found.ratio is not None else "of unknown size")
        if found.registration.common < _WHOLE:
            why += ", more of it on one"
    else:
        larger = max(found.ratio or 1, 1 / (found.ratio or 1))
        why = f"the same picture, {larger:.2f} times as large on one as on the other: another print"
        kind = "negative"
        if found.softer is not None:
            kind, why = "copy", f"{why}, with much less detail"
            one, other = (other, one) if found.softer == found.one else (one, other)
    if kind != "rescan":
        return _proposal(kind, one, other, codes, False, why)
    better, reason, compared = better_scan(connection, one, other)
    why += f"; {Path(better['path']).name} is better: {reason}" if reason else ""
    if page := _on_page(connection, one, other):
        why += f"; {page}"
    faces = _faces_on(connection, better, other if better is one else one, found.registration, better is other)
    made = _proposal(kind, one, other, codes, found.saved_twice, why)
    return replace(made, better=better["path"], faces=faces, compared=compared)


def _on_page(connection: Connection, one: RowMapping, other: RowMapping) -> str:
    """Which print of which album page or bed one of them was cut out of, where only one was."""
    f, p, s = t.print_frame.c, t.photograph.c, t.scan.c
    query = select(f.photograph_id, f.position, p.code).join(t.scan, s.id == f.scan_id)
    query = query.join(t.photograph, p.id == s.photograph_id)
    ids = [one["photograph_id"], other["photograph_id"]]
    found = connection.execute(query.where(f.photograph_id.in_(ids))).all()
    return f"it is print {found[0].position} on {found[0].code}" if len(found) == 1 else ""


def _faces_on(
    connection: Connection, better: RowMapping, worse: RowMapping, registration: Registration, forward: bool
) -> tuple[Region, ...]:
    """Where the faces framed on both scans will be on the better one; `forward` says that it is the second."""
    r, a = t.region.c, t.appearance.c
    standing = select(a.region_id).where(a.withdrawn == 0)
    query = select(t.region).where(
        r.photograph_id.in_([better["photograph_id"], worse["photograph_id"]]), r.id.in_(standing)
    )
    to_better = registration if forward else registration.reversed
    return tuple(
        box(row)
        if row["photograph_id"] == better["photograph_id"]
        else moved_region(to_better, box(row), shown_size(better))
        for row in connection.execute(query.order_by(r.id)).mappings()
    )


def _fronts(connection: Connection, where: str | None) -> list[RowMapping]:
    """The first recto of each photograph that is not an album page, in a folder or box with those inside it, or of
    all."""
    s, p = t.scan.c, t.photograph.c
    query = (
        select(t.scan).join(t.photograph, p.id == s.photograph_id).where(p.page == 0, s.page == 0, s.side == "recto")
    )
    rows = _where(connection, query.order_by(s.photograph_id, s.position, s.id), where)
    first: dict[int, RowMapping] = {}
    for row in rows:
        first.setdefault(row["photograph_id"], row)
    return list(first.values())


def _proposal(kind: str, one: RowMapping, other: RowMapping, codes: dict[int, str], sure: bool, why: str) -> Proposal:
    key = f"{kind}-{one['id']}-{other['id']}"
    return Proposal(key, kind, _compared(one, codes), _compared(other, codes), sure, why)


def _compared(row: RowMapping, codes: dict[int, str]) -> ComparedScan:
    size = shown_size(row)
    return ComparedScan(codes[row["photograph_id"]], row["path"], *size, row["ppi"], scanned(row))


def _scans_of(connection: Connection, key: str) -> tuple[str, RowMapping, RowMapping]:
    """The scans of a proposal."""
    found = re.fullmatch(r"(back|rescan|copy|negative)-(\d{1,15})-(\d{1,15})", key.strip())
    if found is None:
        raise InvalidValueError(
            f"'{key}' is not an offered pair", remedy="`kinphoto scans pair --json` lists their keys."
        )
    s = t.scan.c
    rows = [connection.execute(select(t.scan).where(s.id == int(id_))).mappings().first() for id_ in found.groups()[1:]]
    one, other = rows
    if one is None or other is None:
        raise NotFoundError("one of these scans is not in the archive any more", remedy="Look at the pairs again.")
    return found[1], one, other


def _rescanned(work: Work, one: RowMapping, other: RowMapping) -> str:
    """The better scan is shown in front, with the faces where the picture has them; the other stays as the older
    one."""
    better = better_scan(work.connection, one, other).row
    worse = other if better is one else one
    for row in (better, worse):
        if len(scans_of(work.connection, row["photograph_id"])) > 1:  # with a back: both become one photograph first
            first, second = (one, other) if one["photograph_id"] < other["photograph_id"] else (other, one)
            joining.take_over(
                work, first["photograph_id"], row_of(work.connection, t.photograph, second["photograph_id"])
            )
            break
    try:
        return replacing.replace(work, worse["path"], {**better}).photograph
    except InvalidValueError:  # it is sideways, and faces are framed: then the older one stays in front
        return joining.join(work, [worse["path"], better["path"]], side="recto").photograph
