"""Why a photograph has its date, in words: what each statement contributes, and the range without it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from sqlalchemy import Connection

from kinphoto.archive.catalogue.namesakes import named_apart
from kinphoto.archive.dates.contributions import (
    NOTABLE,
    Contribution,
    WhatIf,
    far_that_matter,
    is_own,
    own_in_order,
    range_words,
    weighed,
)
from kinphoto.archive.dates.estimates import DatedPhotograph, estimates, find_dated, kept_findings
from kinphoto.archive.dates.lying import is_of_strip, on_strip, printed_with
from kinphoto.archive.dates.one_photograph import near
from kinphoto.archive.words.ages import age_words
from kinphoto.archive.words.dates import from_collection, one_of, when
from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import COUNTS_FOR_MORE, Sentences, on
from kinphoto.documents import INLINE, Key
from kinphoto.phrases import listed, opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Estimate, State

MOST_CLUES = 5
"""Clues that a reader sees; other statements are counted."""
OFTEN = 0.5
"""Where the ages of more photographs than this share seem to have been fitted to a date, that is said (ours)."""
CANDIDATES = 12
"""Clues to try beside those that matter by themselves, weightiest first."""

FITTED = "Ages judged with the date in view agree so closely here that many were fitted to one, so they count for less."


@dataclass(frozen=True, slots=True)
class Clue:
    """Statements about one thing: somebody's name, life and looks, or an event and its date."""

    statements: Annotated[tuple[str, ...], "the statements that make it"]
    text: Annotated[str, "the clue in words"]
    effect: Annotated[str, "what the date would be without it"]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One photograph's estimate in words.

    `parts` are all statements, or only those that are set aside or denied.
    """

    dated: Annotated[DatedPhotograph, INLINE]
    text: Annotated[str, "the explanation in words"]
    clues: Annotated[tuple[Clue, ...], "the clues that matter, weightiest first"]
    parts: Annotated[tuple[Contribution, ...], Key("statements"), "what it rests on, each by itself"]
    others: Annotated[int, "how many statements are neither in a clue nor listed"]
    laws: Annotated[tuple[str, ...], "the laws at work, in words"]
    conflicts: Annotated[tuple[str, ...], "ids of the conflicts it is part of"]


def explain(connection: Connection, photograph: str, *, everything: bool = True) -> Explanation:
    """Explain one photograph; without `everything` only by what matters, which is quicker. Raises NotFoundError,
    AmbiguousError."""
    wanted = find_dated(connection, photograph)
    dated = estimates(connection, [wanted])[wanted]
    settled, around = kept_findings(connection), near(connection, wanted)
    namesakes = named_apart(connection, {p.id for p in around.gathered.people})
    code, evidence, aside = dated.code, around.evidence, frozenset(settled.aside)
    what_if = WhatIf(evidence.without(aside), code, dated.estimate, around.births)
    say = Sentences(around.gathered, namesakes)
    own = [s for s in evidence.statements if is_own(s, code, say)]
    statements = [*own_in_order(own, evidence, aside), *far_that_matter(own, evidence, what_if, aside, say)]
    conflicts = tuple(c.id for c in settled.conflicts if code in c.photographs)
    standing = [s for s in statements if s.id not in aside and s.id not in what_if.contested]
    strip = on_strip(connection, what_if.evidence, code)
    printed = None if strip else printed_with(connection, what_if.evidence, code)
    clues = [] if dated.estimate.state is State.OPEN else list(_clues(standing, what_if, say, strip, printed))
    fitted = settled.fitted is not None and settled.fitted.share > OFTEN
    text = _text(dated.estimate, clues, what_if, say, fitted=fitted)
    shown = [s for s in statements if everything or s.id in aside or s.id in what_if.contested]
    parts = tuple(weighed(s, s.id in aside, what_if, say) for s in shown)
    others = {s.id for s in statements} - {s.id for s in shown} - {each for clue in clues for each in clue.statements}
    return Explanation(dated, text, tuple(clues), parts, len(others), _laws(dated.estimate, standing), conflicts)


def _text(estimate: Estimate, clues: list[Clue], what_if: WhatIf, say: Sentences, *, fitted: bool) -> str:
    """The paragraph: the date, what it mostly rests on, and what it would be without the weightiest statement. Here
    ages were often `fitted` to a date."""
    sentences = [opening(when(estimate)) + "."]
    if clues:
        sentences.append("; ".join(clue.text for clue in clues) + ".")
    ages = (say.statements[each] for clue in clues for each in clue.statements)
    if fitted and any(_with_the_date_in_view(age, what_if, say) for age in ages):
        sentences.append(FITTED)
    if estimate.doubts_a_name:
        possible = replace(estimate, state=State.OPEN)
        sentences.append(
            f"If every name were right it could be {range_words(possible, what_if.supported)}; the ages point to "
            "another time, so one of the names may be wrong."
        )
    if estimate.state is State.OPEN:
        sentences.append("Nothing recorded so far helps to date it.")
        if alone := from_collection(estimate):
            sentences.append(alone + ".")
    elif one_of(estimate.edtf):
        sentences.append("Nothing else on record shows which.")
    else:
        sentences += _counterfactual([say.statements[each] for clue in clues for each in clue.statements], what_if, say)
    return " ".join(sentences)


def _with_the_date_in_view(statement: ev.Statement, what_if: WhatIf, say: Sentences) -> bool:
    """Whether it is an age judged in this picture by somebody who may have known the date."""
    judged = isinstance(statement, ev.Age) and statement.basis is ev.AgeBasis.APPARENT and not statement.blind
    return judged and what_if.code in say.photographs(statement.id)


def _clues(
    standing: Sequence[ev.Statement], what_if: WhatIf, say: Sentences, strip: str | None = None,
    printed: str | None = None,
) -> Iterator[Clue]:  # fmt: skip
    """The few clues that matter, as clauses, weightiest first; `strip` are the others on its strip, and `printed` those
    with its printed date, in words."""
    by_subject: dict[str, list[str]] = defaultdict(list)
    for statement in standing:
        event = statement.event if isinstance(statement, ev.EventClaim | ev.RelativeDate | ev.EventDate) else None
        subject = ev.Related.SAME_STRIP if is_of_strip(statement) else _whose(statement, say)
        by_subject[event or subject or statement.id].append(statement.id)
    for at, ids in enumerate(that_matter([tuple(ids) for ids in by_subject.values()], what_if)):
        of_strip = strip is not None and is_of_strip(say.statements[ids[0]])
        clause = f"{what_if.code} is on the same strip of film as {strip}" if of_strip else _clause(ids, what_if, say)
        if printed is not None and say.statements[ids[0]].kind == ev.Claim.PRINT_STAMP:
            clause = f"{clause}, like {printed} kept with it"
        text = opening(clause) if at == 0 else clause
        yield Clue(ids, text, f"Without it: {range_words(what_if.without(*ids), what_if.supported)}.")


def that_matter(clues: Sequence[tuple[str, ...]], what_if: WhatIf) -> list[tuple[str, ...]]:
    """The clues (ids of their statements) that a reader needs, weightiest first, at most MOST_CLUES.

    First those without which the range would be different. Where two say the same, leaving out one makes no difference:
    so next comes whichever brings the range nearest to what it is, until these alone give about that range.
    """
    weight = {ids: what_if.moves(*ids) for ids in clues}
    ranked = sorted(clues, key=lambda ids: -weight[ids])
    chosen = [ids for ids in ranked if weight[ids] >= NOTABLE][:MOST_CLUES]
    rest = [ids for ids in ranked if ids not in chosen]

    def apart(some: list[tuple[str, ...]]) -> int:
        left_out = [s for ids in clues if ids not in some for s in ids]
        return what_if.moves(*left_out) if left_out else 0

    while rest and len(chosen) < MOST_CLUES and (now := apart(chosen)) >= NOTABLE:
        nearest, best = min(((apart([*chosen, ids]), ids) for ids in rest[:CANDIDATES]), key=lambda pair: pair[0])
        if nearest >= now:
            break
        chosen.append(best)
        rest.remove(best)
    return chosen


def _clause(ids: Sequence[str], what_if: WhatIf, say: Sentences) -> str:
    """One clue in words: "Ada Marsh was born on 2 May 1917 and looks 6 to 8"; of a life and looks only what matters."""
    statements = [say.statements[each] for each in ids]
    person = _whose(statements[0], say)
    if person is None:
        return "; ".join(say.sentence(each) for each in ids)
    ages = [s for s in statements if isinstance(s, ev.Age) and what_if.code in say.photographs(s.id)]
    lives = [s for s in statements if isinstance(s, ev.LifeDate)]
    matters = {s.id for s in lives if what_if.moves(s.id) >= NOTABLE}
    born = [f"was born {on(s.date)}" for s in lives if s.event is ev.LifeEvent.BIRTH and (ages or s.id in matters)]
    died = [f"died {on(s.date)}" for s in lives if s.event is ev.LifeEvent.DEATH and s.id in matters]
    clauses = [*born, *_ages(ages), *died]
    return f"{say.name(person)} {listed(clauses)}" if clauses else say.sentence(ids[0])


def _whose(statement: ev.Statement, say: Sentences) -> str | None:
    """Whose life or looks a statement is about; None when it is about something else."""
    match statement:
        case ev.LifeDate(event=ev.LifeEvent.BIRTH | ev.LifeEvent.DEATH) | ev.Age() | ev.Appearance(denied=False):
            return next(iter(say.about(statement.id)), None)
    return None


def _ages(statement: list[ev.Age]) -> Iterator[str]:
    """ "looks 6 to 8 or 7": judged ages together, those judged unseen first, and stated ones together."""
    for basis in (ev.AgeBasis.APPARENT, ev.AgeBasis.STATED):
        same = [s for s in statement if s.basis is basis]
        unseen = [s for s in same if s.blind and basis is ev.AgeBasis.APPARENT]
        found = dict.fromkeys(age_words(s.low, s.high) for s in unseen)
        more = dict.fromkeys(age_words(s.low, s.high) for s in same if s not in unseen)
        told = [f"{' or '.join(found)} ({COUNTS_FOR_MORE})"] if found else []
        if same:
            ages = " or ".join([*told, *more])
            yield f"looks {ages}" if basis is ev.AgeBasis.APPARENT else f"is {ages}"


def _counterfactual(statements: Sequence[ev.Statement], what_if: WhatIf, say: Sentences) -> Iterator[str]:
    """ "Without her age it could be any time from May 1917 to November 1926." """
    moving = [s for s in statements if what_if.moves(s.id) >= NOTABLE]
    statement = [
        s
        for s in moving
        if isinstance(s, ev.Age | ev.DateClaim | ev.RelativeDate | ev.EventClaim | ev.Made | ev.Relation)
    ]
    best = max(statement or moving, key=lambda s: what_if.moves(s.id), default=None)
    if best is None:
        return
    other = what_if.without(best.id)
    supported = what_if.supported
    possible = replace(other, state=State.OPEN, likely_from=None, likely_to=None, best=None)
    yield f"Without {say.fill(words_of(best).called, best)} it could be {range_words(possible, supported)}."


def _laws(estimate: Estimate, standing: Sequence[ev.Statement]) -> tuple[str, ...]:
    alive = "nobody is photographed before birth or alive after death"
    taken = "a photograph is not older than photography, nor younger than its first scan"
    named = any(isinstance(s, ev.Appearance) for s in standing)
    return (*([alive] if named else []), *([taken] if estimate.state is State.OPEN else []))
