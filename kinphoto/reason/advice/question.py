"""What to ask next, ranked by the expected information of the answer about the dates.

The worth of a question is the mutual information between its answer A and the exposures, in bits, summed over the
photographs it bears on, times the chance of an answer (`ANSWERED`). How each question is answered, P(a | x), is in the
table of docs/method.md ("Questions").

An answer about one photograph also informs about others of the same person if that birth is vague, by P(a | b) and P(b
| x) of `joint_years`, and about those in the same container, by `lying_together`: one hop and no further.
Asking changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from itertools import pairwise
from math import inf

import numpy as np

from kinphoto.reason.advice.information import information, of_yes_or_no
from kinphoto.reason.advice.lying_together import LyingTogether
from kinphoto.reason.advice.who import UnnamedFace, likelihood, of_a_stranger, of_strangers, unnamed_face
from kinphoto.reason.dating import Inference
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.density import mixture, recalled
from kinphoto.reason.model.findings import InformantEstimate
from kinphoto.reason.model.limits import LONGEST_LIFE
from kinphoto.reason.model.perception import ANYBODY, CARELESS, Judgement
from kinphoto.reason.model.rivals import unrivalled
from kinphoto.reason.soft import joint_years
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.grid import Cells
from kinphoto.reason.soft.groups import together
from kinphoto.reason.soft.joint_years import Edge, YearChances
from kinphoto.reason.soft.uncertain_faces import FaceLikelihood


class QuestionKind(StrEnum):
    """What is asked for."""

    AGE = "age"
    DATE = "date"
    ORDER = "order"
    BIRTH = "birth"
    DEATH = "death"
    WHO = "who"


ANSWERED: dict[QuestionKind, float] = {
    QuestionKind.AGE: 1.0,
    QuestionKind.DATE: 0.4,
    QuestionKind.ORDER: 0.5,
    QuestionKind.BIRTH: 0.7,
    QuestionKind.DEATH: 0.7,
    QuestionKind.WHO: 0.6,
}
"""Chance that somebody who could know has an answer (judgements of the project). Anybody can look at a face."""
MOST = 2000
"""Photographs that questions are asked about: the widest."""
NEIGHBOURS = 6
"""Photographs of one person or container that each is compared with, nearest first."""
PAIRS = 2000
"""Pairs that are worked out together."""
TOGETHER = 30
"""Other photographs of one person that an answer is followed to, widest first."""
STEP = 0.12
"""Width of the steps in which a judged age is answered, on the scale of `perception`."""
UNSURE = 0.02
"""An order whose chance is nearer to 0 or 1 than this is not asked for."""
SHORTLIST = 12
"""Candidates for an unnamed person that are weighed one by one; all others count as somebody else."""
LEAST = 0.001
"""Bits below which nothing is worth asking."""
SAID = 0.05
"""Bits from which on it is shown how much an answer helps to date others in the container."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something worth asking about these photographs and people (ids), and its worth in bits. `appearance` is the one
    whose age or name is asked for. `lying_with` is the number of other photographs in the container, or on the strip
    of film, that the answer would help to date, where that is worth saying."""

    kind: QuestionKind
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    bits: float
    appearance: str | None = None
    lying_with: int = 0


@dataclass(frozen=True)
class Context:
    """What the evidence does not hold: the container of each photograph (`boxes`), who unnamed people could
    be (`closeness`: by appearance, the weights of `somebody.who`), who could be in a photograph in which nobody was
    noted yet (`company`: by photograph, the same weights), and who is known to be dead (`dead`).
    """

    boxes: Mapping[str, str] = field(default_factory=dict)
    closeness: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    company: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    dead: Collection[str] = ()


def questions(
    evidence: ev.Evidence,
    photographs: Sequence[str],
    context: Context | None = None,
    informants: Iterable[InformantEstimate] | None = None,
) -> list[Question]:
    """Everything worth asking about these photographs (ids, no pages; the MOST widest), most telling first."""
    tables = _Tables(evidence, photographs[:MOST], context or Context(), informants)
    found = [*tables.ages(), *tables.dates(), *tables.orders(), *tables.births(), *tables.deaths(), *tables.names()]
    return sorted((q for q in found if q.bits >= LEAST), key=lambda q: (-q.bits, q.kind, q.photographs, q.people))


def _ages() -> Array:
    """P(answer | difference of years): how an age is judged, in steps on the scale."""
    oldest = float(perception.scale(perception.OLDEST))
    steps = np.arange(float(perception.scale(0.0)) + STEP, oldest, STEP)
    shares = np.diff(np.concatenate([[0.0], perception.age_at(steps) / perception.OLDEST, [1.0]]))
    ages = np.maximum(joint_years.AGES, 0.0)

    @cache
    def younger(edge: float) -> Array:
        return joint_years.over_ages(perception.younger(edge, ages[..., None], ANYBODY) @ ANYBODY.weights)

    def judged(one: Judgement) -> Array:
        return perception.judged(one, younger, joint_years.over_ages(perception.careless(one.low, one.high, ages)))

    answers = zip(pairwise((-inf, *steps.tolist(), inf)), shares.tolist(), strict=True)
    judgements = (Judgement(low, high, share, CARELESS) for (low, high), share in answers)
    return np.stack([judged(one) for one in judgements], axis=1)


_JUDGED = _ages()


def _exactly(count: int) -> Array:
    """P(answer | year): a year that is known."""
    return mixture(ev.CHANCE_WRONG[ev.Trust.STRONG], np.eye(count), 1 / count)


class _Tables:
    """The tables from which all questions are worked out."""

    def __init__(
        self,
        evidence: ev.Evidence,
        photographs: Sequence[str],
        context: Context,
        informants: Iterable[InformantEstimate] | None,
    ) -> None:
        inference = Inference(evidence, informants)
        dated = inference.dated_exposures(photographs)
        self.lives: Lives = inference.lives
        self.known = inference.lives.known
        self.context = context
        self.codes = tuple(photographs)
        self.number = {name: i for i, name in enumerate(photographs)}
        self.exposure = [
            joint_years.flat(o.estimate.earliest, o.estimate.latest)
            if o.posterior is None
            else joint_years.of_posterior(o.posterior)
            for o in (dated[name] for name in photographs)
        ]
        sharing = together([p.id for p in self.known.photographs.values() if not p.page], self.known)
        size = {name: members for members in sharing for name in members}
        self.shared = [frozenset(size[name]) for name in photographs]
        self.sizes = np.array([len(shared) for shared in self.shared])
        self.seen: dict[str, list[tuple[int, ev.Appearance]]] = defaultdict(list)
        for i, name in enumerate(photographs):
            for a in self._named_in(name):
                self.seen[a.person or ""].append((i, a))
        self.people = {p: self._person(p) for p in self.seen}
        known = [dated[name].posterior is not None for name in photographs]
        self.lying = LyingTogether(inference, photographs, self.exposure, known)
        self.on_strips = LyingTogether(inference, photographs, self.exposure, known, on_strips=True)
        vague = (frozenset(p for p in self._of(i) if p in self.people and self.people[p].vague)
                 for i in range(len(photographs)))  # fmt: skip
        self.vague = tuple(vague)

    def _named_in(self, photograph: str) -> Iterator[ev.Appearance]:
        """Whoever is named in a photograph, there in person, without rivals."""
        done: set[str | None] = set()
        for a in unrivalled(self.known.seen.get(photograph, ())):
            if a.role is ev.Role.PRESENT and a.person not in done and a.person in self.known.sexes:
                done.add(a.person)
                yield a

    def _ages_of(self, a: ev.Appearance) -> list[ev.Age]:
        """All ages judged or stated of somebody in a photograph."""
        same = (o for o in self.known.seen.get(a.photograph, ()) if o.person == a.person and not o.denied)
        return [age for one in same for age in self.known.ages.get(one.id, ())]

    def _person(self, person: str) -> joint_years.BirthFactor:
        birth = joint_years.of_birth(self.lives.birth(person))
        edges = [Edge.of(i, self.exposure[i], self._ages_of(a)) for i, a in self.seen[person]]
        return joint_years.birth_factor(birth, self.lives.death(person), edges)

    def _information(self, photograph: int, answers: Array) -> float:
        """The information an answer gives about one photograph, and all that share its exposure."""
        return information(self.exposure[photograph].chance, answers) * len(self.shared[photograph])

    def _information_beside(self, photograph: int, answers: Array) -> tuple[float, int]:
        """The same about the others on its strip of film and in its container but for those that share a vague birth
        with it, which are counted by that; and how many of them it informs about."""
        vague, shared = self.vague[photograph], self.shared[photograph]
        frames, others = (
            [i for i in beside.others(photograph) if self.shared[i] != shared and vague.isdisjoint(self.vague[i])]
            for beside in (self.on_strips, self.lying)
        )
        others = [i for i in others if i not in frames]
        by_strip = self.on_strips.information(photograph, answers, frames)
        by_container = self.lying.information(photograph, answers, others)
        return by_strip[0] + by_container[0], by_strip[1] + by_container[1]

    def _information_elsewhere(self, person: str, photograph: int, by_birth: Array) -> float:
        """The same about the other photographs of one person; `by_birth` is P(answer | b)."""
        known = self.people[person]
        if not known.vague:
            return 0.0
        others = [
            (edge.photograph, conditional)
            for edge, conditional in zip(known.edges, known.conditionals, strict=True)
            if self.shared[edge.photograph] != self.shared[photograph]
        ]
        others = sorted(others, key=lambda one: -len(self.exposure[one[0]].chance))[:TOGETHER]
        return sum(self._information(i, conditional @ by_birth) for i, conditional in self._per_exposure(others))

    def _per_exposure(self, edges: Iterable[tuple[int, Array]]) -> Iterator[tuple[int, Array]]:
        """Edges to each exposure once."""
        done: set[frozenset[str]] = set()
        for i, conditional in edges:
            if self.shared[i] not in done:
                done.add(self.shared[i])
                yield i, conditional

    def _by_birth(self, person: str, photograph: int, conditional: Array, answers: Array) -> Array:
        """P(answer | b), from P(answer | x): by P(x | b)."""
        both = self.exposure[photograph].chance[:, None] * conditional
        total = both.sum(axis=0)
        overall = both.sum(axis=1) @ answers
        mean = both.T @ answers
        return np.where(total[:, None] > 0, mean / np.where(total > 0, total, 1.0)[:, None], overall[None, :])

    def ages(self) -> Iterator[Question]:
        """How old somebody looks, where nobody has given an age."""
        for person, places in self.seen.items():
            known = self.people[person]
            if not self.lives.is_informative(person):
                continue
            for (i, a), edge, conditional in zip(places, known.edges, known.conditionals, strict=True):
                if edge.judged or edge.stated:
                    continue
                table = joint_years.at_difference(_JUDGED, edge.exposure.at, known.birth.at)
                answers = np.einsum("xb,xba->xa", conditional, table)
                bits = self._information(i, answers)
                if known.vague:
                    both = edge.exposure.chance[:, None] * conditional
                    total = np.maximum(both.sum(axis=0), SMALLEST)
                    bits += self._information_elsewhere(person, i, np.einsum("xb,xba->ba", both / total, table))
                yield self._question(
                    QuestionKind.AGE, (i,), (person,), bits, a.id, self._information_beside(i, answers)
                )

    def dates(self) -> Iterator[Question]:
        """When it was taken, where nobody has stated the year."""
        there: dict[int, list[str]] = defaultdict(list)
        for person, places in self.seen.items():
            for i, _ in places:
                there[i].append(person)
        for i, exposure in enumerate(self.exposure):
            claims = self.known.claims.get(self.codes[i], ())
            if any(c.claim.of_exposure and c.date.span.bounded for c in claims):
                continue
            answers = recalled(exposure.at, ev.CHANCE_WRONG[ev.Trust.FAIR])
            bits = self._information(i, answers)
            for person in there[i]:
                known = self.people[person]
                if known.vague and len(known.edges) > 1:
                    conditional = next(
                        g for e, g in zip(known.edges, known.conditionals, strict=True) if e.photograph == i
                    )
                    bits += self._information_elsewhere(person, i, self._by_birth(person, i, conditional, answers))
            beside = self._information_beside(i, answers)
            yield self._question(QuestionKind.DATE, (i,), tuple(there[i]), bits, beside=beside)

    def orders(self) -> Iterator[Question]:
        """Which of two came first, that share a person or a container."""
        chance, later = joint_years.in_order(self.exposure)
        pairs, q = self._pairs(), ev.CHANCE_WRONG[ev.Trust.FAIR]
        for some in (pairs[at : at + PAIRS] for at in range(0, len(pairs), PAIRS)):
            i, j = np.array(some).T
            likely = (before := (chance[i] * later[j]).sum(axis=1)) > UNSURE
            bits = of_yes_or_no(chance[i], mixture(q, later[j], 1 - later[j])) * self.sizes[i]
            bits += of_yes_or_no(chance[j], mixture(q, 1 - later[i], later[i])) * self.sizes[j]
            for at in np.flatnonzero(likely & (before < 1 - UNSURE)):
                one, other = some[at]
                shared = tuple(p for p in self._of(one) if p in self._of(other))
                yield self._question(QuestionKind.ORDER, (one, other), shared, float(bits[at]))

    def _pairs(self) -> list[tuple[int, int]]:
        """Photographs of one person, or in one container, that may be of about the same time."""
        sets: dict[str, list[int]] = defaultdict(list)
        for person, places in self.seen.items():
            sets[f"person {person}"] += [i for i, _ in places]
        for name, i in self.number.items():
            if name in self.context.boxes:
                sets[f"box {self.context.boxes[name]}"].append(i)
        middle = [float(e.at @ e.chance) for e in self.exposure]
        related = {frozenset((r.photograph, r.other)) for r in self.known.relations}
        found: set[tuple[int, int]] = set()
        for members in sets.values():
            ordered = sorted(dict.fromkeys(members), key=middle.__getitem__)
            for at, i in enumerate(ordered):
                found.update((min(i, j), max(i, j)) for j in ordered[at + 1 : at + 1 + NEIGHBOURS])
        return sorted(
            (i, j)
            for i, j in found
            if self.shared[i] != self.shared[j] and frozenset((self.codes[i], self.codes[j])) not in related
        )

    def _of(self, photograph: int) -> dict[str, str]:
        return {a.person or "": a.id for a in self.known.seen.get(self.codes[photograph], ()) if not a.denied}

    def births(self) -> Iterator[Question]:
        """When somebody with a vague or unknown birth was born."""
        for person, known in self.people.items():
            if known.vague:
                answers = _exactly(len(known.birth.chance))
                edges = self._widest(known)
                bits = sum(self._information(i, conditional @ answers) for i, conditional in self._per_exposure(edges))
                yield self._question(QuestionKind.BIRTH, [i for i, _ in edges], (person,), bits)

    def deaths(self) -> Iterator[Question]:
        """When somebody died who is only known to be dead."""
        for person, known in self.people.items():
            if person not in self.context.dead or known.death.dated is not None:
                continue
            last = min(int(known.birth.at[-1]) + LONGEST_LIFE, len(joint_years.MIDDLES) - 1)
            years = np.arange(int(known.birth.at[0]), last + 1)
            ends = joint_years.alive(joint_years.EDGES[years], known.birth.days, known.death).T
            dying = np.maximum(ends[:, :-1] - ends[:, 1:], 0.0)  # (births, years)
            dying = np.concatenate([dying, ends[:, -1:]], axis=1)
            answers = _exactly(len(years))
            bits = 0.0
            for i, conditional in self._per_exposure(self._widest(known)):
                after = years[None, :] >= self.exposure[i].at[:, None]
                of = (conditional @ dying) * after
                of /= np.maximum(of.sum(axis=1, keepdims=True), SMALLEST)
                bits += self._information(i, of @ answers)
            yield self._question(QuestionKind.DEATH, [i for i, _ in self._widest(known)], (person,), bits)

    def _widest(self, known: joint_years.BirthFactor) -> list[tuple[int, Array]]:
        pairs = [
            (edge.photograph, conditional) for edge, conditional in zip(known.edges, known.conditionals, strict=True)
        ]
        return sorted(pairs, key=lambda one: -len(self.exposure[one[0]].chance))

    def names(self) -> Iterator[Question]:
        """Who somebody without a name is, and who is in a photograph in which nobody was noted yet."""
        faces = FaceLikelihood(self.lives)
        for appearance, closeness in self.context.closeness.items():
            a = self.known.statements.get(appearance)
            if isinstance(a, ev.Appearance) and a.photograph in self.number and closeness:
                yield self._name(self.number[a.photograph], unnamed_face([a], self.known), closeness, faces, a.id)
        for photograph, closeness in self.context.company.items():
            if photograph in self.number and closeness:
                yield self._name(self.number[photograph], UnnamedFace(), closeness, faces, None)

    def _name(
        self, i: int, seen: UnnamedFace, closeness: Mapping[str, float], faces: FaceLikelihood, appearance: str | None
    ) -> Question:
        """Who this body in a photograph is."""
        exposure, q = self.exposure[i], ev.CHANCE_WRONG[ev.Trust.STRONG]
        cells = Cells(joint_years.EDGES[exposure.first : exposure.first + len(exposure.chance) + 1])
        there = {p: likelihood(p, seen.bare(), cells, faces) for p in closeness if p in self.known.sexes}
        best = sorted(there, key=lambda p: -closeness[p] * float(exposure.chance @ there[p]))[:SHORTLIST]
        rows = [closeness[p] * likelihood(p, seen, cells, faces) for p in best]
        near = sum(closeness[p] * float(exposure.chance @ value) for p, value in there.items())
        rows.append(np.full(len(cells), of_strangers(near) * of_a_stranger(seen)))
        chances = np.stack(rows, axis=1)
        chances /= chances.sum(axis=1, keepdims=True)
        is_seen = seen.role is ev.Role.PRESENT and not seen.judged and not seen.stated
        answers = self._with_their_age(best, exposure, chances) if is_seen else chances
        beside, others = self._information_beside(i, answers)
        bits = (1 - q) * self._information(i, answers)
        return self._question(QuestionKind.WHO, (i,), tuple(best[:5]), bits, appearance, ((1 - q) * beside, others))

    def _with_their_age(self, people: Sequence[str], exposure: YearChances, chances: Array) -> Array:
        """P(name and judged age | x): once the name is known, anybody can judge the age. `chances` has a column
        for each of the people and one for somebody else, whose age carries no information."""
        answers = [chances[:, len(people) :]]
        for person, chance in zip(people, chances.T, strict=False):
            birth = joint_years.of_birth(self.lives.birth(person))
            known = joint_years.birth_factor(birth, self.lives.death(person), [Edge.of(0, exposure, ())])
            table = joint_years.at_difference(_JUDGED, exposure.at, birth.at)
            answers.append(chance[:, None] * np.einsum("xb,xba->xa", known.conditionals[0], table))
        return np.concatenate(answers, axis=1)

    def _question(
        self,
        kind: QuestionKind,
        photographs: Sequence[int],
        people: tuple[str, ...],
        bits: float,
        appearance: str | None = None,
        beside: tuple[float, int] = (0.0, 0),
    ) -> Question:
        codes = tuple(dict.fromkeys(self.codes[i] for i in photographs))
        more, others = (ANSWERED[kind] * beside[0], beside[1])
        worth = float(ANSWERED[kind] * bits + more)
        return Question(kind, codes, people, worth, appearance, others if more >= SAID else 0)
