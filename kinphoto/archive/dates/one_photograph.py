"""One photograph and what bears on it, dated by itself: quick however large the archive is.

Where everything is held in memory (`whole`), the date of one photograph is read from that, so that its own page agrees
with every list. Otherwise what bears on it is gathered up to a bound, until everything is dated again.

What was set aside when the whole archive was last dated stays aside as long as the statements it conflicts with are in
use; so a wrong death that twenty photographs speak against is not taken for a wrong face in the twenty-first. Any other
conflict here is found right away.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.freshness import stamp
from kinphoto.archive.catalogue.settings import setting
from kinphoto.archive.dates.beside import Beside
from kinphoto.archive.dates.estimates import DatedPhotograph, births_from_json, estimates, findings_from_json, refresh
from kinphoto.archive.dates.evidence import gather_reached, withdrawn_of
from kinphoto.archive.dates.lying import lies_in
from kinphoto.archive.dates.neighbourhood import BOUND, WIDER, Reach, reach
from kinphoto.archive.dates.stored import BIRTHS, FINDINGS, keep_some
from kinphoto.archive.dates.whole import Whole, is_small
from kinphoto.archive.statements.history import touched
from kinphoto.archive.statements.withdrawing import standing
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate, Conflict, Estimate, InformantEstimate, State
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.walk import Bound
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import reading

if TYPE_CHECKING:
    from kinphoto.reason.dating import Inference, LocalInference


@dataclass(frozen=True)
class Neighbourhood:
    """What bears on one photograph (its code).

    `evidence` is everything that does, including what is set aside; for sentences, `gathered` also names others, and
    `withdrawn` has the photograph's withdrawn statements. `kept` are conflicts of the whole archive that concern it.
    `complete` is False when more is connected than was gathered.
    """

    code: str
    evidence: ev.Evidence
    gathered: ev.Evidence
    withdrawn: tuple[ev.Statement, ...]
    kept: tuple[Conflict, ...]
    complete: bool
    informants: tuple[InformantEstimate, ...] | None = None
    """What the whole archive showed about informants; None when it was never dated."""
    births: tuple[BirthEstimate, ...] = ()
    """What the whole archive showed about births on which more bears than was gathered."""
    whole: Whole | None = None
    """Everything, if it is held; a look at it finds all conflicts, so none are `kept`."""
    tied: frozenset[str] = frozenset()
    """Where more is connected than was gathered: the photographs (codes) that relations or events tie to others."""

    @property
    def photographs(self) -> tuple[str, ...]:
        """All photographs connected with it (codes), itself included."""
        return tuple(p.id for p in self.evidence.photographs if not p.page)

    @property
    def wholly_reached(self) -> tuple[str, ...]:
        """The photographs (codes) on which hardly anything bears that was not reached: all, if all was; if not, this
        one, and those that nothing ties to others and that show nobody of vague birth who is also in one beyond."""
        if self.complete:
            return self.photographs
        beyond = {birth.person for birth in self.births}
        left = self.tied | {
            s.photograph for s in self.evidence.statements
            if (isinstance(s, ev.Appearance) and s.person in beyond)
            or (isinstance(s, ev.DateClaim) and s.claim is ev.Claim.PRINT_STAMP)
        }  # fmt: skip
        return tuple(p for p in self.photographs if p == self.code or p not in left)

    def standing(self, off: Collection[str] = ()) -> tuple[Conflict, ...]:
        """The kept conflicts that remain without the statements `off`."""
        return tuple(c for c in self.kept if set(off).isdisjoint(c.statements))

    def look(self, photographs: Sequence[str] = (), off: Collection[str] = ()) -> LocalInference:
        """The dates of these photographs, or of this one, without the statements `off`."""
        return self.inference(off).local_inference(list(photographs) or [self.code])

    def inference(self, off: Collection[str] = ()) -> Inference:
        """What is inferred from all of this, without the statements `off`."""
        from kinphoto.reason.dating import Inference

        if self.whole is not None:
            return Inference(self.whole.evidence.without(frozenset(off))) if off else self.whole.look
        aside = {s for conflict in self.standing(off) for s in conflict.aside}
        left = self.evidence.without(frozenset({*aside, *off}))
        return Inference(left, self.informants, self.births)

    def estimate(self, local_inference: LocalInference, photograph: str, off: Collection[str] = ()) -> Estimate:
        """The estimate of one photograph, disputed also where a kept conflict concerns it."""
        found = local_inference.dated_exposures[photograph].estimate
        disputed = any(photograph in c.photographs for c in self.standing(off))
        return replace(found, state=State.DISPUTED) if disputed else found


def near(
    connection: Connection, photograph_id: int, whole: Whole | None = None, bound: Bound = BOUND, *,
    in_words: bool = True,
) -> Neighbourhood:  # fmt: skip
    """What bears on one photograph (not an album page); `whole` is everything, if that is held. Where it is kept is
    added only `in_words`: it dates nothing that its container does not."""
    reached = reach(connection, photograph_id, bound)
    code = str(connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == photograph_id)))
    gathered = gather_reached(reached)
    if whole is not None:
        around = [p.id for p in gathered.photographs]
        share = whole.look.beliefs.fitted.mean
        gathered = replace(gathered, from_containers=whole.look.from_containers(around), fitted=share)
    gone = withdrawn_of(reached) if in_words else ()
    if in_words and code in gathered.from_containers and (lies := lies_in(connection, photograph_id)) is not None:
        from kinphoto.reason.soft.one_container import message_without_number

        place, number = lies
        gathered = replace(gathered, statements=(*gathered.statements, place))
        if number is not None and _number_withdrawn(connection, photograph_id):
            gone = (*gone, number)
        elif number is not None:
            without = message_without_number(_kept(connection, number.container, whole), code)
            instead = {} if without is None else {number.id: {code: without}}
            gathered = replace(gathered, statements=(*gathered.statements, number), messages_without=instead)
    found = None
    if whole is None and (text := setting(connection, FINDINGS)) is not None:
        found = findings_from_json(text)
        gathered = replace(gathered, fitted=found.fitted.share if found.fitted else None)
    evidence = focus(gathered, code)
    births = _births(connection, reached.cut, whole)
    kept: tuple[Conflict, ...] = ()
    informants = None
    if found is not None:
        kept, informants = _concerning(connection, found.conflicts, evidence, code), found.informants
    return Neighbourhood(
        code, evidence, gathered, gone, kept, reached.found.complete, informants, births, whole,
        _tied(connection, reached),
    )  # fmt: skip


def _number_withdrawn(connection: Connection, photograph_id: int) -> bool:
    p = t.photograph.c
    return bool(connection.scalar(select(p.number_withdrawn).where(p.id == photograph_id)))


def _kept(connection: Connection, container: str, whole: Whole | None) -> bytes:
    """What was kept of a container (its id) when everything was dated."""
    if whole is not None:
        return whole.look.beliefs.containers.get(container, b"")
    kept = select(t.one_container.c.kept).where(t.one_container.c.container_id == int(container.removeprefix("B")))
    return connection.scalar(kept) or b""


def _tied(connection: Connection, reached: Reach) -> frozenset[str]:
    tied = set() if reached.found.complete else reached.tied()
    query = select(t.photograph.c.code).where(among(connection, t.photograph.c.id, tied))
    return frozenset(connection.scalars(query)) if tied else frozenset()


def date_now(engine: Engine, photographs: Sequence[str] | None = None) -> list[DatedPhotograph]:
    """Date these photographs (codes or paths; None: those that the newest change was about) again, and keep it.

    In an archive of a family's size everything is dated again; in a larger one only the photographs connected with
    these. Returns those asked for, in their order, without album pages. Raises NotFoundError or AmbiguousError.
    """
    with reading(engine) as connection:
        if photographs is None:
            photographs = touched(connection)
        rows = [find_photograph(connection, text) for text in photographs]
        wanted = [int(row["id"]) for row in rows if not row["page"]]
        small = is_small(connection)
    if small:
        refresh(engine)
    else:
        _date_near(engine, wanted)
    with reading(engine) as connection:
        kept = estimates(connection, wanted)
    return [kept[i] for i in wanted if i in kept]


def _date_near(engine: Engine, photographs: Sequence[int]) -> None:
    """Date these again, each with whatever is connected with it and was reached with all that bears on it; and what is
    in one container with one of them whose likelihood changed."""
    found: dict[str, Estimate] = {}
    with reading(engine) as connection:
        made, beside = stamp(connection), Beside(connection)
        for photograph in dict.fromkeys(photographs):
            one = near(connection, photograph, bound=WIDER, in_words=False)
            if one.code not in found:
                asked = one.wholly_reached
                inference = one.inference()
                inference.receive(beside.told_by(inference, asked, one.code))
                local_inference = inference.local_inference(asked)
                found |= {p: one.estimate(local_inference, p) for p in asked}
                beside.keep_alone(inference.alone(local_inference.dated_exposures))
        found = beside.moved() | found
    keep_some(engine, found.values(), made, beside.told, beside.containers)


def _concerning(
    connection: Connection, conflicts: tuple[Conflict, ...], evidence: ev.Evidence, code: str
) -> tuple[Conflict, ...]:
    """The conflicts of the whole archive that concern this part of it, if none of their statements was withdrawn."""
    known = {s.id for s in evidence.statements}
    concerning = [c for c in conflicts if code in c.photographs or not known.isdisjoint(c.aside)]
    named = {s for c in concerning for s in c.statements} - known
    gone = named - standing(connection, sorted(named))
    return tuple(c for c in concerning if gone.isdisjoint(c.statements))


def _births(connection: Connection, people: Collection[int], whole: Whole | None) -> tuple[BirthEstimate, ...]:
    """The estimated births of these people (row ids) when everything was last dated."""
    if not people:
        return ()
    codes = connection.scalars(select(t.person.c.code).where(among(connection, t.person.c.id, people)))
    found = births_from_json(setting(connection, BIRTHS)) if whole is None else whole.births
    return tuple(found[code] for code in codes if code in found)
