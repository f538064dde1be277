"""Names that other programs wrote into the scans' files or into sidecars beside them, and whom they mean.

They are looked for when somebody asks, because a file can be named in at any time, and become names on photographs when
the keeper says who a name is: all photographs of one name at once, with "the file" as who told us.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_person
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.statements.appearances import Link, link
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import KinphotoError, NotFoundError
from kinphoto.phrases import counted
from kinphoto.scans.pages import file_path
from kinphoto.scans.upright import shown_region, stored_box
from kinphoto.share.facts import Region
from kinphoto.share.reading import people
from kinphoto.store import tables as t
from kinphoto.store.session import reading, working

THE_FILE = "the file"
"""Who is said to have told us what is read out of a file."""


@dataclass(frozen=True, slots=True)
class NameInside:
    """A name as it stands in files."""

    name: Annotated[str, "a name as other programs wrote it into files"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs whose file has it"]
    framed: Annotated[int, "on how many of them a face is framed"]
    person: Annotated[Named | None, "the only person who has this name here; null for nobody or several"]


class Refused(NamedTuple):
    """A photograph on which the name was not recorded."""

    photograph: Annotated[str, "the code of a photograph on which the name was not recorded"]
    why: Annotated[str, "why"]


@dataclass(frozen=True, slots=True)
class NamesTaken:
    """What was recorded of one name."""

    name: Annotated[str, "the name in the files"]
    person: Annotated[Named, "whom it means"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs on which they are named now"]
    refused: tuple[Refused, ...]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


@dataclass
class _Found:
    spelling: str
    regions: dict[str, Region | None] = field(default_factory=dict)


def names_inside(connection: Connection, progress: Callable[[int, int], None] | None = None) -> tuple[NameInside, ...]:
    """The names in the files of all fronts, those of the most photographs first."""
    found = _read(connection, progress)
    names = [
        NameInside(
            one.spelling, tuple(sorted(one.regions)), sum(region is not None for region in one.regions.values()),
            _only_person(connection, one.spelling),
        )
        for one in found.values()
    ]  # fmt: skip
    return tuple(sorted(names, key=lambda one: (-len(one.photographs), fold(one.name))))


def take_names(engine: Engine, name: str, person: str) -> NamesTaken:
    """Name somebody on every photograph whose file has this name, where the file says they are.

    A photograph on which that cannot be (they are framed elsewhere on it) is left as it is. Raises NotFoundError when
    no file has the name or there is no such person, AmbiguousError.
    """
    with reading(engine) as connection:
        who = find_person(connection, person)
        found = _read(connection).get(fold(name))
    if found is None:
        raise NotFoundError(f"no file has the name '{name}'", remedy="To see them all: kinphoto scans inside.")
    done, refused = [], []
    called = who["name"] or who["code"]
    with working(engine, "") as work:
        for code, region in sorted(found.regions.items()):
            where = None if region is None else ",".join(f"{part:.6f}" for part in region)
            said = Link(photograph=code, person=who["code"], region=where, by=THE_FILE, why=f"“{found.spelling}” in it")
            recorder = Recorder(work)  # one for each, so that nothing is left of what is refused
            try:
                is_new = link(recorder, said).changed
            except KinphotoError as problem:
                refused.append(Refused(code, problem.what))
                continue
            recorder.write()
            done += [code] if is_new else []
        pictures = counted(len(done), "photograph")
        work.what = f"named {called} ({who['code']}) in {pictures}, as the files say"
        change = work.id
    return NamesTaken(found.spelling, Named(who["code"], called), tuple(done), tuple(refused), change)


def _only_person(connection: Connection, name: str) -> Named | None:
    try:
        row = find_person(connection, name)
    except KinphotoError:
        return None
    return Named(row["code"], row["name"] or row["code"])


def _read(connection: Connection, progress: Callable[[int, int], None] | None = None) -> dict[str, _Found]:
    """Everybody named in the fronts' files, by the folded name, with where they are on the upright picture."""
    s, p = t.scan.c, t.photograph.c
    query = (
        select(p.code, s.path, s.page, s.orientation, s.turn, s.straight)
        .join(t.photograph, p.id == s.photograph_id)
        .where(s.side == "recto", s.superseded == 0, s.page <= 1)
        .order_by(p.code, s.position, s.id)
    )
    rows = connection.execute(query).all()
    found: dict[str, _Found] = {}
    for number, row in enumerate(rows, 1):
        path = Path(file_path(row.path, row.page))
        back = _INVERSE.get(row.orientation, row.orientation)
        for data in held_by(path):
            for one in people(data):
                known = found.setdefault(fold(one.name), _Found(one.name))
                region = (
                    None if one.region is None else shown_region(_upright(one.region, back), row.turn, row.straight)
                )
                known.regions[row.code] = known.regions.get(row.code) or region
        if progress is not None:
            progress(number, len(rows))
    return found


_INVERSE = {6: 8, 8: 6}


def _upright(region: Region, back: int) -> Region:
    left, top, width, height = region
    box = stored_box((left, top, left + width, top + height), (1, 1), back)  # type: ignore[arg-type]
    return box[0], box[1], box[2] - box[0], box[3] - box[1]


def held_by(path: Path) -> Iterator[bytes | mmap]:
    """What a file and its sidecars hold, as far as they can be read."""
    for each in dict.fromkeys((path, path.with_suffix(".xmp"), Path(f"{path}.xmp"))):
        try:
            with each.open("rb") as file:
                yield mmap(file.fileno(), 0, access=ACCESS_READ)
        except (OSError, ValueError):
            continue
