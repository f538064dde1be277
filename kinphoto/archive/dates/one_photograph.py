"""One photograph and what bears on it, looked at by itself: quick however large the archive is.

Where everything is held in memory (`whole`), what is concluded of one photograph is read out of that, so that its own
page tells the same as every list. Otherwise what bears on it is gathered up to a bound, and stands until everything is
dated again.

What the last look at the whole archive set aside stays aside, as long as what it does not fit with still stands; so a
wrong death that twenty photographs speak against is not taken for a wrong face in the twenty-first. Whatever else does
not fit together here is found here, at once.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.freshness import setting, stamp
from kinphoto.archive.dates.estimates import DatedPhotograph, Settlement, estimates, refresh, settlement_of
from kinphoto.archive.dates.evidence import gather_reached, withdrawn_of
from kinphoto.archive.dates.neighbourhood import reach
from kinphoto.archive.dates.stored import BIRTHS, FINDINGS, keep_some
from kinphoto.archive.dates.whole import Whole, is_small
from kinphoto.archive.statements.history import touched
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate, Conflict, Estimate, InformantEstimate, State
from kinphoto.reason.model.focus import focus
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.reason.dating import LocalInference

_WITHDRAWN = {"S": t.statement, "A": t.appearance, "E": t.event, "L": t.parent_link, "M": t.family}
"""The table a statement's row is in, by the first letter of its id."""


@dataclass(frozen=True)
class Neighbourhood:
    """What bears on one photograph (its code).

    `evidence` is everything that does, what is set aside included; `gathered` holds the names of others as well, and
    `withdrawn` what was said of the photograph and was withdrawn, both for telling. `kept` are conflicts of the whole
    archive that concern it. `complete` is False when more hangs together than was gathered.
    """

    code: str
    evidence: ev.Evidence
    gathered: ev.Evidence
    withdrawn: tuple[ev.Statement, ...]
    kept: tuple[Conflict, ...]
    complete: bool
    informants: tuple[InformantEstimate, ...] | None = None
    """What the whole archive taught of informants; None when it was never looked at."""
    births: tuple[BirthEstimate, ...] = ()
    """What the whole archive taught of births on which more bears than was gathered."""
    whole: Whole | None = None
    """Everything, if it is held; a look then finds all conflicts, and none are `kept`."""

    @property
    def photographs(self) -> tuple[str, ...]:
        """All photographs that hang together with it (codes), itself among them."""
        return tuple(p.id for p in self.evidence.photographs if not p.page)

    def standing(self, off: Collection[str] = ()) -> tuple[Conflict, ...]:
        """The kept conflicts that there still are without the statements `off`."""
        return tuple(c for c in self.kept if set(off).isdisjoint(c.statements))

    def look(self, photographs: Sequence[str] = (), off: Collection[str] = ()) -> LocalInference:
        """What is concluded for these photographs, or for this one, without the statements `off`."""
        from kinphoto.reason.dating import Inference, date_locally

        asked = list(photographs) or [self.code]
        if self.whole is not None:
            look = Inference(self.whole.evidence.without(frozenset(off))) if off else self.whole.look
            return look.local_inference(asked)
        aside = {s for conflict in self.standing(off) for s in conflict.aside}
        left = self.evidence.without(frozenset({*aside, *off}))
        return date_locally(left, asked, self.informants, self.births)

    def estimate(self, local_inference: LocalInference, photograph: str, off: Collection[str] = ()) -> Estimate:
        """What a closeup of this concluded for one photograph, disputed also where the whole archive says so."""
        found = local_inference.dated_exposures[photograph].estimate
        disputed = any(photograph in c.photographs for c in self.standing(off))
        return replace(found, state=State.DISPUTED) if disputed else found


