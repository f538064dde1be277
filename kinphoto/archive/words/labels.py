"""A statement in a few words, where it is plain which photograph it is about: beside a bar, in a row of a table."""

from __future__ import annotations

from collections.abc import Sequence

from kinphoto.archive.words.dates import Vital
from kinphoto.archive.words.sentences import NOT_BORN, Sentences, age_words, on
from kinphoto.gedcom.wording import day
from kinphoto.phrases import opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Span, year_of

_ROLES = {
    ev.Role.PRESENT: "{} is in it",
    ev.Role.LIKENESS: "a likeness of {} is in it",
    ev.Role.LAID_OUT: "{} is laid out in it",
}
_CLAIMS = {
    ev.Claim.INSCRIPTION: "Written on it as its date: {}",
    ev.Claim.TAKEN: "Taken {}",
    ev.Claim.RECOLLECTION: "Remembered as taken {}",
    ev.Claim.WRITTEN: "Written on or given away {}, so not later",
    ev.Claim.POSTMARK: "Postmarked {}, so not later",
    ev.Claim.PRINT_STAMP: "Printed {}, its border says",
    ev.Claim.IMPRINT: "The photographer worked there {}",
}
_TIES = {
    ev.Related.BEFORE: ("Taken before {}", "Taken after {}"),
    ev.Related.AFTER: ("Taken after {}", "Taken before {}"),
    ev.Related.SAME_OCCASION: ("The same occasion as {}",) * 2,
    ev.Related.COPY_OF: ("A copy of {}", "The original of {}"),
    ev.Related.SAME_NEGATIVE: ("From the same negative as {}",) * 2,
    ev.Related.PART_OF: ("Mounted on {}", "Carries {}"),
}
_VITAL = {ev.LifeEvent.BIRTH: "born", ev.LifeEvent.CHRISTENING: "christened", ev.LifeEvent.DEATH: "died",
          ev.LifeEvent.BURIAL: "buried"}  # fmt: skip


def label(say: Sentences, said: ev.Statement, photograph: str) -> str:
    """ "Ada Marsh is in it", "… and looks 6 to 8", "Written on it: “Skerry Point, 1924?”"."""
    match said:
        case ev.Appearance():
            who = say.name(said.person)
            return opening(f"it is not {who}" if said.denied else _ROLES[said.role].format(who))
        case ev.Age():
            verb = "looks" if said.basis is ev.AgeBasis.APPARENT else "is said to be"
            return f"… and {verb} {age_words(said.low, said.high)}"
        case ev.DateClaim(claim=ev.Claim.INSCRIPTION) if said.text:
            return f"Written on it: “{said.text}”"
        case ev.DateClaim():
            return _CLAIMS[said.claim].format(_bare(said) if said.claim is ev.Claim.INSCRIPTION else on(said.date))
        case ev.Made():
            title = say.processes[said.name].title if said.name in say.processes else said.name
            return opening(f"{title}, {_made(said.window)}")
        case ev.EventClaim():
            return f"Shows {say.event(said.event)}"
        case ev.Relation():
            here = said.photograph == photograph
            return _TIES[said.related][0 if here else 1].format(said.other if here else said.photograph)
    return say.opening(said.id)


def source(say: Sentences, said: ev.Statement, life: Sequence[ev.LifeDate] = ()) -> str:
    """The second line: "born 2 May 1917, died 1990, says Aunt Edda"."""
    dates = [Vital(_VITAL[d.event], d.date).text for d in life]
    vitals = [text if d.event not in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH) else f"{_VITAL[d.event]} {text}"
              for d, text in zip(life, dates, strict=True)]  # fmt: skip
    words = [f"read as {_bare(said)}"] if isinstance(said, ev.DateClaim) and said.text and _is_quoted(said) else []
    if isinstance(said, ev.DateClaim) and said.text and not _is_quoted(said):
        words = [f"“{said.text}”"]
    by = [f"says {said.informant}{f', {NOT_BORN}' if said.hearsay else ''}"] if said.informant else []
    return ", ".join([*vitals, *words, *by])


def from_to(span: Span) -> str:
    """The days a statement allows: "from 2 May 1917 on", "until 9 November 1926", "any time"."""
    if span.first is None:
        return "any time" if span.last is None else f"until {day(span.last)}"
    if span.last is None:
        return f"from {day(span.first)} on"
    return f"on {day(span.first)}" if span.first == span.last else f"from {day(span.first)} until {day(span.last)}"


def likely(inner: Span, outer: Span) -> str:
    """What a statement makes likely: "most likely 1923 to 1926, possible 1919 to 1937"."""
    return f"most likely {_years(inner)}, possible {_years(outer)}"


def _years(span: Span) -> str:
    first, last = year_of(span.first or 0), year_of(span.last or 0)
    return str(first) if first == last else f"{first} to {last}"


def _made(window: Span) -> str:
    since = "" if window.first is None else f" from {year_of(window.first)}"
    until = (" on" if since else "") if window.last is None else f" to {year_of(window.last)}"
    return f"known{since}{until}" if since or until else "of no known years"


def _is_quoted(said: ev.DateClaim) -> bool:
    return said.claim is ev.Claim.INSCRIPTION


def _bare(said: ev.DateClaim) -> str:
    return on(said.date).removeprefix("in ").removeprefix("on ")
