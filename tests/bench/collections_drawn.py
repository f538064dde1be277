"""Families' collections drawn at random, with their true dates: albums, tins, a trunk, and all of them together.

This is not the model of docs/method.md. A family grows over a century: people are born, marry, have children and die.
Pictures are taken on **occasions** (weddings, christenings, holidays, Sunday walks), at a rate that changes over the
years: few before 1900, fewer in both wars, many after 1920. An occasion leaves one to eight photographs of some of
those who were there. They go into containers, which differ in kind (`Kind`): how long a stretch of years one covers,
and what became of the order.

- An **album** covers some months or a few years of one household. It is in order, but for slips: a photograph that was
  put in elsewhere, two that were swapped, an occasion that was put in before the one before it.
- A **tin** covers about thirty years of a household and of the children's. What one occasion left mostly lies together,
  and the occasions are shuffled; some are still in the shop's envelope, which is a container within the tin.
- A **trunk** holds everything, shuffled.
- An **envelope** holds one occasion.

Everywhere some photographs are strays from another time, or prints that somebody ordered much later.

With `Options.strips`, the negatives of so many of the films were kept in **strips**, and somebody recorded which
photographs are of one strip. A film has eight or twelve frames of one household in a row; it is taken out after a year
and a half at the latest, also if it is not full. It is cut into strips of two to four frames. Of one strip in fifty one
frame was laid with the wrong strip.

With `Options.printed`, the laboratory printed the month on so many of the films' prints: that in which the film was
brought there, some weeks after its last frame. One print in twenty was ordered again, years later.

Ages are judged as the method has it, by its formulas written once more in `drawn`, but for one thing: judges of one
face share an error. Of the variance of a judgement 0.59 is the face's and 0.41 the judge's own, from a mean absolute
error of 6.0 years for one person's judgement of a real age and of 4.6 for the mean of 38 people's (APPA-REAL, test set
of 1,978 faces; errors taken as normal, that is 5.8 years between faces and 4.8 between judges of one face).

Every number in this file that has no source beside it is invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

import numpy as np
from drawn import ABOUT_SPREAD, SCANNED, YEAR, about

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Container, Person, Photograph

Array = np.ndarray
TAU, BIAS_SD, SPREAD_SD = 0.17, 0.08, 0.3
FACE_SHARE = 0.59
"""Share of the variance of a judgement that all judges of one face have in common."""
EARLIEST, LATEST = 1885.0, 1975.0
"""Years between which pictures are taken."""
RATE_YEARS = (1885, 1900, 1912, 1914, 1915, 1918, 1919, 1922, 1930, 1938, 1940, 1945, 1947, 1960, 1975)
RATE = (0.15, 0.3, 0.6, 0.5, 0.15, 0.15, 0.6, 1.2, 1.4, 1.6, 0.4, 0.3, 1.0, 1.8, 1.6)
MONTHS = np.array([5, 5, 6, 7, 10, 13, 16, 16, 8, 5, 4, 9]) / 104
FACES, FACES_SHARE = np.arange(1, 7), np.array([0.30, 0.26, 0.20, 0.12, 0.07, 0.05])
STRAY, REPRINT, MOVED, SWAPPED, EARLY = 0.03, 0.02, 0.04, 0.04, 0.08
"""Chances: of a stray, of a later print, of a photograph moved or swapped with the next, of an occasion put in before
the one before it."""
LOOSE, IN_ENVELOPE = 0.2, 0.15
"""In a tin: the chance of a photograph to lie apart from its occasion, and of an occasion to be in its envelope."""


class Kind(StrEnum):
    """The kinds of collection; of `MIXED` each container is of one of the others."""

    ALBUMS = "albums"
    TINS = "tins"
    TRUNK = "trunk"
    MIXED = "mixed"
    ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True)
class Options:
    """What to draw. `size`: photographs in every container (None: as each kind has it). All others are shares: of the
    photographs `dated` by a year, of births that are `vague`, of ages judged `unseen`, of the other ages that are
    `fitted` to a guessed date (by somebody who `sees` how old the youngest looks, or by somebody who does not care, who
    may give a baby as seven), of films whose `strips` were recorded, of films whose prints have a `printed` date, of
    the variance of a face that is the person's own in every picture (`own_look`); and of mistakes that were made: names
    on faces, births by 2 to 12 years, ages by 20 years."""

    kind: Kind = Kind.ALBUMS
    photographs: int = 200
    size: int | None = None
    dated: float = 0.12
    vague: float = 0.3
    judges: int = 6
    unseen: float = 0.5
    fitted: float = 0.0
    sees: bool = False
    strips: float = 0.0
    printed: float = 0.0
    own_look: float = 0.0
    misnamed: float = 0.0
    wrong_births: float = 0.0
    far_ages: float = 0.0


FRAMES, FILM_YEARS = (8, 12), 1.5
"""Frames of a film, and years after which it is taken out of the camera."""
WRONG_STRIP = 0.02
"""Chance that a strip has a frame of another film."""
SHOP_WEEKS, ORDERED_AGAIN, AGAIN_YEARS = 6.0, 0.05, 8.0
"""Weeks from the last frame of a film to its printing, in the mean; the chance that a print was ordered again, and the
years after which, in the mean."""
CARELESS = {"misnamed": 0.05, "wrong_births": 0.05, "far_ages": 0.05}
"""Options of a careless family."""
GUESS_SD, PULL = 6.0, 0.85
"""A guessed date: years by which it is off (standard deviation), and how much of the way a fitted age goes to it."""
SEEN, GUESSES = 2 * TAU, 200
"""Whoever sees the picture guesses no date at which the youngest in it would be farther off from how old they look, on
the scale, than 19 of 20 people would judge them; and how often another one is tried."""


@dataclass
class Collection:
    """Evidence with the truth behind it, and where each photograph lies. Arrays have an entry for each photograph.

    `paths` name the containers, the outermost first; `kinds` are those of the innermost. `position` is the place in the
    innermost container (0, 1, ...), `number` that of the scan among the scans of the outermost one.
    """

    evidence: ev.Evidence
    days: Array
    paths: list[tuple[str, ...]]
    kinds: list[Kind]
    position: Array
    number: Array
    faces: Array
    dated: Array
    """Whether a year is written on it."""
    odd: Array
    """Whether it is a stray or a later print, which does not belong in its container."""
    births: dict[str, float]
    vague: frozenset[str]
    """The people whose births the tree has vaguely or not at all."""
    on_strip: Array
    """Whether it is recorded to be on a strip with others."""
    printed: Array
    """Whether there is a printed date on it."""


@dataclass
class People:
    """A family: days of births and deaths, and the couples."""

    born: list[float] = field(default_factory=list)
    died: list[float] = field(default_factory=list)
    sex: list[str] = field(default_factory=list)
    parents: list[tuple[int, int] | None] = field(default_factory=list)
    homes: list[Home] = field(default_factory=list)

    def add(self, dice: np.random.Generator, born: float, sex: str, parents: tuple[int, int] | None) -> int:
        """Somebody new; one in fourteen dies before fifteen."""
        lives = dice.uniform(0.1, 15) if parents and dice.random() < 0.07 else np.clip(dice.normal(70, 13), 24, 97)
        self.born.append(born)
        self.died.append(born + lives * YEAR)
        self.sex.append(sex)
        self.parents.append(parents)
        return len(self.born) - 1


@dataclass
class Home:
    """A couple and their children; `kin` are their parents, siblings, and the families of those."""

    couple: tuple[int, int]
    wedding: float
    children: list[int] = field(default_factory=list)
    weds: dict[int, float] = field(default_factory=dict)
    """When which of the children left to marry."""
    near: list[int] = field(default_factory=list)
    """Homes of the children."""
    kin: Array = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    @property
    def events(self) -> list[float]:
        """The wedding; what else there is to celebrate is looked up in births."""
        return [self.wedding, *self.weds.values()]


def _grown(dice: np.random.Generator) -> People:
    """Three couples of the 1850s to 1870s and what came of them, up to births of 1960."""
    found, last = People(), _day(1960.0)
    waiting: list[tuple[int, int, Home | None]] = []
    for _ in range(3):
        husband = found.add(dice, _day(dice.uniform(1850, 1872)), "M", None)
        wife = found.add(dice, found.born[husband] + dice.normal(3, 3) * YEAR, "F", None)
        waiting.append((husband, wife, None))
    while waiting and len(found.born) < 130:
        husband, wife, above = waiting.pop(0)
        wedding = max(found.born[husband], found.born[wife]) + np.clip(dice.normal(25, 3.5), 19, 38) * YEAR
        if wedding > min(found.died[husband], found.died[wife]) - YEAR or wedding > _day(1962.0):
            continue
        home = Home((husband, wife), wedding)
        if above is not None:
            above.near.append(len(found.homes))
            above.weds[husband if husband in above.children else wife] = wedding
        found.homes.append(home)
        born, many = wedding + dice.uniform(0.7, 2.5) * YEAR, dice.poisson(4.0 if wedding < _day(1905.0) else 2.6)
        for _ in range(many):
            if born > min(found.died[wife], found.died[husband], found.born[wife] + 44 * YEAR, last):
                break
            child = found.add(dice, born, "MF"[int(dice.integers(2))], (husband, wife))
            home.children.append(child)
            born += dice.uniform(1.2, 4.0) * YEAR
        for child in home.children:
            if found.died[child] > found.born[child] + 22 * YEAR and dice.random() < 0.75:
                if found.born[child] > _day(1940.0):
                    continue
                man = found.sex[child] == "M"
                other = found.add(dice, found.born[child] + dice.normal(-2 if not man else 2, 3) * YEAR,
                                  "F" if man else "M", None)  # fmt: skip
                waiting.append((child, other, home) if man else (other, child, home))
    for home in found.homes:
        home.kin = np.array(sorted(_kin(found, home)), dtype=np.int64)
    return found


def _kin(people: People, home: Home) -> set[int]:
    """Parents and siblings of the couple, the siblings' partners, the children's partners and children."""
    parents = {q for p in home.couple for q in people.parents[p] or ()}
    found = set(parents)
    for other in people.homes:
        if set(other.couple) & parents:
            found |= set(other.children)
        if set(other.couple) & (found | set(home.children)):
            found |= {*other.couple, *other.children}
    return found - {*home.couple, *home.children}


@dataclass
class Shot:
    """One exposure: when, on which occasion, of whom, and whether it came into its container from elsewhere."""

    day: float
    occasion: int
    who: list[int]
    odd: bool = False
    home: int = 0


class _Camera:
    """Draws what a family takes pictures of."""

    def __init__(self, dice: np.random.Generator, people: People) -> None:
        self.dice, self.people = dice, people
        self.born, self.died = np.array(people.born), np.array(people.died)
        self.years = np.arange(EARLIEST, LATEST, 0.25)
        self.rate = np.interp(self.years, RATE_YEARS, RATE)
        keen = np.exp(np.cumsum(dice.normal(0, 0.25, len(self.years) // 12 + 1)))  # some years more than others
        self.rate = self.rate * np.repeat(keen, 12)[: len(self.years)]
        self.until = [min(_year(max(self.died[list(h.couple)])), _year(h.wedding) + 50) for h in people.homes]
        self.occasions = 0

    def stretch(self, home: int, length: float) -> tuple[float, float]:
        """Years of a home's life, of this length, where pictures were taken."""
        from_, to = _year(self.people.homes[home].wedding) - 1, self.until[home]
        weight = self.rate * (self.years >= from_) * (self.years < max(to - length, from_ + 1))
        if not weight.sum():
            weight = self.rate
        start = float(self.dice.choice(self.years, p=weight / weight.sum())) + self.dice.uniform(0, 0.25)
        return start, min(start + length, LATEST)

    def occasion(self, homes: list[int], start: float, end: float, most: int) -> list[Shot]:
        """The photographs of one occasion, no more than so many."""
        for _ in range(50):
            home, day, grand = self._moment(homes, start, end)
            there = self._there(home, day, grand)
            if there:
                break
        else:
            there = [int(np.argmax((self.born < day) & (self.died > day)))]
        self.occasions += 1
        many = min(most, 8, int(self.dice.geometric(0.38)))
        shots = []
        for k in range(many):
            size = min(len(there), int(self.dice.choice(FACES, p=FACES_SHARE)))
            who = [there[i] for i in self.dice.choice(len(there), size, replace=False)]
            shots.append(Shot(day + (k * 0.5 + self.dice.random() * 0.4) / (1 + many), self.occasions, who, home=home))
        return shots

    def _moment(self, homes: list[int], start: float, end: float) -> tuple[int, float, bool]:
        """At whose home, on which day, and whether the whole family came."""
        dice, people = self.dice, self.people
        weight = self.rate * (self.years + 0.25 > start) * (self.years < end)
        year = float(np.clip(dice.choice(self.years, p=weight / weight.sum()) + dice.uniform(0, 0.25), start, end))
        alive = [h for h in homes if _year(people.homes[h].wedding) - 1 < year < self.until[h]] or homes
        home = alive[int(dice.integers(len(alive)))]
        if end - start > 0.8:  # long enough for the seasons to show
            year = np.clip(int(year) + (dice.choice(12, p=MONTHS) + dice.random()) / 12, start, end)
        day = _day(float(year))
        if dice.random() < 0.25:
            own = people.homes[home]
            feasts = [*own.events, *(people.born[c] + 40 for c in own.children)]
            close = [f for f in feasts if _day(start) <= f <= _day(end) and abs(f - day) < 3 * YEAR]
            if close:
                return home, close[int(dice.integers(len(close)))] + dice.random() * 0.3, True
        return home, day, bool(dice.random() < 0.15)

    def _there(self, home: int, day: float, grand: bool) -> list[int]:
        own = self.people.homes[home]
        living = [*own.couple, *(c for c in own.children if own.weds.get(c, np.inf) > day)]
        near = living + [p for p in own.kin.tolist() if self.dice.random() < (0.5 if grand else 0.08)]
        return [p for p in near if self.born[p] + 3 < day < self.died[p] - 3 and self.dice.random() < 0.85]


