"""Who the unnamed people of a photograph could be, with what speaks for each: shown, never saved by itself.

Candidates are near in the family or the container (`name_offers.closeness`); the likeliest of them are examined as
closely as the photograph's own date (`reason/advice/who.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

import numpy as np
from sqlalchemy import Connection, select

from kinphoto.archive.asking.name_offers import GONE, Taken, closeness, kin_to, likeness_words, speaks_for
from kinphoto.archive.asking.nearby_people import NearbyPeople, nearby_people
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.dates import one_photograph
from kinphoto.archive.dates.estimates import find_dated
from kinphoto.archive.dates.evidence import gather_reached
from kinphoto.archive.dates.neighbourhood import reach_people
from kinphoto.archive.faces.likeness import FaceLikeness, likenesses
from kinphoto.archive.people.age_fit import fit
from kinphoto.archive.people.people_index import PeopleIndex, kept_people
from kinphoto.archive.statements.recorded_faces import faces
from kinphoto.archive.words.sentences import aged
from kinphoto.documents import INLINE, OR_NULL, Key
from kinphoto.reason.model import evidence as ev
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.reason.advice.who import Guesses
    from kinphoto.reason.dating import LocalInference
    from kinphoto.reason.soft.summary import Posterior

LOOKED_AT = 40
"""People who are examined closely; the others are far less likely."""
SHOWN = 0.005
"""Probability below which nobody is shown."""
SUITS, HARDLY = 1.5, 0.5
"""How much better or worse than a stranger's the ages must suit somebody to be mentioned."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Somebody it could be."""

    person: Annotated[str, "the id of somebody it could be, likeliest first"]
    name: Annotated[str, "their name"]
    life: Annotated[Life, INLINE]
    probability: Annotated[float, "how likely it is them; a guess, never evidence"]
    reasons: Annotated[tuple[str, ...], "what speaks for them, in words"]


@dataclass(frozen=True, slots=True)
class UnnamedPerson:
    """Somebody without a name."""

    appearance: Annotated[str, "somebody without a name: the appearance's id, `A7`"]
    region: Annotated[str | None, "the face's id, `R3`; null for somebody with no face framed"]
    number: Annotated[
        int, Key("face"), OR_NULL, "its number in reading order, as on the page; null for somebody with no face framed"
    ]
    looks: Annotated[str, OR_NULL, "how old they look or are known to be; null where nobody said"]
    suggestions: Annotated[tuple[Suggestion, ...], Key("people")]
    somebody_else: Annotated[float, "the chance that it is nobody among the family and friends close to the photograph"]


@dataclass(frozen=True, slots=True)
class Who:
    """The unnamed people of one photograph."""

    photograph: Annotated[str, "the photograph's code"]
    unnamed: tuple[UnnamedPerson, ...]


def who(connection: Connection, photograph: str, most: int = 8, faces_at_most: int = 100) -> Who:
    """Who the unnamed people of a photograph could be, likeliest first, at most `most` for each. Raises
    NotFoundError, AmbiguousError, InvalidValueError for an album page."""
    from kinphoto.reason.advice import who as somebody
    from kinphoto.reason.model import lookup

    id_ = find_dated(connection, photograph)
    row = connection.execute(select(t.photograph).where(t.photograph.c.id == id_)).mappings().one()
    around = one_photograph.near(connection, id_)
    bodies = somebody.unnamed(around.code, lookup.look_up(around.evidence))
    if not bodies:
        return Who(around.code, ())
    bodies = dict(list(bodies.items())[:faces_at_most])
    taken = Taken.of(around.look().dated_exposures[around.code].estimate)
    numbers = {face.region: n for n, face in enumerate(faces(connection, around.code).faces, 1)}
    beside = {key: nearby_people(connection, row, seen[0].region) for key, seen in bodies.items()}
    ages = {key: _ages(seen, around.evidence) for key, seen in bodies.items()}
    judged = {key: (of[0].low, of[0].high) if of else None for key, of in ages.items()}
    people_index = kept_people(connection)
    alike = {key: likenesses(connection, row, seen[0].region) for key, seen in bodies.items()}
    near = {key: shortlist(connection, people_index, beside[key], taken, judged[key], alike[key]) for key in bodies}
    codes, looked = _looked_at(connection, around, {i for ids in near.values() for i in ids})
    found = []
    for key, seen in bodies.items():
        guesses = somebody.who(
            somebody.unnamed_face(seen, looked.lives.known), {codes[i]: weight for i, weight in near[key].items()},
            _when(looked, around.code), looked.lives,
        )  # fmt: skip
        suggestions = tuple(_suggested(connection, people_index, guesses, beside[key], taken, most, alike[key]))
        looks = "; ".join(dict.fromkeys(aged(age.kind, age.low, age.high) for age in ages[key]))
        found.append(
            UnnamedPerson(seen[0].id, seen[0].region, numbers.get(key, 0), looks, suggestions, guesses.somebody_else)
        )
    return Who(around.code, tuple(found))


