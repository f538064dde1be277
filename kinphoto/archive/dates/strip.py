"""The evidence strip of one photograph: everything that bears on its date, as bars on one axis of time.

Plain values for drawing and for a table, without pixels. What somebody switches off for a moment (`off`) is left out of
the date and not stored. It is quick on any archive, because only what bears on the photograph is read. The date without
each statement has to be worked out for each, so only on request. Being mounted on an album page has no bar.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import Connection, Engine, select

from kinphoto.archive.catalogue.freshness import freshness
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.bars import ASIDE, Bar, Bars, Points
from kinphoto.archive.dates.contributions import WhatIf, far_that_matter, is_own, own_in_order, range_words
from kinphoto.archive.dates.estimates import estimates, find_dated, read_stories
from kinphoto.archive.dates.evidence import gather_reached
from kinphoto.archive.dates.neighbourhood import reach
from kinphoto.archive.dates.one_photograph import Neighbourhood, near
from kinphoto.archive.dates.whole import reading_whole
from kinphoto.archive.words.conflict_stories import ConflictStory, story_of
from kinphoto.archive.words.dates import from_collection, when
from kinphoto.archive.words.sentences import Sentences
from kinphoto.gedcom.wording import day
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import BirthEstimate, Conflict, Estimate, State
from kinphoto.reason.model.span import DAYS_PER_YEAR, year_of
from kinphoto.reason.soft.summary import Posterior
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.reason.dating import LocalInference

POINTS = 200
"""Points of the estimate's curve."""
ROOM, MARGIN = 15 * DAYS_PER_YEAR, 0.04
"""How far beyond the possible days a bar's end is still shown, and the share of the axis left free."""


@dataclass(frozen=True, slots=True)
class YearAxis:
    """The days to show: from the first of some year to the last of some year."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Shade:
    """Days that cannot be, one end of them open (None), and why in words."""

    first: int | None
    last: int | None
    words: str


@dataclass(frozen=True, slots=True)
class Strip:
    """One photograph's date with all that bears on it.

    `words` are the date, `note` adds what is special about it. `curve` are points (day, height 0 to 1) of its
    probability, none when nothing is likely. `before` and `after` are the days ruled out by laws and strong statements.
    `current` is False when something has changed since the whole archive was last dated.
    """

    code: str
    words: str
    note: str
    estimate: Estimate
    axis: YearAxis
    before: Shade
    after: Shade
    curve: Points
    bars: tuple[Bar, ...]
    conflicts: tuple[ConflictStory, ...]
    off: tuple[str, ...]
    current: bool

    @property
    def from_collection(self) -> str:
        """What is kept with it says, where nothing else does."""
        return from_collection(self.estimate)

    @property
    def disputed(self) -> bool:
        """Whether it is part of a conflict."""
        return self.estimate.state is State.DISPUTED


def strip(engine: Engine, photograph: str, off: Collection[str] = (), *, withouts: bool = False) -> Strip:
    """The evidence strip of one photograph without the statements (ids) `off`, which are shown as switched off.

    Raises NotFoundError, AmbiguousError, and InvalidValueError for an album page.
    """
    with reading_whole(engine) as (connection, whole):
        found = find_dated(connection, photograph)
        around = near(connection, found, whole)
        current = whole is not None or freshness(connection).fresh
        in_words = {s.id: s for s in read_stories(connection).stories} if around.kept or whole is not None else {}
        left_out = frozenset(off) & {s.id for s in around.evidence.statements}
        local_inference = around.look(off=left_out)
        conflicts = [*around.standing(left_out), *local_inference.settled.conflicts]
        far = _far(connection, around, local_inference, conflicts)
        people = tuple(p for known in (around.gathered, *far) for p in known.people)
        namesakes = named_apart(connection, {p.id for p in people})
        kept = estimates(connection, [found]).get(found) if whole is None and not left_out else None
    aside = {s: c for c in conflicts for s in c.aside}
    statements = (*(s for known in (around.gathered, *far) for s in known.statements), *around.withdrawn)
    say = Sentences(ev.Evidence(people, (), statements), namesakes)
    bars = Bars(around.code, around.evidence, around.withdrawn, local_inference, left_out, aside, say)
    estimate = around.estimate(local_inference, around.code, left_out)
    drawn = [*_bars(bars, estimate, around.births, withouts=withouts)]
    posterior = local_inference.dated_exposures[around.code].posterior
    if kept is not None and current and not around.complete and kept.estimate != estimate:
        estimate, posterior = kept.estimate, None  # which was concluded from more than is near
    if kept is not None and estimate.state is State.OPEN:  # from the whole collection, which is not at hand
        told = kept.estimate
        estimate = replace(estimate, collection_from=told.collection_from, collection_to=told.collection_to)
    axis = _axis(estimate, posterior, local_inference, drawn)
    shown = {bar.id for bar in drawn}
    return Strip(
        around.code,
        when(estimate),
        _note(estimate, left_out),
        estimate,
        axis,
        *_shades(local_inference, estimate, say),
        _density(posterior, axis),
        tuple(
            replace(b, curve=bars.curve(say.statements[b.id], axis.first, axis.last)) if b.soft else b for b in drawn
        ),
        tuple(
            in_words.get(c.id) or story_of(say, c)  # ways out reach far beyond what is gathered here
            for c in conflicts
            if around.code in c.photographs or not shown.isdisjoint(c.aside)
        ),
        tuple(sorted(left_out)),
        current,
    )


def _far(
    connection: Connection, around: Neighbourhood, local_inference: LocalInference, conflicts: Sequence[Conflict]
) -> list[ev.Evidence]:
    """Evidence with what sentences name of its conflicts and bounds that does not itself bear on this photograph."""
    known = {s.id for s in around.gathered.statements}
    concerning = [c for c in conflicts if around.code in c.photographs or not known.isdisjoint(c.aside)]
    if around.whole is not None:
        named = {s for c in concerning for s in c.statements}.union(*_rests_on(local_inference, around.code))
        return [around.whole.naming(named - known)]
    codes = {p for c in around.kept if not known.issuperset(c.statements) for p in c.photographs}
    p = t.photograph.c
    ids = connection.scalars(select(p.id).where(p.code.in_(codes), p.page == 0)) if codes else ()
    return [gather_reached(reach(connection, i)) for i in ids]


def _bars(bars: Bars, estimate: Estimate, births: Sequence[BirthEstimate], *, withouts: bool) -> Iterator[Bar]:
    """The bars in the order of an explanation. Dates of a life in use are part of that person's bar."""
    evidence, say = bars.evidence, bars.say
    own = [
        s for s in (*evidence.statements, *bars.withdrawn) if is_own(s, bars.code, say) and s.kind != ev.Related.PART_OF
    ]
    not_standing = {*bars.aside, *bars.off}
    shown = [
        s for s in own_in_order(own, evidence, not_standing) if not isinstance(s, ev.LifeDate) or s.id in not_standing
    ]
    if not withouts:
        yield from map(bars.bar, shown)
        return
    what_if = WhatIf(evidence.without(frozenset(not_standing)), bars.code, estimate, births)
    standing = {s.id for s in what_if.evidence.statements}
    for statement in (*shown, *far_that_matter(own, evidence, what_if, not_standing, say)):
        words = range_words(what_if.without(statement.id), what_if.supported) if statement.id in standing else None
        yield replace(bars.bar(statement), without=words and f"without it: {words}")


