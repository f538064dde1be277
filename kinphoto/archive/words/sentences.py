"""Every statement in words a family member understands: what the blocks of `kinds` are filled in with.

The same sentences serve `explain`, `conflicts` and the demo. People's statements are never called wrong; a sentence
says who said it, so that two sentences that do not fit together can stand side by side.
"""

from __future__ import annotations

from collections.abc import Mapping

from kinphoto.archive.words.kinds import KINDS, one_of, words_of
from kinphoto.gedcom.wording import words
from kinphoto.phrases import counted, opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import processes
from kinphoto.reason.model.span import Dated, Span, year_of

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
        self.processes = processes.load()
        self.spouses = {s.event: s.spouses for s in evidence.statements if isinstance(s, ev.Marriage)}

    def sentence(self, statement_id: str) -> str:
        """One statement as a sentence without its full stop, with who said it."""
        said = self.statements[statement_id]
        text, quoted = words_of(said), isinstance(said, ev.DateClaim) and said.text
        told = self.fill(text.quoting if quoted and text.quoting else text.sentence, said)
        if quoted and not text.quoting:
            told += f": “{said.text}”"
        by = f" (says {said.informant}{f', {NOT_BORN}' if said.hearsay else ''})" if said.informant else ""
        return f"{told}{by}"

    def opening(self, statement_id: str) -> str:
        """The same as the beginning of a line."""
        return opening(self.sentence(statement_id))

    def fill(self, template: str, said: ev.Statement, *, so: bool = True) -> str:
        """Words of a statement's kind with its names and dates; not `so`: what would be so without it."""
        return one_of(template, so).format_map(self._slots(said) | self._dates(said, so))

    def about(self, statement_id: str) -> list[str]:
        """The people (codes) a statement is about."""
        said = self._subject(self.statements[statement_id])
        return list(self.spouses.get(said.event, ()) if isinstance(said, ev.EventDate) else said.about())

    def photographs(self, statement_id: str) -> list[str]:
        """The photographs (codes) a statement is about."""
        return list(self._subject(self.statements[statement_id]).photographs())

    def name(self, person: str | None) -> str:
        """A person's name, or "somebody not named yet"."""
        return "somebody not named yet" if person is None else self.names.get(person, person)

    def event(self, key: str) -> str:
        """An event of the tree: "the marriage of Ada Marsh and Tom Holm"."""
        code, _, tag = key.partition(":")
        what = EVENT_WORDS.get(tag, f"the event {tag}")
        people = self.spouses.get(key) or ((code,) if code in self.names else ())
        return f"{what} of {' and '.join(self.name(p) for p in people)}" if people else f"{what} ({key})"

    def _subject(self, said: ev.Statement) -> ev.Statement:
        """The statement, or the appearance that an age is of."""
        return self.statements.get(said.appearance, said) if isinstance(said, ev.Age) else said

    def _slots(self, said: ev.Statement) -> dict[str, str]:
        subject = self._subject(said)
        photographs = subject.photographs() or ("",)
        who = " and ".join(self.name(person) for person in subject.about()) or self.name(None)
        slots = {"kind": said.kind.replace("-", " "), "photo": photographs[0], "other": photographs[-1], "who": who}
        match said:
            case ev.Age():
                slots |= {
                    "age": age_words(said.low, said.high), "where": f" in {photographs[0]}" if photographs[0] else "",
                    "unseen": f", {UNSEEN}" if said.blind else "", "age_of": _age_of(who),
                }  # fmt: skip
            case ev.EventDate() | ev.EventClaim():
                occasion = EVENT_WORDS.get(said.event.partition(":")[2], "that event")
                slots |= {"event": self.event(said.event), "occasion": occasion}
            case ev.Made():
                title = self.processes[said.name].title if said.name in self.processes else said.name
                article = "an" if title[:1].lower() in "aeiou" else "a"
                slots |= {"title": title, "a": article, "known": _known(said.window)}
            case ev.ParentLink():
                role = {"F": "mother", "M": "father"}.get(said.parent_sex, "parent")
                slots |= {
                    "parent": self.name(said.parent), "child": self.name(said.child), "role": role,
                    "a_role": f"{'a' if role == 'parent' else 'the'} {role}",
                }  # fmt: skip
        return slots

    def _dates(self, said: ev.Statement, so: bool) -> dict[str, str]:
        """A date behind "not" does without "perhaps", which goes without saying there."""
        if not isinstance(said, ev.DateClaim | ev.LifeDate | ev.EventDate):
            return {}
        when = on(said.date)
        return {
            "when": when if so else when.removeprefix("perhaps "), "date": words(said.date), "quoted": f"“{said.text}”"
        }  # fmt: skip


def on(dated: Dated) -> str:
    """A date with the preposition it needs: "on 2 May 1917", "in 1917", "about 1900", "between 1900 and 1905"."""
    perhaps, _, text = words(dated).rpartition("perhaps ")
    lead = "perhaps " if perhaps or dated.doubtful else ""
    if text.startswith(("about", "before", "after", "between", "no ")):
        return lead + text
    days = dated.as_stated.span
    exact = days.first is not None and days.first == days.last
    return f"{lead}{'on' if exact else 'in'} {text}"


def aged(kind: str, low: float, high: float) -> str:
    """An age behind a name: "looks 6 to 8", "aged 7"."""
    return f"{KINDS[kind].fact} {age_words(low, high)}"


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


def _age_of(name: str) -> str:
    """ "Ada Marsh's age", "the age of Ada Marsh (1850 to 1920)"."""
    if name.endswith(")"):
        return f"the age of {name}"
    return f"{name}' age" if name.endswith("s") else f"{name}'s age"


def _known(window: Span) -> str:
    """The years of a process or format."""
    since = "" if window.first is None else f" from {year_of(window.first)}"
    until = (" on" if since else "") if window.last is None else f" to {year_of(window.last)}"
    return f"known{since}{until}" if since or until else "of no known years"
