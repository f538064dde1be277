"""Whole archives through the front door: states, ranges, relations, and what each statement contributes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from kinphoto.reason.dating import date_archive, date_locally, date_without
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Estimate, State
from kinphoto.reason.model.span import Dated, Shape, Span, span_of_years, year_of
from kinphoto.reason.model.subjects import Person, Photograph

T = ev.Trust
INDEXED = date(2024, 6, 30).toordinal()


def day(year: int, month: int = 1, of_month: int = 1) -> int:
    return date(year, month, of_month).toordinal()


def exactly(*ymd: int) -> Dated:
    return Dated(Span(day(*ymd), day(*ymd)))


def life(person: str, event: ev.LifeEvent, *ymd: int) -> ev.LifeDate:
    return ev.LifeDate(id=f"{event}-{person}", trust=T.STRONG, person=person, event=event, date=exactly(*ymd))


def seen(person: str | None, photograph: str = "K1", **more: object) -> ev.Appearance:
    key = f"{person} in {photograph}"
    return ev.Appearance(id=key, trust=T.STRONG, photograph=photograph, person=person, **more)  # type: ignore[arg-type]


def looks(person: str, low: float, high: float, photograph: str = "K1") -> ev.Age:
    key = f"{person} looks in {photograph}"
    return ev.Age(id=key, trust=T.STRONG, appearance=f"{person} in {photograph}", low=low, high=high, informant="Ada")


def says(claim: ev.Claim, when: Dated, photograph: str = "K1", trust: T = T.FAIR) -> ev.DateClaim:
    return ev.DateClaim(id=f"{claim} {photograph}", trust=trust, photograph=photograph, claim=claim, date=when)


def related(one: str, how: ev.Related, other: str) -> ev.Relation:
    return ev.Relation(id=f"{one} {how} {other}", trust=T.FAIR, photograph=one, related=how, other=other)


def archive(statements: Iterable[ev.Statement], *photographs: str, pages: Iterable[str] = ()) -> ev.Evidence:
    people = tuple(Person(p, p.title()) for p in ("girl", "father", "stranger", "boy", "aunt"))
    pictures = tuple(Photograph(x, INDEXED, page=x in pages) for x in photographs or ("K1",))
    return ev.Evidence(people, pictures, tuple(statements))


def estimate(evidence: ev.Evidence, photograph: str = "K1") -> Estimate:
    return next(e for e in date_archive(evidence).estimates if e.photograph == photograph)


def years(found: Estimate) -> tuple[int, int, int]:
    assert found.likely_from is not None
    assert found.best is not None
    assert found.likely_to is not None
    return year_of(found.likely_from), year_of(found.best), year_of(found.likely_to)


GIRL = (life("girl", ev.LifeEvent.BIRTH, 1917, 5, 2), seen("girl"), looks("girl", 6, 8))
FATHER = (
    life("father", ev.LifeEvent.BIRTH, 1885, 3, 1),
    life("father", ev.LifeEvent.DEATH, 1926, 11, 9),
    seen("father"),
)


def test_a_girl_and_her_father() -> None:
    """Born on 2 May 1917 and looking 6 to 8, with her father who died on 9 November 1926: about 1924."""
    found = estimate(archive([*GIRL, *FATHER]))
    assert (found.earliest, found.latest) == (day(1917, 5, 2), day(1926, 11, 9))
    first, best, last = years(found)
    assert 1919 <= first <= 1923
    assert best in (1923, 1924, 1925)
    assert last == 1926
    assert found.edtf == f"[{first}..1926]"
    assert found.state is State.DATED
    assert found.inferred


def test_without_her_age_it_could_be_any_time_while_both_lived() -> None:
    """What a statement contributes is seen from the range without it."""
    evidence = archive([*GIRL, *FATHER])
    without = date_without(evidence, "K1", ["girl looks in K1"]).estimate
    assert (without.earliest, without.latest) == (day(1917, 5, 2), day(1926, 11, 9))
    first, best, last = years(without)
    assert (first, last) == (1917, 1926)
    assert best in (1921, 1922)
    assert date_without(evidence, "K1", ["death-father"]).estimate.latest > day(2000)
    assert date_without(evidence, "K1").estimate == estimate(evidence)


def test_a_photograph_of_which_nothing_is_said_is_open() -> None:
    """Only the laws bound it: no likely range, no best date, no EDTF."""
    found = estimate(archive([]))
    assert (found.earliest, found.latest) == (day(1826), INDEXED)
    assert (found.likely_from, found.likely_to, found.best, found.edtf) == (None, None, None, "")
    assert found.state is State.OPEN


@pytest.mark.parametrize("person", [None, "stranger"])
def test_a_name_without_a_life_leaves_a_photograph_open(person: str | None) -> None:
    """Somebody unknown, or somebody of whom no date is known, bounds nothing."""
    assert estimate(archive([seen(person)])).state is State.OPEN


def test_a_name_with_a_life_dates_a_photograph() -> None:
    """The appearance is a statement of the photograph's own, and the girl's birth bounds it."""
    found = estimate(archive([life("girl", ev.LifeEvent.BIRTH, 1917, 5, 2), seen("girl")]))
    assert found.state is State.DATED
    assert found.earliest == day(1917, 5, 2)


def test_part_of_says_nothing_about_dates() -> None:
    """A print on an album page: the page has no date, and gives none."""
    statements = [
        related("K1", ev.Related.PART_OF, "K2"),
        says(ev.Claim.INSCRIPTION, Dated(span_of_years(1923, 1923)), "K2"),
    ]
    findings = date_archive(archive(statements, "K1", "K2", pages=("K2",)))
    assert [(e.photograph, e.state) for e in findings.estimates] == [("K1", State.OPEN)]


def test_what_a_person_stated_stays_as_stated() -> None:
    """ "1923" on the back and nothing narrower: EDTF without a qualifier, not inferred."""
    found = estimate(archive([says(ev.Claim.INSCRIPTION, Dated(span_of_years(1923, 1923)))]))
    assert (found.edtf, found.inferred) == ("1923", False)
    assert years(found) == (1923, 1923, 1923)


def test_a_stated_day_is_kept_to_the_day() -> None:
    """`taken` on 5 August 1931, strong: a hard bound of one day."""
    found = estimate(archive([says(ev.Claim.TAKEN, exactly(1931, 8, 5), trust=T.STRONG)]))
    assert found.edtf == "1931-08-05"
    assert found.earliest == found.latest == found.best == found.likely_from == found.likely_to == day(1931, 8, 5)


def test_a_statement_that_was_narrowed_is_inferred() -> None:
    """ "Twenties", and a girl who looks 6 to 8: the conclusion is ours, and says so."""
    found = estimate(archive([*GIRL, says(ev.Claim.RECOLLECTION, Dated(span_of_years(1910, 1939)))]))
    assert found.inferred
    assert found.edtf.startswith("[")


def test_about_stays_about() -> None:
    """ "About 1923" remembered: EDTF `1923~`."""
    about = Dated(span_of_years(1913, 1933), Shape.ABOUT, float(day(1923, 7, 2)), 913.0)
    found = estimate(archive([says(ev.Claim.RECOLLECTION, about, trust=T.STRONG)]))
    assert (found.edtf, found.inferred) == ("1923~", False)


def test_an_order_dates_the_other_photograph() -> None:
    """K2 before K1 of 1923: dated, earlier, and without an exact year."""
    statements = [
        related("K2", ev.Related.BEFORE, "K1"),
        says(ev.Claim.TAKEN, Dated(span_of_years(1923, 1923)), trust=T.STRONG),
    ]
    found = estimate(archive(statements, "K1", "K2"), "K2")
    assert found.state is State.DATED
    first, best, last = years(found)
    assert first < 1850
    assert 1865 <= best <= 1885  # the middle of 1826 to 1923
    assert last <= 1925


def test_photographs_in_order_stay_between_their_ends() -> None:
    """Five in a row, the first of 1920 and the last of 1930, all orders fairly trusted: those between are of 1920 to
    1930, and none is dated after one that it comes before."""
    names = [f"K{i}" for i in range(1, 6)]
    statements: list[ev.Statement] = [related(a, ev.Related.BEFORE, b) for a, b in pairwise(names)]
    statements += [says(ev.Claim.INSCRIPTION, Dated(span_of_years(y, y)), k) for k, y in (("K1", 1920), ("K5", 1930))]
    found = [years(e) for e in date_archive(archive(statements, *names)).estimates]
    assert [best for _, best, _ in found] == sorted(best for _, best, _ in found)
    for first, best, last in found[1:-1]:
        assert (first, best, last) == (1920, 1925, 1930)


def test_an_order_counts_whatever_births_are_vague_elsewhere() -> None:
    """K2 lies between K1 of 1920 and K3 of 1930. That an age is given in K4 of somebody whose birth is vague changes
    nothing."""
    order: list[ev.Statement] = [related("K1", ev.Related.BEFORE, "K2"), related("K2", ev.Related.BEFORE, "K3")]
    order += [says(ev.Claim.INSCRIPTION, Dated(span_of_years(y, y)), k) for k, y in (("K1", 1920), ("K3", 1930))]
    vague = ev.LifeDate(
        id="born", trust=T.STRONG, person="boy", event=ev.LifeEvent.BIRTH, date=Dated(span_of_years(1900, 1915))
    )
    elsewhere = [vague, seen("boy", "K4"), looks("boy", 8, 10, "K4")]
    alone, beside = (estimate(archive(some, "K1", "K2", "K3", "K4"), "K2") for some in (order, [*order, *elsewhere]))
    assert years(alone) == (1920, 1925, 1930)
    assert beside == alone


def test_a_copy_takes_the_date_of_its_original() -> None:
    """One exposure: both have the same likely range."""
    statements = [related("K2", ev.Related.COPY_OF, "K1"), says(ev.Claim.TAKEN, Dated(span_of_years(1890, 1890)))]
    evidence = archive(statements, "K1", "K2")
    assert years(estimate(evidence, "K2")) == years(estimate(evidence, "K1")) == (1890, 1890, 1890)


def test_what_does_not_fit_is_set_aside_and_disputed() -> None:
    """A boy born in 1930 in a picture that was taken in 1920: disputed, and estimated without what was set aside."""
    statements = [
        life("boy", ev.LifeEvent.BIRTH, 1930),
        seen("boy"),
        says(ev.Claim.RECOLLECTION, Dated(span_of_years(1920, 1920))),
    ]
    findings = date_archive(archive(statements))
    assert findings.aside == ("recollection K1",)
    (found,) = findings.estimates
    assert found.state is State.DISPUTED
    assert found.earliest == day(1930)
    assert found.likely_from is not None
    assert found.likely_from >= day(1930)


def test_a_name_on_the_wrong_face_is_told_as_unlikely() -> None:
    """Two children of about 7 and an aunt of 45 who also "looks 7": possible, but unlikely."""
    statements = [
        *GIRL,
        life("boy", ev.LifeEvent.BIRTH, 1916, 1, 1),
        seen("boy"),
        looks("boy", 7, 8),
        life("aunt", ev.LifeEvent.BIRTH, 1880, 1, 1),
        seen("aunt"),
        looks("aunt", 6, 8),
    ]
    findings = date_archive(archive(statements))
    (suspect,) = findings.unlikely
    assert (suspect.photograph, suspect.person, suspect.statement) == ("K1", "aunt", "aunt looks in K1")
    assert suspect.probability > 0.9
    assert findings.expected_false_alarms == pytest.approx(1 - suspect.probability)


def test_estimates_come_in_the_order_of_the_photographs() -> None:
    """One for each photograph, whatever groups they form."""
    statements = [related("K3", ev.Related.SAME_NEGATIVE, "K1"), says(ev.Claim.TAKEN, exactly(1931, 8, 5), "K3")]
    findings = date_archive(archive(statements, "K1", "K2", "K3"))
    assert [e.photograph for e in findings.estimates] == ["K1", "K2", "K3"]


def test_an_empty_archive_has_no_findings() -> None:
    """No photographs, no people, no statements."""
    findings = date_archive(ev.Evidence())
    assert findings.estimates == findings.conflicts == findings.unlikely == ()


# --- names that surprise ----------------------------------------------------------------------------------------------


def aged(person: str, *born: int, low: int, judge: str = "Ada") -> list[ev.Statement]:
    """Somebody born on a day who is in the photograph and looks so old, to a judge who had seen nothing else."""
    age = replace(looks(person, low, low + 1), blind=True, informant=judge)
    return [life(person, ev.LifeEvent.BIRTH, *born), seen(person), age]


COMPANY = [
    *aged("girl", 1920, 7, 1, low=10, judge="Tom"), *aged("father", 1890, 7, 1, low=40, judge="Edda"),
    *aged("aunt", 1900, 7, 1, low=30),
]  # fmt: skip


def test_a_name_that_surprises_does_not_bound_what_is_likely() -> None:
    """Three people look as they did about 1930, and the boy beside them, who looks 6, was born in 1945. No day before
    his birth is possible if every name is right; the likely range is about 1930 all the same."""
    found = estimate(archive([*COMPANY, *aged("boy", 1945, 7, 1, low=6)]))
    assert found.earliest == day(1945, 7, 1)
    assert found.doubts_a_name
    assert years(found)[0] < 1930 < years(found)[2] < 1945


def test_names_that_fit_are_walls() -> None:
    """A boy of six who was born in 1924 fits, and so does one born in 1930 if the others look a little older: what is
    likely is inside what is possible."""
    for born in (1924, 1930):
        found = estimate(archive([*COMPANY, *aged("boy", born, 7, 1, low=3)]))
        assert not found.doubts_a_name
        assert found.earliest <= (found.likely_from or 0) <= (found.likely_to or 0) <= found.latest


def test_a_certain_name_stays_a_wall() -> None:
    """Whoever says that it is certainly the boy is believed, however the others look."""
    boy = [replace(s, trust=T.CERTAIN) if isinstance(s, ev.Appearance) else s for s in aged("boy", 1945, 7, 1, low=6)]
    found = estimate(archive([*COMPANY, *boy]))
    assert (found.likely_from or 0) >= found.earliest == day(1945, 7, 1)


def test_a_photograph_by_itself_is_widened_as_with_all_others() -> None:
    """Dated alone it has the range it has in the archive."""
    evidence = archive([*COMPANY, *aged("boy", 1945, 7, 1, low=6)])
    assert date_locally(evidence, ["K1"]).dated_exposures["K1"].estimate == estimate(evidence)
