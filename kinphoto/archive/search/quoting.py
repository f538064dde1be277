"""Where words are found on and about photographs, and in the names of their files: the words themselves, so that
whoever found them reads them at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t

NAMES = select(t.scan.c.photograph_id, t.scan.c.path, t.scan.c.page).order_by(t.scan.c.id)
"""The photograph, the path and the page of each scan."""
FORMER_NAMES = NAMES.with_only_columns(t.scan.c.photograph_id, t.former_name.c.path, t.scan.c.page).join(
    t.former_name, t.former_name.c.scan_id == t.scan.c.id
)
"""The same, with the paths that scans had before they were renamed."""
FILE_NAMES = ("file name", "former file name")
FIELDS = ("title", "place", "note", "maker", "former_number", "rights")


@dataclass(frozen=True, slots=True)
class Quote:
    """Words as they stand somewhere."""

    kind: Annotated[str, "what has the words: `inscription`, `note`, `title`, `file name`, `former file name`, ..."]
    text: Annotated[str, "the words as they stand there"]


def quotes(connection: Connection, codes: Collection[str], words: Sequence[str]) -> dict[str, tuple[Quote, ...]]:
    """For each of these photographs (codes) what is written on or about it with a word that begins like one of these
    folded ones; those without are left out."""
    if not (codes and words):
        return {}
    p, s = t.photograph.c, t.statement.c
    fields = [p[name] for name in FIELDS]
    ids: dict[int, str] = {}
    found: dict[str, list[Quote]] = defaultdict(list)
    for id_, code, *texts in connection.execute(select(p.id, p.code, *fields).where(p.code.in_(list(codes)))):
        ids[id_] = code
        found[code] += _having(zip(FIELDS, texts, strict=True), words)
    said = select(s.photograph_id, s.kind, s.text, s.date_text).where(s.withdrawn == 0).order_by(s.id)
    for id_, kind, text, date_text in rows_of(connection, said, s.photograph_id, ids):
        found[ids[id_]] += _having([(kind, text or date_text)], words)
    for kind, query in zip(FILE_NAMES, (NAMES, FORMER_NAMES), strict=True):
        for id_, path, page in rows_of(connection, query, t.scan.c.photograph_id, ids):
            found[ids[id_]] += _having([(kind, Path(file_path(path, page)).name)], words)
    return {code: tuple(quoted) for code, quoted in found.items() if quoted}


def _having(texts: Collection[tuple[str, str]] | Iterator[tuple[str, str]], words: Sequence[str]) -> Iterator[Quote]:
    for kind, text in texts:
        there = fold(text).split()
        if any(one.startswith(word) for one in there for word in words):
            yield Quote(kind.replace("_", " "), text)
