"""The front door of the reasoner: from evidence to findings.

    Inference:  hard/conflict (set aside, bounds)  --->  soft/belief (posteriors)  --->  soft/summary (likely ranges)

**State.** A photograph is *dated* or *open* (`soft/dated_groups.py`), or *disputed* where it is in a conflict: then it
has a likely range only if some other statement of its own is left. The answer can be a stated date, or one of several
(`soft/stated_dates.py`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from kinphoto.reason.hard.conflict import Settled, settle, weigh_equals
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints, starts
from kinphoto.reason.model.findings import (
    BirthEstimate,
    Estimate,
    Findings,
    InformantEstimate,
    OutOfPlace,
    State,
    Unlikely,
)
from kinphoto.reason.model.fitted_ages import FittedShare
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.span import DAYS_PER_YEAR, Span
from kinphoto.reason.model.subjects import Theme
from kinphoto.reason.model.themes import box_of, theme_of, with_themes
from kinphoto.reason.soft.belief import Beliefs, PosteriorBlock
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.container_messages import ContainerMessages
from kinphoto.reason.soft.dated_groups import find_dated_groups
from kinphoto.reason.soft.grid import Grid
from kinphoto.reason.soft.groups import Groups, group_of, group_up
from kinphoto.reason.soft.informants import Informants
from kinphoto.reason.soft.known_faces import JudgementDoubt
from kinphoto.reason.soft.one_container import packed_alone
from kinphoto.reason.soft.own_likelihoods import OwnLikelihoods
from kinphoto.reason.soft.stated_dates import Components, alternative_dates, mixture_components, stated_date
from kinphoto.reason.soft.strays import Stray
from kinphoto.reason.soft.strips import Strips
from kinphoto.reason.soft.summary import (
    Posterior,
    days,
    inferred_edtf,
    one_of_edtf,
    posterior,
    shortest,
    stated_edtf,
)

_Summary = tuple[float, float, float]  # median, start and end of the likely range

SURPRISING = 0.5
"""Where the chance that an age was judged carelessly is above this, a name may be wrong (ours)."""
REPORTED = 0.9
"""A judged age is reported when the chance that it was judged carelessly is above this."""
INFORMATIVE = 40 * DAYS_PER_YEAR
"""The years of the others in a container are shown with an open photograph where their range is at most this long
(*ours*)."""


@dataclass(frozen=True)
class DatedExposure:
    """One photograph's estimate, and its posterior (None when nothing of its own bears on it)."""

    estimate: Estimate
    posterior: Posterior | None


@dataclass(frozen=True)
class LocalInference:
    """Inference from a part of the evidence: the photographs asked about, by id, and what their dates rest on.
    `by_strips` has the messages of strips of film to those that are frames of one (`ContainerMessages.packed`)."""

    settled: Settled
    lives: Lives
    dated_exposures: dict[str, DatedExposure]
    by_strips: dict[str, bytes] = field(default_factory=dict)