def _looked_at(
    connection: Connection, around: one_photograph.Neighbourhood, people: set[int]
) -> tuple[dict[int, str], LocalInference]:
    """The codes of these people, and the photograph looked at closely together with what the tree says of them."""
    p = t.person.c
    codes = {row.id: row.code for row in rows_of(connection, select(p.id, p.code), p.id, people)}
    here, tree = around.evidence, gather_reached(reach_people(connection, people))
    everybody = {p.id: p for p in (*here.people, *tree.people)}
    statements = {s.id: s for s in (*here.statements, *tree.statements)}
    together = ev.Evidence(tuple(everybody.values()), here.photographs, tuple(statements.values()))
    return codes, replace(around, evidence=together).look()


def _ages(seen: Sequence[ev.Appearance], evidence: ev.Evidence) -> list[ev.Age]:
    """The ages recorded for somebody."""
    ids = {a.id for a in seen}
    return [s for s in evidence.statements if isinstance(s, ev.Age) and s.appearance in ids]


def shortlist(
    connection: Connection,
    people_index: PeopleIndex,
    beside: NearbyPeople,
    taken: Taken,
    age: tuple[float, float] | None = None,
    alike: dict[int, FaceLikeness] | None = None,
) -> dict[int, float]:
    """The weights of the people (row ids) around a face who are likeliest to have been there; of everybody who can have
    been, where nobody is near."""
    near = closeness(connection, people_index, beside, taken.last)
    weights = np.where(near > 0, np.exp(near), 0.0) if near.any() else np.ones_like(near)
    weights[[people_index.places[i] for i in beside.excluded if i in people_index.places]] = 0.0
    weights[~people_index.lives.possible(taken.earliest, taken.latest)] = 0.0
    weights *= np.exp(GONE * people_index.gone)
    for id_, found in (alike or {}).items():
        if id_ in people_index.places:
            weights[people_index.places[id_]] *= np.exp(found.weight)
    suits = fit(people_index.lives, taken.first, taken.last, age)
    best = np.argsort(-weights * np.maximum(suits, 1e-6), kind="stable")[:LOOKED_AT]
    return {int(people_index.ids[place]): float(weights[place]) for place in best if weights[place] > 0}


def _when(looked: LocalInference, code: str) -> Posterior:
    """When the photograph was taken; every possible day alike, where nothing is likely."""
    from kinphoto.reason.soft import grid
    from kinphoto.reason.soft.summary import Posterior

    found = looked.dated_exposures[code]
    if found.posterior is not None:
        return found.posterior
    cells = grid.cells(found.estimate.earliest, found.estimate.latest)
    return Posterior(cells.edges, cells.width / cells.width.sum())


def _suggested(
    connection: Connection,
    people_index: PeopleIndex,
    guesses: Guesses,
    beside: NearbyPeople,
    taken: Taken,
    most: int,
    alike: dict[int, FaceLikeness],
) -> Iterator[Suggestion]:
    shown = [g for g in guesses.guesses[:most] if g.probability >= SHOWN]
    p = t.person.c
    rows = {
        r.code: r for r in connection.execute(select(p.id, p.code, p.name).where(p.code.in_(g.person for g in shown)))
    }
    ids = [rows[g.person].id for g in shown]
    lived, kin = lives(connection, ids, read_identity(connection)), kin_to(connection, ids, beside)
    likeness = likeness_words(connection, ids, alike)
    for guess in shown:
        id_, code, name = rows[guess.person]
        reasons = [kin.get(id_, ""), *speaks_for(people_index, people_index.places[id_], id_, beside, taken)]
        reasons += likeness.get(id_, ())
        if guess.suits >= SUITS:
            reasons.append("the age fits")
        elif guess.suits <= HARDLY:
            reasons.append("the age hardly fits")
        yield Suggestion(code, name or code, lived[id_], guess.probability, tuple(filter(None, reasons)))
