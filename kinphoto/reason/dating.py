"""The front door of the reasoner: from evidence to findings.

First the hard layer settles what does not fit together and bounds every variable (`conflict`); then, without what was
set aside, the soft layer works out what is likely inside the bounds (`belief`, `orders`); then each posterior is read
out (`readout`).

**State.** A photograph is *dated* when a statement of its own bears on when it was taken: a claim, a process or format,
an event whose day something is known of, the appearance of somebody whose life is known at least in part (they were
alive), or a relation to a photograph that is dated so. An appearance is a statement like any other, so a photograph
with merely a name is dated as soon as that person's birth or death bounds it. What is left is *open*: the laws alone
say that it is neither older than photography nor younger than its scan, and nothing likely is claimed. A photograph
that bears on a conflict is *disputed*; it has a likely range only when something of its own is left that bears on it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from kinphoto.reason import evidence as ev
from kinphoto.reason.belief import Belief, Group, believe, careless, group_up, masses
from kinphoto.reason.claims import OF_EXPOSURE
from kinphoto.reason.conflict import Settled, settle
from kinphoto.reason.faces import Lives
from kinphoto.reason.findings import Estimate, Findings, State, Unlikely
from kinphoto.reason.focus import focus
from kinphoto.reason.laws import FIRST_PHOTOGRAPH
from kinphoto.reason.lookup import look_up
from kinphoto.reason.orders import orders, pass_messages
from kinphoto.reason.prior import happened
from kinphoto.reason.readout import Posterior, days, inferred_edtf, median, shortest, stated_edtf
from kinphoto.reason.span import Dated, Shape, Span

_T = TypeVar("_T")

REPORTED = 0.9
"""A judged age is reported when the chance that it has nothing to do with the age is above this."""
AS_WIDE = 0.75
"""A stated date stands as stated while the likely range is not narrower than this share of its own."""


@dataclass(frozen=True)
class Outlook:
    """One photograph's estimate, and its posterior (None when nothing of its own bears on it)."""

    estimate: Estimate
    posterior: Posterior | None


def date_archive(evidence: ev.Evidence) -> Findings:
    """Everything that can be concluded from the evidence."""
    settled = settle(evidence)
    disputed = {p for conflict in settled.conflicts for p in conflict.photographs}
    known = look_up(evidence.without(frozenset(settled.aside)))
    lives = Lives(known, settled.walls)
    worked = work_out(lives)
    estimates = (
        _estimate(p.id, worked.posteriors.get(p.id), lives, disputed) for p in known.photographs.values() if not p.page
    )
    suspects = sorted((u for u in worked.careless if u.probability > REPORTED), key=lambda u: -u.probability)
    false = sum(1 - u.probability for u in suspects)
    return Findings(tuple(estimates), settled.conflicts, settled.aside, tuple(suspects), false)


@dataclass(frozen=True)
class Closeup:
    """A part of the evidence settled by itself, and the outlooks of the photographs asked about, by id."""

    settled: Settled
    lives: Lives
    outlooks: dict[str, Outlook]


def outlook(evidence: ev.Evidence, photograph: str, without: Collection[str] = ()) -> Outlook:
    """What would be concluded for one photograph (its id) without the statements of the ids `without`.

    Only the part of the evidence that can bear on it is looked at. Conflicts are settled anew.
    """
    near = focus(evidence, photograph).without(frozenset(without))
    return look_closely(near, [photograph]).outlooks[photograph]


def look_closely(near: ev.Evidence, photographs: Sequence[str]) -> Closeup:
    """What is concluded for these photographs (ids; no pages) from evidence of which nothing is left out."""
    settled = settle(near)
    disputed = {p for conflict in settled.conflicts for p in conflict.photographs}
    lives = Lives(look_up(near.without(frozenset(settled.aside))), settled.walls)
    found = work_out(lives, photographs).posteriors
    outlooks = {p: Outlook(_estimate(p, found.get(p), lives, disputed), found.get(p)) for p in photographs}
    return Closeup(settled, lives, outlooks)


@dataclass(frozen=True)
class Worked:
    """Posteriors by photograph, and how careless each judged age seems."""

    posteriors: dict[str, Posterior]
    careless: list[Unlikely]


def work_out(lives: Lives, wanted: Collection[str] | None = None) -> Worked:
    """The posteriors of all photographs that something of their own bears on, or of those `wanted`."""
    groups = group_up(lives)
    bearing = _bearing(groups, lives)
    groups = [g for g in groups if not bearing.isdisjoint(g.photographs)]
    pairs = orders({p: i for i, g in enumerate(groups) for p in g.photographs}, lives.known)
    ordered = {i for pair in pairs for i in pair}
    asked = set(range(len(groups))) if wanted is None else _reached(groups, wanted, pairs)
    worked = Worked({}, [])
    waiting: dict[int, Belief] = {}
    for i in sorted(asked):
        belief = believe(groups[i], lives, finer=i not in ordered)
        if i in ordered:
            waiting[i] = belief
        else:
            _finish(belief, lives, worked)
    settled = pass_messages(
        {i: b.cells for i, b in waiting.items()},
        {i: b.log for i, b in waiting.items()},
        {pair: f for pair, f in pairs.items() if pair[0] in waiting},
    )
    for i, log in settled.items():
        old = waiting[i]
        _finish(Belief(old.group, old.cells, log, old.faces), lives, worked)
    return worked