def draw(dice: np.random.Generator, options: Options) -> Collection:
    """One collection."""
    people = _grown(dice)
    camera = _Camera(dice, people)
    boxes = list(_boxes(dice, camera, options))
    shots = [shot for box in boxes for shot in box.shots]
    kinds = [box.kind for box in boxes for _ in box.shots]
    paths = [box.path for box in boxes for _ in box.shots]
    position = np.concatenate([np.arange(len(box.shots)) for box in boxes])
    told = _Told(dice, people, options)
    told.tree()
    dated = told.pictures(shots)
    ties = list(_strips(dice.spawn(1)[0], shots, paths, options.strips))
    told.said += ties
    stamps = list(_stamps(dice.spawn(1)[0], shots, paths, options.printed))
    told.said += stamps
    stamped = {stamp.photograph for stamp in stamps}
    tied = {p for tie in ties for p in tie.photographs()}
    return Collection(
        ev.Evidence(
            tuple(Person(f"I{i}", f"I{i}", sex) for i, sex in enumerate(people.sex)),
            tuple(
                Photograph(f"K{i}", SCANNED, container="/".join(path), position=int(place))
                for i, (path, place) in enumerate(zip(paths, position, strict=True))
            ),
            tuple(told.said),
            tuple(_containers(paths)),
        ),
        np.array([s.day for s in shots]), paths, kinds, position, _numbers(dice, paths),
        np.array([len(s.who) for s in shots]), dated, np.array([s.odd for s in shots]),
        {f"I{i}": b for i, b in enumerate(people.born)}, frozenset(told.vague),
        np.array([f"K{i}" in tied for i in range(len(shots))]),
        np.array([f"K{i}" in stamped for i in range(len(shots))]),
    )  # fmt: skip


