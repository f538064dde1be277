"""Estimates and conflicts: made when something has changed, kept in the database, read by all that show them.

What is kept is derived: it may be thrown away at any time and is made again from the evidence.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, delete, func, insert, select

from kinphoto import __version__
from kinphoto.archive.finding import find_photograph
from kinphoto.archive.gathering import gather
from kinphoto.errors import InvalidValueError
from kinphoto.reason.findings import Conflict, Estimate, Findings, State, Unlikely
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive import Archive

_AS_OF = "estimates_as_of"
_FINDINGS = "findings"


@dataclass(frozen=True, slots=True)
class DatedPhotograph:
    """One photograph with the paths of its scans and its estimate."""

    code: str
    title: str
    scans: tuple[str, ...]
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class Settlement:
    """What does not fit together in the whole archive: the conflicts, what is set aside, what is unlikely."""

    conflicts: tuple[Conflict, ...]
    aside: tuple[str, ...]
    unlikely: tuple[Unlikely, ...]
    expected_false_alarms: float


def refresh(archive: Archive) -> None:
    """Make the estimates again if anything was changed since they were made."""
    with archive.reading() as connection:
        if _stamp(connection) == _setting(connection, _AS_OF):
            return
        stamp, evidence = _stamp(connection), gather(connection)
    from kinphoto.reason.dating import date_archive

    findings = date_archive(evidence)
    with archive.working("estimates") as work:  # writes derived tables only, so it leaves no line in the log
        if _stamp(work.connection) == stamp:  # otherwise somebody changed something meanwhile: the next asks again
            _keep(work.connection, findings, stamp)


def dates(archive: Archive, photographs: Sequence[str] = ()) -> list[DatedPhotograph]:
    """The estimates of these photographs (codes or paths), or of all, in the order asked for or of their codes.

    Raises NotFoundError or AmbiguousError when a photograph cannot be told, InvalidValueError for an album page.
    """
    refresh(archive)
    with archive.reading() as connection:
        wanted = [find_dated(connection, text) for text in photographs]
        found = estimates(connection, wanted or None)
    return [found[i] for i in wanted] if wanted else sorted(found.values(), key=lambda d: d.code)


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
    kept = json.loads(_setting(connection, _FINDINGS) or "{}")
    return Settlement(
        tuple(Conflict(**_tuples(c)) for c in kept.get("conflicts", ())),
        tuple(kept.get("aside", ())),
        tuple(Unlikely(**u) for u in kept.get("unlikely", ())),
        float(kept.get("expected_false_alarms", 0.0)),
    )


def _keep(connection: Connection, findings: Findings, stamp: str) -> None:
    ids = {code: i for i, code in connection.execute(select(t.photograph.c.id, t.photograph.c.code))}
    rows = []
    for estimate in findings.estimates:
        row = asdict(estimate)
        rows.append({"photograph_id": ids[row.pop("photograph")], **row, "inferred": int(estimate.inferred)})
    connection.execute(delete(t.estimate))
    if rows:
        connection.execute(insert(t.estimate), rows)
    kept = {
        "conflicts": [asdict(c) for c in findings.conflicts],
        "aside": findings.aside,
        "unlikely": [asdict(u) for u in findings.unlikely],
        "expected_false_alarms": findings.expected_false_alarms,
    }
    for key, value in ((_AS_OF, stamp), (_FINDINGS, json.dumps(kept))):
        connection.execute(delete(t.setting).where(t.setting.c.key == key))
        connection.execute(insert(t.setting).values(key=key, value=value))


def _stamp(connection: Connection) -> str:
    """What the estimates depend on: the newest change, and the program that makes them."""
    return f"{connection.scalar(select(func.max(t.change.c.id))) or 0} {__version__}"


def _setting(connection: Connection, key: str) -> str | None:
    found = connection.scalar(select(t.setting.c.value).where(t.setting.c.key == key))
    return None if found is None else str(found)


def _tuples(conflict: dict[str, Any]) -> dict[str, Any]:
    """JSON has no tuples: give a conflict's lists back their kind."""
    return {
        key: tuple(tuple(v) if isinstance(v, list) else v for v in value) if isinstance(value, list) else value
        for key, value in conflict.items()
    }
