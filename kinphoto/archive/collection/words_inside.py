"""Words and dates that other programs wrote into the scans' files, as they were recorded (`reading_inside.py`)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.collection.names_inside import THE_FILE
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class WordsInside:
    """What the file of a photograph says of it."""

    photograph: Annotated[str, "the code of a photograph whose file says something"]
    texts: Annotated[tuple[str, ...], "titles, captions and descriptions in the file or its sidecar"]
    date: Annotated[str, "when it was taken, as the file says (`1931`, `1931-06-12`); empty where it does not"]


def words_inside(connection: Connection) -> tuple[WordsInside, ...]:
    """What the files said of photographs, by their codes, without what was withdrawn since."""
    s, p, i = t.statement.c, t.photograph.c, t.informant.c
    query = (
        select(p.code, s.text, s.date_text)
        .join(t.photograph, p.id == s.photograph_id)
        .join(t.informant, i.id == s.informant_id)
        .where(s.withdrawn == 0, i.name == THE_FILE)
        .order_by(p.code, s.id)
    )
    texts: dict[str, list[str]] = {}
    dates: dict[str, str] = {}
    for row in connection.execute(query):
        texts.setdefault(row.code, []).extend([row.text] if row.text else [])
        dates[row.code] = dates.get(row.code) or row.date_text
    return tuple(WordsInside(code, tuple(said), dates[code]) for code, said in texts.items())
