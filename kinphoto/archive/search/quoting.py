"""Where words stand on and about photographs: the words themselves, so that whoever found them reads them at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.store import tables as t

FIELDS = ("title", "place", "note", "maker", "former_number", "rights")


@dataclass(frozen=True, slots=True)
class Quote:
    """Words as they stand somewhere."""

    kind: Annotated[str, "what has the words: `inscription`, `note`, `title`, ..."]
    text: Annotated[str, "the words as they stand there"]


def quotes(connection: Connection, codes: Collection[str], words: Sequence[str]) -> dict[str, tuple[Quote, ...]]:
    """For each of these photographs (codes) what is written on or about it with a word that begins like one of these
    folded ones; those without are left out."""
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
    return {code: tuple(quoted) for code, quoted in found.items() if quoted}


def _having(texts: Collection[tuple[str, str]] | Iterator[tuple[str, str]], words: Sequence[str]) -> Iterator[Quote]:
    for kind, text in texts:
        there = fold(text).split()
        if any(one.startswith(word) for one in there for word in words):
            yield Quote(kind.replace("_", " "), text)
