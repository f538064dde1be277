"""Estimates and conflicts: worked out when something has changed, kept in the database, read by everything that shows
them.

A command asks for `dates`, worked out again first. Pages show what is kept (`kept_dates`): a change brings that up to
date for its photographs (`one_photograph`), and the background for all (`background`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.freshness import Freshness, freshness, stamp
from kinphoto.archive.catalogue.garbage import no_collection
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.catalogue.settings import setting
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.dates.stored import FINDINGS, STORIES, keep_all
from kinphoto.archive.dates.whole import looking, worked_out
from kinphoto.archive.words import conflict_stories
from kinphoto.archive.words.conflict_stories import StoryBook
from kinphoto.documents import INLINE, read_json
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.findings import (
    BirthEstimate,
    Conflict,
    Estimate,
    Findings,
    FittedAges,
    InformantEstimate,
    OutOfPlace,
    State,
    Unlikely,
)
from kinphoto.store import tables as t
from kinphoto.store.session import reading


@dataclass(frozen=True, slots=True)
class DatedPhotograph:
    """One photograph with its date."""

    code: Annotated[str, "the photograph's code"]
    title: Annotated[str, "its title"]
    scans: Annotated[tuple[str, ...], "paths of its scans, the front first"]
    estimate: Annotated[Estimate, INLINE]


@no_collection()
def refresh(engine: Engine) -> None:
    """Work out the estimates again if anything has changed since."""
    if _is_fresh(engine):
        return
    with looking(engine):  # two that find it out of date work it out once
        if _is_fresh(engine):
            return
        whole = worked_out(engine)
        if whole is not None:
            made, evidence, findings = whole.made, whole.evidence, whole.look.findings()
        else:
            with reading(engine) as connection:
                made, evidence = stamp(connection), gather(connection)
            from kinphoto.reason.dating import date_archive

            findings = date_archive(evidence)
        with reading(engine) as connection:
            namesakes = named_apart(connection, conflict_stories.people_named(evidence, findings))
            boxes = {row.id: row.name for row in connection.execute(select(t.container.c.id, t.container.c.name))}
        keep_all(engine, findings, conflict_stories.book(evidence, findings, namesakes, boxes), made)


def refresh_in_memory(engine: Engine) -> bool:
    """Date everything in this process and hold it, where the archive is small enough; False where it is not."""
    if worked_out(engine) is None:
        return False
    refresh(engine)
    return True


def _is_fresh(engine: Engine) -> bool:
    with reading(engine) as connection:
        return freshness(connection).fresh


def dates(connection: Connection, photographs: Sequence[str] = ()) -> list[DatedPhotograph]:
    """The estimates of these photographs (codes or paths), or of all, in the order given or of their codes.

    Raises NotFoundError, AmbiguousError, and InvalidValueError for an album page.
    """
    return list(kept_dates(connection, photographs).photographs)


@dataclass(frozen=True, slots=True)
class KeptDates:
    """Estimates as they are kept, and how old they are."""

    photographs: tuple[DatedPhotograph, ...]
    freshness: Freshness


def kept_dates(connection: Connection, photographs: Sequence[str] = ()) -> KeptDates:
    """The same as they are kept, without working anything out; photographs not dated yet are left out."""
    wanted = [find_dated(connection, text) for text in photographs]
    found, age = estimates(connection, wanted or None), freshness(connection)
    shown = [found[i] for i in wanted if i in found] if wanted else sorted(found.values(), key=lambda d: d.code)
    return KeptDates(tuple(shown), age)


def find_dated(connection: Connection, text: str) -> int:
    """The id of the photograph meant. Raises NotFoundError, AmbiguousError, InvalidValueError for an album page."""
    row = find_photograph(connection, text)
    if row["page"]:
        raise InvalidValueError(
            f"{row['code']} is an album page, which has no date of its own",
            remedy="Ask about one of the prints on it.",
        )
    return int(row["id"])


def estimates(connection: Connection, ids: Sequence[int] | None) -> dict[int, DatedPhotograph]:
    """Kept estimates by photograph id; album pages have none."""
    p, e, s = t.photograph.c, t.estimate.c, t.scan.c
    rows = select(p.code, p.title, *t.estimate.c).join(t.photograph, p.id == e.photograph_id)
    paths = select(s.photograph_id, s.path).order_by(s.side != "recto", s.position, s.id)
    if ids is not None and len(ids) <= 500:
        rows, paths = rows.where(e.photograph_id.in_(ids)), paths.where(s.photograph_id.in_(ids))
    scans: dict[int, list[str]] = {}
    for photograph_id, path in connection.execute(paths):
        scans.setdefault(photograph_id, []).append(path)
    return {
        row["photograph_id"]: DatedPhotograph(
            row["code"], row["title"], tuple(scans.get(row["photograph_id"], ())), as_estimate(row)
        )
        for row in connection.execute(rows).mappings()
    }


def as_estimate(row: Mapping[Any, Any]) -> Estimate:
    """The estimate in a joined row of `photograph` (code) and `estimate`."""
    return Estimate(
        row["code"], row["earliest"], row["latest"], row["likely_from"], row["likely_to"], row["best"], row["edtf"],
        _STATES[row["state"]], bool(row["inferred"]), row["collection_from"], row["collection_to"],
    )  # fmt: skip


_STATES = {str(state): state for state in State}
"""Looked up rather than made: lists have thousands of rows."""


def kept_findings(connection: Connection) -> Findings:
    """What was found in the whole archive, as it is kept: without estimates and births."""
    return findings_from_json(setting(connection, FINDINGS))


def read_stories(connection: Connection) -> StoryBook:
    """The conflicts in words, as they are kept."""
    return conflict_stories.from_json(setting(connection, STORIES))


def set_aside(connection: Connection) -> frozenset[str]:
    """The statements that are set aside, by the estimates as they are kept."""
    return frozenset(kept_findings(connection).aside)


@lru_cache(maxsize=2)
def findings_from_json(kept: str | None) -> Findings:
    """The findings from the JSON they are kept as; None is none."""
    if kept is None:
        return Findings((), (), (), (), 0.0)
    found = {"estimates": (), "informants": ()} | read_json(kept)
    unconverged = found.pop("unsettled", ())
    return replace(
        Findings(**found, unconverged=unconverged),
        conflicts=tuple(Conflict(**c) for c in found["conflicts"]),
        unlikely=tuple(Unlikely(**u) for u in found["unlikely"]),
        informants=tuple(InformantEstimate(**i) for i in found["informants"]),
        out_of_place=tuple(OutOfPlace(**o) for o in found.get("out_of_place", ())),
        fitted=FittedAges(**kept_share) if (kept_share := found.get("fitted")) else None,
    )


@lru_cache(maxsize=2)
def births_from_json(kept: str | None) -> dict[str, BirthEstimate]:
    """The births, by person, from the JSON they are kept as; None is none."""
    return {row["person"]: BirthEstimate(**row) for row in read_json(kept or "[]")}
