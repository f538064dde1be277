"""Words and dates that other programs wrote into the scans' files or into sidecars beside them.

Whether there are any is seen when scans are added. They are read when somebody asks, as names are (`names_inside.py`),
since a file can be written into at any time, and become statements when the keeper says so: all of them in one change,
with "the file" as who told us, so that one undo takes all of them back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.collection.names_inside import THE_FILE, Refused, held_by
from kinphoto.archive.statements.claims import NewClaim, state
from kinphoto.archive.statements.recorder import Recorder
from kinphoto.errors import KinphotoError
from kinphoto.phrases import counted
from kinphoto.scans.pages import file_path
from kinphoto.share.reading import people
from kinphoto.share.said_inside import said_inside
from kinphoto.store import tables as t
from kinphoto.store.session import reading, working


@dataclass(frozen=True, slots=True)
class WordsInside:
    """What the file of a photograph says of it."""

    photograph: Annotated[str, "the code of a photograph whose file says something"]
    texts: Annotated[tuple[str, ...], "titles, captions and descriptions in the file or its sidecar"]
    date: Annotated[str, "when it was taken, as the file says (`1931`, `1931-06-12`); empty where it does not"]


@dataclass(frozen=True, slots=True)
class WordsTaken:
    """What was recorded of what the files say."""

    photographs: Annotated[tuple[str, ...], "codes of the photographs of which something was recorded"]
    texts: Annotated[int, "how many titles, captions and descriptions"]
    dates: Annotated[int, "how many dates"]
    refused: tuple[Refused, ...]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"]


def words_inside(connection: Connection, progress: Callable[[int, int], None] | None = None) -> tuple[WordsInside, ...]:
    """What the files of all fronts and backs say, by the codes of their photographs."""
    return tuple(_read(connection, progress))


def tells(path: Path) -> bool:
    """Whether a file or its sidecar holds a name, words or a date that another program wrote."""
    there = list(held_by(path))
    said = said_inside(path, there)
    return bool(said.texts or said.date) or any(True for data in there for _ in people(data))


def take_words(engine: Engine, progress: Callable[[int, int], None] | None = None) -> WordsTaken:
    """Record what the files say: words as what was told, a date as when it was taken, each once. What cannot be read
    as a date of a photograph is refused and stays in its file."""
    with reading(engine) as connection:
        found = list(_read(connection, progress))
    done, refused, texts, dates = dict[str, None](), list[Refused](), 0, 0
    with working(engine, "") as work:
        recorder = Recorder(work, many=len(found) > 50)
        for one in found:
            claims = [
                NewClaim(photograph=one.photograph, kind="recollection", text=text, by=THE_FILE) for text in one.texts
            ]
            if one.date:
                claims.append(
                    NewClaim(photograph=one.photograph, kind="taken", date=one.date, trust="fair", by=THE_FILE)
                )
            for claim in claims:
                try:
                    is_new = state(recorder, claim).changed
                except KinphotoError as problem:
                    refused.append(Refused(one.photograph, problem.what))
                    continue
                if is_new:
                    done[one.photograph] = None
                    texts += claim.kind == "recollection"
                    dates += claim.kind == "taken"
        recorder.write()
        work.what = f"recorded what the files say of {counted(len(done), 'photograph')}"
        return WordsTaken(tuple(done), texts, dates, tuple(refused), work.id)


def _read(connection: Connection, progress: Callable[[int, int], None] | None) -> Iterator[WordsInside]:
    s, p = t.scan.c, t.photograph.c
    query = (
        select(p.code, s.path, s.page)
        .join(t.photograph, p.id == s.photograph_id)
        .where(s.superseded == 0, s.page <= 1)
        .order_by(p.code, s.side != "recto", s.position, s.id)
    )
    rows = connection.execute(query).all()
    texts: dict[str, dict[str, None]] = {}
    dates: dict[str, str] = {}
    for number, row in enumerate(rows, 1):
        path = Path(file_path(row.path, row.page))
        said = said_inside(path, held_by(path))
        texts.setdefault(row.code, {}).update(dict.fromkeys(said.texts))
        dates[row.code] = dates.get(row.code) or said.date
        if progress is not None:
            progress(number, len(rows))
    for code, inside in texts.items():
        if inside or dates[code]:
            yield WordsInside(code, tuple(inside), dates[code])
