"""Every statement as a sentence: the blocks of `kinds` with names and dates filled in.

`explain`, `conflicts` and the demo all use these. Each sentence names its informant, so that two that contradict each
other can be shown side by side without calling either wrong.
"""

from __future__ import annotations

from collections.abc import Mapping

from kinphoto.archive.words.ages import age_words
from kinphoto.archive.words.kinds import A_PARENT, KINDS, PARENTS, words_of
from kinphoto.archive.words.lapses import lapse_words
from kinphoto.gedcom.wording import DateManner, certain, manner, words
from kinphoto.phrases import opening
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
"""Added to an age that was given blind."""

COUNTS_FOR_MORE = f"{UNSEEN}, so it counts for more"
"""Added to one that was judged from the picture, where it is said what a date rests on."""

NOT_BORN = "who was not born yet, so it counts for less"
"""Added for an informant who speaks of a time before their own birth."""


class Sentences:
    """Words for the statements of one evidence."""

    def __init__(self, evidence: ev.Evidence, namesakes: Mapping[str, str] | None = None) -> None:
        """`namesakes` has longer names for people (codes) who share theirs with somebody."""
        self.statements = {s.id: s for s in evidence.statements}
        self.names = {p.id: p.name or p.id for p in evidence.people} | dict(namesakes or {})
        self.processes = processes.load()
        self.spouses = {s.event: s.spouses for s in evidence.statements if isinstance(s, ev.Marriage)}

    def sentence(self, statement_id: str) -> str:
        """One statement as a sentence without its full stop, with its informant."""
        statement = self.statements[statement_id]
        kind, quoted = words_of(statement), isinstance(statement, ev.DateClaim | ev.RelativeDate) and statement.text
        words = self.fill((quoted and kind.quoting) or kind.sentence, statement)
        if quoted and not kind.quoting:
            words += f": “{quoted}”"
        return f"{words} ({by})" if (by := says(statement)) else words

    def opening(self, statement_id: str) -> str:
        """The same as the beginning of a line."""
        return opening(self.sentence(statement_id))

    def fill(self, template: str, statement: ev.Statement) -> str:
        """Words of a statement's kind with its names and dates."""
        return template.format_map(self._slots(statement))

    def about(self, statement_id: str) -> list[str]:
        """The people (codes) a statement is about."""
        subject = self._subject(self.statements[statement_id])
        return list(self.spouses.get(subject.event, ()) if isinstance(subject, ev.EventDate) else subject.about())

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

    def _subject(self, statement: ev.Statement) -> ev.Statement:
        """The statement, or the appearance that an age is of."""
        return self.statements.get(statement.appearance, statement) if isinstance(statement, ev.Age) else statement

    def _slots(self, statement: ev.Statement) -> dict[str, str]:
        subject = self._subject(statement)
        photographs = subject.photographs() or ("",)
        who = " and ".join(self.name(person) for person in subject.about()) or self.name(None)
        slots = {"photo": photographs[0], "other": photographs[-1], "who": who}
        if isinstance(statement, ev.DateClaim | ev.LifeDate | ev.EventDate):
            slots |= _date_slots(statement.date) | {"quoted": f"“{statement.text}”"}
        match statement:
            case ev.RelativeDate():
                slots |= self._lapse_slots(statement)
            case ev.Age():
                slots |= {
                    "age": age_words(statement.low, statement.high), "age_of": _age_of(who),
                    "where": f" in {photographs[0]}" if photographs[0] else "",
                    "unseen": "" if not statement.blind
                    else f", {COUNTS_FOR_MORE if statement.basis is ev.AgeBasis.APPARENT else UNSEEN}",
                }  # fmt: skip
            case ev.EventDate() | ev.EventClaim():
                occasion = EVENT_WORDS.get(statement.event.partition(":")[2], "that event")
                slots |= {"event": self.event(statement.event), "occasion": occasion}
            case ev.Made(name=name):
                title = self.processes[name].title if name in self.processes else name
                a_title = f"an {title}" if title[:1].lower() in "aeiou" else f"a {title}"
                slots |= {"title": title, "a_title": a_title, "known": _known(statement.window)}
            case ev.LiesIn(text=text):
                slots |= {"place": text}
            case ev.Numbered(text=text, number=number):
                slots |= {"place": text, "number": str(number)}
            case ev.ParentLink():
                named = PARENTS.get(statement.parent_sex, A_PARENT)
                slots |= {
                    "parent": self.name(statement.parent), "child": self.name(statement.child),
                    "role": named.role, "a_role": named.a_role,
                }  # fmt: skip
        return slots

    def _lapse_slots(self, statement: ev.RelativeDate) -> dict[str, str]:
        code, _, tag = statement.event.partition(":")
        born = self.name(code) if tag == ev.LIFE_TAGS[ev.LifeEvent.BIRTH] else ""
        at = lapse_words(self.event(statement.event), statement.lapse, born)
        slots = dict.fromkeys(("when", "at", "date", "by"), at)
        return slots | {"as_written": statement.words or at, "quoted": f"“{statement.text}”"}


def says(statement: ev.Statement) -> str:
    """Whose word a statement is: "says Aunt Edda"; "" when nobody is named."""
    if not statement.informant:
        return ""
    hearsay = isinstance(statement, ev.DateClaim) and statement.hearsay
    return f"says {statement.informant}{f', {NOT_BORN}' if hearsay else ''}"


def _date_slots(date: Dated) -> dict[str, str]:
    """A date as different sentences need it; one behind "may not" does without its own "perhaps"."""
    at, bare = _at(date), certain(date)
    by = at if manner(date) is DateManner.REST else f"by {bare}"
    if not date.doubtful:
        return {"when": at, "at": at, "date": bare, "by": by, "as_written": bare}
    return {"when": f"perhaps {at}", "at": at, "date": words(date), "by": f"perhaps {by}", "as_written": f"{bare}?"}


def on(date: Dated) -> str:
    """A date with the preposition it needs: "on 2 May 1917", "in 1917", "about 1900", "between 1900 and 1905"."""
    return f"perhaps {_at(date)}" if date.doubtful else _at(date)


def _at(date: Dated) -> str:
    text, days = certain(date), date.as_stated.span
    if manner(date) is not DateManner.PERIOD:
        return text
    return f"on {text}" if days.first is not None and days.first == days.last else f"in {text}"


def aged(kind: str, low: float, high: float) -> str:
    """An age behind a name: "looks 6 to 8", "aged 7"."""
    return f"{KINDS[kind].fact} {age_words(low, high)}"


def _age_of(name: str) -> str:
    """ "Ada Marsh's age", "the age of Ada Marsh (1850 to 1920)"."""
    if name.endswith(")"):
        return f"the age of {name}"
    return f"{name}' age" if name.endswith("s") else f"{name}'s age"


def _known(window: Span) -> str:
    """The years of a process or format."""
    if window.first is None:
        return "made at any time" if window.last is None else f"made until {year_of(window.last)}"
    since = year_of(window.first)
    return f"made from {since} on" if window.last is None else f"made from {since} to {year_of(window.last)}"
