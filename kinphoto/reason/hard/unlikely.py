"""What is possible in a family and hardly ever happens: limits far inside the laws.

A limit counts as passed only if it is for every day the dates leave possible: "about 1850" accuses nobody. All limits
are judgements of the project (docs/trees.md), wide enough that passing one is more often a slip of the pen, or two
namesakes taken for one, than the truth.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import DAYS_PER_YEAR, Span

OLD_MOTHER, YOUNG_MOTHER = 50, 15
"""Years of a mother's age at a birth above and below which it is unlikely."""
OLD_FATHER, YOUNG_FATHER = 70, 16
"""The same of a father's."""
LONG_LIFE = 105
"""Years above which a life is unlikely."""
YOUNG_SPOUSE, OLD_SPOUSE = 16, 90
"""Years of age at a marriage below and above which it is unlikely."""
YEARS_BETWEEN_SPOUSES = 50
"""Years between the births of a couple above which they are unlikely."""
TWINS_WITHIN, SIBLINGS_APART = 3, 210
"""Days: children of one mother are born within the first or further apart than the second."""
LONG_PREGNANCY = 300
"""Days from the father's death to the birth; the law allows more (`limits.AFTER_FATHERS_DEATH`)."""
BURIED_WITHIN = 60
"""Days between death and burial above which they are unlikely."""
MOST_CHILDREN = 20
"""Children of one parent above which they are unlikely."""

_Fact = tuple[Span, str]  # the date, and the id of its statement


@dataclass(frozen=True, slots=True)
class ImplausibleFact:
    """Something unlikely: `kind` names the limit, `people` and `statements` are ids, the one it is about first;
    `figure` is how much it is at least (or at most), in years, days or children."""

    kind: str
    people: tuple[str, ...]
    statements: tuple[str, ...]
    figure: float


def implausible_facts(evidence: ev.Evidence) -> list[ImplausibleFact]:
    """Everything unlikely in the tree of the evidence, by kind and in the order of its people."""
    facts = _Facts(evidence)
    found = [*_lives(facts), *_parents(facts), *_siblings(facts), *_marriages(facts)]
    place = {person.id: i for i, person in enumerate(evidence.people)}
    return sorted(found, key=lambda o: (o.kind, [place.get(p, -1) for p in o.people]))


def rival_dates(evidence: ev.Evidence, others: Iterable[ev.LifeDate]) -> list[ImplausibleFact]:
    """Births and deaths that have another date besides, where not both can be true; `figure` is the years between."""
    facts = _Facts(evidence)
    found = []
    for other in others:
        fact = facts.lives[other.event].get(other.person)
        if fact is None or other.event not in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH):
            continue
        days = max(_least(fact[0], other.date.span), _least(other.date.span, fact[0]))
        if days > 0:
            found.append(ImplausibleFact(f"two-{other.event}s", (other.person,), (fact[1], other.id), _years(days)))
    return found


@dataclass
class _Facts:
    """The statements of the tree by what they are about."""

    evidence: ev.Evidence
    lives: dict[ev.LifeEvent, dict[str, _Fact]] = field(default_factory=dict)
    links: list[ev.ParentLink] = field(default_factory=list)
    weddings: list[ev.Marriage] = field(default_factory=list)
    dates: dict[str, _Fact] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.lives = {event: {} for event in ev.LifeEvent}
        for statement in self.evidence.statements:
            if isinstance(statement, ev.LifeDate):
                self.lives[statement.event].setdefault(statement.person, (statement.date.span, statement.id))
            elif isinstance(statement, ev.ParentLink):
                self.links.append(statement)
            elif isinstance(statement, ev.Marriage):
                self.weddings.append(statement)
            elif isinstance(statement, ev.EventDate):
                self.dates.setdefault(statement.event, (statement.date.span, statement.id))
        self.births, self.deaths = self.lives[ev.LifeEvent.BIRTH], self.lives[ev.LifeEvent.DEATH]
        self.sexes = {person.id: person.sex for person in self.evidence.people}


def _least(later: Span, earlier: Span) -> float:
    """The fewest days from one to the other."""
    return later.first - earlier.last if later.first is not None and earlier.last is not None else float("-inf")


def _most(later: Span, earlier: Span) -> float:
    """The most days from one to the other."""
    return later.last - earlier.first if later.last is not None and earlier.first is not None else float("inf")