def _films(dice: np.random.Generator, shots: list[Shot], paths: list[tuple[str, ...]]) -> Iterator[list[int]]:
    """The photographs of one film after another."""
    by_camera: dict[tuple[str, int], list[int]] = {}
    for i, shot in enumerate(shots):
        if not shot.odd:
            by_camera.setdefault((paths[i][0], shot.home), []).append(i)
    for frames in by_camera.values():
        frames.sort(key=lambda i: shots[i].day)
        while frames:
            until = shots[frames[0]].day + FILM_YEARS * YEAR
            film = [i for i in frames[: int(dice.choice(FRAMES))] if shots[i].day < until]
            frames = frames[len(film) :]
            yield film


def _strips(
    dice: np.random.Generator, shots: list[Shot], paths: list[tuple[str, ...]], share: float
) -> Iterator[ev.Relation]:
    """Which photographs are said to be on one strip. (`dice` are their own: nothing else is drawn otherwise.)"""
    for film in _films(dice, shots, paths) if share else ():
        kept = dice.random() < share
        while film:
            strip = film[: int(dice.integers(2, 5))]
            film = film[len(strip) :]
            if kept and dice.random() < WRONG_STRIP:
                strip[-1] = int(dice.integers(len(shots)))
            for one, other in pairwise(strip):
                if kept and one != other:
                    yield ev.Relation(
                        id=f"strip {one} {other}", trust=ev.Trust.STRONG, photograph=f"K{one}",
                        related=ev.Related.SAME_STRIP, other=f"K{other}",
                    )  # fmt: skip


