"""What the words on a photograph, or a date that somebody types, say of when it was taken: dates, and lives in the
family ("Ada's 7th birthday"). They are offered, never recorded unasked."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from itertools import islice

from sqlalchemy import Connection

from kinphoto.archive.catalogue.by_life import Company, by_life, company_of
from kinphoto.archive.catalogue.event_names import relative_words
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.life_phrases import LONGEST, read_life_phrase
from kinphoto.errors import KinphotoError
from kinphoto.gedcom.dates_in_text import DateFound, DateReading, find_dates, read_date
from kinphoto.phrases import opening

_CLAUSE = re.compile(r"[^.,;:!()\n–—]+")
_MOST = 40
"""Clauses that are tried, so that no text takes long."""


def dates_in_words(connection: Connection, photograph: str, text: str, by: str | None = None) -> tuple[DateFound, ...]:
    """The dates in words on a photograph (its code), and the clauses that date it by a life, in their order."""
    return found_in(connection, find_photograph(connection, photograph)["id"], text, by, date.today())


def date_typed(connection: Connection, photograph: str, typed: str, by: str | None = None) -> DateFound:
    """What a typed date can mean; where it cannot be read, the problem that says why."""
    found = read_date(typed, date.today())
    if found.readings or found.impossible:
        return found
    company = company_of(connection, find_photograph(connection, photograph)["id"], by)
    try:
        return _by_life(connection, typed, 0, company) or found
    except KinphotoError as problem:
        return DateFound(typed, 0, (), opening(str(problem)))


def found_in(
    connection: Connection, photograph_id: int, text: str, by: str | None, today: date
) -> tuple[DateFound, ...]:  # fmt: skip
    """The same of a photograph by its row id. Who speaks, and about whom, is only looked up where the words mention a
    life."""
    found = list(find_dates(text, today))
    told = [(start, clause) for start, clause in _clauses(text) if read_life_phrase(clause) is not None]
    company = company_of(connection, photograph_id, by) if told else Company()
    for start, clause in told:
        if any(start < one.start + len(one.text) and one.start < start + len(clause) for one in found):
            continue
        with suppress(KinphotoError):  # somebody who is not in the tree, or one of several
            if (one := _by_life(connection, clause, start, company)) is not None:
                found.append(one)
    return tuple(sorted(found, key=lambda one: one.start))


def _by_life(connection: Connection, said: str, start: int, company: Company) -> DateFound | None:
    told = by_life(connection, said, company)
    if told is None:
        return None
    when = relative_words(connection, told.event, told.lapse)
    return DateFound(said, start, (DateReading(said, when),), certain=True)


def _clauses(text: str) -> Iterator[tuple[int, str]]:
    """The whole text, then each of its clauses, and where they begin."""
    for start, piece in ((0, text), *((found.start(), found[0]) for found in islice(_CLAUSE.finditer(text), _MOST))):
        plain = piece.strip(" \t\r\n.,;:!()\"“”'’")
        if plain and len(plain) <= LONGEST:
            yield start + piece.index(plain), plain
