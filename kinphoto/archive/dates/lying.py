"""Where a photograph is kept, as a statement about its date: "in the green album, between two pictures of 1911"; what
its number says there, as another one; which others are on its strip of film, and which were printed with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeGuard

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.dates.numbered_with import NumberedWith, numbered_with
from kinphoto.phrases import counted, listed
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.batches import printed_together
from kinphoto.reason.model.span import DAYS_PER_YEAR, year_of
from kinphoto.reason.model.subjects import Arrangement
from kinphoto.reason.soft.groups import adjacency, reached
from kinphoto.store import tables as t
from kinphoto.store.among import among

NARROW = 5 * DAYS_PER_YEAR
"""A neighbour is named where its likely range is no longer than this."""
_ORDER = {Arrangement.IN_ORDER: ", which is in order", Arrangement.BACKWARDS: ", which is in reverse order"}
FAR = 12
"""Places on either side where a dated neighbour is looked for."""


def lies_in(connection: Connection, photograph_id: int) -> tuple[ev.LiesIn, ev.Numbered | None] | None:
    """Where it is kept, in words, and what its number implies there, withdrawn or not, where numbers are another order;
    None where it is in no container."""
    p, c = t.photograph.c, t.container.c
    query = select(p.code, p.position, p.container_id, c.name, c.arrangement).join(t.container, c.id == p.container_id)
    row = connection.execute(query.where(p.id == photograph_id)).mappings().first()
    if row is None:
        return None
    named = numbered_with(connection, photograph_id, row["container_id"])
    before = _neighbours(connection, row, photograph_id, named.photographs, later=False)
    after = _neighbours(connection, row, photograph_id, named.photographs, later=True)
    order = _ORDER.get(row["arrangement"], "")
    theme = f", named {named.theme}" if named.theme else ""
    words = _words(_dated(before), _dated(after), len(before) + len(after))
    box, text = f"B{row['container_id']}", f"in {row['name']}{order}{theme}{words}"
    lies = ev.LiesIn(id=box, trust=ev.Trust.WEAK, photograph=row["code"], text=text)
    if named.number is None:
        return lies, None
    return lies, ev.Numbered(
        id=f"N{photograph_id}", trust=ev.Trust.WEAK, photograph=row["code"], container=box, number=named.number,
        text=_by_number(connection, named),
    )  # fmt: skip


def is_of_strip(statement: ev.Statement) -> TypeGuard[ev.Relation]:
    """Whether it says that two photographs are frames of one strip of film."""
    return isinstance(statement, ev.Relation) and statement.related is ev.Related.SAME_STRIP


def on_strip(connection: Connection, evidence: ev.Evidence, photograph: str) -> str | None:
    """Which frames are on one strip with it (its code), and of when those are that are dated closely: "two pictures of
    about 1911"; None where nobody says so."""
    ties = [(s.photograph, s.other) for s in evidence.statements if is_of_strip(s)]
    return _pictures(connection, sorted({*reached([photograph], adjacency(ties))} - {photograph}))


def printed_with(connection: Connection, evidence: ev.Evidence, photograph: str) -> str | None:
    """Which prints are kept with it (its code) that have the same printed date, in the same words; None where there are
    none."""
    claims = (s for s in evidence.statements if isinstance(s, ev.DateClaim))
    batches = printed_together({p.id: p for p in evidence.photographs}, claims)
    batch = next((batch for batch in batches if photograph in batch), {})
    return _pictures(connection, sorted({*batch} - {photograph}))


def _pictures(connection: Connection, others: Sequence[str]) -> str | None:
    p, e = t.photograph.c, t.estimate.c
    query = select(e.best, e.likely_from, e.likely_to).join(t.photograph, e.photograph_id == p.id)
    rows = connection.execute(query.where(among(connection, p.code, others))).mappings().all() if others else []
    years = sorted(year_of(r["best"]) for r in rows if _is_close(r))
    if not years:
        return listed(others) if others else None
    pictures = counted(len(years), "picture", "pictures")
    when = f"about {years[0]}" if years[0] == years[-1] else f"{years[0]} to {years[-1]}"
    return f"{pictures} of {when}"


def _by_number(connection: Connection, named: NumberedWith) -> str:
    """The closely dated numbers before and after its own: "comes between 11 of 1931 and 14 of 1934"."""
    before, after = (_numbered(connection, some[:FAR]) for some in (named.before, named.after))
    if before and after:
        return f"comes between {before} and {after}"
    if before or after:
        return f"comes {'after' if before else 'before'} {before or after}"
    return f"is one of {len(named.before) + len(named.after) + 1} numbers there"


def _numbered(connection: Connection, numbers: Sequence[tuple[int, int]]) -> str | None:
    """ "11 of 1931": the first of these photographs (row ids and numbers) that is dated closely."""
    e = t.estimate.c
    query = select(e.photograph_id, e.best, e.likely_from, e.likely_to).where(
        e.photograph_id.in_([i for i, _ in numbers])
    )
    years = {
        row["photograph_id"]: year_of(row["best"]) for row in connection.execute(query).mappings() if _is_close(row)
    }
    return next((f"{number} of {years[i]}" for i, number in numbers if i in years), None)


def _neighbours(
    connection: Connection, row: RowMapping, photograph_id: int, among_these: frozenset[int] | None, *, later: bool
) -> Sequence[RowMapping]:
    """The next photographs on one side, the nearest first; of these alone (None: of all)."""
    p, e = t.photograph.c, t.estimate.c
    here = (p.position > row["position"]) | ((p.position == row["position"]) & (p.id > photograph_id))
    if not later:
        here = (p.position < row["position"]) | ((p.position == row["position"]) & (p.id < photograph_id))
    query = select(e.best, e.likely_from, e.likely_to).select_from(t.photograph)
    query = query.outerjoin(t.estimate, e.photograph_id == p.id)
    query = query.where(p.container_id == row["container_id"], p.page == 0, here).limit(FAR)
    if among_these is not None:
        query = query.where(among(connection, p.id, among_these))
    order = (p.position, p.id) if later else (p.position.desc(), p.id.desc())
    return connection.execute(query.order_by(*order)).mappings().all()


def _dated(rows: Sequence[RowMapping]) -> int | None:
    """The year of the nearest that is dated closely."""
    day = next((r["best"] for r in rows if _is_close(r)), None)
    return None if day is None else year_of(day)


def _is_close(row: RowMapping) -> bool:
    """Whether it is dated closely."""
    return row["best"] is not None and row["likely_to"] - row["likely_from"] <= NARROW


def _words(before: int | None, after: int | None, others: int) -> str:
    if before is not None and after is not None:
        if before == after:
            return f", between two pictures of about {before}"
        early, late = sorted((before, after))  # in order of time, whichever of them comes first
        return f", between pictures of about {early} and {late}"
    near = before if before is not None else after
    if near is not None:
        return f", near a picture of about {near}"
    return f", with {counted(others, 'other picture', 'other pictures')} nearby" if others else ""
