"""How people of the archive are related, in words: two of them in full, or many to one of them in short.

What counts as closest, and what is searched at all: lines of descent by birth and by adoption without any limit; one
marriage at either end of such a line; and where there is neither, a marriage between near kin (`kin_reading.NEAR`
steps) or a marriage at both ends. Somebody's stepmother is whom the father married within the child's life: his wife
who died before the child's birth is the father's wife.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding_people import find_relative
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import Life, lives, rows_of
from kinphoto.archive.people.kin_paths import Kindred, KinRelation
from kinphoto.archive.people.kin_reading import NEAR, read_bridges, read_ties, with_above
from kinphoto.archive.people.kin_words import YOU, KinFacts, each, step_pairs, together, words
from kinphoto.archive.people.proband import proband_id
from kinphoto.documents import INTERNAL, OR_NULL, Key
from kinphoto.store import tables as t

_AT_ONCE = 100  # people whose ties are read together


@dataclass(frozen=True, slots=True)
class Somebody:
    """A person as they are named."""

    id: Annotated[str, "a person's id"]
    name: Annotated[str, "their name"]
    sex: Annotated[str, INTERNAL]
    outside: Annotated[bool, INTERNAL] = False
    gone: Annotated[bool, INTERNAL] = False


@dataclass(frozen=True, slots=True)
class KinPath:
    """One way that two people are related."""

    words: Annotated[
        str,
        (
            "one of the relations: what the first is to the second; the closest comes first (husband and "
            "wife, then by degree, a marriage counted as two), six at most"
        ),
    ]
    in_return: Annotated[str, "what the second is to the first by it"]
    up: Annotated[
        int | None,
        (
            "generations from the first up to the common ancestors; with one marriage those of the line at "
            "whose end it is; null when there is no such line or more than one"
        ),
    ]
    down: Annotated[int | None, "generations from there down to the second, likewise"]
    ancestors: Annotated[tuple[Somebody, ...], INTERNAL]
    full: Annotated[
        bool | None,
        (
            "whether the two children of the common ancestors through whom it goes have both parents in "
            "common; false: half; null where the tree does not say, and in a straight line"
        ),
    ]
    canon: Annotated[
        int | None,
        (
            "the degree in canon law as counted until 1983, the longer of the two sides; with one marriage "
            "that of the affinity; null like `up`"
        ),
    ]
    civil: Annotated[int | None, "the degree in civil law, both sides together; otherwise likewise"]
    marriages: Annotated[int, "how many marriages it leads over"]
    through: Annotated[tuple[Somebody, ...], INTERNAL]

    @property
    def ancestor_ids(
        self,
    ) -> Annotated[
        list[str],
        Key("common_ancestors"),
        "ids of the ancestors in common, two for a couple; in a straight line the elder",
    ]:
        """The ids of the common ancestors."""
        return [one.id for one in self.ancestors]

    @property
    def through_ids(
        self,
    ) -> Annotated[list[str], Key("through"), "ids of the people at those marriages, but for the two themselves"]:
        """The ids of the people at the marriages."""
        return [one.id for one in self.through]


@dataclass(frozen=True, slots=True)
class Kinship:
    """How two people are related, in words and each way. For one and the same person the words are that, with no
    path."""

    one: Annotated[Somebody, Key("person"), "the first person"]
    other: Annotated[Somebody, "the second person"]
    words: Annotated[
        str,
        OR_NULL,
        "what the first is to the second, every relation found, the closest first; null when none was found",
    ]
    in_return: Annotated[str, OR_NULL, "what the second is to the first"]
    paths: tuple[KinPath, ...]
    within: Annotated[
        int, "steps of kinship, on both sides together, to which a marriage in the middle was looked for"
    ] = NEAR

    @property
    def same(
        self,
    ) -> Annotated[
        bool,
        "true when both are one person, perhaps because somebody outside the tree turned out to be the other",
    ]:
        """Whether the two are one person."""
        return self.one.id == self.other.id


def kin(connection: Connection, one: str, other: str) -> Kinship:
    """How two people are related: what the first is to the second. Raises NotFoundError, AmbiguousError."""
    first, second = find_relative(connection, one), find_relative(connection, other)
    if first["id"] == second["id"]:
        return Kinship(_somebody(first), _somebody(second), "the same person", "the same person", ())
    family = _Family(connection, [first["id"], second["id"]])
    relations = family.relations(second["id"], [first["id"]]).get(first["id"], [])
    persons = family.persons(relations)
    ancestors = {id_ for relation in relations for line in relation.lines for id_ in line.ancestors}
    named = _named(connection, ancestors.union(*(relation.through for relation in relations)))
    turned = [relation.turned() for relation in relations]
    paths = tuple(_path(relation, persons, named) for relation in turned)
    return Kinship(_somebody(first), _somebody(second), together(relations, persons), together(turned, persons), paths)


def kin_of(connection: Connection, person_id: int, others: Collection[int], whose: str | None = None) -> dict[int, str]:
    """What each of the others is to a person, in short and without names: "her sister", "his wife's uncle".

    Row ids in and out; only the closest relation is given, and whoever has none is left out. `whose` stands for "her"
    ("your"); the person themselves is left out, too. It takes about as long for many others as for a few.
    """
    identity = read_identity(connection)
    person, wanted = identity.of(person_id), list(dict.fromkeys(map(identity.of, others)))
    said: dict[int, str] = {}
    for start in range(0, len(wanted), _AT_ONCE):
        some = [id_ for id_ in wanted[start : start + _AT_ONCE] if id_ != person]
        family = _Family(connection, [person, *some])
        found = family.relations(person, some)
        persons = family.persons([relation for relations in found.values() for relation in relations])
        said |= {id_: next(each(relations, persons)) for id_, relations in found.items()}
    whose = whose or {"M": "his", "F": "her"}.get(row_of(connection, t.person, person)["sex"], "their")
    return {id_: f"{whose} {said[identity.of(id_)]}" for id_ in others if identity.of(id_) in said}


def phrases(connection: Connection, people: Collection[int], named: Sequence[int] = ()) -> dict[int, str]:
    """Who each of these people is, for a list to choose from: "your great-grandmother, sister of Tom Marsh".

    From the point of view of the proband, if there is one, and of whoever of those `named` already (in a photograph)
    they are most closely related to. Row ids; whoever is related to none of them is left out.
    """
    found: dict[int, list[str]] = {}
    proband = proband_id(connection)
    if proband is not None:
        identity = read_identity(connection)
        for id_, said in kin_of(connection, proband, people, "your").items():
            found[id_] = [said]
        found.update({id_: [YOU] for id_ in people if identity.of(id_) == proband})
    for id_, said in _of_the_nearest(connection, people, [id_ for id_ in named if id_ != proband]).items():
        found.setdefault(id_, []).append(said)
    return {id_: ", ".join(said) for id_, said in found.items()}


def phrases_by_code(connection: Connection, people: Sequence[str]) -> dict[str, str]:
    """The same from the point of view of the proband alone, for people by their ids in the tree (`I12`)."""
    p = t.person.c
    codes = {row[1]: row[0] for row in connection.execute(select(p.code, p.id).where(p.code.in_(people)))}
    return {codes[id_]: said for id_, said in phrases(connection, list(codes)).items()}


class _Family:
    """The ties around some people, the relations that follow from them, and who those people are."""

    def __init__(self, connection: Connection, people: Collection[int]) -> None:
        self._connection = connection
        self._ties = read_ties(connection, people)
        self._kindred = Kindred(self._ties)

    def relations(self, person: int, others: Collection[int]) -> dict[int, list[KinRelation]]:
        """How each of the others is related to a person, the closest relation first; nothing for who is not."""
        found = {other: self._kindred.relations(person, other) for other in others}
        lost = [other for other, relations in found.items() if not relations and other != person]
        if lost:
            bridges = read_bridges(self._connection, person, lost)
            self._reach({id_ for bridge in bridges.values() for id_ in (bridge.one, bridge.other)})
            found |= {other: self._kindred.last_resort(person, other, bridges.get(other)) for other in lost}
        return {other: relations for other, relations in found.items() if relations}

    def _reach(self, people: Collection[int]) -> None:
        """Take in people who were not asked about."""
        ties = with_above(self._connection, self._ties, people)
        if ties is not self._ties:
            self._ties, self._kindred = ties, Kindred(ties)

    def persons(self, relations: Collection[KinRelation]) -> KinFacts:
        """What the words need to know of everybody in these relations."""
        p = t.person.c
        ids = {id_ for relation in relations for line in relation.lines for id_ in (line.start, line.end)}
        sex = {row[0]: row[1] for row in rows_of(self._connection, select(p.id, p.sex), p.id, ids)}
        met = {id_ for relation in relations for pair in step_pairs(relation) for id_ in pair}
        lived = lives(self._connection, met) if met else {}
        return KinFacts(sex, lambda one, other: _can_have_met(lived[one], lived[other]))


def _can_have_met(one: Life, other: Life) -> bool:
    """Whether neither was dead for certain when the other was born."""
    return not (_ended_before(one, other) or _ended_before(other, one))


def _ended_before(one: Life, other: Life) -> bool:
    end = one.end.date.span.last if one.end else None
    begin = other.begin.date.span.first if other.begin and other.begin.verb == "born" else None
    return end is not None and begin is not None and end < begin


def _of_the_nearest(connection: Connection, people: Collection[int], named: Sequence[int]) -> dict[int, str]:
    """ "sister of Tom Marsh": what each is to whomever of those named they are most closely related to."""
    if not named:
        return {}
    identity = read_identity(connection)
    known, asked = dict.fromkeys(map(identity.of, named)), set(map(identity.of, people))
    family = _Family(connection, {*known, *asked})
    nearest: dict[int, KinRelation] = {}
    for whom in known:
        for who, (relation, *_) in family.relations(whom, asked - {whom}).items():
            nearest[who] = min(relation, nearest.get(who, relation), key=lambda each: each.rank)
    persons = family.persons(nearest.values())
    names = _named(connection, set(known))
    said = {who: _of(names[found.lines[0].start], words(found, persons)) for who, found in nearest.items()}
    return {id_: said[identity.of(id_)] for id_ in people if identity.of(id_) in said}


def _path(relation: KinRelation, persons: KinFacts, named: Mapping[int, Somebody]) -> KinPath:
    """A relation that begins with the first person, in words."""
    lines = [line for line in relation.lines if line.civil]
    line = lines[0] if len(lines) == 1 and len(relation.bonds) < 2 else None
    return KinPath(
        words=words(relation.turned(), persons),
        in_return=words(relation, persons),
        up=line.up if line else None,
        down=line.down if line else None,
        ancestors=tuple(named[id_] for id_ in line.ancestors) if line else (),
        full=line.full if line else None,
        canon=line.canon if line else None,
        civil=line.civil if line else None,
        marriages=len(relation.bonds),
        through=tuple(named[id_] for id_ in relation.through),
    )


def _named(connection: Connection, ids: Collection[int]) -> dict[int, Somebody]:
    p = t.person.c
    query = select(p.id, p.code, p.name, p.sex, p.outside, p.gone)
    return {row[0]: _somebody(row._mapping) for row in rows_of(connection, query, p.id, ids)}


def _somebody(row: RowMapping) -> Somebody:
    return Somebody(row["code"], row["name"], row["sex"], bool(row["outside"]), bool(row["gone"]))


def _of(whom: Somebody, said: str) -> str:
    """ "sister of Tom Marsh", "Tom Marsh's wife's uncle" """
    name = whom.name or whom.id
    return f"{name}'s {said}" if "'s " in said else f"{said} of {name}"
