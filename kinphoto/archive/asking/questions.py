"""What to ask next, most telling first: each question in words that can be read aloud, with who could know.

What a question is worth is worked out in `reason/advice/question.py` from the archive as a whole; who could know is
told from the lives of the informants: whoever is living and is in the photograph, or shared five years with somebody
who is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.asking.nearby_people import nearby_people
from kinphoto.archive.asking.who import shortlist, taken_of
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.kinds import AGE_KINDS, RELATION_KINDS
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.estimates import as_estimate, read_settlement, refresh
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.faces import faces
from kinphoto.archive.statements.trusts import can_have_known
from kinphoto.archive.words.sentences import Sentences
from kinphoto.errors import NotFoundError
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Span, at_least
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.people.people_index import PeopleIndex
    from kinphoto.reason.advice.question import Question

MOST_UNNAMED = 200
"""Unnamed people whose possible names are looked up, those of the widest photographs first."""
OF_IT = ("taken", "inscription", "recollection")
"""Kinds of statement that tell when a photograph was taken."""
NOBODY_LEFT = 0.25
"""What is left of the chance of an answer where none of the informants can know it (a judgement of the project)."""
FIRST_MEMORIES = at_least(4)
"""Days of a life before which nobody remembers anything later (common practice: about the fourth year)."""
KEPT = 1000
"""Questions that are told, the best."""
MOST_SHOWN = 12
"""Photographs that a question about a life names."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A question in words. `kind` is age, date, order, birth, death or who; `people` are those it is about (for `who`,
    those whom it could be), `names` what they are called; `informants` those who could know. `appearance` and `region`
    tell whose age or name is asked for. `key` names the question as long as it is the same one."""

    key: str
    kind: str
    text: str
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    names: tuple[str, ...]
    bits: float
    informants: tuple[str, ...]
    appearance: str | None
    region: str | None


@dataclass(frozen=True, slots=True)
class QuestionList:
    """The questions, for one informant (None: for anybody). `known`: it is known who of the tree that is, so that only
    what they could know is asked; `living`: as far as is known, they can be."""

    informant: str | None
    known: bool
    living: bool
    questions: tuple[Asked, ...]


def ask(archive: Archive, of: str | None = None, *, as_kept: bool = False) -> QuestionList:
    """Everything worth asking, of one informant or of anybody. Raises NotFoundError when nobody is called `of`.

    The estimates are made anew first; with `as_kept` neither they are nor the questions, if there are any.
    """
    if not as_kept:
        refresh(archive)
    with archive.reading() as connection:
        name, person = (None, None) if of is None else _informant(connection, of)
        living = person is None or bool(may_be_living(connection, {person}))
    asked = archive.everything_to_ask(as_kept=as_kept)
    if name is None or person is None:
        return QuestionList(name, False, True, asked)
    return QuestionList(name, True, living, tuple(q for q in asked if name in q.informants))


def everything(connection: Connection, people_index: PeopleIndex) -> tuple[Asked, ...]:
    """Everything worth asking of anybody, most telling first."""
    from kinphoto.reason.advice import question as reasoned

    evidence = gather(connection)
    rows = _widest(connection, reasoned.MOST)
    photographs = [row["code"] for row in rows]
    boxes = {row["code"]: str(row["container_id"]) for row in rows if row["container_id"] is not None}
    beside = reasoned.Context(
        boxes,
        _unnamed(connection, people_index, evidence, rows),
        _of_nobody(connection, people_index, evidence, rows),
        _dead(connection, evidence),
    )
    found = reasoned.questions(evidence, photographs, beside, read_settlement(connection).informants or None)
    return tuple(_Telling(connection, evidence, rows, found[:KEPT]).told())


def still_open(connection: Connection, asked: Sequence[Asked]) -> tuple[Asked, ...]:
    """Those of the questions that nobody has answered since they were worked out."""
    s, a, p, o = t.statement.c, t.appearance.c, t.photograph.c, t.photograph.alias()
    stands = s.withdrawn == 0
    aged = set(connection.scalars(select(s.appearance_id).where(stands, s.kind.in_(AGE_KINDS))))
    unnamed = set(connection.scalars(select(a.id).where(a.withdrawn == 0, a.person_id.is_(None))))
    noted = set(connection.scalars(select(p.code).join(t.appearance, a.photograph_id == p.id).where(a.withdrawn == 0)))
    named = set(connection.scalars(select(a.id).where(a.withdrawn == 0, a.person_id.is_not(None))))
    told = (
        select(p.code).join(t.statement, s.photograph_id == p.id).where(stands, s.kind.in_(OF_IT), s.last.is_not(None))
    )
    dated = set(connection.scalars(told.where(s.first.is_not(None))))
    ties = select(p.code, o.c.code.label("other")).join(t.statement, s.photograph_id == p.id)
    related = {
        frozenset((row.code, row.other))
        for row in connection.execute(ties.join(o, o.c.id == s.other_id).where(stands, s.kind.in_(RELATION_KINDS)))
    }

    def is_open(one: Asked) -> bool:
        appearance = int(one.appearance[1:]) if one.appearance else 0
        return {
            "age": appearance in named and appearance not in aged,
            "date": not dated.intersection(one.photographs),
            "order": frozenset(one.photographs) not in related,
            "who": appearance in unnamed if appearance else noted.isdisjoint(one.photographs),
        }.get(one.kind, True)

    return tuple(one for one in asked if is_open(one))


def _informant(connection: Connection, name: str) -> tuple[str, int | None]:
    """What an informant is called and who of the tree that is."""
    rows = connection.execute(select(t.informant)).mappings().all()
    alike = [row for row in rows if fold(row["name"]) == fold(name)]
    if not alike:
        raise NotFoundError(f"there is no informant called '{name}'", remedy="They are listed by: kinphoto informants.")
    return alike[0]["name"], alike[0]["person_id"]


def _widest(connection: Connection, most: int) -> Sequence[RowMapping]:
    """The photographs whose dates are least known, by the estimates as they are kept."""
    e, p = t.estimate.c, t.photograph.c
    width = func.coalesce(e.likely_to - e.likely_from, e.latest - e.earliest)
    query = select(p.id.label("photograph"), p.code, p.container_id, p.title, *t.estimate.c).join(
        t.photograph, p.id == e.photograph_id
    )
    return connection.execute(query.order_by(width.desc(), p.code).limit(most)).mappings().all()


def _unnamed(
    connection: Connection, people_index: PeopleIndex, evidence: ev.Evidence, rows: Sequence[RowMapping]
) -> dict[str, Mapping[str, float]]:
    """Who the unnamed people of these photographs could be, by appearance."""
    from kinphoto.reason.advice.who import unnamed
    from kinphoto.reason.model.lookup import look_up

    known = look_up(evidence)
    codes = dict(_codes(connection))
    found: dict[str, Mapping[str, float]] = {}
    for row in rows:
        for seen in unnamed(row["code"], known).values():
            if len(found) == MOST_UNNAMED:
                return found
            found[seen[0].id] = _could_be_there(connection, people_index, codes, row, seen[0].region)
    return found


def _of_nobody(
    connection: Connection, people_index: PeopleIndex, evidence: ev.Evidence, rows: Sequence[RowMapping]
) -> dict[str, Mapping[str, float]]:
    """Who could be in those of these photographs in which nobody was noted yet, by photograph."""
    noted = {s.photograph for s in evidence.statements if isinstance(s, ev.Appearance)}
    codes = dict(_codes(connection))
    of_nobody = [row for row in rows if row["code"] not in noted][:MOST_UNNAMED]
    return {row["code"]: _could_be_there(connection, people_index, codes, row, None) for row in of_nobody}


def _could_be_there(
    connection: Connection, people_index: PeopleIndex, codes: Mapping[int, str], row: RowMapping, region: str | None
) -> dict[str, float]:
    """The weights of those (codes) who are near to a photograph, or to one region of it."""
    of_it = select(t.photograph).where(t.photograph.c.id == row["photograph"])
    beside = nearby_people(connection, connection.execute(of_it).mappings().one(), region)
    near = shortlist(connection, people_index, beside, taken_of(as_estimate(row)))
    return {codes[i]: weight for i, weight in near.items()}


def _codes(connection: Connection) -> Iterable[tuple[int, str]]:
    return ((row.id, row.code) for row in connection.execute(select(t.person.c.id, t.person.c.code)))


def _dead(connection: Connection, evidence: ev.Evidence) -> frozenset[str]:
    """The people (codes) of the evidence who cannot be living."""
    wanted = {p.id for p in evidence.people}
    rows = {id_: code for id_, code in _codes(connection) if code in wanted}
    living = may_be_living(connection, rows.keys())
    return frozenset(code for id_, code in rows.items() if id_ not in living)


class _Telling:
    """Puts questions into words, and says who could know."""

    def __init__(
        self, connection: Connection, evidence: ev.Evidence, rows: Sequence[RowMapping], found: Sequence[Question]
    ) -> None:
        self.connection = connection
        self.found = found
        self.say = Sentences(evidence, named_apart(connection, {p for q in found for p in q.people}))
        self.taken = {row["code"]: taken_of(as_estimate(row)) for row in rows}
        self.there: dict[str, set[str]] = defaultdict(set)
        self.regions: dict[str, str | None] = {}
        for a in evidence.statements:
            if isinstance(a, ev.Appearance) and not a.denied:
                self.regions[a.id] = a.region
                if a.person is not None:
                    self.there[a.photograph].add(a.person)
        p = t.photograph.c
        self.titles = {row.code: row.title for row in connection.execute(select(p.code, p.title).where(p.title != ""))}
        self.lives = self._lives(evidence)
        self.informants = self._living_informants()
        self._knowing: dict[tuple[str, str], bool] = {}

    def told(self) -> list[Asked]:
        """The questions in words, most telling first, and at the end those for the order of pictures.

        Of a photograph in which nobody was noted yet it is asked who is in it before it is asked when it was taken:
        more people can tell, and a name is wanted anyhow.
        """
        told = list(self._told())
        when = {q.photographs[0]: q.bits for q in told if q.kind == "date"}
        asked = [
            replace(q, bits=max(q.bits, when.get(q.photographs[0], 0.0))) if q.kind == "who" and not q.appearance else q
            for q in told
        ]
        return sorted(asked, key=lambda q: (q.kind == "order", -q.bits, q.photographs, q.kind != "who"))

    def _told(self) -> Iterator[Asked]:
        for q in self.found:
            photographs = q.photographs[:MOST_SHOWN]
            key = "-".join((str(q.kind), *(q.photographs if q.kind not in ("birth", "death") else q.people),
                            *((q.appearance,) if q.appearance else ())))  # fmt: skip
            informants = self._who_could_know(q)
            is_for_nobody = bool(self.informants) and not informants
            yield Asked(
                key, str(q.kind), self._text(q), photographs, q.people, tuple(self.say.name(p) for p in q.people),
                q.bits * (NOBODY_LEFT if is_for_nobody else 1), informants, q.appearance,
                self.regions.get(q.appearance or ""),
            )  # fmt: skip

    def _text(self, q: Question) -> str:
        named = [self._photograph(code) for code in q.photographs[:2]]
        match str(q.kind):
            case "age":  # without a title, which may tell the year
                return f"How old does {self.say.name(q.people[0])} look in {q.photographs[0]}?"
            case "date":
                return f"When was {named[0]} taken?"
            case "order":
                return f"Which was taken first, {named[0]} or {named[1]}?"
            case "birth":
                return f"When was {self.say.name(q.people[0])} born?"
            case "death":
                return f"When did {self.say.name(q.people[0])} die?"
        return f"Who is {self._unnamed(q)} in {named[0]}?" if q.appearance else f"Who is in {named[0]}?"

    def _photograph(self, code: str) -> str:
        title = self.titles.get(code)
        return f"{code} (“{title}”)" if title else code

    def _unnamed(self, q: Question) -> str:
        region = self.regions.get(q.appearance or "")
        if region is None:
            return "the person without a name"
        numbers = {f.region: n for n, f in enumerate(faces(self.connection, q.photographs[0]).faces, 1)}
        return f"face {numbers[region]}" if region in numbers else "the person without a name"

    def _lives(self, evidence: ev.Evidence) -> dict[str, Span]:
        """First possible birth to last possible death, as the tree has it."""
        found: dict[str, Span] = {}
        for said in evidence.statements:
            if isinstance(said, ev.LifeDate):
                old = found.get(said.person, Span())
                if said.event is ev.LifeEvent.BIRTH:
                    found[said.person] = Span(said.date.span.first, old.last)
                elif said.event in (ev.LifeEvent.DEATH, ev.LifeEvent.BURIAL):
                    found[said.person] = Span(old.first, said.date.span.last)
        return found

    def _living_informants(self) -> list[tuple[str, str]]:
        """Names and people (codes) of the informants who are somebody we know of and may be living."""
        i = t.informant.c
        rows = self.connection.execute(select(i.name, i.person_id).where(i.person_id.is_not(None)).order_by(i.id)).all()
        living = may_be_living(self.connection, {row.person_id for row in rows})
        codes = dict(_codes(self.connection))
        for row in rows:
            self._read_life(row.person_id, codes[row.person_id])
        return [(row.name, codes[row.person_id]) for row in rows if row.person_id in living]

    def _read_life(self, person_id: int, code: str) -> None:
        """The birth of an informant who is in no photograph."""
        if code not in self.lives:
            e = t.event.c
            query = select(e.first).where(e.person_id == person_id, e.tag == "BIRT", e.withdrawn == 0)
            self.lives[code] = Span(self.connection.scalar(query.order_by(e.position)), None)

    def _who_could_know(self, q: Question) -> tuple[str, ...]:
        """The informants who were there, then those who knew somebody who was; everybody, where it is enough to look.

        When a picture was taken is asked of those alone who can remember the time; who somebody is, of those who knew
        one of the people it could be, by whatever later picture of them.
        """
        if str(q.kind) == "age":
            return tuple(name for name, _ in self.informants)
        there = set[str]().union(*(self.there[code] for code in q.photographs[:2]))
        remember, known = self.informants, set(q.people)
        if str(q.kind) in ("date", "order"):
            known = there
            remember = [one for one in remember if all(self._remembers(one[1], code) for code in q.photographs[:2])]
        were = [name for name, person in remember if person in there]
        knew = [name for name, person in remember if any(self._knew(person, other) for other in known)]
        return tuple(dict.fromkeys((*were, *knew)))

    def _remembers(self, person: str, photograph: str) -> bool:
        """Whether somebody was old enough for memories when the photograph was likely taken."""
        born, taken = self.lives.get(person, Span()).first, self.taken.get(photograph)
        return born is None or taken is None or born + FIRST_MEMORIES <= taken.last

    def _knew(self, one: str, other: str) -> bool:
        if (one, other) not in self._knowing:
            self._knowing[one, other] = can_have_known(self.lives.get(one, Span()), self.lives.get(other, Span()))
        return self._knowing[one, other]