def _years(days: float) -> float:
    return days / DAYS_PER_YEAR


def _lives(facts: _Facts) -> Iterator[ImplausibleFact]:
    burials = facts.lives[ev.LifeEvent.BURIAL]
    for person, (died, death) in facts.deaths.items():
        if person in facts.births:
            born, birth = facts.births[person]
            years = _years(_least(died, born))
            if years > LONG_LIFE:
                yield ImplausibleFact("long-life", (person,), (birth, death), years)
        if person in burials:
            buried, burial = burials[person]
            days = _least(buried, died)
            if days > BURIED_WITHIN:
                yield ImplausibleFact("late-burial", (person,), (death, burial), days)


def _parents(facts: _Facts) -> Iterator[ImplausibleFact]:
    for link in facts.links:
        if link.child in facts.births:
            yield from _parent(link, facts)


def _parent(link: ev.ParentLink, facts: _Facts) -> Iterator[ImplausibleFact]:
    born, birth = facts.births[link.child]
    mother = link.parent_sex == "F"
    if link.parent in facts.births:
        parents_birth, statement = facts.births[link.parent]
        statements = (statement, birth, link.id)
        least, most = _years(_least(born, parents_birth)), _years(_most(born, parents_birth))
        if least > (OLD_MOTHER if mother else OLD_FATHER):
            yield ImplausibleFact(
                "old-mother" if mother else "old-father", (link.parent, link.child), statements, least
            )
        if most < (YOUNG_MOTHER if mother else YOUNG_FATHER):
            yield ImplausibleFact(
                "young-mother" if mother else "young-father", (link.parent, link.child), statements, most
            )
    if not mother and link.parent in facts.deaths:
        died, death = facts.deaths[link.parent]
        days = _least(born, died)
        if days > LONG_PREGNANCY:
            yield ImplausibleFact("after-fathers-death", (link.parent, link.child), (death, birth, link.id), days)


def _siblings(facts: _Facts) -> Iterator[ImplausibleFact]:
    children: dict[str, dict[str, str]] = defaultdict(dict)  # by mother: child, and the id of the link
    for link in facts.links:
        if link.parent_sex == "F":
            children[link.parent].setdefault(link.child, link.id)
    for mother, links in children.items():
        if len(links) > MOST_CHILDREN:
            yield ImplausibleFact("many-children", (mother,), tuple(links.values())[:3], len(links))
        born = sorted((facts.births[c][0].first or 0, c) for c in links if c in facts.births)
        for (_, one), (_, other) in pairwise(born):
            (elder, first), (younger, second) = facts.births[one], facts.births[other]
            if _least(younger, elder) > TWINS_WITHIN and _most(younger, elder) < SIBLINGS_APART:
                statements = (first, second, links[one], links[other])
                yield ImplausibleFact("siblings-close", (one, other, mother), statements, _most(younger, elder))


def _marriages(facts: _Facts) -> Iterator[ImplausibleFact]:
    for wedding in facts.weddings:
        spouses = [p for p in wedding.spouses if p in facts.births]
        if wedding.event in facts.dates:
            yield from _ages_at(wedding, spouses, facts)
        yield from _between(wedding, spouses, facts)


def _ages_at(wedding: ev.Marriage, spouses: Iterable[str], facts: _Facts) -> Iterator[ImplausibleFact]:
    married, date = facts.dates[wedding.event]
    for person in spouses:
        born, birth = facts.births[person]
        least, most = _years(_least(married, born)), _years(_most(married, born))
        if least > OLD_SPOUSE:
            yield ImplausibleFact("old-spouse", (person,), (birth, date, wedding.id), least)
        if most < YOUNG_SPOUSE:
            yield ImplausibleFact("young-spouse", (person,), (birth, date, wedding.id), most)


def _between(wedding: ev.Marriage, spouses: list[str], facts: _Facts) -> Iterator[ImplausibleFact]:
    for one, other in pairwise(spouses):
        (a, first), (b, second) = facts.births[one], facts.births[other]
        years = _years(max(_least(a, b), _least(b, a)))
        if years > YEARS_BETWEEN_SPOUSES:
            yield ImplausibleFact("far-apart-spouses", (one, other), (first, second, wedding.id), years)
