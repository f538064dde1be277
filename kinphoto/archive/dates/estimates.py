"""Estimates and conflicts: made when something has changed, kept in the database, read by all that show them.

`dates` makes them anew first, which is what a command wants. Pages show what is there (`kept_dates`), which a change
brings up to date for the photographs concerned (`closeup.py`) and the background for all (`refreshing.py`).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.freshness import Freshness, freshness, setting, stamp
from kinphoto.archive.catalogue.garbage import no_collection
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.dates.stored import FINDINGS, keep_all
from kinphoto.archive.dates.whole import looking, worked_out
from kinphoto.archive.words import conflict_stories
from kinphoto.documents import INLINE
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.findings import Conflict, Estimate, InformantEstimate, State, Unlikely
from kinphoto.store import tables as t
from kinphoto.store.session import reading


@dataclass(frozen=True, slots=True)
class DatedPhotograph:
    """One photograph with its date."""

    code: Annotated[str, "the photograph's code"]
    title: Annotated[str, "its title"]
    scans: Annotated[tuple[str, ...], "paths of its scans, the front first"]
    estimate: Annotated[Estimate, INLINE]


@dataclass(frozen=True, slots=True)
class Settlement:
    """What does not fit together in the whole archive: the conflicts, what is set aside, what is unlikely; what was
    learned of informants; and the photographs (codes) whose likely ranges are not to be relied on."""

    conflicts: tuple[Conflict, ...]
    aside: tuple[str, ...]
    unlikely: tuple[Unlikely, ...]
    expected_false_alarms: float
    informants: tuple[InformantEstimate, ...] = ()
    unsettled: tuple[str, ...] = ()


@no_collection()
def refresh(engine: Engine) -> None:
    """Make the estimates again if anything was changed since they were made."""
    if _is_fresh(engine):
        return
    with looking(engine):  # what two find out of date at once is dated once
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
        keep_all(engine, findings, conflict_stories.book(evidence, findings, namesakes), made)


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
    """The estimates of these photographs (codes or paths), or of all, in the order asked for or of their codes.

    Raises NotFoundError or AmbiguousError when a photograph cannot be told, InvalidValueError for an album page.
    """
    wanted = [find_dated(connection, text) for text in photographs]
    found = estimates(connection, wanted or None)
    return [found[i] for i in wanted] if wanted else sorted(found.values(), key=lambda d: d.code)


@dataclass(frozen=True, slots=True)
class KeptDates:
    """Estimates as they are kept, and how old those are that were not made since."""

    photographs: tuple[DatedPhotograph, ...]
    freshness: Freshness


def kept_dates(connection: Connection, photographs: Sequence[str] = ()) -> KeptDates:
    """The estimates of these photographs (codes or paths), or of all, as they are kept, and how old they are: nothing
    is made anew. A photograph never dated yet is left out. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    wanted = [find_dated(connection, text) for text in photographs]
    found, age = estimates(connection, wanted or None), freshness(connection)
    told = [found[i] for i in wanted if i in found] if wanted else sorted(found.values(), key=lambda d: d.code)
    return KeptDates(tuple(told), age)


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
    """Kept estimates by photograph id; pages have none. The caller has seen to it that they are fresh."""
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
        row["code"],
        row["earliest"],
        row["latest"],
        row["likely_from"],
        row["likely_to"],
        row["best"],
        row["edtf"],
        State(row["state"]),
        bool(row["inferred"]),
    )


def read_settlement(connection: Connection) -> Settlement:
    """The conflicts as kept. The caller has seen to it that they are fresh."""
    return settlement_of(setting(connection, FINDINGS))


def set_aside(connection: Connection) -> frozenset[str]:
    """The statements that are set aside, as of the newest estimates; they are not made anew for this."""
    return frozenset(read_settlement(connection).aside)


def settlement_of(kept: str | None) -> Settlement:
    """The conflicts in what is kept of them, None for nothing."""
    found = json.loads(kept or "{}")
    return Settlement(
        tuple(Conflict(**_tuples(c)) for c in found.get("conflicts", ())),
        tuple(found.get("aside", ())),
        tuple(Unlikely(**u) for u in found.get("unlikely", ())),
        float(found.get("expected_false_alarms", 0.0)),
        tuple(InformantEstimate(**i) for i in found.get("informants", ())),
        tuple(found.get("unsettled", ())),
    )


def _tuples(conflict: dict[str, Any]) -> dict[str, Any]:
    """JSON has no tuples: give a conflict's lists back their kind."""
    return {
        key: tuple(tuple(v) if isinstance(v, list) else v for v in value) if isinstance(value, list) else value
        for key, value in conflict.items()
    }
