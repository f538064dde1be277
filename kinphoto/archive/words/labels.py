"""A statement in a few words, where it is plain which photograph it is about: beside a bar, in a row of a table."""

from __future__ import annotations

from collections.abc import Sequence

from kinphoto.archive.words.dates import Vital
from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import NOT_BORN, Sentences
from kinphoto.gedcom.wording import day
from kinphoto.phrases import opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Span, year_of

_VITAL = {ev.LifeEvent.BIRTH: "born", ev.LifeEvent.CHRISTENING: "christened", ev.LifeEvent.DEATH: "died",
          ev.LifeEvent.BURIAL: "buried"}  # fmt: skip


def label(say: Sentences, said: ev.Statement, photograph: str) -> str:
    """ "Ada Marsh is in it", "… and looks 6 to 8", "Written on it: “Skerry Point, 1924?”"."""
    kind = words_of(said)
    other = isinstance(said, ev.Relation) and said.photograph != photograph
    return opening(say.fill(kind.label_from(other, bool(said.text)), said))


def source(say: Sentences, said: ev.Statement, life: Sequence[ev.LifeDate] = ()) -> str:
    """The second line: "born 2 May 1917, died 1990, says Aunt Edda"."""
    dates = [Vital(_VITAL[d.event], d.date).text for d in life]
    vitals = [text if d.event not in (ev.LifeEvent.BIRTH, ev.LifeEvent.DEATH) else f"{_VITAL[d.event]} {text}"
              for d, text in zip(life, dates, strict=True)]  # fmt: skip
    words = []
    if isinstance(said, ev.DateClaim) and said.text:
        words = [say.fill("read as {date}" if words_of(said).label_quoting else "{quoted}", said)]
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
