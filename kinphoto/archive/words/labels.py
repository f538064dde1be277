"""A statement in a few words, for places that already name the photograph: beside a bar, in a row of a table."""

from __future__ import annotations

from collections.abc import Sequence

from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import Sentences, says
from kinphoto.gedcom.wording import day, words
from kinphoto.phrases import opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Span, year_of

_VITAL = {ev.LifeEvent.BIRTH: "born {}", ev.LifeEvent.CHRISTENING: "christened {}", ev.LifeEvent.DEATH: "died {}",
          ev.LifeEvent.BURIAL: "buried {}"}  # fmt: skip


def label(say: Sentences, statement: ev.Statement, photograph: str) -> str:
    """ "Ada Marsh is in it", "… and looks 6 to 8", "“Skerry Point, 1924?” is written on it"."""
    other = isinstance(statement, ev.Relation) and statement.photograph != photograph
    return opening(say.fill(words_of(statement).label_from(other, bool(statement.text)), statement))


def source(say: Sentences, statement: ev.Statement, life: Sequence[ev.LifeDate] = ()) -> str:
    """The second line: "born 2 May 1917, died 1990, says Aunt Edda"."""
    parts = [_VITAL[date.event].format(words(date.date)) for date in life]
    if isinstance(statement, ev.DateClaim | ev.RelativeDate) and statement.text:
        parts.append(say.fill("read as {date}" if words_of(statement).label_quoting else "{quoted}", statement))
    return ", ".join(filter(None, (*parts, says(statement))))


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