class Inference:
    """Everything inferred from the evidence: conflicts are resolved and messages have converged. Estimates of all or of
    some photographs are read from it.

    `informants` and `births` are estimates from the whole archive, where this evidence is a part of it; without
    `informants`, they are learned from this evidence. With `lasting`, `findings` have also what changes of single
    photographs are worked out from later (`Findings.containers`, `Findings.alone`).
    """

    def __init__(
        self, evidence: ev.Evidence, informants: Iterable[InformantEstimate] | None = None,
        births: Iterable[BirthEstimate] = (), *, lasting: bool = False,
    ) -> None:  # fmt: skip
        self.settled = weigh_equals(settle(evidence))
        evidence = with_themes(evidence)
        kept = look_up(evidence.without(frozenset(self.settled.aside)))
        estimates = {b.person: b for b in births}
        self.lives = Lives(kept, self.settled.bounds.narrowed(estimates.values()), estimates)
        self.wider: dict[str, Span] = {}
        """What is possible of photographs whose names surprise, if a name is wrong."""
        self.alternatives = alternative_dates(self.lives, self.settled.equally_trusted)
        self.groups = group_up(self.lives)
        self.dated_groups = find_dated_groups(self.groups, self.lives)
        learned = None if informants is None else Informants({i.informant: i for i in informants})
        self.strips = strips = Strips.read(self.groups, kept, self.dated_groups)
        fitted = None if evidence.fitted is None else FittedShare(evidence.fitted)
        self.beliefs = Beliefs(
            self.groups, self.lives, learned, by_strips=strips.ordered if strips else (), fitted=fitted
        )
        if lasting:  # a whole archive, whose messages take much memory
            _ = self.doubted_births
            self.beliefs.neighbours.forget_messages()
        self.packed_messages = evidence.from_containers
        if evidence.containers and len(self.dated_groups):
            self.beliefs.pass_container_messages(self.dated_groups, evidence.containers, strips, lasting=lasting)
            if strips is not None:
                self.beliefs.pass_strip_messages(strips)
        else:
            self.receive({})

    @cached_property
    def strip_of(self) -> dict[int, int]:
        """The strip of film of each group that is a frame of one."""
        strips = self.strips
        return {} if strips is None else dict(zip(strips.rows.tolist(), strips.of.tolist(), strict=True))

    def findings(self) -> Findings:
        """Everything that can be concluded. No other thread may use this object meanwhile."""
        groups, lives, neighbours = self.groups, self.lives, self.beliefs.neighbours
        summary_of: dict[str, _Summary] = {}
        components: dict[str, Components] = {}
        doubts = [doubt for doubt in self.doubted_births if doubt.probability > REPORTED]
        alone: dict[str, bytes] = {}
        for part in self._posteriors(self.dated_groups):
            if self.beliefs.containers:
                alone |= self._alone(part.members, part.cells, part.mass)
            doubts += (doubt for doubt in part.doubts if doubt.probability > REPORTED)
            for members, *days_ in zip(part.members, *(v.tolist() for v in part.summaries), strict=True):
                summary_of.update(dict.fromkeys(members, tuple(days_)))
            for i, members in enumerate(part.members if self.alternatives else ()):
                for p in self.alternatives.keys() & set(members):
                    components[p] = mixture_components(self.alternatives[p], posterior(part.cells, part.mass, i))
        photographs = [p.id for p in lives.known.photographs.values() if not p.page]
        suspects = sorted((_unlikely(d, lives) for d in doubts), key=lambda u: -u.probability)
        return Findings(
            tuple(self._estimate(p, summary_of.get(p), components.get(p, ())) for p in photographs),
            self.settled.conflicts,
            self.settled.aside,
            tuple(suspects),
            sum(1 - u.probability for u in suspects),
            tuple(neighbours.birth_estimates),
            tuple(self.beliefs.informants.known.values()),
            tuple(p for row in neighbours.unconverged for p in groups.members[row]),
            self.from_containers(),
            tuple(sorted(self._out_of_place(), key=lambda one: -one.probability)),
            self.beliefs.containers,
            alone,
            self.beliefs.fitted.estimate,
        )

    def from_containers(self, photographs: Iterable[str] | None = None) -> dict[str, bytes]:
        """The messages of containers to these photographs (ids), or to all: for when only a part of the evidence is at
        hand."""
        found = self.beliefs.from_containers
        return {} if found is None else self._packed(found, found.rows, photographs)

    def by_strips(self, photographs: Iterable[str]) -> dict[str, bytes]:
        """The messages of strips of film and of their containers to those of these photographs (ids) that are
        frames."""
        found = self.beliefs.incoming
        return {} if found is None or self.strips is None else self._packed(found, self.strips.rows, photographs)

    def alone(self, exposures: Mapping[str, DatedExposure]) -> dict[str, bytes]:
        """The posteriors of these photographs (by id) without the messages of containers, as they are kept."""
        found = {p: one.posterior for p, one in exposures.items() if one.posterior is not None}
        if not found:
            return {}
        edges = [one.edges for one in found.values()]
        sizes = np.array([len(some) - 1 for some in edges], dtype=np.int64)
        cells = Grid(
            starts(sizes), np.concatenate([e[:-1] for e in edges]), np.concatenate([e[1:] for e in edges])
        )  # fmt: skip
        return self._alone([(p,) for p in found], cells, np.concatenate([one.mass for one in found.values()]))

    def _alone(self, members: Sequence[tuple[str, ...]], cells: Grid, mass: Array) -> dict[str, bytes]:
        rows, incoming = np.array([self.groups.of[some[0]] for some in members], dtype=np.int64), self.beliefs.incoming
        messages = np.zeros(len(mass)) if incoming is None else incoming.on(rows, cells)
        packed = zip(members, packed_alone(cells, mass, messages), strict=True)
        return {p: one for some, one in packed for p in some}

    def own_likelihoods(self, photographs: Iterable[str]) -> OwnLikelihoods:
        """The likelihoods of the dated ones of these photographs (ids) by themselves and by births."""
        asked = np.array([self.groups.of[p] for p in photographs if p in self.groups.of], dtype=np.int64)
        return self.beliefs.own_likelihoods(np.intersect1d(self.dated_groups, asked))

    def receive(self, messages: Mapping[str, bytes]) -> None:
        """Use these messages of containers to photographs (by id) in place of those before, where the evidence has no
        containers in it."""
        packed = (*self.packed_messages.items(), *messages.items())
        every = {self.groups.of[p]: message for p, message in packed if p in self.groups.of}
        self.beliefs.from_containers = self.beliefs.incoming = ContainerMessages.unpacked(every)
        if self.strips is not None:
            self.beliefs.pass_strip_messages(self.strips)

    def _packed(self, found: ContainerMessages, rows: Ints, photographs: Iterable[str] | None) -> dict[str, bytes]:
        groups = self.groups
        if photographs is not None:
            asked = np.array([groups.of[p] for p in photographs if p in groups.of], dtype=np.int64)
            rows = np.intersect1d(rows, asked)
        messages = zip(rows.tolist(), found.packed(rows), strict=True)
        return {p: packed for row, packed in messages for p in groups.members[row]}

    def _out_of_place(self) -> Iterator[OutOfPlace]:
        """The photographs that hardly belong in their container, or on their strip of film."""
        incoming, photographs = self.beliefs.incoming, self.lives.known.photographs
        if incoming is None:
            return
        for one in incoming.strays:
            box = incoming.boxes.names[one.container] if incoming.boxes is not None else ""
            members = self.groups.members[incoming.rows[one.place]]
            first = next(p for p in members if photographs[p].container == box)
            yield _as_out_of_place(first, box, one, incoming)
        ties = (r for r in self.lives.known.relations if r.related is ev.Related.SAME_STRIP)
        frames = {p for r in ties for p in r.photographs()}
        for one in self.beliefs.off_strips:
            members = self.groups.members[one.place]
            yield _as_out_of_place(next(p for p in members if p in frames), None, one, incoming)

    def dated_exposures(self, photographs: Sequence[str]) -> dict[str, DatedExposure]:
        """Estimates and posteriors of these photographs (ids); an album page has bounds and no posterior."""
        groups = self.groups
        asked = np.unique(np.array([groups.of[p] for p in photographs if p in groups.of], dtype=np.int64))
        found: dict[str, Posterior] = {}
        for part in self._posteriors(np.intersect1d(self.dated_groups, asked)):
            for i, members in enumerate(part.members):
                found.update(dict.fromkeys(members, posterior(part.cells, part.mass, i)))
        return {p: self._dated_exposure(p, found.get(p)) for p in photographs}

    @cached_property
    def doubted_births(self) -> list[JudgementDoubt]:
        """The judged ages of people with vague births that surprise."""
        return self.beliefs.neighbours.doubts(SURPRISING)

    def _posteriors(self, rows: Ints) -> Iterator[PosteriorBlock]:
        """The posteriors of these groups, with the ages that surprise; of some photographs again at the end, without
        the bounds that surprising names set."""
        surprised = {_unlikely(doubt, self.lives).photograph for doubt in self.doubted_births}
        for part in self.beliefs.posteriors(rows, SURPRISING):
            surprised.update(_unlikely(doubt, self.lives).photograph for doubt in part.doubts)
            yield part
        again = {self.groups.of[p] for p in surprised if p in self.groups.of}
        yield from self._widened(np.intersect1d(rows, np.array(sorted(again), dtype=np.int64)))

    def _widened(self, rows: Ints) -> Iterator[PosteriorBlock]:
        """Of those of these groups that names bound, the posteriors if a name may be wrong: in a second look, without
        the bounds of the names on them, each group by itself, with births and containers as the first look found them.
        Groups that are held together or ordered by relations are left as they are."""
        apart = {*self.beliefs.uncertain.splits, *self.beliefs.neighbours.ordered.tolist()}
        rows = np.array([row for row in rows.tolist() if row not in apart], dtype=np.int64)
        photographs = {p for row in rows.tolist() for p in self.groups.members[row]}
        names = {
            a.id for p in photographs for a in self.lives.known.seen.get(p, ())
            if a.trust is not ev.Trust.CERTAIN and not a.denied
        }  # fmt: skip
        spans = self.settled.exposures_without(names, photographs) if len(rows) else {}
        groups = group_of([self.groups.members[row] for row in rows.tolist()], self.lives, spans)
        wider = np.flatnonzero(
            (groups.first < self.groups.first[rows]) | (groups.last > self.groups.last[rows])
        )  # fmt: skip
        if not len(wider):
            return
        groups = Groups([groups.members[i] for i in wider], groups.first[wider], groups.last[wider])
        for p in groups.of:
            self.wider[p] = spans[p]
        known = {b.person: b for b in self.beliefs.neighbours.birth_estimates} | dict(self.lives.estimates)
        again = Beliefs(
            groups, Lives(self.lives.known, self.lives.bounds, known), self.beliefs.informants, isolated=True,
            fitted=FittedShare(self.beliefs.fitted.mean),
        )  # fmt: skip
        if self.beliefs.incoming is not None:
            again.incoming = self.beliefs.incoming.take(rows[wider])
        yield from again.posteriors(np.arange(len(groups.members)))

    def _dated_exposure(self, photograph: str, found: Posterior | None) -> DatedExposure:
        if found is None:
            return DatedExposure(self._estimate(photograph), None)
        components = mixture_components(self.alternatives.get(photograph, ()), found)
        return DatedExposure(self._estimate(photograph, (found.quantile(0.5), *shortest(found)), components), found)

    def _estimate(self, photograph: str, summary: _Summary | None = None, components: Components = ()) -> Estimate:
        known = self.lives.known
        bounds = self.lives.bounds.of_exposure(photograph, known)
        earliest, latest = bounds.first or 0, bounds.last or 0
        possible = self.wider.get(photograph, bounds)
        low, high = min(possible.first or 0, earliest), max(possible.last or 0, latest)
        state = (
            State.DISPUTED if photograph in self.settled.disputed else State.OPEN if summary is None else State.DATED
        )
        if summary is None:
            nothing = Estimate(photograph, earliest, latest, None, None, None, "", state)
            return nothing if state is not State.OPEN else self._with_collection(nothing)
        middle, start, end = summary
        first, last, best = (min(max(day, low), high) for day in (*days(start, end), int(middle)))
        stated = stated_date(known.claims.get(photograph, ()), first, best, last)
        edtf = inferred_edtf(first, last) if stated is None else stated_edtf(stated)
        if components:
            _, middle, _ = max(components, key=lambda one: one[0])
            best = min(max(int(middle), low), high)
            edtf = one_of_edtf(date for *_, date in components)
        inferred = stated is None and not components
        return Estimate(photograph, earliest, latest, first, last, best, edtf, state, inferred)

    def _with_collection(self, estimate: Estimate) -> Estimate:
        """With the years of the others in its container, where they are known to within `INFORMATIVE`."""
        incoming, container = self.beliefs.incoming, self.lives.known.photographs[estimate.photograph].container
        number = self._container_numbers.get(container or "")
        if incoming is None or incoming.boxes is None or number is None or not incoming.boxes.known[number]:
            return estimate
        key = number, estimate.earliest, estimate.latest
        if key not in self._expected:
            found = incoming.boxes.expected(number)
            edges = np.clip(found.edges, estimate.earliest, estimate.latest + 1.0)
            mass = np.diff(np.interp(edges, found.edges, found.rising))
            self._expected[key] = days(*shortest(Posterior(edges, mass))) if mass.sum() > 0 else (0, 0)
        first, last = self._expected[key]
        if not 0 < last - first <= INFORMATIVE:
            return estimate
        return replace(estimate, collection_from=first, collection_to=last)

    @cached_property
    def _container_numbers(self) -> dict[str | Theme, int]:
        incoming = self.beliefs.incoming
        names = () if incoming is None or incoming.boxes is None else incoming.boxes.names
        return {name: i for i, name in enumerate(names) if name}

    @cached_property
    def _expected(self) -> dict[tuple[int, int, int], tuple[int, int]]:
        return {}

    def local_inference(self, photographs: Sequence[str]) -> LocalInference:
        """The same, with what it rests on."""
        return LocalInference(self.settled, self.lives, self.dated_exposures(photographs), self.by_strips(photographs))


