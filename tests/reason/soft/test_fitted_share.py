"""How often ages are fitted to a date, learned from many photographs, against plain sums."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kinphoto.reason.dating import Inference, date_archive
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import fitted_ages as fa
from kinphoto.reason.model import perception
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Person, Photograph

STRONG = ev.Trust.STRONG
BORN = {f"p{i}": year for i, year in enumerate((1880, 1890, 1900, 1905))}


def family(pictures: dict[str, tuple[dict[str, int], bool]], dated: str = "") -> ev.Evidence:
    """Photographs with the ages that everybody in them looks to different judges, and whether those were given unseen;
    `dated` has "1930" on the back."""
    said: list[ev.Statement] = []
    for person, year in BORN.items():
        day = Span(first := round((year - 1) * 365.2425), first)
        said.append(
            ev.LifeDate(id=f"b{person}", trust=STRONG, person=person, event=ev.LifeEvent.BIRTH, date=Dated(day))
        )
    for name, (ages, unseen) in pictures.items():
        for person, age in ages.items():
            said.append(ev.Appearance(id=f"a{name}{person}", trust=STRONG, photograph=name, person=person))
            said.append(ev.Age(
                id=f"g{name}{person}", trust=STRONG, appearance=f"a{name}{person}", low=age, high=age,
                informant=f"judge of {person}", blind=unseen,
            ))  # fmt: skip
    if dated:
        span = Span(round(1929 * 365.2425), round(1930 * 365.2425))
        said.append(ev.DateClaim(
            id="c", trust=STRONG, photograph=dated, claim=ev.Claim.INSCRIPTION, date=Dated(span)
        ))  # fmt: skip
    indexed = round(1989 * 365.2425)
    people = tuple(Person(p, p) for p in BORN)
    return ev.Evidence(people, tuple(Photograph(name, indexed) for name in pictures), tuple(said))


def about(year: int, *off: int) -> dict[str, int]:
    """The ages of the family in a year, each as much off."""
    return {p: year - born + o for (p, born), o in zip(BORN.items(), off, strict=False)}


PICTURES = {
    "K1": (about(1925, 0, 0, 0), False),  # as if reckoned
    "K2": (about(1930, 6, -4, 3), False),
    "K3": (about(1928, 0, 1, 0, 0), False),
    "K4": (about(1932, 0, 9), True),
    "K5": (about(1940, 3, 0, -5), True),
    "K6": (about(1935, 2), False),  # alone: nothing to agree with
}


def log_ratio(ages: dict[str, int]) -> float:
    """R of one photograph, by a sum over every tenth of a year."""
    years = np.arange(1890.0, 1970.0, 0.1)
    total = []
    for points in (perception.ANYBODY, fa.TO_A_DATE):
        of = np.ones_like(years)
        for person, age in ages.items():
            judged = perception.judged_mean(perception.judgement(age, age), years - BORN[person], points)
            of *= 0.95 * judged * (years >= BORN[person]) + 0.05 * 0.01
        total.append(of.sum())
    return float(np.log(total[1] / total[0]))


def test_how_often_ages_are_fitted_is_learned_from_how_they_agree() -> None:
    """Three photographs with the date in view and two without are compared, by what each is if fitted and if not. The
    sums are over the years in which all of them surely lived or may have lived."""
    found = Inference(family(PICTURES)).beliefs.fitted
    seen = {i: log_ratio(ages) for i, (ages, unseen) in enumerate(PICTURES.values()) if not unseen and len(ages) > 1}
    unseen = [log_ratio(ages) for ages, unseen in PICTURES.values() if unseen]
    expected = fa.learned(seen, unseen)
    assert (found.seen, found.unseen) == (3, 2)
    assert found.mean == pytest.approx(expected.mean, abs=0.02)
    assert found.without == pytest.approx(expected.without, abs=0.02)
    assert found.without[0] < found.mean < found.without[1]  # without what is told by ages that agree, and that don't


def test_a_photograph_with_a_date_tells_nothing_of_it() -> None:
    """Whoever saw "1930" on the back fits ages to that, which may be right."""
    assert Inference(family(PICTURES, dated="K1")).beliefs.fitted.seen == 2


def test_what_everything_told_is_used_where_only_a_part_is_at_hand() -> None:
    """In an archive in which ages are fitted everywhere, a boy of twelve who is alone in a picture gets a longer range.
    Dated from that picture and the share, he gets the same."""
    boy = {"K12": ({"p3": 12}, False)}
    everything = {f"K{i}": (about(1920 + i, 0, 0, 0, 0), False) for i in range(12)} | boy
    whole = date_archive(family(everything))
    assert whole.fitted is not None
    assert whole.fitted.share > 0.8
    among = next(e for e in whole.estimates if e.photograph == "K12")
    (alone,) = date_archive(replace(family(boy), fitted=whole.fitted.share)).estimates
    (unaware,) = date_archive(family(boy)).estimates
    assert (alone.likely_from, alone.likely_to) == (among.likely_from, among.likely_to)
    ranges = [(e.likely_to or 0) - (e.likely_from or 0) for e in (alone, unaware)]
    assert ranges[0] > 1.2 * ranges[1]
