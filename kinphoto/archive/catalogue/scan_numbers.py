"""What photographs are called and numbered, as far as that bears on when they were taken: the theme of the scan's name
("harbour 0012"), and a number. That is the former number somebody recorded, such as one on the back; else that of the
name the file had before it was renamed; else that of the name it has. Numbers of one series differ in nothing else.
Where somebody withdrew the number, the photograph has none.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import PurePath
from typing import NamedTuple

from sqlalchemy import ColumnElement, Connection, and_, select

from kinphoto.reason.model.subjects import Number
from kinphoto.scans.numbering import DIGITS, is_nameless, numbered
from kinphoto.scans.pages import file_path
from kinphoto.store import tables as t

_DIGITS = re.compile(r"(.*?)(\d{1,6})(\D*)", re.DOTALL)


class ScanName(NamedTuple):
    """The theme of a photograph's name (empty: it has none) and its number."""

    theme: str = ""
    number: Number | None = None


def scan_numbers(
    connection: Connection, container: int | None = None, withdrawn: int | None = None
) -> Mapping[int, ScanName]:
    """Those of the photographs (row ids) in containers, or in this one, that are named or numbered; that of
    one photograph (row id) also where it was `withdrawn`."""
    p = t.photograph.c
    lies = p.container_id.is_not(None) if container is None else p.container_id == container
    found = _named(connection, lies)
    gone = set(connection.scalars(select(p.id).where(lies, p.number_withdrawn == 1))) - {withdrawn}
    for i in gone & found.keys():
        found[i] = found[i]._replace(number=None)
    return {i: name for i, name in found.items() if name != ScanName()}


def number_of(connection: Connection, photograph_id: int) -> Number | None:
    """The number of a photograph in a container, also where it was withdrawn."""
    p = t.photograph.c
    lies = and_(p.id == photograph_id, p.container_id.is_not(None))
    return _named(connection, lies).get(photograph_id, ScanName()).number


def _named(connection: Connection, lies: ColumnElement[bool]) -> dict[int, ScanName]:
    p, s, f = t.photograph.c, t.scan.c, t.former_name.c
    first = select(p.id, s.path, s.page).join(t.scan, s.photograph_id == p.id)
    first = first.where(lies, s.side == "recto", s.superseded == 0).order_by(s.position.desc(), s.id.desc())
    called = {i: _of_name(file_path(path, page)) for i, path, page in connection.execute(first)}  # the first one last
    former = select(p.id, f.path, s.page).join(t.scan, s.photograph_id == p.id).join(t.former_name, f.scan_id == s.id)
    was = {i: _of_name(file_path(path, page)) for i, path, page in connection.execute(
        former.where(lies, s.side == "recto").order_by(f.id.desc())
    )}  # fmt: skip
    recorded = select(p.id, p.former_number).where(lies, p.former_number != "")
    on_back = {i: _number("recorded", text.strip()) for i, text in connection.execute(recorded)}
    found = {}
    for i in called.keys() | on_back.keys():
        now = called.get(i, ScanName())
        number = on_back.get(i) or was.get(i, now).number or now.number
        found[i] = ScanName(now.theme, number and replace(number, id=f"N{i}"))
    return found


@lru_cache(maxsize=1 << 13)
def _of_name(path: str) -> ScanName:
    found = _DIGITS.fullmatch(PurePath(path).stem)
    if found is None or len(found[2]) > 5:
        return ScanName()
    theme, counts = _series(found[1], found[3])
    theme = theme if len(found[2]) >= DIGITS else ""
    return ScanName(theme, Number(f"name {found[1].casefold()}", int(found[2])) if counts else None)


@lru_cache(maxsize=1 << 12)
def _series(before: str, after: str) -> tuple[str, bool]:
    """The theme of names with this before and behind the number, and whether what they have is a number: other digits
    beside it make it the part of a date, or of something else."""
    name = numbered(f"{before}0001{after}")
    if name is not None:
        return name.key, True
    return "", is_nameless(f"{before}1{after}") and not re.search(r"\d", before)


def _number(kind: str, text: str) -> Number | None:
    """The last number in some words: "Album 3, no. 12" is the twelfth of one series."""
    every = list(re.finditer(r"\d+", text))
    if not every or len(every[-1][0]) > 6:
        return None
    last = every[-1]
    return Number(f"{kind} {text[: last.start()]}#{text[last.end() :]}".casefold(), int(last[0]))
