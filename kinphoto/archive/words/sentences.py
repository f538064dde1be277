"""Every statement in words a family member understands: one small function per kind.

The same sentences serve `explain`, `conflicts` and the demo. People's statements are never called wrong; a sentence
says who said it, so that two sentences that do not fit together can stand side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from kinphoto.gedcom.wording import words
from kinphoto.phrases import counted, opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import processes
from kinphoto.reason.model.span import Dated

EVENT_WORDS = {
    "MARR": "the marriage",
    "ENGA": "the engagement",
    "GRAD": "the graduation",
    "CHR": "the christening",
    "BAPM": "the baptism",
    "CONF": "the confirmation",
    "FCOM": "the first communion",
    "EMIG": "the emigration",
    "IMMI": "the immigration",
    "BIRT": "the birth",
    "DEAT": "the death",
    "BURI": "the burial",
    "RETI": "the retirement",
    "DIV": "the divorce",
}

UNSEEN = "judged before the date was seen"
"""What is told of an age that was given blind."""

NOT_BORN = "who was not born yet, so it weighs less"
"""What is told of whoever tells of a time before their birth."""


class Sentences:
    """Words for the statements of one evidence. Looks names up once; makes a sentence only when asked."""

    def __init__(self, evidence: ev.Evidence, namesakes: Mapping[str, str] | None = None) -> None:
        """`namesakes` are the names by which people (codes) who share theirs with somebody are told apart."""
        self.statements = {s.id: s for s in evidence.statements}
        self.names = {p.id: p.name or p.id for p in evidence.people} | dict(namesakes or {})
        self.sexes = {p.id: p.sex for p in evidence.people}
        self.processes = processes.load()
        self.spouses = {s.event: s.spouses for s in evidence.statements if isinstance(s, ev.Marriage)}

    def sentence(self, statement_id: str) -> str:
        """One statement as a sentence without its full stop, with who said it."""
        said = self.statements[statement_id]
        text = _TELL[type(said)](self, said)
        by = f" (says {said.informant}{f', {NOT_BORN}' if said.hearsay else ''})" if said.informant else ""
        return f"{text}{by}"

    def opening(self, statement_id: str) -> str:
        """The same as the beginning of a line."""
        return opening(self.sentence(statement_id))

    def about(self, statement_id: str) -> list[str]:
        """The people (codes) a statement is about."""
        said = self.statements[statement_id]
        if isinstance(said, ev.Age):
            return self.about(said.appearance)
        if isinstance(said, ev.Appearance):
            return [said.person] if said.person else []
        if isinstance(said, ev.LifeDate):
            return [said.person]
        if isinstance(said, ev.ParentLink):
            return [said.child, said.parent]
        if isinstance(said, ev.Marriage):
            return list(said.spouses)
        if isinstance(said, ev.EventDate):
            return list(self.spouses.get(said.event, ()))
        return []

    def photographs(self, statement_id: str) -> list[str]:
        """The photographs (codes) a statement is about."""
        said = self.statements[statement_id]
        if isinstance(said, ev.Age):
            return self.photographs(said.appearance)
        if isinstance(said, ev.Relation):
            return [said.photograph, said.other]
        code = getattr(said, "photograph", None)
        return [code] if code else []

    def name(self, person: str | None) -> str:
        """A person's name, or "somebody not named yet"."""
        return "somebody not named yet" if person is None else self.names.get(person, person)

    def event(self, key: str) -> str:
        """An event of the tree: "the marriage of Ada Marsh and Tom Holm"."""
        code, _, tag = key.partition(":")
        what = EVENT_WORDS.get(tag, f"the event {tag}")
        people = self.spouses.get(key) or ((code,) if code in self.names else ())
        return f"{what} of {' and '.join(self.name(p) for p in people)}" if people else f"{what} ({key})"


def on(dated: Dated) -> str:
    """A date with the preposition it needs: "on 2 May 1917", "in 1917", "about 1900", "between 1900 and 1905"."""
    perhaps, _, text = words(dated).rpartition("perhaps ")
    lead = "perhaps " if perhaps or dated.doubtful else ""
    if text.startswith(("about", "before", "after", "between", "no ")):
        return lead + text
    days = dated.as_stated.span
    exact = days.first is not None and days.first == days.last
    return f"{lead}{'on' if exact else 'in'} {text}"


def age_words(low: float, high: float) -> str:
    """Completed years as people say them: "6 to 8", "7", "6 months", "6 months to 2"."""
    first, last = _age(low), _age(high)
    if first == last:
        return first
    if low < 1 and high < 1:
        return f"{first.split()[0]} to {last}"
    return f"{first} to {last}"