def date_archive(evidence: ev.Evidence) -> Findings:
    """Everything that can be concluded from the evidence."""
    return Inference(evidence, lasting=True).findings()


def date_without(
    evidence: ev.Evidence, photograph: str, without: Collection[str] = (), births: Iterable[BirthEstimate] = ()
) -> DatedExposure:
    """One photograph (its id) dated without the statements of the ids `without`, from the part of the evidence that can
    bear on it; conflicts are resolved again. `births` as in `Inference`."""
    near = focus(evidence, photograph).without(frozenset(without))
    return date_locally(near, [photograph], births=births).dated_exposures[photograph]


def date_locally(
    near: ev.Evidence, photographs: Sequence[str], informants: Iterable[InformantEstimate] | None = None,
    births: Iterable[BirthEstimate] = (),
) -> LocalInference:  # fmt: skip
    """These photographs (ids) dated from evidence near them; `informants` and `births` as in `Inference`."""
    return Inference(near, informants, births).local_inference(photographs)


def _as_out_of_place(
    photograph: str, container: str | Theme | None, one: Stray, incoming: ContainerMessages
) -> OutOfPlace:
    ranges = (days(*incoming.line(*ends)) for ends in (one.own, one.others))
    own_from, own_to, others_from, others_to = (day for both in ranges for day in both)
    return OutOfPlace(
        photograph, None if container is None else box_of(container), one.probability, own_from, own_to, others_from,
        others_to, theme_of(container),
    )  # fmt: skip


def _unlikely(doubt: JudgementDoubt, lives: Lives) -> Unlikely:
    """A doubt with the photograph on which the age was judged (a group has several)."""
    seen = lives.known.statements[doubt.age.appearance]
    photograph = seen.photograph if isinstance(seen, ev.Appearance) else ""
    return Unlikely(photograph, doubt.person, doubt.age.id, doubt.probability)