def _stamps(
    dice: np.random.Generator, shots: list[Shot], paths: list[tuple[str, ...]], share: float
) -> Iterator[ev.DateClaim]:
    """The months that are printed on photographs."""
    for film in _films(dice, shots, paths) if share else ():
        printed = shots[film[-1]].day + dice.exponential(SHOP_WEEKS * 7)
        if dice.random() >= share:
            continue
        for i in film:
            again = dice.exponential(AGAIN_YEARS) * YEAR if dice.random() < ORDERED_AGAIN else 0.0
            day = date.fromordinal(min(int(printed + again), SCANNED - 60))
            first = day.replace(day=1)
            last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
            yield ev.DateClaim(
                id=f"stamp {i}", trust=ev.Trust.STRONG, photograph=f"K{i}", claim=ev.Claim.PRINT_STAMP,
                date=Dated(Span(first.toordinal(), last.toordinal())),
            )  # fmt: skip


def _containers(paths: list[tuple[str, ...]]) -> Iterator[Container]:
    """Each container, and the one in which it lies."""
    for one in sorted({path[:depth] for path in paths for depth in range(1, len(path) + 1)}, key=lambda p: (len(p), p)):
        yield Container("/".join(one), "/".join(one[:-1]) or None)


@dataclass
class Box:
    """A container and what lies in it, in this order."""

    path: tuple[str, ...]
    kind: Kind
    shots: list[Shot]


