"""Every picture of a person, or of a whole line of a family, in the order in which they were taken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.finding import find_person
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import Span
from kinphoto.store import kindred
from kinphoto.store import tables as t


@dataclass(frozen=True, slots=True)
class Shown:
    """Somebody in a picture; `perhaps` when it may be another: there is a rival name, or somebody says it is not."""

    id: str
    name: str
    perhaps: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """One photograph and who is in it. `estimate` is None for an album page, which has no date of its own."""

    code: str
    title: str
    scans: tuple[str, ...]
    people: tuple[Shown, ...]
    estimate: Estimate | None


@dataclass(frozen=True, slots=True)
class Pictures:
    """The pictures of one person, or of them and those they descend from or who descend from them."""

    id: str
    name: str
    photographs: tuple[Picture, ...]


def pictures(
    connection: Connection,
    person: str,
    *,
    ancestors: bool = False,
    descendants: bool = False,
    beside: Sequence[str] = (),
    since: str | None = None,
    until: str | None = None,
) -> Pictures:
    """Every picture of a person, by best date, then earliest; undated ones last.

    With `ancestors` or `descendants` also every picture of those; with `beside` only those in which these people are
    too; with `since` and `until` (dates) only those that can have been taken between, or are likely to where anything
    likely is known. Raises NotFoundError, AmbiguousError, InvalidValueError.
    """
    between = _between(since, until)
    row = find_person(connection, person)
    ids = _in_photographs(connection, _line(connection, row["id"], ancestors, descendants))
    for other in beside:
        ids &= _in_photographs(connection, {find_person(connection, other)["id"]})
    found = [one for one in pictures_by_id(connection, ids).values() if _meets(one, between)]
    return Pictures(row["code"], row["name"], tuple(sorted(found, key=_taken)))


def _between(since: str | None, until: str | None) -> Span | None:
    """First to last day asked for, None when nothing was."""
    if since is None and until is None:
        return None
    start, end = (Span() if text is None else parse_date(text).span for text in (since, until))
    between = Span(start.last if start.first is None else start.first, end.first if end.last is None else end.last)
    if between.empty:
        raise InvalidValueError(f"{since} comes after {until}", remedy="Give --from the earlier date, --to the later.")
    return between


def _line(connection: Connection, person_id: int, ancestors: bool, descendants: bool) -> set[int]:
    line = {person_id}
    if ancestors:
        line.update(kindred.ancestors(connection, person_id))
    if descendants:
        line.update(kindred.descendants(connection, person_id))
    return line


def _in_photographs(connection: Connection, people: Collection[int]) -> set[int]:
    """The photographs any of these people is in."""
    a = t.appearance.c
    query = select(a.person_id, a.photograph_id).where(a.denied == 0, a.withdrawn == 0)
    return {photograph_id for _, photograph_id in rows_of(connection, query, a.person_id, people)}


def pictures_by_id(connection: Connection, ids: Collection[int]) -> dict[int, Picture]:
    """These photographs by their row ids, with their scans, who is in them, and their estimates as they are kept."""
    p, e, s = t.photograph.c, t.estimate.c, t.scan.c
    scans: dict[int, list[str]] = defaultdict(list)
    paths = select(s.photograph_id, s.path).order_by(s.side != "recto", s.position, s.id)
    for photograph_id, path in rows_of(connection, paths, s.photograph_id, ids):
        scans[photograph_id].append(path)
    people = _people(connection, ids)
    query = select(
        p.id, p.title, p.code, e.earliest, e.latest, e.likely_from, e.likely_to, e.best, e.edtf, e.state, e.inferred
    ).outerjoin(t.estimate, e.photograph_id == p.id)
    return {
        id_: Picture(dates[0], title, tuple(scans[id_]), people.get(id_, ()), _estimate(*dates))
        for id_, title, *dates in rows_of(connection, query, p.id, ids)
    }


def _estimate(code: str, earliest: int | None, latest: int, *rest: Any) -> Estimate | None:
    if earliest is None:
        return None
    likely_from, likely_to, best, edtf, state, inferred = rest
    return Estimate(code, earliest, latest, likely_from, likely_to, best, edtf, State(state), bool(inferred))


def _people(connection: Connection, ids: Collection[int]) -> dict[int, tuple[Shown, ...]]:
    """Who is in each of these photographs, in the order in which they were named."""
    a, p = t.appearance.c, t.person.c
    query = (
        select(a.photograph_id, a.region_id, a.denied, p.code, p.name)
        .join(t.person, p.id == a.person_id)
        .where(a.withdrawn == 0)
        .order_by(a.id)
    )
    named: dict[int, dict[str, str]] = defaultdict(dict)
    on_face: dict[tuple[int, int], set[str]] = defaultdict(set)
    denied: set[tuple[int, str]] = set()
    for photograph_id, region_id, is_denied, code, name in rows_of(connection, query, a.photograph_id, ids):
        if is_denied:
            denied.add((photograph_id, code))
            continue
        named[photograph_id][code] = name
        if region_id is not None:
            on_face[photograph_id, region_id].add(code)
    rivals = {(id_, code) for (id_, _), codes in on_face.items() if len(codes) > 1 for code in codes}
    return {
        id_: tuple(Shown(code, name, (id_, code) in denied or (id_, code) in rivals) for code, name in people.items())
        for id_, people in named.items()
    }


def _meets(picture: Picture, between: Span | None) -> bool:
    if between is None:
        return True
    e = picture.estimate
    if e is None:
        return False
    likely = e.likely_from is not None and e.likely_to is not None
    span = Span(e.likely_from, e.likely_to) if likely else Span(e.earliest, e.latest)
    return not span.meet(between).empty


def _taken(picture: Picture) -> tuple[bool, int, bool, int, str]:
    """Where a picture comes in the order: by best date, then earliest; what has neither last."""
    e = picture.estimate
    best = e.best if e else None
    return best is None, best or 0, e is None, e.earliest if e else 0, picture.code
