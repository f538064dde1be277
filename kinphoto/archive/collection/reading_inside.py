"""What other programs wrote into the scans' files, or into sidecars beside them: read when scans are added, and kept.

Titles, captions and dates become statements, and everybody who is named somebody not identified yet, where the file
says they are and called as it calls them; "the file" is who told us. All of it is one change, so that one undo removes
it and leaves the scans. A file can be written into later, so that all of them can be read again: what is known by then,
or was withdrawn, is not recorded a second time.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, func, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.settings import keep_setting, setting
from kinphoto.archive.collection.names_inside import THE_FILE, NotRecorded
from kinphoto.archive.statements.appearances import Link, link
from kinphoto.archive.statements.claims import NewClaim, state
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import KinphotoError
from kinphoto.phrases import counted, listed
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import Region, shown_region, upright_region
from kinphoto.share.reading import people
from kinphoto.share.said_inside import said_inside
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import reading, working

READ_TO = "inside_read_to"
"""The key under which it is kept up to which scan (row id) the files were read."""
A_FEW = 50
"""Files that are caught up with while somebody waits for another one."""


@dataclass(frozen=True, slots=True)
class InsideTaken:
    """What was recorded of what the files say."""

    photographs: Annotated[tuple[str, ...], "codes of the photographs that something was recorded about"]
    names: Annotated[int, "how many people are named in them, each to be identified"]
    texts: Annotated[int, "how many titles, captions and descriptions"]
    dates: Annotated[int, "how many dates"]
    refused: tuple[NotRecorded, ...]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]

    @property
    def words(self) -> str:
        """How much was recorded: "2 names, 3 texts and 1 date for 4 photographs"."""
        found = listed([counted(self.names, "name"), counted(self.texts, "text"), counted(self.dates, "date")])
        return f"{found} for {counted(len(self.photographs), 'photograph')}"


@dataclass
class _Said:
    """What the files of one photograph say: names with where they are on the upright front, words, and a date."""

    names: dict[str, tuple[str, Region | None]] = field(default_factory=dict)
    texts: dict[str, None] = field(default_factory=dict)
    date: str = ""

    def __bool__(self) -> bool:
        return bool(self.names or self.texts or self.date)


def read_inside(engine: Engine, progress: Callable[[int, int], None] | None = None) -> InsideTaken:
    """Read the files of all photographs and record what is new in them.

    What cannot be the date of a photograph, or a place in it, is refused and stays in its file.
    """
    return _take(engine, None, progress)


def read_new(engine: Engine, added: Collection[str] = (), *, catch_up: bool = True) -> InsideTaken | None:
    """The same for the photographs (codes) whose files were added or changed, and for all with scans that were added
    since the last time; None where there are none.

    So an adding that was interrupted is caught up with, and an archive made before files were read. Where `catch_up` is
    False that is left to the next time, if it is more than a few files: somebody is waiting for these.
    """
    with reading(engine) as connection:
        s, p = t.scan.c, t.photograph.c
        new = select(p.code).join(t.scan, s.photograph_id == p.id).where(s.id > int(setting(connection, READ_TO) or 0))
        codes = {*connection.scalars(new), *added}
    if not catch_up and len(codes) > len(added) + A_FEW:
        return _take(engine, added, None, is_all=False)
    return _take(engine, codes, None) if codes else None


def _take(
    engine: Engine, photographs: Collection[str] | None, progress: Callable[[int, int], None] | None, *,
    is_all: bool = True,
) -> InsideTaken:  # fmt: skip
    with reading(engine) as connection:
        newest = connection.scalar(select(func.max(t.scan.c.id))) or 0
        found = _read(connection, photographs, progress)
        known = _known(connection, found)
    done, refused, texts, dates, names = dict[str, None](), list[NotRecorded](), 0, 0, 0
    with working(engine, "") as work:
        recorder = Recorder(work, many=len(found) > 50)
        for one in (each for code, said in found.items() for each in _each(code, said, known.get(code, _Said()))):
            try:
                is_new = link(recorder, one).changed if isinstance(one, Link) else state(recorder, one).changed
            except KinphotoError as problem:
                refused.append(NotRecorded(one.photograph, problem.what))
                continue
            if is_new:
                done[one.photograph] = None
                names += isinstance(one, Link)
                texts += isinstance(one, NewClaim) and one.kind == "recollection"
                dates += isinstance(one, NewClaim) and one.kind == "taken"
        recorder.write()
        if is_all:
            keep_setting(work.connection, READ_TO, str(newest))
        work.what = f"recorded what the files say of {counted(len(done), 'photograph')}"
        return InsideTaken(tuple(done), names, texts, dates, tuple(refused), work.id)


def _each(code: str, said: _Said, known: _Said) -> Iterator[Link | NewClaim]:
    """What to record of one photograph that is not known of it."""
    for folded, (called, region) in said.names.items():
        if folded not in known.names:
            where = None if region is None else ",".join(f"{part:.6f}" for part in region)
            yield Link(photograph=code, person="-", region=where, by=THE_FILE, called=called)
    for text in said.texts:
        if text not in known.texts:
            yield NewClaim(photograph=code, kind="recollection", text=text, by=THE_FILE)
    if said.date and not known.date:
        yield NewClaim(photograph=code, kind="taken", date=said.date, trust="fair", by=THE_FILE)


def _read(
    connection: Connection, photographs: Collection[str] | None, progress: Callable[[int, int], None] | None
) -> dict[str, _Said]:
    """What the files of fronts and backs say, by the codes of the photographs, where they say anything."""
    s, p = t.scan.c, t.photograph.c
    query = (
        select(p.code, s.path, s.page, s.side, s.orientation, s.turn, s.straight)
        .join(t.photograph, p.id == s.photograph_id)
        .where(s.superseded == 0, s.page <= 1)
        .order_by(p.code, s.side != "recto", s.position, s.id)
    )
    if photographs is not None:
        query = query.where(among(connection, p.code, photographs))
    rows = connection.execute(query).all()
    found: dict[str, _Said] = {}
    for number, row in enumerate(rows, 1):
        said, path = found.setdefault(row.code, _Said()), Path(file_path(row.path, row.page))
        held = list(_held_by(path))
        inside = said_inside(path, held)
        said.texts.update(dict.fromkeys(inside.texts))
        said.date = said.date or inside.date
        for one in (one for data in held for one in people(data) if row.side == "recto"):
            region = None
            if one.region is not None:
                region = shown_region(upright_region(one.region, row.orientation), row.turn, row.straight)
            first = said.names.get(fold(one.name), (one.name, region))
            said.names[fold(one.name)] = first[0], first[1] or region
        if progress is not None:
            progress(number, len(rows))
    return {code: said for code, said in found.items() if said}


def _known(connection: Connection, codes: Collection[str]) -> dict[str, _Said]:
    """What was recorded from the files of these photographs before, also what was withdrawn since."""
    a, s, p, i = t.appearance.c, t.statement.c, t.photograph.c, t.informant.c
    found: dict[str, _Said] = {}
    named = select(p.code, a.called).join(t.photograph, p.id == a.photograph_id).where(a.called != "")
    for row in connection.execute(named.where(among(connection, p.code, codes))):
        found.setdefault(row.code, _Said()).names[fold(row.called)] = row.called, None
    told = (
        select(p.code, s.text, s.date_text)
        .join(t.photograph, p.id == s.photograph_id)
        .join(t.informant, i.id == s.informant_id)
        .where(i.name == THE_FILE, among(connection, p.code, codes))
    )
    for code, text, date in connection.execute(told):
        said = found.setdefault(code, _Said())
        said.texts[text] = None
        said.date = said.date or date
    return found


def _held_by(path: Path) -> Iterator[bytes | mmap]:
    """What a file and its sidecars hold, as far as they can be read."""
    for each in dict.fromkeys((path, path.with_suffix(".xmp"), Path(f"{path}.xmp"))):
        try:
            with each.open("rb") as file:
                yield mmap(file.fileno(), 0, access=ACCESS_READ)
        except (OSError, ValueError):
            continue