def _boxes(dice: np.random.Generator, camera: _Camera, options: Options) -> Iterator[Box]:
    """Containers until there are enough photographs."""
    left, number = options.photographs, 0
    while left > 0:
        number += 1
        kind = options.kind
        if kind is Kind.MIXED:
            kind = (
                Kind.TRUNK
                if number == 1
                else Kind(str(dice.choice([Kind.ALBUMS, Kind.TINS, Kind.ENVELOPE], p=[0.5, 0.3, 0.2])))
            )
        many = min(left, options.size or _size(dice, kind, options))
        shots = _filled(dice, camera, kind, many)
        left -= len(shots)
        name = f"{kind} {number}"
        if kind is Kind.ALBUMS:
            yield Box((name,), kind, _pasted(dice, shots))
        elif kind is Kind.TINS:
            yield from _tin(dice, name, shots, envelopes=options.size is None)
        elif kind is Kind.TRUNK:
            yield Box((name,), kind, [shots[i] for i in dice.permutation(len(shots))])
        else:
            yield Box(("trunk 1", name), kind, shots)


def _size(dice: np.random.Generator, kind: Kind, options: Options) -> int:
    if kind is Kind.TRUNK:
        return options.photographs if options.kind is Kind.TRUNK else options.photographs // 4
    if kind is Kind.ENVELOPE:
        return int(dice.integers(1, 5))
    return int(np.clip(np.exp(dice.normal(np.log(24 if kind is Kind.ALBUMS else 36), 0.6)), 4, 90))


