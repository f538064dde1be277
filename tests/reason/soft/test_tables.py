"""The fast code against plain sums of the functions of `kinphoto/reason/model`, which it tabulates.

`test_belief` compares both with the formulas written out once more; here a table that drifts from its density is found.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from kinphoto.reason.hard.hard_bounds import HardBounds
from kinphoto.reason.model import density, perception, prior
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.span import Dated, Shape, Span, doubted, span_of_years
from kinphoto.reason.model.subjects import Photograph
from kinphoto.reason.model.survival import survival
from kinphoto.reason.soft.claims import GroupStatements
from kinphoto.reason.soft.grid import Grid, grid
from kinphoto.reason.soft.kernels import LAGS, NODES, at_nodes, averaged, by_quarters
from kinphoto.reason.soft.known_faces import Deaths, KnownFace, KnownFaces

YEAR = 365.2425
INDEXED = date(2024, 6, 30).toordinal()
ALLOWED = INDEXED + 1 - FIRST_PHOTOGRAPH
T = ev.Trust
ZERO = np.zeros(1, dtype=np.int64)


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    return date(year, month, of_month).toordinal()


def about(year: int) -> Dated:
    return Dated(span_of_years(year - 10, year + 10), Shape.ABOUT, float(day(year, 7, 2)), 2.5 * YEAR)


YEAR_1931 = Dated(span_of_years(1931, 1931))
DATES = {
    "a year": YEAR_1931,
    "about": about(1931),
    "perhaps": doubted(YEAR_1931),
    "before": Dated(span_of_years(None, 1930), Shape.BEFORE),
    "perhaps after": doubted(Dated(span_of_years(1931, None), Shape.AFTER)),
}


def likelihood_of(said: list[ev.Statement], first: int, last: int) -> tuple[Grid, np.ndarray]:
    """Cells of one photograph, and the likelihood of everything that is said of it in each."""
    evidence = ev.Evidence((), (Photograph("K1", INDEXED),), tuple(said))
    statements = GroupStatements([("K1",)], look_up(evidence), HardBounds())
    cells = grid(np.array([float(first)]), np.array([float(last)]), *statements.breaks_of(ZERO))
    return cells, np.exp(statements.likelihood(cells, ZERO))


@pytest.mark.parametrize("kind", DATES)
def test_a_dated_claim_is_its_mixture_in_every_cell(kind: str) -> None:
    """(1 - q) R f + q, with f from the distribution function at both ends of each cell."""
    claim = ev.DateClaim(id="c", trust=T.FAIR, photograph="K1", claim=ev.Claim.TAKEN, date=DATES[kind])
    cells, found = likelihood_of([claim], day(1890), day(1990))
    of = density.of_date(DATES[kind], FIRST_PHOTOGRAPH, INDEXED + 1.0, fades=True)
    ends = (np.clip(edge, of.first, of.last) for edge in (cells.right, cells.left))
    upper, lower = (density.before(edge, of) for edge in ends)
    assert found == pytest.approx(density.mixture(0.05, ALLOWED * (upper - lower) / cells.width))


@pytest.mark.parametrize("posted", [False, True])
def test_a_print_is_summed_out_over_the_days_it_can_have_been_made(posted: bool) -> None:
    """u(P) k(P - x) / K(indexed - x), summed over all days P after the exposure x: 2 % off in all (total variation)."""
    claim = ev.Claim.POSTMARK if posted else ev.Claim.PRINT_STAMP
    said = ev.DateClaim(id="c", trust=T.FAIR, photograph="K1", claim=claim, date=YEAR_1931)
    cells, found = likelihood_of([said], day(1900), day(1935))
    days = np.arange(day(1900), INDEXED + 2.0)
    of = density.of_date(YEAR_1931, FIRST_PHOTOGRAPH, INDEXED + 1.0)
    rising = density.before_lag(days, of, density.POSTED, FIRST_PHOTOGRAPH) if posted else density.before(days, of)
    of_print = density.mixture(0.05, ALLOWED * np.diff(rising))
    promptness = (0.95, 60.0) if posted else (0.9, 1.5 * YEAR, 0.45)
    expected = np.zeros(len(found))
    for i, (start, end) in enumerate(zip(cells.left, cells.right, strict=True)):
        exposures = np.linspace(start, end, 13)[1::2]
        made = np.diff(density.printed(days - exposures[:, None], *promptness), axis=1)
        expected[i] = (made @ of_print / density.printed(INDEXED + 1 - exposures, *promptness)).mean()
    posterior, plain = (value * cells.width / (value @ cells.width) for value in (found, expected))
    assert np.abs(posterior - plain).sum() / 2 < 0.02


DEATHS = {
    "a day": Dated(Span(day(1930, 5, 6), day(1930, 5, 6))),
    "about": about(1930),
    "perhaps": doubted(Dated(span_of_years(1930, 1930))),
    "nothing": None,
}


@pytest.mark.parametrize("kind", DEATHS)
def test_deaths_of_many_are_each_as_alone(kind: str) -> None:
    """P(D >= x) of `prior.Death`, for a date of every kind; a doubtful one is mostly as stated here too."""
    dated = DEATHS[kind]
    one = prior.Death(dated, 0.0 if dated is None else 0.99, float(day(1915)), float(day(1960)))
    born = np.array([float(day(1850)), float(day(1880))])
    days = np.linspace(day(1910), day(1965), 200)
    deaths = Deaths([one, one], born)
    for i in (0, 1):
        assert deaths.alive(np.full(200, i), days) == pytest.approx(one.alive(days, born[i]), abs=1e-9)


@pytest.mark.parametrize("ages", [(6, 8), (0, 0), (30, 40), (70, 75)])
@pytest.mark.parametrize("width", [1.0, 365.0])
def test_a_face_is_what_is_seen_of_somebody_alive(ages: tuple[int, int], width: float) -> None:
    """share * seen * alive + rest, the mean over the days of the birth: within 0.3 % of the greatest."""
    age, stated = perception.judgement(*ages), ((5.0, 9.0, T.STRONG),) if ages == (6, 8) and width == 1 else ()
    born, dead = day(1890) + width / 2, prior.Death(about(1975), 0.99, float(day(1965)), float(day(2010)))
    face = KnownFace(0, "p", 0.99, 1e-4, (age,), (0,), (), stated, born, width, dead)
    first, last = np.array([float(day(1880))]), np.array([float(day(1980))])
    known = KnownFaces([face], {None: 0}, [perception.ANYBODY], [True], first, last)
    cells = grid(first, last)
    found = np.exp(sum(some.likelihood() for some in known.factors(cells, ZERO)))
    births = born + (np.arange(int(width)) + 0.5 - int(width) / 2)
    years = (cells.middle[:, None] - births) / YEAR
    seen = (0.99 * perception.age_likelihood((age,), stated, years)).mean(axis=1)
    expected = seen * dead.alive(cells.middle, born) + 1e-4
    apart = np.abs(years).min(axis=1) > 1  # at the birth itself a cell is half empty
    assert np.abs(found - expected)[apart].max() < 0.003 * expected.max()


def test_tables_hold_every_judgement_at_their_nodes() -> None:
    """`perception.judged` at each age and point of an informant, learned or not."""
    somebody = perception.points(0.1, 0.03, -0.2, 0.1)
    table = at_nodes(perception.judgement(25, 30), somebody, 0)
    expected = perception.judged_mean(perception.judgement(25, 30), NODES, somebody)
    assert table @ somebody.weights == pytest.approx(expected)


def test_the_mean_over_the_points_of_somebody_who_pulls_to_the_middle() -> None:
    """`perception.judged_mean` at every age, within a hundredth of a per cent: a spline leads to most nodes."""
    somebody = perception.points(0.1, 0.03, -0.2, 0.1, pull=(0.15, 0.05))
    for ages in ((0, 0), (7, 7), (25, 30), (60, 75)):
        of = perception.judgement(*ages)
        assert averaged((of,), (somebody,), 0)[:, 0] == pytest.approx(
            perception.judged_mean(of, NODES, somebody), abs=1e-4
        )


def test_tables_of_several_judges_are_their_sum_over_looks() -> None:
    """`perception.judged_together` of two judges, one of whom is known, at each age."""
    both = perception.judgement(25, 30), perception.judgement(33, 33)
    who = perception.ANYBODY, perception.points(0.1, 0.03, -0.2, 0.1)
    table = averaged(both, who, 0)
    assert table[:, 0] == pytest.approx(perception.judged_together(both, NODES, who))


@pytest.mark.parametrize("stated", [(), ((7.0, 7.0, T.STRONG),)])
def test_quarter_years_are_means_over_the_days_of_both(stated: perception.StatedAges) -> None:
    """The likelihood of "6 to 8" and of surviving, the mean over the days of two quarter-years so many apart."""
    age = perception.judgement(6, 8)
    (found,) = by_quarters([((age,), (perception.ANYBODY,), stated)], surviving=True)
    days = (np.arange(90) + 0.5) / 90
    apart = (days[:, None] - days).ravel()
    for lag in (0, 1, 20, 28, 31, 60, LAGS // 2):
        years = (lag + apart) / 4
        expected = perception.age_likelihood((age,), stated, years) * survival(years)
        assert found[lag] == pytest.approx(expected.mean(), rel=0.02)
