"""What the reasoner answers with is plain values that json can write, whatever numpy made of them on the way."""

from __future__ import annotations

import json
from dataclasses import asdict, fields, is_dataclass
from datetime import date
from enum import Enum
from typing import Any

import numpy as np
import pytest

from kinphoto.reason.advice.hindsight import hindsight
from kinphoto.reason.advice.question import questions
from kinphoto.reason.dating import date_archive, date_without
from kinphoto.reason.hard.conflict import contributions, settle
from kinphoto.reason.hard.unlikely import implausible_facts
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph

T = ev.Trust
INDEXED = date(2024, 6, 30).toordinal()


def exactly(*ymd: int) -> Dated:
    day = date(*ymd).toordinal()
    return Dated(Span(day, day))


def rich() -> ev.Evidence:
    """A family of whom everything is found that can be: conflicts, unlikely ages (of somebody whose birth is known,
    judged by two, and of somebody whose birth is vague), births, informants (of whom only ages judged unseen teach
    anything), orders, relations and events."""
    statements: list[ev.Statement] = []

    def life(person: str, event: ev.LifeEvent, when: Dated) -> None:
        statements.append(ev.LifeDate(id=f"{event} {person}", trust=T.STRONG, person=person, event=event, date=when))

    def seen(person: str | None, photograph: str, *ages: tuple[str, float, float], **more: Any) -> None:
        key = f"{person} in {photograph}"
        statements.append(ev.Appearance(id=key, trust=T.STRONG, photograph=photograph, person=person, **more))
        statements.extend(
            ev.Age(id=f"{who} on {key}", trust=T.STRONG, appearance=key, low=low, high=high, informant=who, blind=True)
            for who, low, high in ages
        )

    for i, person in enumerate(("ada", "ben", "cleo", "dan")):
        life(person, ev.LifeEvent.BIRTH, exactly(1914 + i, 5, 2))
    life("eve", ev.LifeEvent.BIRTH, exactly(1880, 1, 1))
    life("fay", ev.LifeEvent.BIRTH, Dated(span_of_years(1860, 1875)))
    life("gus", ev.LifeEvent.BIRTH, Dated(span_of_years(1900, 1912)))
    life("dan", ev.LifeEvent.DEATH, exactly(1919, 7, 19))
    statements.append(ev.ParentLink(id="link", trust=T.CERTAIN, child="ada", parent="eve", parent_sex="F"))
    statements.append(ev.Marriage(id="marriage", trust=T.CERTAIN, event="F1:MARR", spouses=("ben", "cleo")))
    statements.append(ev.EventDate(id="wedding", trust=T.STRONG, event="F1:MARR", date=exactly(1938, 6, 12)))
    for n in range(6):
        statements.append(
            ev.DateClaim(
                id=f"t{n}", trust=T.STRONG, photograph=f"D{n}", claim=ev.Claim.TAKEN, date=exactly(1920 + n, 6, 1)
            )
        )
        seen("ada", f"D{n}", ("Edda", 6 + n, 6 + n))
        seen("gus", f"D{n}", ("Edda", 14 + n, 15 + n))
    for person in ("ada", "ben", "cleo"):
        seen(person, "K1", ("Edda", 8, 9), ("Tom", 8, 10))
    seen("eve", "K1", ("Edda", 7, 8), ("Tom", 8, 9))
    seen("eve", "K2", ("Edda", 44, 46))
    seen("ben", "K2", ("Edda", 8, 9))
    seen("fay", "K2", ("Edda", 6, 7))
    seen("gus", "K2", ("Tom", 16, 17))
    seen(None, "K2", region="R")
    for k in ("K3", "K4"):
        seen("dan", k)
        statements.append(
            ev.DateClaim(
                id=f"t{k}", trust=T.STRONG, photograph=k, claim=ev.Claim.TAKEN, date=Dated(span_of_years(1925, 1925))
            )
        )
    statements.append(ev.EventClaim(id="shown", trust=T.FAIR, photograph="K5", event="F1:MARR"))
    for one, how, other in (
        ("K1", ev.Related.BEFORE, "K6"), ("K6", ev.Related.BEFORE, "K1"), ("K7", ev.Related.COPY_OF, "K2"),
        ("K6", ev.Related.AFTER, "K2"), ("K8", ev.Related.SAME_OCCASION, "K5"),
    ):  # fmt: skip
        statements.append(
            ev.Relation(id=f"{one} {how} {other}", trust=T.FAIR, photograph=one, related=how, other=other)
        )
    statements.append(
        ev.DateClaim(id="post", trust=T.STRONG, photograph="K6", claim=ev.Claim.POSTMARK, date=exactly(1931, 8, 5))
    )
    people = tuple(Person(p, p) for p in ("ada", "ben", "cleo", "dan", "eve", "fay", "gus"))
    names = [f"D{n}" for n in range(6)] + [f"K{n}" for n in range(1, 9)]
    return ev.Evidence(people, tuple(Photograph(k, INDEXED) for k in names), tuple(statements))


def odd(value: object, where: str) -> list[str]:
    """Every value below this one that is not exactly a plain Python one, with where it stands."""
    if is_dataclass(value) and not isinstance(value, type):
        return [o for f in fields(value) for o in odd(getattr(value, f.name), f"{where}.{f.name}")]
    if isinstance(value, tuple | list):
        return [o for i, one in enumerate(value) for o in odd(one, f"{where}[{i}]")]
    if isinstance(value, dict):
        return [o for key, one in value.items() for o in odd(key, f"{where} key") + odd(one, f"{where}[{key}]")]
    plain = isinstance(value, Enum) or type(value) in (str, int, float, bool, type(None))
    return [] if plain else [f"{where}: {type(value)}"]


@pytest.fixture(scope="module")
def evidence() -> ev.Evidence:
    """The rich family."""
    return rich()


def test_findings_are_plain_values(evidence: ev.Evidence) -> None:
    """Conflicts, unlikely ages, births and informants hold no number of numpy's, and json writes them all."""
    found = date_archive(evidence)
    assert found.conflicts
    assert {u.person for u in found.unlikely} >= {"eve", "fay"}
    assert found.births
    assert found.informants
    assert odd(found, "findings") == []
    json.dumps(asdict(found))


def test_two_judgements_of_one_outlying_face_are_plain_values(evidence: ev.Evidence) -> None:
    """Each of several judgements of a face is doubted by itself; json refuses a float32 of numpy."""
    twice = [u for u in date_archive(evidence).unlikely if u.statement.endswith("eve in K1")]
    assert len(twice) == 2
    assert [type(u.probability) for u in twice] == [float, float]
    with pytest.raises(TypeError, match="float32"):
        json.dumps(np.float32(0.5))


def test_whatever_else_is_answered_is_plain_too(evidence: ev.Evidence) -> None:
    """One photograph's outlook, what bounds it, questions, hindsight and what is unlikely in the tree."""
    settled = settle(evidence)
    answers = {
        "outlook": date_without(evidence, "K2").estimate,
        "conflicts": settled.conflicts,
        "contributions": contributions(settled, "K1"),
        "hindsight": hindsight(evidence),
        "oddities": implausible_facts(evidence),
        "questions": questions(evidence, [p.id for p in evidence.photographs]),
    }
    assert [o for name, answer in answers.items() for o in odd(answer, name)] == []
