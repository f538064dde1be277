"""What can be in a family and hardly is."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.reason.hard import unlikely
from kinphoto.reason.hard.unlikely import implausible_facts
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Person

LIFE = ev.LifeEvent


def life(person: str, event: ev.LifeEvent, first: int | None, last: int | None) -> ev.LifeDate:
    """A date of a life."""
    return ev.LifeDate(
        id=f"{person}-{event}", trust=ev.Trust.STRONG, person=person, event=event, date=Dated(Span(first, last))
    )


def family(*said: ev.Statement) -> ev.Evidence:
    """A mother, a child and what is said of them."""
    people = (Person("mother", "Alva", "F"), Person("child", "Ida", "U"))
    link = ev.ParentLink(id="link", trust=ev.Trust.CERTAIN, child="child", parent="mother", parent_sex="F")
    return ev.Evidence(people, (), (link, *said))


@pytest.mark.parametrize(("age", "kind"), [(14.9, "young-mother"), (15.1, None), (49.9, None), (50.1, "old-mother")])
def test_the_limits_of_a_mother(age: float, kind: str | None) -> None:
    """On either side of each, by days; the figure is her age in years."""
    born = date(1850, 1, 1).toordinal()
    later = born + round(age * 365.2425)
    found = implausible_facts(family(life("mother", LIFE.BIRTH, born, born), life("child", LIFE.BIRTH, later, later)))
    assert [one.kind for one in found] == ([kind] if kind else [])
    for one in found:
        assert one.people == ("mother", "child")
        assert set(one.statements) == {"mother-birth", "child-birth", "link"}
        assert one.figure == pytest.approx(age, abs=0.01)


@given(st.integers(0, 40_000), st.integers(0, 20_000), st.integers(0, 30_000), st.integers(0, 20_000))
def test_nothing_is_odd_that_some_days_of_the_dates_would_allow(a: int, wide: int, b: int, broad: int) -> None:
    """A mother is called old or young only where every pair of days in the two spans is beyond the limit (brute force
    over the corners)."""
    mother, child = (a, a + wide), (a + b, a + b + broad)
    found = {
        one.kind
        for one in implausible_facts(family(life("mother", LIFE.BIRTH, *mother), life("child", LIFE.BIRTH, *child)))
    }
    ages = [(one - other) / 365.2425 for one in child for other in mother]
    assert ("old-mother" in found) == (min(ages) > unlikely.OLD_MOTHER)
    assert ("young-mother" in found) == (max(ages) < unlikely.YOUNG_MOTHER)


def test_open_ends_accuse_nobody() -> None:
    """BEF, AFT and no date at all leave everything possible."""
    day = date(1900, 1, 1).toordinal()
    assert implausible_facts(family()) == []
    assert implausible_facts(family(life("mother", LIFE.BIRTH, None, day), life("child", LIFE.BIRTH, day, None))) == []
