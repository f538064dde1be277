"""Who could be on this face: people offered while somebody types a name, best first.

An offer is a guess about whom the person at the keyboard means, never a statement about the photograph. Every hint
counts as the logarithm of how much likelier it makes a person; the weights are judgements of the project, all of them
here. Everybody whose name fits the letters is offered, except those already known not to be on this face: whoever
cannot have been there (not born yet, dead) comes last, with the reason.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import islice
from math import inf

import numpy as np
from sqlalchemy import Connection, select

from kinphoto.archive.asking.nearby_people import LATELY, NearbyPeople, nearby_people
from kinphoto.archive.catalogue.ages import parse_age
from kinphoto.archive.catalogue.finding import find_photograph
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.catalogue.name_search import understood, without_address
from kinphoto.archive.catalogue.person_cards import PersonCard, person_cards
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.faces.likeness import MENTIONED, FaceLikeness, likenesses, phrase
from kinphoto.archive.people.age_fit import fit
from kinphoto.archive.people.kinship import phrases
from kinphoto.archive.people.people import find
from kinphoto.archive.people.people_index import NEAREST, PeopleIndex, kept_people
from kinphoto.archive.people.proband import proband_id
from kinphoto.archive.words.ages import age_words
from kinphoto.phrases import counted
from kinphoto.reason.model.arrays import Array
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.span import DAYS_PER_YEAR, year_of
from kinphoto.store import tables as t

KIN = (0.0, 3.0, 2.0, 1.2, 0.6, 0.0)
"""For each step of kinship to somebody named in the photograph: none for that person; parents, children, siblings,
partners; then grandparents, uncles, in-laws; cousins; and one step more."""
KIN_IN_BOX, KIN_OF_PROBAND = 0.5, 0.25
"""How much of that counts for those named elsewhere in the container, and for the proband."""
NOT_YET = KIN[NEAREST]
"""The most for somebody related by a marriage that came later: no more than for the farthest of kin."""
OFTEN = 1.0
"""For the logarithm of 1 + the photographs of the container somebody is named in."""
RECENT = 1.0
"""For the person named last; it fades over the names that are remembered."""
HERE = 4.0
"""For somebody who is known to be in this photograph, on no face yet or on this one."""
BEGINS, WHOLE = 60.0, 30.0
"""For letters that a name begins with, against letters within one; and for several words that are whole names as they
were typed. More than all that makes somebody likely: whoever types a name means it."""
GONE = -2.0
"""For somebody who is no longer in the newest import of the tree."""
SPELLED = 3
"""Letters from which nearly the same spelling is looked for."""
_LEAST = 1e-3  # a factor below which differences no longer matter
_IMPOSSIBLE = 1000.0  # more than all that can speak for somebody
_NAMES_APART = 1e-9
_NARROW = 25  # years by which an age may be uncertain and still be shown
_OFTENEST = 3  # people of the container whose kin are shown where nobody is named in the photograph itself
_ONE_LOT = 40  # people whose years are looked up at a time
_MANY = 10_000  # times a word occurs in names, beyond which it is quicker to look through the names in order


@dataclass(frozen=True, slots=True)
class Offer(PersonCard):
    """Somebody who could be on the face. `found_as` is the other name that matched the letters, "" when it was `name`;
    `kin` is their relationship to somebody named already; `why` is what speaks for them, or against them when `fits` is
    False."""

    found_as: str
    kin: str
    why: str
    fits: bool


@dataclass(frozen=True, slots=True)
class Offers:
    """The first few who could be meant, best first; `more` when the letters fit others too."""

    photograph: str
    letters: str
    people: tuple[Offer, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class Taken:
    """The days on which the photograph was likely taken, and the first and last possible day."""

    first: int
    last: int
    earliest: int
    latest: int

    @classmethod
    def of(cls, estimate: Estimate) -> Taken:
        """By an estimate; every possible day where none is likely."""
        return cls(*estimate.shown_range, estimate.earliest, estimate.latest)


def offers(
    connection: Connection,
    photograph: str,
    letters: str = "",
    *,
    age: str | None = None,
    region: str | None = None,
    most: int = 8,
) -> Offers:
    """Who could be on the face `region` (an id, or left,top,width,height), with these letters in their names, best
    first, by the estimate as it is kept. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    years = parse_age(age) if age else None
    row = find_photograph(connection, photograph)
    around, taken = nearby_people(connection, row, region), when_taken(connection, row["id"])
    people_index = kept_people(connection)
    score = _score(connection, people_index, around, taken, years)
    alike = likenesses(connection, row, region)
    for id_, found in alike.items():
        if id_ in people_index.places:
            score[people_index.places[id_]] += found.weight
    order = np.argsort(_NAMES_APART * np.arange(len(score)) - score)  # of equals the first in the order of names
    out = {people_index.places[id_] for id_ in around.excluded if id_ in people_index.places}
    for tried in dict.fromkeys((letters, without_address(letters))):
        fitting: Iterator[tuple[int, float]] = (
            one for one in _matching(people_index, order, tried) if one[0] not in out
        )
        if typed := _years(tried):
            fitting = _with_years(connection, fitting, people_index, typed)
        shown = _first(fitting, score, most + 1, _most_literal(tried))
        others, similar = ([], False) if shown else _perhaps_meant(connection, people_index, tried, most)
        others = [id_ for id_ in others if id_ not in out]
        if shown or others:
            break
    made = _offered(connection, people_index, shown[:most] or others, around, taken, letters, alike)
    if similar:
        made = (replace(one, why="; ".join(filter(None, ("spelled nearly the same", one.why)))) for one in made)
    return Offers(row["code"], letters, tuple(made), len(shown) > most)