def _finish(belief: Belief, lives: Lives, worked: Worked) -> None:
    posterior = Posterior(belief.cells.edges, masses(belief.log, belief.cells))
    worked.posteriors.update(dict.fromkeys(belief.group.photographs, posterior))
    worked.careless.extend(careless(belief, lives))


def _reached(groups: list[Group], wanted: Collection[str], pairs: Iterable[tuple[int, int]]) -> set[int]:
    """The groups of the photographs wanted, and all that orders join to them."""
    start = [i for i, g in enumerate(groups) if not set(wanted).isdisjoint(g.photographs)]
    return _spread(start, pairs)


def _spread(start: Iterable[_T], ties: Iterable[tuple[_T, _T]]) -> set[_T]:
    """Everything that ties join to the start."""
    near: dict[_T, list[_T]] = defaultdict(list)
    for one, other in ties:
        near[one].append(other)
        near[other].append(one)
    edge = list(start)
    reached = set(edge)
    while edge:
        new = [other for other in near[edge.pop()] if other not in reached]
        reached.update(new)
        edge += new
    return reached


def _bearing(groups: list[Group], lives: Lives) -> set[str]:
    """The photographs that are dated: something of their own bears on them, or relates them to one that is."""
    ties = ((r.photograph, r.other) for r in lives.known.relations)
    own = [said.photograph for g in groups for said in g.said if _own(said.photograph, lives)]
    named = [g.photographs[0] for g in groups for r in g.regions for n in r.names if _life_bounds(n.person, lives)]
    return _spread([*own, *named], ties)


def _own(photograph: str, lives: Lives) -> bool:
    """Whether a claim, a process, a format or an event bears on it."""
    known = lives.known
    if known.made.get(photograph) or any(_says(c.date.span) for c in known.claims.get(photograph, ())):
        return True
    keys = (s.event for s in known.shown.get(photograph, ()))
    return any(happened(key, known, lives.walls.of_event(key, known)) is not None for key in keys)


def _says(span: Span) -> bool:
    return span.first is not None or span.last is not None


def _life_bounds(person: str, lives: Lives) -> bool:
    """Whether anything is known of somebody's life that tells when they can have been photographed."""
    known, walls = lives.known, lives.walls
    born, died = walls.of_birth(person, known), walls.of_death(person, known)
    return (born.first or 0) > FIRST_PHOTOGRAPH or (died.last or 0) < known.last_indexed or lives.tells(person)


def _estimate(photograph: str, posterior: Posterior | None, lives: Lives, disputed: Collection[str]) -> Estimate:
    bounds = lives.walls.of_exposure(photograph, lives.known)
    earliest, latest = bounds.first or 0, bounds.last or 0
    state = State.DISPUTED if photograph in disputed else State.OPEN if posterior is None else State.DATED
    if posterior is None:
        return Estimate(photograph, earliest, latest, None, None, None, "", state)
    inside = _clipped(earliest, latest)
    first, last = (inside(day) for day in days(*shortest(posterior)))
    best = inside(int(median(posterior)))
    stated = _stated(lives.known.claims.get(photograph, ()), first, last)
    if stated is None:
        return Estimate(photograph, earliest, latest, first, last, best, inferred_edtf(first, last), state)
    return Estimate(photograph, earliest, latest, first, last, best, stated_edtf(stated), state, inferred=False)


def _clipped(earliest: int, latest: int) -> Callable[[int], int]:
    return lambda day: min(max(day, earliest), latest)


def _stated(claims: Iterable[ev.DateClaim], first: int, last: int) -> Dated | None:
    """The date that somebody stated and that nothing has made narrower; the most exact, if several did."""
    fitting = [(width, c.date) for c in claims if c.claim in OF_EXPOSURE for width in _width(c.date, first, last)]
    fitting = [(width, date) for width, date in fitting if last + 1 - first >= AS_WIDE * width]
    return min(fitting, key=lambda pair: pair[0])[1] if fitting else None


def _width(date: Dated, first: int, last: int) -> Iterator[float]:
    """The days that hold 90 % of a stated date by itself, if the range from `first` to `last` lies inside its span."""
    start, end = date.span.first, date.span.last
    if start is None or end is None or not start <= first <= last <= end:
        return
    about = date.shape is Shape.ABOUT and date.spread
    yield 2 * 1.645 * date.spread if about and date.spread else 0.9 * (end + 1 - start)