def _filled(dice: np.random.Generator, camera: _Camera, kind: Kind, many: int) -> list[Shot]:
    """The photographs of a container, by occasions in the order of time; some are from elsewhere."""
    homes = list(range(len(camera.people.homes)))
    home = int(dice.integers(len(homes)))
    start, end = EARLIEST, LATEST
    if kind is Kind.ENVELOPE:
        return camera.occasion([home], *camera.stretch(home, 0.1), many)
    if kind is Kind.ALBUMS:
        start, end = camera.stretch(home, float(np.clip(np.exp(dice.normal(np.log(1.2), 1.0)), 0.2, 6)))
        own = [home]
    elif kind is Kind.TINS:
        start, end = camera.stretch(home, dice.uniform(22, 38))
        own = [home, *camera.people.homes[home].near]
    else:
        own = homes
    found: list[list[Shot]] = []
    while (left := many - sum(map(len, found))) > 0:
        found.append(camera.occasion(own, start, end, left))
    shots = [shot for some in sorted(found, key=lambda some: some[0].day) for shot in some]
    for i in np.flatnonzero(dice.random(len(shots)) < STRAY + REPRINT):
        early = max(EARLIEST, start - 30) if dice.random() < REPRINT / (STRAY + REPRINT) else EARLIEST
        until = max(start, early + 1) if early > EARLIEST else LATEST
        shots[i] = camera.occasion(homes, early, until, 1)[0]
        shots[i].odd = True
    return shots


def _pasted(dice: np.random.Generator, shots: list[Shot]) -> list[Shot]:
    """In order, with slips."""
    runs = _runs(shots)
    for i in np.flatnonzero(dice.random(max(len(runs) - 1, 0)) < EARLY):
        runs[i], runs[i + 1] = runs[i + 1], runs[i]
    found = [shot for run in runs for shot in run]
    for i in np.flatnonzero(dice.random(max(len(found) - 1, 0)) < SWAPPED):
        found[i], found[i + 1] = found[i + 1], found[i]
    for i in np.flatnonzero(dice.random(len(found)) < MOVED):
        found.insert(int(dice.integers(len(found))), found.pop(i))
    return found


def _tin(dice: np.random.Generator, name: str, shots: list[Shot], *, envelopes: bool) -> Iterator[Box]:
    """Occasions shuffled, some photographs apart from theirs, some occasions in an envelope of their own."""
    runs = _runs(shots)
    runs = [runs[i] for i in dice.permutation(len(runs))]
    apart = dice.random(len(runs)) < IN_ENVELOPE if envelopes else np.zeros(len(runs), dtype=bool)
    loose = [shot for run, away in zip(runs, apart, strict=True) if not away for shot in run]
    for i in np.flatnonzero(dice.random(len(loose)) < LOOSE):
        loose.insert(int(dice.integers(len(loose))), loose.pop(i))
    if loose:
        yield Box((name,), Kind.TINS, loose)
    for n in np.flatnonzero(apart).tolist():
        yield Box((name, f"envelope {n}"), Kind.ENVELOPE, runs[n])


def _runs(shots: list[Shot]) -> list[list[Shot]]:
    """What was taken on one occasion, together."""
    found: list[list[Shot]] = []
    for shot in shots:
        if found and found[-1][-1].occasion == shot.occasion:
            found[-1].append(shot)
        else:
            found.append([shot])
    return found