def _perhaps_meant(
    connection: Connection, people_index: PeopleIndex, letters: str, most: int
) -> tuple[list[int], bool]:
    """Where nobody has that name, those who are that to the proband ("grandma"), or whose names are spelled nearly as
    typed, better one of them than somebody new twice; and whether it is their spelling."""
    found = find(connection, letters, most=most) if len(letters.strip()) >= SPELLED else None
    if found is None:
        return [], False
    codes = (one.id.casefold() for one in found.people)
    return [people_index.codes[code] for code in codes if code in people_index.codes], found.similar


def when_taken(connection: Connection, photograph_id: int) -> Taken | None:
    """By the estimate as it is kept; None where there is none."""
    p, e = t.photograph.c, t.estimate.c
    query = select(p.code, *e).join(t.photograph, p.id == e.photograph_id).where(p.id == photograph_id)
    row = connection.execute(query).mappings().first()
    return None if row is None else Taken.of(as_estimate(row))


def _matching(people_index: PeopleIndex, order: Array, letters: str) -> Iterator[tuple[int, float]]:
    """Those who have each of the words in a name, in this order, and what that counts: more where each word begins one
    of their names, and most where each is one."""
    of_code = people_index.codes.get(letters.strip().strip("@").casefold())
    if of_code is not None:
        yield of_code, BEGINS
        return
    words = _words(letters)
    for word in words:
        if people_index.called.text.count(word) < _MANY:  # a word that is in many names is never far
            order = order[people_index.called.having(word)[order]]
    for year in _years(letters):
        order = order[people_index.alive_in(year)[order]]
    for place in order.tolist():
        line = people_index.called.lines[place]
        if all(word in line for word in words):
            begins = bool(words) and all(f" {word}" in line for word in words)
            whole = begins and len(words) > 1 and all(f" {word} " in f"{line} " for word in words)
            yield place, BEGINS * begins + WHOLE * whole


def _most_literal(letters: str) -> float:
    """The most that these letters can count for anybody."""
    return (0.0, BEGINS, BEGINS + WHOLE)[min(len(_words(letters)), 2)]


def _words(letters: str) -> list[str]:
    """The words of what was typed; a number is (the beginning of) a year."""
    return [word for word in understood(letters)[0] if not word.isdecimal()]


def _years(letters: str) -> list[int]:
    """The years that were typed to the end."""
    return [year for year in understood(letters)[1] if year > 999]


def _score(
    connection: Connection,
    people_index: PeopleIndex,
    around: NearbyPeople,
    taken: Taken | None,
    years: tuple[float, float] | None,
) -> Array:
    """The score of everybody, before any letter is typed; those who cannot have been there come last."""
    score = closeness(connection, people_index, around, inf if taken is None else taken.last)
    if taken is not None:
        score += np.log(np.maximum(fit(people_index.lives, taken.first, taken.last, years), _LEAST))
        score[~people_index.lives.possible(taken.earliest, taken.latest)] -= _IMPOSSIBLE
    for back, id_ in enumerate(around.lately):
        score[people_index.places[id_]] += RECENT * (1 - back / LATELY)
    return np.asarray(score + GONE * people_index.gone)


def closeness(connection: Connection, people_index: PeopleIndex, around: NearbyPeople, day: float = inf) -> Array:
    """How near everybody is to the people around a face, as the logarithm of how much likelier that makes them, 0 for
    not near at all. Whoever married into the family after `day`, the last on which the photograph was likely taken, is
    hardly near yet, however often they are in the box."""
    weights = np.array(KIN)
    steps = people_index.steps_from(around.beside, day)
    near = weights[steps]
    near += KIN_IN_BOX * weights[people_index.steps_from(around.often)]
    proband = proband_id(connection)
    if proband is not None:
        near += KIN_OF_PROBAND * weights[people_index.steps_from([proband])]
    for id_, times in around.often.items():
        near[people_index.places[id_]] += OFTEN * np.log1p(times)
    later = (steps > NEAREST) & (people_index.steps_from(around.beside) <= NEAREST)
    near[later] = np.minimum(near[later], NOT_YET)
    for id_ in around.waiting | around.on_face:
        near[people_index.places[id_]] += HERE
    return np.asarray(near)


