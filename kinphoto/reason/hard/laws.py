"""Laws and statements as constraints between days: `_parent_links` forbids a child before its mother's own birth.

`_lives`, `_pictures`, `_parent_links`, `_marriages` and `_appearances` are the laws of docs/method.md, with their
numbers in `model/limits.py`. What a constraint is, and which variables there are: `constraints.py`. Laws rest on no
statement; a law of kinship rests on the link.

**What makes no constraint.** Judged ages, a denial and the name it denies (two people disagree, so neither is taken at
their word), people not identified, and whatever refers to an album page or to something outside the evidence.

**Rival names.** One of several names on a region is right and nobody knows which, so X, the day of the picture, is only
known to be in the hull of what each allows. That is not a difference constraint, but can be written with two kinds of
helping variables. An *alternative* is the day of the picture if this name is right: constraints lead from the person's
life and stated ages to it and never back, so a name that may be wrong narrows nobody's life. A *hull* is no earlier
than the earliest of its alternatives and no later than the latest, and constraints lead from it to X and never back.
This is sound, since X is at least one of its alternatives, and concludes nothing else. The constraint between hull and
X rests on all the names.

**Orders.** Of two photographs of one day either can be the earlier, so "before" means `≤`, and a ring of such orders
would go unseen. Each photograph with an order therefore has a *rank* besides, without bounds: "before" and "after" put
a step between two ranks, and one exposure has one rank.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from kinphoto.reason.hard.constraints import RANKING, ConstraintBuilder, Constraints, VariableIndex, columns
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.limits import (
    AFTER_FATHERS_DEATH,
    ALLOWANCE,
    EVENT_AFTER,
    EVENT_BEFORE,
    FIRST_PHOTOGRAPH,
    LAID_OUT_WITHIN,
    LONGEST_LIFE,
    OLDEST_FATHER,
    OLDEST_MOTHER,
    SAME_OCCASION,
    YOUNGEST_PARENT,
    YOUNGEST_SPOUSE,
)
from kinphoto.reason.model.span import SAME_YEAR, Span, at_least, at_most, whole_years
from kinphoto.reason.model.subjects import Photograph


def build_constraints(evidence: ev.Evidence) -> Constraints:
    """All constraints of the evidence."""
    statements = tuple({s.id: s for s in reversed(evidence.statements)}.values())[::-1]
    by_kind: dict[type[ev.Statement], list[Any]] = defaultdict(list)
    for statement in evidence.statements:
        by_kind[type(statement)].append(statement)
    variables = VariableIndex(evidence, by_kind, {s.id: i for i, s in enumerate(statements)})
    builder = ConstraintBuilder()
    _lives(variables, builder)
    _pictures(evidence.photographs, variables, builder)
    _rivals(variables, builder)
    for kind, of_kind in by_kind.items():
        _OF_KIND[kind](of_kind, variables, builder)
    return builder.build(variables, statements)


# --- laws -------------------------------------------------------------------------------------------------------------


def _lives(variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """Nobody dies before birth or lives longer than anybody ever did."""
    births, deaths = (np.array(list(v.values()), dtype=np.int64) for v in (variables.births, variables.deaths))
    builder.add(births, deaths, 0)
    builder.add(deaths, births, at_most(LONGEST_LIFE))


def _pictures(photographs: Sequence[Photograph], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """Taken since there is photography, made when taken or later, and both before it was first scanned."""
    indexed = {p.id: p.indexed for p in photographs}
    exposures = list(variables.exposures.values())
    builder.within(exposures, [Span(FIRST_PHOTOGRAPH, indexed[p]) for p in variables.exposures])
    prints = np.array(list(variables.prints.values()), dtype=np.int64)
    builder.add(columns(variables.exposures, variables.prints), prints, 0)
    builder.not_after(prints, [Span(None, indexed[p]) for p in variables.prints])


def _rivals(variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """The picture was taken within the hull of what each of the rival names allows."""
    for hull, group in enumerate(variables.rivals, variables.first_hull):
        exposure, rests = variables.exposures[group[0].photograph], variables.of(group)
        builder.add([exposure], [hull], [0], *rests)
        builder.add([hull], [exposure], [0], *rests)


# --- statements, one function per kind --------------------------------------------------------------------------------


def _life_dates(statements: list[ev.LifeDate], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """A birth or death is in its span; a christening is not before the birth, a burial not before the death;
    somebody who is alive was born and has not died."""
    statements = [s for s in statements if s.person in variables.births]
    for event, lives, close in (
        (ev.LifeEvent.BIRTH, variables.births, builder.within),
        (ev.LifeEvent.CHRISTENING, variables.births, builder.not_after),
        (ev.LifeEvent.DEATH, variables.deaths, builder.within),
        (ev.LifeEvent.BURIAL, variables.deaths, builder.not_after),
    ):
        chosen = [s for s in statements if s.event is event]
        close(columns(lives, (s.person for s in chosen)), [s.date.span for s in chosen], variables.of(chosen))
    alive = [s for s in statements if s.event is ev.LifeEvent.ALIVE]
    people, spans, rests = [s.person for s in alive], [s.date.span for s in alive], variables.of(alive)
    builder.not_after(columns(variables.births, people), spans, rests)
    builder.not_before(columns(variables.deaths, people), spans, rests)


def _event_dates(statements: list[ev.EventDate], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """An event is in the span of its date."""
    builder.within(
        [variables.events[s.event] for s in statements], [s.date.span for s in statements], variables.of(statements)
    )


def _parent_links(statements: list[ev.ParentLink], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """A parent is at least ten years older than the child, so nobody is born before their mother, and not too old at
    the birth; the mother is alive then, the father was within a year."""
    statements = [s for s in statements if s.child in variables.births and s.parent in variables.births]
    child, parent = (
        columns(variables.births, ids) for ids in ([s.child for s in statements], [s.parent for s in statements])
    )
    mother = np.array([s.parent_sex == "F" for s in statements], dtype=bool)
    rests = variables.of(statements)
    builder.add(parent, child, -at_least(YOUNGEST_PARENT), rests)
    builder.add(child, parent, np.where(mother, at_most(OLDEST_MOTHER), at_most(OLDEST_FATHER)), rests)
    death = columns(variables.deaths, (s.parent for s in statements))
    builder.add(child, death, np.where(mother, 0, AFTER_FATHERS_DEATH), rests)


def _marriages(statements: list[ev.Marriage], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """Each of the couple is alive, and no small child."""
    couples = [(s, spouse) for s in statements for spouse in s.spouses if spouse in variables.births]
    wedding = [variables.events[s.event] for s, _ in couples]
    rests = variables.of(s for s, _ in couples)
    builder.add(columns(variables.births, (p for _, p in couples)), wedding, -at_least(YOUNGEST_SPOUSE), rests)
    builder.add(wedding, columns(variables.deaths, (p for _, p in couples)), 0, rests)


def _appearances(statements: list[ev.Appearance], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """In a picture: alive. A likeness: had been born. Laid out: dead, and not for long."""
    statements = [s for s in statements if s.id in variables.seen]
    for role in ev.Role:
        seen = [s for s in statements if s.role is role]
        day, rests = np.array([variables.day_of[s.id] for s in seen], dtype=np.int64), variables.of(seen)
        birth, death = (columns(lives, (s.person for s in seen)) for lives in (variables.births, variables.deaths))
        if role is ev.Role.LAID_OUT:
            builder.add(death, day, 0, rests)
            builder.add(day, death, LAID_OUT_WITHIN, rests)
            continue
        builder.add(birth, day, 0, rests)
        if role is ev.Role.PRESENT:
            builder.add(day, death, 0, rests)


def _ages(statements: list[ev.Age], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """A stated age in completed years, a year allowed either way; of somebody laid out it is the age at death."""
    statements = [s for s in statements if s.basis is ev.AgeBasis.STATED and s.appearance in variables.seen]
    statements = [s for s in statements if variables.seen[s.appearance].role is not ev.Role.LIKENESS]
    faces = [variables.seen[s.appearance] for s in statements]
    give = [0 if s.trust is ev.Trust.CERTAIN else ALLOWANCE for s in statements]
    since = [LAID_OUT_WITHIN if a.role is ev.Role.LAID_OUT else 0 for a in faces]
    most = [at_most(s.high + 1 + more) + late for s, more, late in zip(statements, give, since, strict=True)]
    least = [at_least(max(0.0, s.low - less)) for s, less in zip(statements, give, strict=True)]
    day, birth = [variables.day_of[a.id] for a in faces], columns(variables.births, (a.person for a in faces))
    rests = variables.of(faces), variables.of(statements)
    builder.add(day, birth, most, *rests)
    builder.add(birth, day, np.negative(np.array(least, dtype=np.int64)), *rests)


def _date_claims(statements: list[ev.DateClaim], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """A claim bounds the exposure, the making of the print, or both, on both sides or only from above. A printer's
    stamp is not earlier than the exposure.

    A photographer's mark dates both, but on a copy only the copying: the exposure is its original's.
    """
    originals = {p: day for p, day in variables.exposures.items() if p not in variables.copies}
    bounds = (
        (variables.exposures, _OF_EXPOSURE, builder.within),
        (originals, {ev.Claim.IMPRINT}, builder.within),
        (variables.exposures, _BEFORE_IT, builder.not_after),
        (variables.prints, _OF_PRINT, builder.within),
        (variables.prints, _BEFORE_IT, builder.not_after),
    )
    statements = [s for s in statements if s.photograph in variables.dated]
    for days, claims, close in bounds:
        chosen = [s for s in statements if s.claim in claims and s.photograph in days]
        close(columns(days, (s.photograph for s in chosen)), [s.date.span for s in chosen], variables.of(chosen))


_OF_EXPOSURE = {claim for claim in ev.Claim if claim.of_exposure}
_OF_PRINT = {ev.Claim.PRINT_STAMP, ev.Claim.IMPRINT}
_BEFORE_IT = {ev.Claim.WRITTEN, ev.Claim.POSTMARK, ev.Claim.PRINT_STAMP}


def _event_claims(statements: list[ev.EventClaim], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """The picture of an event is taken about then, or when the couple next goes to town."""
    statements = [s for s in statements if s.photograph in variables.dated]
    day, event = (
        columns(variables.exposures, (s.photograph for s in statements)),
        [variables.events[s.event] for s in statements],
    )
    builder.add(day, event, EVENT_AFTER, variables.of(statements))
    builder.add(event, day, EVENT_BEFORE, variables.of(statements))


def _relative_dates(statements: list[ev.RelativeDate], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """The picture is taken that long before or after the event; in the year of one that has a date, in that year."""
    statements = [s for s in statements if s.photograph in variables.dated]
    for s in statements:
        day, event = variables.exposures[s.photograph], variables.events[s.event]
        if s.lapse.first is not None:
            builder.add(event, day, -s.lapse.first, variables.of([s]))
        if s.lapse.last is not None:
            builder.add(day, event, s.lapse.last, variables.of([s]))
    dated = [(s, date) for s in statements if s.lapse == SAME_YEAR and (date := variables.date_of(s.event))]
    builder.within(
        columns(variables.exposures, (s.photograph for s, _ in dated)),
        [whole_years(date.date.span) for _, date in dated],
        variables.of(s for s, _ in dated), variables.of(date for _, date in dated),
    )  # fmt: skip


def _made(statements: list[ev.Made], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """A process or format bounds the making of a print, and the exposure of what lay in the camera.

    A copy may have been in a camera too (a slide of an old portrait); its window bounds when it was copied.
    """
    statements = [s for s in statements if s.photograph in variables.dated]
    taken = [s.original and s.photograph not in variables.copies for s in statements]
    pairs = zip(statements, taken, strict=True)
    days = [variables.exposures[s.photograph] if camera else variables.making(s.photograph) for s, camera in pairs]
    builder.within(days, [s.window for s in statements], variables.of(statements))


def _lies_in(_: list[ev.LiesIn | ev.Numbered], __: VariableIndex, ___: ConstraintBuilder) -> None:
    """Its container and its number there make dates likely or unlikely, and rule out none."""


def _relations(statements: list[ev.Relation], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """Before or after; within a day of each other; or the same exposure. A part of a page makes no constraint."""
    for related, ahead, back in (
        (ev.Related.BEFORE, 0, None),
        (ev.Related.AFTER, None, 0),
        (ev.Related.SAME_OCCASION, SAME_OCCASION, SAME_OCCASION),
        (ev.Related.COPY_OF, 0, 0),
        (ev.Related.SAME_NEGATIVE, 0, 0),
    ):
        chosen = [s for s in statements if s.related is related and variables.joins(s)]
        one, other = (
            columns(variables.exposures, ids) for ids in ([s.photograph for s in chosen], [s.other for s in chosen])
        )
        if ahead is not None:
            builder.add(one, other, ahead, variables.of(chosen))
        if back is not None:
            builder.add(other, one, back, variables.of(chosen))
    _ranks([s for s in statements if s.related in RANKING and variables.joins(s)], variables, builder)


def _ranks(statements: list[ev.Relation], variables: VariableIndex, builder: ConstraintBuilder) -> None:
    """What was taken earlier has the lower rank, what has one exposure the same."""
    one, other = (
        columns(variables.ranks, ids) for ids in ([s.photograph for s in statements], [s.other for s in statements])
    )
    step, rests = np.array([RANKING[s.related] for s in statements], dtype=np.int64), variables.of(statements)
    up, down = step <= 0, step >= 0
    builder.add(one[up], other[up], step[up], rests[up])
    builder.add(other[down], one[down], -step[down], rests[down])


_OF_KIND: dict[type[ev.Statement], Callable[[list[Any], VariableIndex, ConstraintBuilder], None]] = {
    ev.LifeDate: _life_dates,
    ev.EventDate: _event_dates,
    ev.ParentLink: _parent_links,
    ev.Marriage: _marriages,
    ev.Appearance: _appearances,
    ev.Age: _ages,
    ev.DateClaim: _date_claims,
    ev.EventClaim: _event_claims,
    ev.RelativeDate: _relative_dates,
    ev.Made: _made,
    ev.Relation: _relations,
    ev.LiesIn: _lies_in,
    ev.Numbered: _lies_in,
}
