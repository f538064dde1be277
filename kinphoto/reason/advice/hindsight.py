"""How good the estimates are: known dates are hidden, estimated from everything else, and compared.

**What is hidden.** All dated statements and events of every photograph that shares the exposure; a photographer's mark
stays. Conflicts, births and informants are worked out again without them.

**Cross-validation.** Up to `FOLDS` dates are left out one at a time. More are left out in `FOLDS` folds; photographs
that bear on each other directly (a relation, or a person with a vague birth in both) are put in different folds.

**Comparison.** A known date is a span of a year at most, flat. The likely range is *right* to the share of that span it
holds; the best date is off by its distance to the middle. For a judged age of somebody whose birth is known to a year,

    difference on the scale = (g(low) + g(after high)) / 2 - g(true age),      difference in years likewise.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

import numpy as np
from scipy.special import bdtr

from kinphoto.reason.dating import date_locally
from kinphoto.reason.hard.conflict import settle, weigh_equals
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import perception
from kinphoto.reason.model.findings import HOLDS, FittedAges
from kinphoto.reason.model.lookup import Lookup, look_up
from kinphoto.reason.model.rivals import unrivalled
from kinphoto.reason.model.span import DAYS_PER_YEAR, Span
from kinphoto.reason.model.walk import EXACT
from kinphoto.reason.soft.groups import together

FOLDS = 25
"""Times that the whole archive is dated again at most."""


@dataclass(frozen=True, slots=True)
class Row:
    """One photograph whose date is known: `true` by the statement `by` (of kind `kind`), and what was estimated without
    it. `inside` is the share of the true span that the likely range holds, `off` the days from its middle to the best
    date (positive: estimated too late). `blind`: every age judged on it was given before the date was seen; None where
    none was judged."""

    photograph: str
    true: Span
    by: str
    kind: str
    likely: Span
    best: int
    inside: float
    off: float
    blind: bool | None


@dataclass(frozen=True, slots=True)
class Score:
    """How the rows of one kind came out: how many, how often the likely range was right, and how far the best date was
    off (years; None where there is no row)."""

    photographs: int
    coverage: float | None
    median: float | None
    mean: float | None


@dataclass(frozen=True, slots=True)
class Judge:
    """How the ages that one informant judged (None: nobody was named) compare with the true ones: `judgements` given
    `blind` or not, their mean difference in years and on the scale of `perception`, and the standard deviation on that
    scale (None for a single one)."""

    informant: str | None
    blind: bool
    judgements: int
    bias_years: float
    bias: float
    spread: float | None


@dataclass(frozen=True, slots=True)
class Hindsight:
    """The whole comparison. `undated` are photographs (ids) without any other evidence of their date."""

    rows: tuple[Row, ...]
    undated: tuple[str, ...]
    judges: tuple[Judge, ...]
    fitted: FittedAges | None = None
    """How often ages are taken to be fitted to a date, as everything was last dated (known dates not hidden)."""

    @property
    def score(self) -> Score:
        """Of all rows."""
        return score(self.rows)

    def of(self, blind: bool) -> Score:
        """Of the rows whose ages were all judged before the date was seen, or of those where some were not."""
        return score([row for row in self.rows if row.blind is blind])


def hindsight(evidence: ev.Evidence) -> Hindsight:
    """Hide every known date and compare it with what follows from the rest.

    A date that is set aside, or that another contradicts with equal right, is not taken for known.
    """
    settled = weigh_equals(settle(evidence))
    lookup = look_up(evidence.without(frozenset({*settled.aside, *settled.equally_trusted})))
    known = dict(_known(lookup))
    everything = look_up(evidence)
    shared = _shared(everything)
    rows, undated = [], []
    for fold in folds(list(known), everything, shared):
        hidden = {s for photograph in fold for s in _dating_statements(shared[photograph], everything)}
        dated_exposures = date_locally(evidence.without(frozenset(hidden)), fold).dated_exposures
        for photograph in fold:
            e = dated_exposures[photograph].estimate
            if e.likely_from is None or e.likely_to is None or e.best is None:
                undated.append(photograph)
                continue
            statement, span = known[photograph]
            first, last = span.first or 0, span.last or 0
            held = min(last, e.likely_to) - max(first, e.likely_from) + 1
            rows.append(
                Row(
                    photograph, span, statement.id, statement.kind, Span(e.likely_from, e.likely_to), e.best,
                    max(held, 0) / (last - first + 1), e.best - (first + last) / 2, _blind(photograph, lookup),
                )
            )  # fmt: skip
    order = {photograph: at for at, photograph in enumerate(known)}
    rows.sort(key=lambda row: order[row.photograph])
    return Hindsight(tuple(rows), tuple(sorted(undated, key=order.__getitem__)), tuple(_judges(known, lookup)))


def score(rows: Sequence[Row]) -> Score:
    """How these rows came out."""
    if not rows:
        return Score(0, None, None, None)
    errors = sorted(abs(row.off) / DAYS_PER_YEAR for row in rows)
    middle = (errors[(len(errors) - 1) // 2] + errors[len(errors) // 2]) / 2
    return Score(len(rows), fmean(row.inside for row in rows), middle, fmean(errors))


_Dating = ev.DateClaim | ev.EventClaim


def _known(lookup: Lookup) -> Iterator[tuple[str, tuple[_Dating, Span]]]:
    """Photographs whose date is known, by which statement, and to which span."""
    for photograph in lookup.photographs.values():
        if photograph.page:
            continue
        claims, shown = lookup.claims.get(photograph.id, ()), lookup.shown.get(photograph.id, ())
        known = [c for c in claims if c.claim.known]
        of_it: list[tuple[_Dating, Span]] = [(c, c.date.span) for c in known if c.claim.of_exposure]
        of_it += [(s, lookup.events[s.event].date.span) for s in shown if s.event in lookup.events]
        of_object: list[tuple[_Dating, Span]] = [(c, c.date.span) for c in known if not c.claim.of_exposure]
        for statement in (of_it, of_object):
            close = [(width, pair) for pair in statement if (width := _width(pair[1])) is not None]
            if close:
                yield photograph.id, min(close, key=lambda one: one[0])[1]
                break


def _width(span: Span) -> int | None:
    """The days of a span that is close enough; None of any other."""
    if span.first is None or span.last is None:
        return None
    width = span.last - span.first
    return width if 0 <= width <= EXACT else None


def _shared(lookup: Lookup) -> dict[str, set[str]]:
    """All photographs of one exposure, by each of them."""
    return {p: set(sharing) for sharing in together(list(lookup.photographs), lookup) for p in sharing}


def _dating_statements(photographs: Iterable[str], lookup: Lookup) -> Iterator[str]:
    """The statements that date these photographs (ids)."""
    for photograph in photographs:
        yield from (c.id for c in lookup.claims.get(photograph, ()) if c.claim is not ev.Claim.IMPRINT)
        yield from (s.id for by in (lookup.shown, lookup.by_event) for s in by.get(photograph, ()))


def folds(photographs: Sequence[str], lookup: Lookup, shared: Mapping[str, set[str]]) -> list[list[str]]:
    """The photographs of each fold: each alone, or if there are many, FOLDS folds in which as few as possible bear on
    each other directly."""
    if len(photographs) <= FOLDS:
        return [[photograph] for photograph in photographs]
    ties = _ties(photographs, lookup, shared)
    taken: dict[str, int] = {}
    size = [0] * FOLDS
    for photograph in photographs:
        near = [0] * FOLDS
        for tie in ties[photograph]:
            for fold, count in tie.items():
                near[fold] += count
        best = min(range(FOLDS), key=lambda fold: (near[fold], size[fold]))
        taken[photograph] = best
        size[best] += 1
        for tie in ties[photograph]:
            tie[best] += 1
    sorted_out: list[list[str]] = [[] for _ in range(FOLDS)]
    for photograph in photographs:
        sorted_out[taken[photograph]].append(photograph)
    return sorted_out


def _ties(
    photographs: Sequence[str], lookup: Lookup, shared: Mapping[str, set[str]]
) -> dict[str, list[defaultdict[int, int]]]:
    """What links each photograph to others (exposure, relations, people with vague births), each with a count of the
    photographs it links that are in each fold already."""
    of: dict[object, defaultdict[int, int]] = defaultdict(lambda: defaultdict(int))
    names: dict[str, set[object]] = {p: {("exposure", *sorted(shared[p]))} for p in photographs}
    for r in lookup.relations:
        for end in {r.photograph, r.other} & names.keys():
            names[end].add(r.id)
    for photograph in photographs:
        people = {a.person for p in shared[photograph] for a in lookup.seen.get(p, ())}
        names[photograph] |= {("birth", p) for p in people if p is not None and _birth(p, lookup) is None}
    return {photograph: [of[name] for name in found] for photograph, found in names.items()}


def _birth(person: str, lookup: Lookup) -> float | None:
    """The middle of a birth known to within a year."""
    statement = lookup.lives.get((person, ev.LifeEvent.BIRTH))
    if statement is None or _width(statement.date.span) is None:
        return None
    return ((statement.date.span.first or 0) + (statement.date.span.last or 0)) / 2


def _judged(photograph: str, lookup: Lookup) -> Iterator[tuple[ev.Appearance, ev.Age]]:
    """The ages judged on a photograph, of whoever is there in person."""
    for seen in lookup.seen.get(photograph, ()):
        if seen.role is ev.Role.PRESENT and not seen.denied:
            yield from ((seen, age) for age in lookup.ages.get(seen.id, ()) if age.basis is ev.AgeBasis.APPARENT)


def _blind(photograph: str, lookup: Lookup) -> bool | None:
    judged = [age.blind for _, age in _judged(photograph, lookup)]
    return all(judged) if judged else None


def _judges(known: Mapping[str, tuple[_Dating, Span]], lookup: Lookup) -> Iterator[Judge]:
    """Each informant's ages beside the true ones, blind ones apart; who judged most first."""
    differences: dict[tuple[str | None, bool], list[tuple[float, float]]] = defaultdict(list)
    for photograph, (_, span) in known.items():
        unambiguous = {a.id for a in unrivalled(lookup.seen.get(photograph, ()))}
        for seen, age in _judged(photograph, lookup):
            born = None if seen.id not in unambiguous else _birth(seen.person or "", lookup)
            years = None if born is None else (((span.first or 0) + (span.last or 0)) / 2 - born) / DAYS_PER_YEAR
            if years is not None and years >= 0:
                differences[age.informant, age.blind].append(_difference(age, years))
    for (informant, blind), found in sorted(differences.items(), key=lambda one: -len(one[1])):
        in_years, on_scale = zip(*found, strict=True)
        spread = stdev(on_scale) if len(found) > 1 else None
        yield Judge(informant, blind, len(found), fmean(in_years), fmean(on_scale), spread)


def _difference(age: ev.Age, years: float) -> tuple[float, float]:
    """How much older somebody of this many years was judged: in years, and on the scale."""
    low, high = age.low, float(perception.after(age.high))
    on_scale = (float(perception.scale(low)) + float(perception.scale(high))) / 2 - float(perception.scale(years))
    return (low + high) / 2 - years, on_scale


def by_chance(photographs: int, share: float = HOLDS) -> tuple[int, int]:
    """The 2.5th and 97.5th percentiles of the number of likely ranges that are right, if each is right with the chance
    `share` (binomial)."""
    at_most = bdtr(np.arange(photographs + 1), photographs, share)
    low, high = np.searchsorted(at_most, [0.025, 0.975])
    return int(low), int(high)