def _with_years(
    connection: Connection, fitting: Iterator[tuple[int, float]], people_index: PeopleIndex, years: list[int]
) -> Iterator[tuple[int, float]]:
    """Those of them who were alive in these years."""
    identity = read_identity(connection)
    while lot := list(islice(fitting, _ONE_LOT)):
        lived = lives(connection, {int(people_index.ids[place]) for place, _ in lot}, identity)
        yield from (one for one in lot if all(lived[int(people_index.ids[one[0]])].covers(year) for year in years))


def _first(fitting: Iterator[tuple[int, float]], score: Array, most: int, most_literal: float) -> list[int]:
    """The best of those who fit, who come in the order of their scores: the search ends once even a name that is just
    what was typed, which counts `most_literal`, would not be enough."""
    best: list[tuple[float, int]] = []
    for place, literal in fitting:
        if len(best) == most and best[0][0] >= score[place] + most_literal:
            break
        heappush(best, (score[place] + literal, -place))
        if len(best) > most:
            heappop(best)
    return [-place for _, place in sorted(best, reverse=True)]


def _offered(
    connection: Connection,
    people_index: PeopleIndex,
    places: list[int],
    around: NearbyPeople,
    taken: Taken | None,
    letters: str,
    alike: dict[int, FaceLikeness],
) -> Iterator[Offer]:
    """The people at these places, with all that is shown of them."""
    ids = [int(people_index.ids[place]) for place in places]
    found, kin = person_cards(connection, ids, PersonCard), kin_to(connection, ids, around)
    likeness = likeness_words(connection, ids, alike)
    for place, id_ in zip(places, ids, strict=True):
        against = _against(people_index, place, taken)
        yield Offer.of(
            found[id_],
            found_as=_found_as(people_index.called.names[place], _words(letters)),
            kin=kin.get(id_, ""),
            why=against or ", ".join([*speaks_for(people_index, place, id_, around, taken), *likeness.get(id_, ())]),
            fits=not against,
        )


def likeness_words(
    connection: Connection, ids: list[int], alike: dict[int, FaceLikeness]
) -> dict[int, tuple[str, ...]]:
    """What a likeness says for each of these people, in words; nothing for most."""
    p = t.person.c
    told = [id_ for id_ in ids if id_ in alike and alike[id_].weight >= MENTIONED]
    rows = connection.execute(select(p.id, p.sex).where(p.id.in_(told))) if told else ()
    return {row.id: (phrase(alike[row.id], row.sex or ""),) for row in rows}


def kin_to(connection: Connection, ids: list[int], around: NearbyPeople) -> dict[int, str]:
    """Who they are to those named in the photograph, or to those named most often in the container."""
    often = sorted(around.often, key=lambda id_: -around.often[id_])
    return phrases(connection, ids, around.beside or often[:_OFTENEST])


def _against(people_index: PeopleIndex, place: int, taken: Taken | None) -> str:
    """Why somebody cannot have been there; "" when they can have been."""
    if taken is None:
        return ""
    if people_index.lives.not_before[place] > taken.latest:
        return f"was not born before {year_of(int(people_index.lives.not_before[place]))}"
    if people_index.lives.died[place] < taken.earliest:
        return f"had died by {year_of(int(people_index.lives.died[place]))}"
    return ""


def speaks_for(
    people_index: PeopleIndex, place: int, id_: int, around: NearbyPeople, taken: Taken | None
) -> Iterator[str]:
    """What speaks for somebody, a few words each."""
    if id_ in around.on_face:
        yield "named on this face"
    elif id_ in around.waiting:
        yield "in this photograph, on no face yet"
    if taken is not None and np.isfinite(people_index.lives.born[place]):
        born, late = people_index.lives.born[place], people_index.lives.born_last[place]
        low, high = (int((day - birth) / DAYS_PER_YEAR) for day, birth in ((taken.first, late), (taken.last, born)))
        if 0 <= high - max(low, 0) <= _NARROW:
            yield f"would have been {age_words(max(low, 0), high)}"
    if times := around.often.get(id_, 0):
        yield f"in {counted(times, 'other picture')} in {around.box}"


def _found_as(called: Sequence[tuple[str, str]], words: list[str]) -> str:
    """The other names that have the words, "" where the one they go by has them all."""
    names: dict[str, None] = {}
    for word in words:
        names.setdefault(min((as_ for as_, folded in called if word in folded), default=""))
    return ", ".join(filter(None, names))