def near(connection: Connection, photograph_id: int, whole: Whole | None = None) -> Neighbourhood:
    """What bears on one photograph (no page); `whole` is everything, if that is held."""
    reached = reach(connection, photograph_id)
    code = str(connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == photograph_id)))
    gathered = gather_reached(reached)
    evidence = focus(gathered, code)
    births = _births(connection, reached.cut, whole)
    if whole is not None:
        return Neighbourhood(
            code, evidence, gathered, withdrawn_of(reached), (), reached.complete, births=births, whole=whole
        )
    kept = _concerning(connection, evidence, code)
    findings = setting(connection, FINDINGS)
    informants = None if findings is None else _settled(findings).informants
    return Neighbourhood(code, evidence, gathered, withdrawn_of(reached), kept, reached.complete, informants, births)


def date_now(archive: Archive, photographs: Sequence[str] | None = None) -> list[DatedPhotograph]:
    """Date these photographs (codes or paths; None: those that the newest change was about) again, and keep it.

    In an archive of a family's size everything is dated again; in a larger one those that hang together with them, as
    far as that can be told from what is near, and what is kept of all others stays as of the last look at the whole
    archive. Returns those asked for, in their order, without album pages, which have no date. Raises NotFoundError or
    AmbiguousError.
    """
    with archive.reading() as connection:
        if photographs is None:
            photographs = touched(connection)
        rows = [find_photograph(connection, text) for text in photographs]
        wanted = [int(row["id"]) for row in rows if not row["page"]]
        small = is_small(connection)
    if small:
        refresh(archive)
    else:
        _date_near(archive, wanted)
    with archive.reading() as connection:
        kept = estimates(connection, wanted)
    return [kept[i] for i in wanted if i in kept]


def _date_near(archive: Archive, photographs: Sequence[int]) -> None:
    """Date these again, each with all that hangs together with it if that was reached, else by itself."""
    with archive.reading() as connection:
        made, around = stamp(connection), [near(connection, i) for i in dict.fromkeys(photographs)]
    found: dict[str, Estimate] = {}
    for one in around:
        if one.code not in found:
            asked = one.photographs if one.complete else (one.code,)
            local_inference = one.look(asked)
            found |= {p: one.estimate(local_inference, p) for p in asked}
    keep_some(archive, found.values(), made)


def _concerning(connection: Connection, evidence: ev.Evidence, code: str) -> tuple[Conflict, ...]:
    """The conflicts that were found in the whole archive, still stand, and concern this part of it."""
    told = {s.id for s in evidence.statements}
    kept = _settled(setting(connection, FINDINGS)).conflicts
    concerning = [c for c in kept if code in c.photographs or not told.isdisjoint(c.aside)]
    gone = _gone(connection, {s for c in concerning for s in c.statements} - told)
    return tuple(c for c in concerning if gone.isdisjoint(c.statements))


def _births(connection: Connection, people: Collection[int], whole: Whole | None) -> tuple[BirthEstimate, ...]:
    """What was concluded of these people's births (row ids) when everything was last looked at."""
    if not people:
        return ()
    codes = connection.scalars(select(t.person.c.code).where(among(connection, t.person.c.id, people)))
    found = _kept_births(setting(connection, BIRTHS)) if whole is None else whole.births
    return tuple(found[code] for code in codes if code in found)


@lru_cache(maxsize=2)
def _kept_births(kept: str | None) -> dict[str, BirthEstimate]:
    return {row["person"]: BirthEstimate(**row) for row in json.loads(kept or "[]")}


@lru_cache(maxsize=2)
def _settled(kept: str | None) -> Settlement:
    return settlement_of(kept)


def _gone(connection: Connection, statements: Iterable[str]) -> set[str]:
    """Those of the statements (ids) that were withdrawn or taken back."""
    wanted: dict[str, set[int]] = {}
    for name in statements:
        wanted.setdefault(name[0], set()).add(int(name[1:]))
    gone = set()
    for letter, ids in wanted.items():
        table = _WITHDRAWN[letter]
        stands = set(connection.scalars(select(table.c.id).where(table.c.id.in_(ids), table.c.withdrawn == 0)))
        gone |= {f"{letter}{i}" for i in ids - stands}
    return gone