def _age(years: float) -> str:
    if years and years != int(years) and years < 3:
        months = round(years * 12)
        return counted(months, "month")
    return f"{years:g}"


def _life_date(self: Sentences, s: ev.LifeDate) -> str:
    verb = {"birth": "was born", "christening": "was christened", "death": "died", "burial": "was buried",
            "alive": "was alive"}[s.event]  # fmt: skip
    return f"{self.name(s.person)} {verb} {on(s.date)}"


def _event_date(self: Sentences, s: ev.EventDate) -> str:
    return f"{self.event(s.event)} was {on(s.date)}"


def _parent(self: Sentences, s: ev.ParentLink) -> str:
    role = {"F": "the mother", "M": "the father"}.get(s.parent_sex, "a parent")
    return f"{self.name(s.parent)} is {role} of {self.name(s.child)}"


def _marriage(self: Sentences, s: ev.Marriage) -> str:
    return f"{' and '.join(self.name(p) for p in s.spouses)} married"


def _appearance(self: Sentences, s: ev.Appearance) -> str:
    who = self.name(s.person)
    if s.denied:
        return f"it is not {who} in {s.photograph}"
    return {
        ev.Role.PRESENT: f"{who} is in {s.photograph}",
        ev.Role.LIKENESS: f"a likeness of {who} is in {s.photograph}",
        ev.Role.LAID_OUT: f"{who} is laid out in {s.photograph}",
    }[s.role]


def _age_of(self: Sentences, s: ev.Age) -> str:
    seen = self.statements.get(s.appearance)
    who = self.name(seen.person) if isinstance(seen, ev.Appearance) else "somebody"
    where = f" in {seen.photograph}" if isinstance(seen, ev.Appearance) else ""
    verb = "looks" if s.basis is ev.AgeBasis.APPARENT else "is said to be"
    return f"{who} {verb} {age_words(s.low, s.high)}{where}{f', {UNSEEN}' if s.blind else ''}"


def _claim(self: Sentences, s: ev.DateClaim) -> str:
    when, quoted = on(s.date), f"“{s.text}”" if s.text else ""
    match s.claim:
        case ev.Claim.INSCRIPTION:
            return f"{s.photograph} is inscribed {quoted or when}" + (f", read as {words(s.date)}" if quoted else "")
        case ev.Claim.TAKEN:
            told = f"{s.photograph} was taken {when}"
        case ev.Claim.RECOLLECTION:
            told = f"{s.photograph} is remembered as taken {when}"
        case ev.Claim.WRITTEN:
            told = f"something was written on {s.photograph} or it was given away {when}, so it is not later"
        case ev.Claim.POSTMARK:
            told = f"{s.photograph} was postmarked {when}"
        case ev.Claim.PRINT_STAMP:
            told = f"{s.photograph} was printed {when}, as its border says"
        case ev.Claim.IMPRINT:
            told = f"the photographer named on {s.photograph} worked there {when}"
    return f"{told}: {quoted}" if quoted else told


def _event_claim(self: Sentences, s: ev.EventClaim) -> str:
    return f"{s.photograph} shows {self.event(s.event)}"


def _made(self: Sentences, s: ev.Made) -> str:
    entry = self.processes.get(s.name)
    title = entry.title if entry else s.name
    first, last = s.window.first, s.window.last
    since = f"known from {date.fromordinal(first).year}" if first is not None else "known"
    until = f" to {date.fromordinal(last).year}" if last is not None else " on"
    article = "an" if title[:1].lower() in "aeiou" else "a"
    return f"{s.photograph} is {article} {title}, {since}{until}"


def _relation(self: Sentences, s: ev.Relation) -> str:
    return (
        f"{s.photograph} "
        + {
            ev.Related.BEFORE: f"was taken before {s.other}",
            ev.Related.AFTER: f"was taken after {s.other}",
            ev.Related.SAME_OCCASION: f"was taken on the same occasion as {s.other}",
            ev.Related.COPY_OF: f"is a copy of {s.other}",
            ev.Related.SAME_NEGATIVE: f"is from the same negative as {s.other}",
            ev.Related.PART_OF: f"is mounted on {s.other}",
        }[s.related]
    )


_TELL: dict[type[ev.Statement], Callable[[Sentences, Any], str]] = {
    ev.LifeDate: _life_date,
    ev.EventDate: _event_date,
    ev.ParentLink: _parent,
    ev.Marriage: _marriage,
    ev.Appearance: _appearance,
    ev.Age: _age_of,
    ev.DateClaim: _claim,
    ev.EventClaim: _event_claim,
    ev.Made: _made,
    ev.Relation: _relation,
}
