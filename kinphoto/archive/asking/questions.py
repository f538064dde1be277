"""What to ask next, the most useful questions first, in words to read aloud, and who could know.

`reason/advice/question.py` works out how useful a question is. An informant could know who is living and is in the
photograph, or was alive for five years at the same time as somebody who is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Annotated
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, RowMapping, func, select

from kinphoto.archive.asking.name_offers import Taken
from kinphoto.archive.asking.nearby_people import nearby_people
from kinphoto.archive.asking.who import shortlist
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.freshness import freshness
from kinphoto.archive.catalogue.kinds import AGE_KINDS, OF_EXPOSURE, RELATION_KINDS
from kinphoto.archive.catalogue.living import may_be_living
from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.estimates import as_estimate, kept_findings
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.people.people_index import PeopleIndex, kept_people
from kinphoto.archive.statements.recorded_faces import faces
from kinphoto.archive.statements.trusts import can_have_known
from kinphoto.archive.words.sentences import Sentences
from kinphoto.errors import NotFoundError
from kinphoto.phrases import counted
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Span, at_least
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.reason.advice.question import Question

MOST_UNNAMED = 200
"""Unnamed people whose possible names are looked up, those of the widest photographs first."""
NOBODY_LEFT = 0.25
"""What is left of the chance of an answer where none of the informants can know it (a judgement of the project)."""
FIRST_MEMORIES = at_least(4)
"""Days of a life before which nobody remembers anything later (common practice: about the fourth year)."""
KEPT = 1000
"""Questions that are kept, the best."""
MOST_SHOWN = 12
"""Photographs named in a question about a life."""


@dataclass(frozen=True, slots=True)
class AskedQuestion:
    """A question in words."""

    key: Annotated[str, "names the question as long as it is the same one"]
    kind: Annotated[str, "`age`, `date`, `order` (which came first), `birth`, `death` or `who`; most useful first"]
    text: Annotated[str, "the question, to be read aloud"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs it is about, at most twelve"]
    people: Annotated[
        tuple[str, ...],
        "ids of the people it is about; with `who`, of those it could be; with `date`, of those in the photograph",
    ]
    names: Annotated[tuple[str, ...], "what these people are called"]
    bits: Annotated[
        float,
        "how much the answer would tell about dates, summed over all photographs it affects: the "
        "expected information, times the chance that there is an answer",
    ]
    informants: Annotated[tuple[str, ...], "who could know: living informants who were there or knew somebody who was"]
    appearance: Annotated[str | None, "with `age` and `who`: the appearance asked about, `A7`"]
    region: Annotated[str | None, "with these: its face, `R3`"]
    reason: Annotated[str, "what else the answer would help with, in words; mostly empty"] = ""


@dataclass(frozen=True, slots=True)
class QuestionList:
    """The questions, for one informant or for anybody."""

    informant: Annotated[str | None, "who they are for; null for anybody"]
    known: Annotated[bool, "true when their person in the tree is known, so that only what they could know is asked"]
    living: Annotated[bool, "true unless they are known to have died"]
    questions: tuple[AskedQuestion, ...]


_KEPT: WeakKeyDictionary[Engine, tuple[int | None, tuple[AskedQuestion, ...]]] = WeakKeyDictionary()
"""For each open archive: after which change everything was last dated, and the questions worked out then."""


def ask(connection: Connection, of: str | None = None) -> QuestionList:
    """Everything worth asking one informant, or anybody, most useful first. Raises NotFoundError when nobody is called
    `of`."""
    work_out(connection)
    return kept(connection, of)


def kept(connection: Connection, of: str | None = None) -> QuestionList:
    """The same as last worked out, without questions answered since."""
    name, person = (None, None) if of is None else _informant(connection, of)
    living = person is None or bool(may_be_living(connection, {person}))
    if connection.engine not in _KEPT:
        work_out(connection)
    asked = still_open(connection, _KEPT[connection.engine][1])
    if name is None or person is None:
        return QuestionList(name, False, True, asked)
    return QuestionList(name, True, living, tuple(q for q in asked if name in q.informants))


def work_out(connection: Connection) -> None:
    """Work out everything worth asking anybody, once each time the whole archive is dated."""
    if not are_current(connection):
        as_of, people_index = freshness(connection).as_of, kept_people(connection)
        _KEPT[connection.engine] = as_of, everything(connection, people_index)


def are_current(connection: Connection) -> bool:
    """Whether the questions that are kept are from when the whole archive was last dated."""
    found = _KEPT.get(connection.engine)
    return found is not None and found[0] == freshness(connection).as_of


def everything(connection: Connection, people_index: PeopleIndex) -> tuple[AskedQuestion, ...]:
    """Everything worth asking anybody, most useful first."""
    from kinphoto.reason.advice import question as reasoned

    evidence = gather(connection)
    rows = _widest(connection, reasoned.MOST)
    photographs = [row["code"] for row in rows]
    boxes = {row["code"]: str(row["container_id"]) for row in rows if row["container_id"] is not None}
    candidates = _Candidates(connection, people_index, evidence, rows)
    beside = reasoned.Context(boxes, candidates.unnamed(), candidates.nobody_noted(), _dead(connection, evidence))
    found = reasoned.questions(evidence, photographs, beside, kept_findings(connection).informants or None)
    return tuple(_Wording(connection, evidence, rows, found[:KEPT]).asked())


def still_open(connection: Connection, asked: Sequence[AskedQuestion]) -> tuple[AskedQuestion, ...]:
    """The questions that nobody has answered since they were worked out."""
    s, a, p, o = t.statement.c, t.appearance.c, t.photograph.c, t.photograph.alias()
    stands = s.withdrawn == 0
    aged = set(connection.scalars(select(s.appearance_id).where(stands, s.kind.in_(AGE_KINDS))))
    unnamed = set(connection.scalars(select(a.id).where(a.withdrawn == 0, a.person_id.is_(None))))
    noted = set(connection.scalars(select(p.code).join(t.appearance, a.photograph_id == p.id).where(a.withdrawn == 0)))
    named = set(connection.scalars(select(a.id).where(a.withdrawn == 0, a.person_id.is_not(None))))
    claimed = select(p.code).join(t.statement, s.photograph_id == p.id).where(stands, s.kind.in_(OF_EXPOSURE))
    between = (s.first.is_not(None) & s.last.is_not(None)) | (s.days_from.is_not(None) & s.days_to.is_not(None))
    dated = set(connection.scalars(claimed.where(between)))
    ties = select(p.code, o.c.code.label("other")).join(t.statement, s.photograph_id == p.id)
    related = {
        frozenset((row.code, row.other))
        for row in connection.execute(ties.join(o, o.c.id == s.other_id).where(stands, s.kind.in_(RELATION_KINDS)))
    }

    def is_open(one: AskedQuestion) -> bool:
        appearance = int(one.appearance[1:]) if one.appearance else 0
        return {
            "age": appearance in named and appearance not in aged,
            "date": not dated.intersection(one.photographs),
            "order": frozenset(one.photographs) not in related,
            "who": appearance in unnamed if appearance else noted.isdisjoint(one.photographs),
        }.get(one.kind, True)

    return tuple(one for one in asked if is_open(one))


def _informant(connection: Connection, name: str) -> tuple[str, int | None]:
    """An informant's name and person in the tree."""
    rows = connection.execute(select(t.informant)).mappings().all()
    alike = [row for row in rows if fold(row["name"]) == fold(name)]
    if not alike:
        raise NotFoundError(
            f"there is no informant called '{name}'", remedy="To see who has told you things: kinphoto informants."
        )
    return alike[0]["name"], alike[0]["person_id"]