def _numbers(dice: np.random.Generator, paths: list[tuple[str, ...]]) -> Array:
    """Numbers of scans in each outermost container: as they lie, backwards, or in hands full that were shuffled."""
    number = np.zeros(len(paths), dtype=np.int64)
    for name in dict.fromkeys(path[0] for path in paths):
        here = np.array([i for i, path in enumerate(paths) if path[0] == name])
        way = dice.random()
        if way < 0.1:
            here = here[::-1]
        elif way < 0.3:
            hands = np.array_split(here, len(here) // 10 + 1)
            here = np.concatenate([hands[i] for i in dice.permutation(len(hands))])
        number[here] = np.arange(len(here))
    return number


class _Told:
    """What the tree and the informants say, rightly and wrongly."""

    def __init__(self, dice: np.random.Generator, people: People, options: Options) -> None:
        self.dice, self.people, self.options = dice, people, options
        self.said: list[ev.Statement] = []
        self.vague: set[str] = set()
        self.born, self.died = np.array(people.born), np.array(people.died)

    def _id(self) -> str:
        return f"S{len(self.said)}"

    def tree(self) -> None:
        """Births, three deaths in four, parents, and four weddings in five."""
        strong, certain = ev.Trust.STRONG, ev.Trust.CERTAIN
        for i, (born, died) in enumerate(zip(self.people.born, self.people.died, strict=True)):
            self._birth(i, born)
            if died < SCANNED and self.dice.random() < 0.75:
                death = ev.LifeEvent.DEATH
                self.said.append(
                    ev.LifeDate(id=self._id(), trust=strong, person=f"I{i}", event=death, date=_exactly(died))
                )
            for parent, sex in zip(self.people.parents[i] or (), "MF", strict=False):
                self.said.append(ev.ParentLink(
                    id=self._id(), trust=certain, child=f"I{i}", parent=f"I{parent}", parent_sex=sex))  # fmt: skip
        for n, home in enumerate(self.people.homes):
            event = f"F{n}:MARR"
            couple = f"I{home.couple[0]}", f"I{home.couple[1]}"
            self.said.append(ev.Marriage(id=self._id(), trust=certain, event=event, spouses=couple))
            if self.dice.random() < 0.8:
                self.said.append(ev.EventDate(id=self._id(), trust=strong, event=event, date=_exactly(home.wedding)))

    def _birth(self, i: int, born: float) -> None:
        """Exactly, or for a share of `vague` not at all, about a year, or between two."""
        dice = self.dice
        if dice.random() < self.options.wrong_births:
            born += dice.choice([-1, 1]) * dice.uniform(2, 12) * YEAR
        drawn = dice.random() / self.options.vague if self.options.vague else 1.0
        if drawn < 1:
            self.vague.add(f"I{i}")
        if drawn < 1 / 3:
            return
        if drawn < 2 / 3:
            when = about(born + ABOUT_SPREAD * float(np.clip(dice.normal(), -3, 3)))
        elif drawn < 1:
            when = Dated(Span(int(born - dice.uniform(1, 9) * YEAR), int(born + dice.uniform(1, 9) * YEAR)))
        else:
            when = _exactly(born)
        self.said.append(ev.LifeDate(
            id=self._id(), trust=ev.Trust.STRONG, person=f"I{i}", event=ev.LifeEvent.BIRTH, date=when))  # fmt: skip

    def pictures(self, shots: list[Shot]) -> Array:
        """Names, ages (five in six; of one face in eight by a second judge too) and dates; which ones are dated."""
        dice, options = self.dice, self.options
        photo = np.repeat(np.arange(len(shots)), [len(s.who) for s in shots])
        who = np.array([p for s in shots for p in s.who])
        day = np.array([s.day for s in shots])
        named = self._named(who, day[photo])
        faces = [f"S{len(self.said) + i}" for i in range(len(who))]
        self.said += [
            ev.Appearance(id=name, trust=ev.Trust.STRONG, photograph=f"K{k}", person=f"I{p}")
            for name, k, p in zip(faces, photo.tolist(), named.tolist(), strict=True)
        ]
        self._look(who, len(shots))
        if options.sees:
            self._seen(photo, (day[photo] - self.born[who]) / YEAR, dice.spawn(1)[0])
        judge = dice.integers(options.judges, size=len(shots))[photo]  # mostly one person goes through a picture
        other = dice.integers(options.judges, size=len(who))
        years = (day[photo] - self.born[who]) / YEAR
        for teller, some in (
            (judge, np.flatnonzero(dice.random(len(who)) < 5 / 6)),
            (other, np.flatnonzero((dice.random(len(who)) < 1 / 8) & (other != judge))),
        ):
            self._ages(some, faces, photo[some], years[some], teller[some])
        return self._dates(day)

    def _named(self, who: Array, day: Array) -> Array:
        """Whom the faces are taken for: a share of them for somebody else who was alive."""
        found = who.copy()
        for i in np.flatnonzero(self.dice.random(len(who)) < self.options.misnamed):
            age = day[i] - self.born
            near = np.abs(age - age[who[i]]) < 30 * YEAR
            others = np.flatnonzero((age > 0) & (self.died > day[i]) & near & (np.arange(len(age)) != who[i]))
            if len(others):
                found[i] = others[int(self.dice.integers(len(others)))]
        return found

    def _look(self, who: Array, photographs: int) -> None:
        """How much older each face looks than it is, whoever judges; how each informant judges; by how many years the
        date is off to which the ages of a photograph are fitted (nan: to none), and which ages were judged unseen."""
        dice, options = self.dice, self.options
        sd, own = TAU * FACE_SHARE**0.5, options.own_look
        self.look = sd * (1 - own) ** 0.5 * dice.normal(size=len(who))
        self.look += sd * own**0.5 * dice.normal(size=len(self.born))[who]
        self.bias = BIAS_SD * dice.normal(size=options.judges)
        self.spread = np.exp(SPREAD_SD * dice.normal(size=options.judges))
        self.unseen = dice.random(photographs) < options.unseen
        guess = dice.normal(0, GUESS_SD, photographs)
        self.guess = np.where(dice.random(photographs) < options.fitted, guess, np.nan)

    def _seen(self, photo: Array, age: Array, dice: np.random.Generator) -> None:
        """Guess another date where the youngest would be too old or too young for it; none if none is found."""
        first = np.lexsort((age, photo))[np.unique(np.sort(photo), return_index=True)[1]]
        rows, years, look = photo[first], age[first], self.look[first]
        wrong = np.zeros(len(rows), dtype=bool)
        for _ in range(GUESSES):
            wrong = np.abs(scale(years + self.guess[rows]) - scale(years) - look) > SEEN
            self.guess[rows[wrong]] = dice.normal(0, GUESS_SD, wrong.sum())
        self.guess[rows[wrong]] = np.nan

    def _ages(self, faces: Array, names: list[str], photo: Array, age: Array, teller: Array) -> None:
        """What these informants say of these faces."""
        dice = self.dice
        own = TAU * (1 - FACE_SHARE) ** 0.5 * self.spread[teller] * dice.normal(size=len(faces))
        place = scale(age) + self.look[faces] + self.bias[teller] + own
        fitted = ~np.isnan(self.guess[photo]) & ~self.unseen[photo]
        guessed = scale(age + np.nan_to_num(self.guess[photo]))
        place = np.where(fitted, PULL * guessed + (1 - PULL) * place, place)
        seen = np.maximum(age_at(place), 0.0)
        off = np.where(dice.random(len(faces)) < self.options.far_ages, dice.choice([-20.0, 20.0], len(faces)), 0.0)
        seen = np.where(seen + off < 0, seen - off, seen + off)
        width = dice.integers(0, 3, len(faces))
        low = np.maximum(np.floor(seen) - dice.integers(0, width + 1), 0)
        slip = dice.random(len(faces)) < 0.05
        low = np.where(slip, dice.integers(0, 100 - width), low).astype(int)
        self.said += [
            ev.Age(
                id=f"S{len(self.said) + i}", trust=ev.Trust.FAIR, appearance=names[face], low=first, high=first + more,
                informant=f"informant {who}", blind=bool(self.unseen[k]),
            )
            for i, (face, first, more, who, k) in enumerate(
                zip(faces.tolist(), low.tolist(), width.tolist(), teller.tolist(), photo.tolist(), strict=True)
            )
        ]  # fmt: skip

    def _dates(self, day: Array) -> Array:
        """A year, mostly written on the picture, otherwise remembered; one written year in thirty is wrong."""
        dated = self.dice.random(len(day)) < self.options.dated
        for k in np.flatnonzero(dated).tolist():
            year, remembered = date.fromordinal(int(day[k])).year, self.dice.random() < 1 / 3
            if not remembered and self.dice.random() < 1 / 30:
                year += int(self.dice.choice([-10, -3, -2, -1, 1, 2, 3, 10]))
            claim = ev.Claim.TAKEN if remembered else ev.Claim.INSCRIPTION
            self.said.append(ev.DateClaim(
                id=self._id(), trust=claim.trust, photograph=f"K{k}", claim=claim,
                date=Dated(span_of_years(year, year))))  # fmt: skip
        return dated


def scale(age: Array) -> Array:
    """g of the method, for an array."""
    return np.where(age <= 51, np.log(np.clip(age, 0, 51) + 2), np.log(53) + (age - 51) / 53)


def age_at(place: Array) -> Array:
    """Its inverse."""
    return np.where(place <= np.log(53), np.exp(np.minimum(place, np.log(53))) - 2, 51 + 53 * (place - np.log(53)))


def _exactly(day: float) -> Dated:
    return Dated(Span(int(day), int(day)))


def _day(year: float) -> float:
    return (year - 1) * YEAR + 1


def _year(day: float) -> float:
    return float((day - 1) / YEAR + 1)
