"""Evidence drawn from invented families whose true dates are known, with every kind of statement, of any size.

A statement is true unless it is drawn to be careless; then it is off by years, or about the wrong person.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from making import Household, make_family

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import SAME_YEAR, Dated, Span, year_of
from kinphoto.reason.model.subjects import Person, Photograph

YEAR = 365.2425
SCANNED = date(2025, 6, 1).toordinal()


@dataclass
class World:
    """True days by id, and what has been said so far."""

    dice: random.Random
    careless: float
    births: dict[str, int] = field(default_factory=dict)
    deaths: dict[str, int] = field(default_factory=dict)
    events: dict[str, int] = field(default_factory=dict)
    exposures: dict[str, int] = field(default_factory=dict)
    prints: dict[str, int] = field(default_factory=dict)
    mothers: dict[str, str] = field(default_factory=dict)
    couples: dict[str, tuple[str, str]] = field(default_factory=dict)
    photographs: list[Photograph] = field(default_factory=list)
    said: list[ev.Statement] = field(default_factory=list)

    def wrong(self) -> bool:
        """Whether the next statement is careless."""
        return self.dice.random() < self.careless

    def base(self, trust: ev.Trust | None = None) -> dict[str, object]:
        """What every statement has."""
        n = len(self.said)
        return {"id": f"S{n}", "trust": trust or self.dice.choice(list(ev.Trust)), "order": self.dice.randrange(50)}

    def dated(self, day: int) -> Dated:
        """A span around a day, of any width, open at either end now and then."""
        if self.wrong():
            day += self.dice.choice((-1, 1)) * int(self.dice.uniform(5, 60) * YEAR)
        width = self.dice.choice((0, 15, 180, 1000, 6000))
        span = Span(day - self.dice.randrange(width + 1), day + self.dice.randrange(width + 1))
        return Dated(self.dice.choice((span, span, span, Span(span.first, None), Span(None, span.last))))

    def alive(self, day: int) -> str | None:
        """Somebody who was alive then; anybody, when careless."""
        there = [p for p in self.births if self.wrong() or self.births[p] <= day <= self.deaths[p]]
        return self.dice.choice(there) if there else None

    def evidence(self) -> ev.Evidence:
        """All of it."""
        return ev.Evidence(tuple(Person(p, p) for p in self.births), tuple(self.photographs), tuple(self.said))


def puzzle(dice: random.Random, statements: int = 14, careless: float = 0.15, *, regions: bool = True) -> ev.Evidence:
    """A few people and photographs about which much is said; with `regions` some names are rivals."""
    world = World(dice, careless)
    for n in range(dice.randrange(2, 5)):
        _person(world, f"P{n}")
    for n in range(dice.randrange(2, 5)):
        _photograph(world, f"K{n}")
    while len(world.said) < statements:
        said = dice.choice(KINDS)(world)
        if isinstance(said, ev.Appearance) and not regions:
            said = ev.Appearance(id=said.id, trust=said.trust, order=said.order, photograph=said.photograph,
                                 person=said.person, role=said.role, denied=said.denied)  # fmt: skip
        if said is not None:
            world.said.append(said)
    return world.evidence()


def _person(world: World, name: str) -> None:
    dice, mother = world.dice, world.dice.choice([None, *world.births])
    born = date(1850, 1, 1).toordinal() + dice.randrange(int(80 * YEAR))
    if mother is not None:
        world.mothers[name] = mother
        born = world.births[mother] + int(dice.uniform(16, 45) * YEAR)
        world.deaths[mother] = max(world.deaths[mother], born)
    world.births[name] = born
    world.deaths[name] = born + int(dice.uniform(20, 95) * YEAR)
    world.events[f"{name}:GRAD"] = born + int(18 * YEAR)


def _photograph(world: World, name: str) -> None:
    born = world.births[world.dice.choice(list(world.births))]
    world.exposures[name] = min(born + world.dice.randrange(int(60 * YEAR)), SCANNED)
    printed = world.dice.random() < 0.7
    late = world.dice.randrange(4000) if printed else 0
    world.prints[name] = min(world.exposures[name] + late, SCANNED)
    world.photographs.append(Photograph(name, SCANNED, printed, page=world.dice.random() < 0.05))


def life_date(world: World) -> ev.Statement:
    """A birth, christening, death or burial."""
    person, event = world.dice.choice(list(world.births)), world.dice.choice(list(ev.LifeEvent))
    early = event in (ev.LifeEvent.BIRTH, ev.LifeEvent.CHRISTENING)
    day = (world.births if early else world.deaths)[person]
    return ev.LifeDate(**world.base(), person=person, event=event, date=world.dated(day))


def event_date(world: World) -> ev.Statement:
    """The date of a graduation or a marriage."""
    key = world.dice.choice(list(world.events))
    return ev.EventDate(**world.base(), event=key, date=world.dated(world.events[key]))


def marriage(world: World) -> ev.Statement:
    """Two people married."""
    one, other = (world.dice.choice(list(world.births)) for _ in range(2))
    key = f"{one}{other}:MARR"
    world.events.setdefault(key, world.births[one] + int(25 * YEAR))
    return ev.Marriage(**world.base(ev.Trust.CERTAIN), event=key, spouses=(one, other))


def parent_link(world: World) -> ev.Statement | None:
    """A mother, or somebody said to be a parent."""
    child = world.dice.choice(list(world.births))
    parent = world.dice.choice(list(world.births)) if world.wrong() else world.mothers.get(child)
    if parent is None:
        return None
    return ev.ParentLink(**world.base(), child=child, parent=parent, parent_sex=world.dice.choice("FMU"))


def appearance(world: World) -> ev.Statement:
    """Somebody in a photograph."""
    photograph = world.dice.choice(list(world.exposures))
    person, role = world.alive(world.exposures[photograph]), ev.Role.PRESENT
    if world.dice.random() < 0.2:
        role = world.dice.choice(list(ev.Role))
    return ev.Appearance(
        **world.base(), photograph=photograph, person=person, role=role,
        region=world.dice.choice((None, None, "R1", "R2")), denied=world.dice.random() < 0.1,
    )  # fmt: skip


def age(world: World) -> ev.Statement | None:
    """The age of somebody in a photograph, mostly stated."""
    seen = [a for a in world.said if isinstance(a, ev.Appearance) and a.person]
    if not seen:
        return None
    face = world.dice.choice(seen)
    years = max(0, int((world.exposures[face.photograph] - world.births[face.person or ""]) / YEAR))
    years += world.dice.randrange(15) if world.wrong() else 0
    basis = world.dice.choice((ev.AgeBasis.STATED, ev.AgeBasis.STATED, ev.AgeBasis.APPARENT))
    return ev.Age(**world.base(), appearance=face.id, low=years, high=years + world.dice.randrange(4), basis=basis)


def date_claim(world: World) -> ev.Statement:
    """A date on or about the object."""
    photograph, claim = world.dice.choice(list(world.exposures)), world.dice.choice(list(ev.Claim))
    late = claim in (ev.Claim.WRITTEN, ev.Claim.POSTMARK, ev.Claim.PRINT_STAMP)
    day = (world.prints if late else world.exposures)[photograph]
    return ev.DateClaim(**world.base(), photograph=photograph, claim=claim, date=world.dated(day))


def event_claim(world: World) -> ev.Statement:
    """The photograph shows an event; a birth and a death are events too."""
    photograph = world.dice.choice(list(world.exposures))
    others = [f"{p}:{tag}" for p in world.births for tag in ("BIRT", "DEAT")]
    keys = [*world.events, *others] if world.wrong() else [f"N{photograph}:REUN"]
    return ev.EventClaim(**world.base(), photograph=photograph, event=world.dice.choice(keys))


def relative_date(world: World) -> ev.Statement:
    """Somebody dates it by an event."""
    photograph = world.dice.choice(list(world.exposures))
    born, died = (
        {f"{p}:{tag}": day for p, day in days.items()} for days, tag in ((world.births, "BIRT"), (world.deaths, "DEAT"))
    )
    event, day = world.dice.choice(sorted((world.events | born | died).items()))
    gap, wrong = world.exposures[photograph] - day, world.wrong()
    lapses = (Span(None, 0), Span(0, None), Span(gap - 300, gap + 100), Span(-366, 0), SAME_YEAR)
    true = [one for one in lapses if (one.first is None or one.first <= gap) and (one.last is None or gap <= one.last)]
    if SAME_YEAR in true and year_of(day) != year_of(day + gap):
        true.remove(SAME_YEAR)
    lapse = world.dice.choice(lapses if wrong else true)
    return ev.RelativeDate(**world.base(), photograph=photograph, claim=ev.Claim.RECOLLECTION, event=event, lapse=lapse)


def made(world: World) -> ev.Statement:
    """A process or format."""
    photograph, original = world.dice.choice(list(world.exposures)), world.dice.random() < 0.3
    window = world.dated(world.exposures[photograph]).span
    return ev.Made(**world.base(), photograph=photograph, what="process", name="any", window=window, original=original)


def relation(world: World) -> ev.Statement:
    """Two photographs hang together."""
    one, other = sorted(world.dice.sample(list(world.exposures), 2), key=world.exposures.__getitem__)
    related = world.dice.choice(list(ev.Related) if world.wrong() else [ev.Related.BEFORE, ev.Related.PART_OF])
    return ev.Relation(**world.base(), photograph=one, related=related, other=other)


KINDS: list[Callable[[World], ev.Statement | None]] = [
    life_date, life_date, life_date, event_date, marriage, parent_link, appearance, appearance, appearance, age, age,
    date_claim, date_claim, event_claim, relative_date, made, relation,
]  # fmt: skip


def large(people: int, photographs: int, seed: int, careless: float = 0.0) -> ev.Evidence:
    """A family over generations and its photographs, as an archive has them: every life dated (some vaguely), two or
    three people to a picture, ages told of some, dates on some, pictures of weddings, and albums in order."""
    dice = random.Random(seed)
    everybody, homes = make_family(people, seed)
    world = World(dice, careless)
    for p in everybody:
        world.births[f"I{p.number}"], world.deaths[f"I{p.number}"] = p.born, p.died
        for event, day in ((ev.LifeEvent.BIRTH, p.born), (ev.LifeEvent.DEATH, p.died)):
            if day < SCANNED and dice.random() < 0.9:
                world.said.append(ev.LifeDate(**world.base(ev.Trust.STRONG), person=f"I{p.number}", event=event,
                                              date=world.dated(day)))  # fmt: skip
    for home in homes:
        _household(world, home)
    for n in range(photographs):
        _picture(world, f"K{n}", dice.choice(homes))
    _albums(world)
    return world.evidence()


def _household(world: World, home: Household) -> None:
    key, couple = f"F{home.number}:MARR", (f"I{home.father.number}", f"I{home.mother.number}")
    world.events[key] = home.married
    world.said.append(ev.Marriage(**world.base(ev.Trust.CERTAIN), event=key, spouses=couple))
    world.said.append(ev.EventDate(**world.base(ev.Trust.STRONG), event=key, date=world.dated(home.married)))
    for child in home.children:
        for parent, sex in zip(couple, "MF", strict=True):
            world.said.append(ev.ParentLink(**world.base(ev.Trust.CERTAIN), child=f"I{child.number}", parent=parent,
                                            parent_sex=sex))  # fmt: skip


def _picture(world: World, name: str, home: Household) -> None:
    dice, wedding = world.dice, world.dice.random() < 0.03
    day = min(home.married + (0 if wedding else dice.randrange(-400, 9000)), SCANNED)
    world.exposures[name], world.prints[name] = day, min(day + dice.randrange(300), SCANNED)
    world.photographs.append(Photograph(name, SCANNED, dice.random() < 0.8))
    if wedding:
        world.said.append(ev.EventClaim(**world.base(ev.Trust.FAIR), photograph=name, event=f"F{home.number}:MARR"))
    there = [p for p in (home.father, home.mother, *home.children) if p.born <= day <= p.died]
    for p in dice.sample(there, min(len(there), dice.randrange(1, 5))):
        person = f"I{dice.choice(list(world.births))[1:]}" if world.wrong() else f"I{p.number}"
        face = ev.Appearance(**world.base(ev.Trust.STRONG), photograph=name, person=person)
        world.said.append(face)
        if dice.random() < 0.3:
            years = int((day - p.born) / YEAR)
            world.said.append(ev.Age(**world.base(ev.Trust.STRONG), appearance=face.id, low=years, high=years,
                                     basis=ev.AgeBasis.STATED))  # fmt: skip
    if dice.random() < 0.3:
        world.said.append(date_of(world, name))


def date_of(world: World, name: str) -> ev.Statement:
    """Something that dates one photograph."""
    claim = world.dice.choice((ev.Claim.TAKEN, ev.Claim.INSCRIPTION, ev.Claim.WRITTEN, ev.Claim.PRINT_STAMP))
    late = claim in (ev.Claim.WRITTEN, ev.Claim.PRINT_STAMP)
    day = (world.prints if late else world.exposures)[name]
    trust = world.dice.choice((ev.Trust.STRONG, ev.Trust.FAIR))
    return ev.DateClaim(**world.base(trust), photograph=name, claim=claim, date=world.dated(day))


def _albums(world: World) -> None:
    """Every tenth album of twenty pictures is in order of time."""
    names = list(world.exposures)
    for start in range(0, len(names), 200):
        album = sorted(names[start : start + 20], key=world.exposures.__getitem__)
        for one, other in pairwise(album):
            world.said.append(ev.Relation(**world.base(ev.Trust.STRONG), photograph=one, related=ev.Related.BEFORE,
                                          other=other))  # fmt: skip