def _widest(connection: Connection, most: int) -> Sequence[RowMapping]:
    """The photographs whose dates are least known, by the estimates as they are kept."""
    e, p = t.estimate.c, t.photograph.c
    width = func.coalesce(e.likely_to - e.likely_from, e.latest - e.earliest)
    query = select(p.id.label("photograph"), p.code, p.container_id, p.title, *t.estimate.c).join(
        t.photograph, p.id == e.photograph_id
    )
    return connection.execute(query.order_by(width.desc(), p.code).limit(most)).mappings().all()


class _Candidates:
    """Who the unnamed people of these photographs could be, as weights of people (codes)."""

    def __init__(
        self, connection: Connection, people_index: PeopleIndex, evidence: ev.Evidence, rows: Sequence[RowMapping]
    ) -> None:
        self.connection, self.people_index, self.evidence, self.rows = connection, people_index, evidence, rows
        self.codes = _codes(connection)

    def unnamed(self) -> dict[str, Mapping[str, float]]:
        """By appearance."""
        from kinphoto.reason.advice.who import unnamed
        from kinphoto.reason.model.lookup import look_up

        known = look_up(self.evidence)
        seen = ((row, of_face[0]) for row in self.rows for of_face in unnamed(row["code"], known).values())
        return {first.id: self._near(row, first.region) for row, first in islice(seen, MOST_UNNAMED)}

    def nobody_noted(self) -> dict[str, Mapping[str, float]]:
        """For photographs in which nobody is noted yet, by photograph."""
        noted = {s.photograph for s in self.evidence.statements if isinstance(s, ev.Appearance)}
        rows = [row for row in self.rows if row["code"] not in noted][:MOST_UNNAMED]
        return {row["code"]: self._near(row, None) for row in rows}

    def _near(self, row: RowMapping, region: str | None) -> dict[str, float]:
        of_it = select(t.photograph).where(t.photograph.c.id == row["photograph"])
        beside = nearby_people(self.connection, self.connection.execute(of_it).mappings().one(), region)
        near = shortlist(self.connection, self.people_index, beside, Taken.of(as_estimate(row)))
        return {self.codes[i]: weight for i, weight in near.items()}