def _note(estimate: Estimate, off: Collection[str]) -> str:
    without = ["without what is switched off"] if off else []
    disputed = ["something here does not fit together"] if estimate.state is State.DISPUTED else []
    doubted = ["one of the names may be wrong"] if estimate.doubts_a_name else []
    return "; ".join([*without, *disputed, *doubted])


def _shades(local_inference: LocalInference, estimate: Estimate, say: Sentences) -> tuple[Shade, Shade]:
    """The days before and after those that are possible."""
    first, last = _rests_on(local_inference, estimate.photograph)
    early = _why(first, say) or "photography had not been invented"
    late = _why(last, say) or "it was first scanned then"
    before = f"not before {day(estimate.earliest)}: {early}"
    after = f"not after {day(estimate.latest)}: {late}"
    return Shade(None, estimate.earliest - 1, before), Shade(estimate.latest + 1, None, after)


def _rests_on(local_inference: LocalInference, code: str) -> tuple[list[str], list[str]]:
    """The statements (ids) on which the first and the last possible day of a photograph rest."""
    settled = local_inference.settled
    variable = settled.constraints.variables.exposures[code]
    first, last = (
        [settled.constraints.statements[s].id for s in rests]
        for rests in (settled.strong.first_rests_on(variable), settled.strong.last_rests_on(variable))
    )
    return first, last


def _why(statements: list[str], say: Sentences) -> str:
    """What a bound rests on; a name is left out where a date of that life is given."""
    more = [s for s in statements if not isinstance(say.statements[s], ev.Appearance)]
    return " and ".join(map(say.sentence, more or statements))


def _axis(
    estimate: Estimate, posterior: Posterior | None, local_inference: LocalInference, bars: Iterable[Bar]
) -> YearAxis:
    """From what is possible, without a long empty stretch that the laws alone allow; and what is shown beside it."""
    bounds = local_inference.settled.strong
    variable = local_inference.settled.constraints.variables.exposures[estimate.photograph]
    first, last = float(estimate.earliest), float(estimate.latest)
    if posterior is not None:
        inner = posterior.quantile(0.001), posterior.quantile(0.999)
        first = first if bounds.first_rests_on(variable) and 0 <= inner[0] - first < ROOM else inner[0]
        last = last if bounds.last_rests_on(variable) and 0 <= last - inner[1] < ROOM else inner[1]
    ends = [end for bar in bars for end in (bar.first, bar.last) if end is not None]
    unfit = [end for bar in bars if bar.state == ASIDE for end in (bar.first, bar.last) if end is not None]
    near_by = [end for end in ends if first - ROOM <= end <= last + ROOM]
    start, end = min([first, *near_by, *unfit]), max([last, *near_by, *unfit])
    free = max((end - start) * MARGIN, DAYS_PER_YEAR / 4)
    return whole_years(int(start - free), int(end + free))


def whole_years(first: int, last: int) -> YearAxis:
    """The axis of the years of these days."""
    return YearAxis(date(year_of(first), 1, 1).toordinal(), date(year_of(last), 12, 31).toordinal())


def _density(posterior: Posterior | None, axis: YearAxis) -> Points:
    """The probability of the days on the axis, the highest as 1."""
    if posterior is None:
        return ()
    start, end = max(posterior.edges[0], axis.first), min(posterior.edges[-1], axis.last + 1)
    edges = np.linspace(start, end, POINTS + 1)
    height = np.diff(np.interp(edges, posterior.edges, posterior.rising)) / np.diff(edges)
    middle = (edges[1:] + edges[:-1]) / 2
    return tuple(zip(middle.astype(int).tolist(), (height / height.max()).round(4).tolist(), strict=True))