def _codes(connection: Connection) -> dict[int, str]:
    return {row.id: row.code for row in connection.execute(select(t.person.c.id, t.person.c.code))}


def _dead(connection: Connection, evidence: ev.Evidence) -> frozenset[str]:
    """The people (codes) in the evidence who cannot be living."""
    wanted = {p.id for p in evidence.people}
    rows = {id_: code for id_, code in _codes(connection).items() if code in wanted}
    living = may_be_living(connection, rows.keys())
    return frozenset(code for id_, code in rows.items() if id_ not in living)


class _Wording:
    """The questions in words, and who could know."""

    def __init__(
        self, connection: Connection, evidence: ev.Evidence, rows: Sequence[RowMapping], found: Sequence[Question]
    ) -> None:
        self.connection = connection
        self.found = found
        self.say = Sentences(evidence, named_apart(connection, {p for q in found for p in q.people}))
        self.taken = {row["code"]: Taken.of(as_estimate(row)) for row in rows}
        self.there: dict[str, set[str]] = defaultdict(set)
        self.regions: dict[str, str | None] = {}
        for a in evidence.statements:
            if isinstance(a, ev.Appearance) and not a.denied:
                self.regions[a.id] = a.region
                if a.person is not None:
                    self.there[a.photograph].add(a.person)
        p = t.photograph.c
        self.titles = {row.code: row.title for row in connection.execute(select(p.code, p.title).where(p.title != ""))}
        lies_in = select(p.code, t.container.c.name).join(t.container, t.container.c.id == p.container_id)
        asked = {q.photographs[0] for q in found if q.lying_with}
        lies_in = lies_in.where(among(connection, p.code, asked))
        self.boxes = {row.code: row.name for row in connection.execute(lies_in)}
        self.lives = self._lives(evidence)
        self.informants = self._living_informants()
        nothing = Span()
        self._knew = cache(lambda *pair: can_have_known(*(self.lives.get(one, nothing) for one in pair)))

    def asked(self) -> list[AskedQuestion]:
        """The questions in words, most useful first, those about the order of pictures last.

        Where nobody in a photograph is named yet, that comes before when it was taken: more people know, and a name is
        wanted anyway.
        """
        asked = list(self._asked())
        when = {q.photographs[0]: q.bits for q in asked if q.kind == "date"}
        for at, q in enumerate(asked):
            if q.kind == "who" and not q.appearance:
                asked[at] = replace(q, bits=max(q.bits, when.get(q.photographs[0], 0.0)))
        return sorted(asked, key=lambda q: (q.kind == "order", -q.bits, q.photographs, q.kind != "who"))

    def _asked(self) -> Iterator[AskedQuestion]:
        for q in self.found:
            photographs = q.photographs[:MOST_SHOWN]
            key = "-".join((str(q.kind), *(q.photographs if q.kind not in ("birth", "death") else q.people),
                            *((q.appearance,) if q.appearance else ())))  # fmt: skip
            informants = self._who_could_know(q)
            nobody_left = bool(self.informants) and not informants
            yield AskedQuestion(
                key, str(q.kind), self._text(q), photographs, q.people, tuple(self.say.name(p) for p in q.people),
                q.bits * (NOBODY_LEFT if nobody_left else 1), informants, q.appearance,
                self.regions.get(q.appearance or ""), self._reason(q),
            )  # fmt: skip

    def _reason(self, q: Question) -> str:
        """How much the answer informs about the others that are kept with it or are on its strip of film."""
        if not q.lying_with:
            return ""
        others = counted(q.lying_with, "other picture", "other pictures")
        if q.photographs[0] not in self.boxes:
            return f"This would also help to date {others} on its strip of film."
        if str(q.kind) == "age":  # without the name of the box either
            return f"This would also help to date {others} in the same box."
        return f"This would also help to date {others} in {self.boxes[q.photographs[0]]}."

    def _text(self, q: Question) -> str:
        named = [self._photograph(code) for code in q.photographs[:2]]
        match str(q.kind):
            case "age":  # without a title, which may give away the year
                return f"How old does {self.say.name(q.people[0])} look in {q.photographs[0]}?"
            case "date":
                return f"When was {named[0]} taken?"
            case "order":
                return f"Which was taken first, {named[0]} or {named[1]}?"
            case "birth":
                return f"When was {self.say.name(q.people[0])} born?"
            case "death":
                return f"When did {self.say.name(q.people[0])} die?"
        return f"Who is {self._unnamed(q)}in {named[0]}?"

    def _photograph(self, code: str) -> str:
        title = self.titles.get(code)
        return f"“{title}” ({code})" if title else code

    def _unnamed(self, q: Question) -> str:
        if not q.appearance:
            return ""
        region = self.regions.get(q.appearance)
        numbers = {f.region: n for n, f in enumerate(faces(self.connection, q.photographs[0]).faces, 1)}
        return f"face {numbers[region]} " if region in numbers else "the unnamed person "

    def _lives(self, evidence: ev.Evidence) -> dict[str, Span]:
        """First possible birth to last possible death, as the tree has it."""
        found: dict[str, Span] = {}
        for statement in evidence.statements:
            if isinstance(statement, ev.LifeDate):
                old = found.get(statement.person, Span())
                if statement.event is ev.LifeEvent.BIRTH:
                    found[statement.person] = Span(statement.date.span.first, old.last)
                elif statement.event in (ev.LifeEvent.DEATH, ev.LifeEvent.BURIAL):
                    found[statement.person] = Span(old.first, statement.date.span.last)
        return found

    def _living_informants(self) -> list[tuple[str, str]]:
        """Names and people (codes) of the informants whose person is known and may be living."""
        i = t.informant.c
        rows = self.connection.execute(select(i.name, i.person_id).where(i.person_id.is_not(None)).order_by(i.id)).all()
        living = may_be_living(self.connection, {row.person_id for row in rows})
        codes = _codes(self.connection)
        e = t.event.c
        for id_ in {row.person_id for row in rows}:
            if codes[id_] not in self.lives:  # in no photograph
                birth = select(e.first).where(e.person_id == id_, e.tag == "BIRT", e.withdrawn == 0)
                self.lives[codes[id_]] = Span(self.connection.scalar(birth.order_by(e.position)), None)
        return [(row.name, codes[row.person_id]) for row in rows if row.person_id in living]

    def _who_could_know(self, q: Question) -> tuple[str, ...]:
        """The informants who were there, then those who knew somebody who was; everybody, where looking is enough.

        When a picture was taken is only for those who can remember the time; who somebody is, for those who knew one of
        the people it could be, even from later pictures.
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
