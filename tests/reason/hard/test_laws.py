"""What each law and each kind of statement allows, as small stories."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

import pytest

from kinphoto.reason.hard.conflict import Settled, settle
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.span import SAME_YEAR, Dated, Shape, Span, at_least, at_most, iso
from kinphoto.reason.model.subjects import Person, Photograph

SCANNED = date(2025, 6, 1).toordinal()
PEOPLE = tuple(Person(p, p) for p in ("ada", "rut", "per"))
PHOTOGRAPHS = (
    Photograph("K1", SCANNED),
    Photograph("K2", SCANNED),
    Photograph("SLIDE", SCANNED, printed=False),
    Photograph("PAGE", SCANNED, page=True),
)
STRONG: dict[str, Any] = {"trust": ev.Trust.STRONG}


def day(text: str) -> int:
    """The ordinal of an ISO date."""
    return date.fromisoformat(text).toordinal()


def dated(first: str | None, last: str | None, shape: Shape = Shape.FLAT) -> Dated:
    """From one ISO date to another, either open."""
    return Dated(Span(None if first is None else day(first), None if last is None else day(last)), shape)


def year(number: int) -> Dated:
    """A year."""
    return dated(f"{number}-01-01", f"{number}-12-31")


def life(person: str, event: ev.LifeEvent, when: Dated) -> ev.LifeDate:
    """The tree dates a life."""
    return ev.LifeDate(id=f"{event} of {person}", **STRONG, person=person, event=event, date=when)


def born(person: str, when: Dated) -> ev.LifeDate:
    """The tree dates a birth."""
    return life(person, ev.LifeEvent.BIRTH, when)


def died(person: str, when: Dated) -> ev.LifeDate:
    """The tree dates a death."""
    return life(person, ev.LifeEvent.DEATH, when)


def seen(person: str | None, photograph: str = "K1", **more: Any) -> ev.Appearance:
    """Somebody in a photograph."""
    return ev.Appearance(id=f"{person} in {photograph}", **STRONG, photograph=photograph, person=person, **more)


def aged(low: float, high: float, trust: ev.Trust = ev.Trust.STRONG, **more: Any) -> ev.Age:
    """Ada's age in K1."""
    return ev.Age(
        id="age", trust=trust, appearance="ada in K1", low=low, high=high, **{"basis": ev.AgeBasis.STATED} | more
    )


def claimed(claim: ev.Claim, when: Dated, photograph: str = "K1") -> ev.DateClaim:
    """A date on the object."""
    return ev.DateClaim(id=f"{claim} of {photograph}", **STRONG, photograph=photograph, claim=claim, date=when)


def taken(when: Dated, photograph: str = "K1") -> ev.DateClaim:
    """Somebody says when."""
    return claimed(ev.Claim.TAKEN, when, photograph)


def related(one: str, how: ev.Related, other: str) -> ev.Relation:
    """Two photographs are related."""
    return ev.Relation(id=f"{one} {how} {other}", **STRONG, photograph=one, related=how, other=other)


def link(child: str, parent: str, sex: str) -> ev.ParentLink:
    """A parent by birth."""
    return ev.ParentLink(id="link", trust=ev.Trust.CERTAIN, child=child, parent=parent, parent_sex=sex)


def settled_by(*said: ev.Statement) -> Settled:
    """What follows from these statements."""
    return settle(ev.Evidence(PEOPLE, PHOTOGRAPHS, said))


def fits(*said: ev.Statement) -> bool:
    """Whether these statements can all be true."""
    return not settled_by(*said).conflicts


def shown(span: Span) -> tuple[str | None, str | None]:
    """A span as ISO dates."""
    return iso(span.first), iso(span.last)


def exposure(*said: ev.Statement, of: str = "K1") -> tuple[str | None, str | None]:
    """When a photograph can have been taken, as ISO dates."""
    return shown(settled_by(*said).bounds.exposure[of])


# --- laws -------------------------------------------------------------------------------------------------------------


def test_the_longest_documented_life_fits() -> None:
    """Born 1875-02-21, died 1997-08-04: 122 years and 164 days, validated by Robine & Allard (from memory)."""
    birth = born("ada", dated("1875-02-21", "1875-02-21"))
    assert day("1997-08-04") - day("1997-02-21") == 164
    assert fits(birth, died("ada", dated("1997-08-04", "1997-08-04")))
    assert not fits(birth, died("ada", dated("1999-02-21", "1999-02-21")))


def test_nobody_dies_before_birth() -> None:
    """A death the day before the birth is impossible, one on the same day is not."""
    birth = born("ada", dated("1900-05-02", "1900-05-02"))
    assert fits(birth, died("ada", dated("1900-05-02", "1900-05-02")))
    assert not fits(birth, died("ada", dated("1900-05-01", "1900-05-01")))


def test_a_photograph_is_as_old_as_photography_and_older_than_its_scan() -> None:
    """With nothing said it was taken between 1826, the year of the oldest photograph kept, and its scan."""
    assert exposure() == ("1826-01-01", "2025-06-01")


def test_a_scanner_with_a_wrong_clock_is_an_error_of_input() -> None:
    """Nobody's statement is to blame for a scan of the year 1800."""
    with pytest.raises(ValueError, match="first indexed before there was photography: K1"):
        settle(ev.Evidence(photographs=(Photograph("K1", FIRST_PHOTOGRAPH - 1),)))


def test_a_print_is_made_when_taken_or_later() -> None:
    """A printing date bounds the exposure above, an exposure date the print below; both end with the scan."""
    settled = settled_by(claimed(ev.Claim.PRINT_STAMP, dated("1962-08-01", "1962-08-31")), taken(year(1950), "K2"))
    assert shown(settled.bounds.exposure["K1"]) == ("1826-01-01", "1962-08-31")
    assert shown(settled.bounds.printed["K2"]) == ("1950-01-01", "2025-06-01")


@pytest.mark.parametrize(
    ("sex", "child", "possible"),
    [
        ("F", 1909, False),
        ("F", 1910, True),
        ("F", 1975, True),
        ("F", 1977, False),
        ("M", 1909, False),
        ("M", 2000, True),
        ("M", 2002, False),
        ("U", 2000, True),
    ],
)
def test_a_parent_is_neither_a_child_nor_too_old(sex: str, child: int, possible: bool) -> None:
    """Rut, born in the middle of 1900, can be a mother from 10 to 75 and a father (or of unknown sex) to 100."""
    rut = born("rut", dated("1900-07-01", "1900-07-01"))
    assert fits(rut, born("ada", year(child)), link("ada", "rut", sex)) is possible


@pytest.mark.parametrize(("sex", "after", "possible"), [("F", 1, False), ("M", 365, True), ("M", 366, False)])
def test_a_mother_is_alive_and_a_father_was_within_the_year(sex: str, after: int, possible: bool) -> None:
    """A child born after its mother's death is impossible; of a dead father it is born within 365 days."""
    death = dated("1930-01-01", "1930-01-01")
    birth = Dated(Span(day("1930-01-01") + after, day("1930-01-01") + after))
    said = born("rut", year(1900)), died("rut", death), born("ada", birth), link("ada", "rut", sex)
    assert fits(*said) is possible


def test_somebody_cannot_be_their_own_parent() -> None:
    """Nor each other's, even when no date ties either to the calendar."""
    assert settled_by(link("ada", "ada", "F")).aside == ("link",)
    other = ev.ParentLink(id="other", trust=ev.Trust.CERTAIN, child="rut", parent="ada")
    assert set(settled_by(link("ada", "rut", "F"), other).conflicts[0].statements) == {"link", "other"}


def test_a_marriage_is_between_the_tenth_year_and_death() -> None:
    """Of both: Rut bounds the wedding below and Per above."""
    wed = ev.Marriage(id="M1", trust=ev.Trust.CERTAIN, event="F1:MARR", spouses=("rut", "per"))
    settled = settled_by(
        wed, born("rut", dated("1900-01-01", "1900-01-01")), died("per", dated("1950-03-04", "1950-03-04"))
    )
    assert shown(settled.bounds.event["F1:MARR"]) == ("1909-12-30", "1950-03-04")  # ten years are at least 3,650 days


# --- the tree's dates -------------------------------------------------------------------------------------------------

ADA = (born("ada", dated("1917-05-02", "1917-05-02")), died("ada", dated("1990-11-09", "1990-11-09")))


@pytest.mark.parametrize("shape", [Shape.FLAT, Shape.ABOUT, Shape.BEFORE, Shape.AFTER])
def test_a_tree_date_bounds_by_its_span(shape: Shape) -> None:
    """However likelihood is spread inside it, the span is what is possible; an open end bounds nothing."""
    assert shown(settled_by(born("ada", dated("1910-01-01", "1920-12-31", shape))).bounds.birth["ada"]) == (
        "1910-01-01",
        "1920-12-31",
    )
    assert shown(settled_by(born("ada", dated(None, "1920-12-31", shape))).bounds.birth["ada"]) == (None, "1920-12-31")


def test_a_christening_follows_the_birth_and_a_burial_the_death() -> None:
    """Each bounds above only: a grown person can be christened, and a body found late."""
    christened = life("ada", ev.LifeEvent.CHRISTENING, dated("1917-06-01", "1917-06-03"))
    buried = life("ada", ev.LifeEvent.BURIAL, dated("1990-11-12", "1990-11-12"))
    bounds = settled_by(christened, buried).bounds
    assert bounds.birth["ada"].last == day("1917-06-03")
    assert bounds.death["ada"].last == day("1990-11-12")
    assert bounds.death["ada"].first is None


def test_whoever_is_counted_or_travels_is_alive() -> None:
    """A census bounds the birth above and the death below, by the whole of its span; several each do."""
    counted = life("ada", ev.LifeEvent.ALIVE, dated("1901-03-31", "1901-04-02"))
    dwelt = ev.LifeDate(
        id="dwelt", **STRONG, person="ada", event=ev.LifeEvent.ALIVE, date=dated("1920-01-01", "1930-12-31")
    )
    bounds = settled_by(counted, dwelt).bounds
    assert bounds.birth["ada"].last == day("1901-04-02")
    assert bounds.death["ada"].first == day("1920-01-01")
    assert settled_by(counted, died("ada", year(1890))).aside != ()


# --- who is in it -----------------------------------------------------------------------------------------------------


def test_somebody_in_a_photograph_is_alive() -> None:
    """From the birth to the death."""
    assert exposure(*ADA, seen("ada")) == ("1917-05-02", "1990-11-09")


def test_a_likeness_shows_that_somebody_had_been_born() -> None:
    """A picture in the picture can be there long after the death."""
    assert exposure(*ADA, seen("ada", role=ev.Role.LIKENESS)) == ("1917-05-02", "2025-06-01")


def test_somebody_laid_out_has_died_within_sixty_days() -> None:
    """A portrait taken after death."""
    assert exposure(*ADA, seen("ada", role=ev.Role.LAID_OUT)) == ("1990-11-09", "1991-01-08")


@pytest.mark.parametrize("person", [None, "nobody the tree knows"])
def test_somebody_not_identified_bounds_nothing(person: str | None) -> None:
    """Nor does a name that refers to nobody."""
    assert exposure(*ADA, seen(person)) == exposure()


def test_a_denied_appearance_bounds_nothing() -> None:
    """That it is not Ada makes no constraint on the day."""
    assert exposure(*ADA, seen("ada", denied=True), aged(7, 7)) == exposure()


@pytest.mark.parametrize("named", [None, "R"])
@pytest.mark.parametrize("denied", [None, "R"])
def test_a_name_that_somebody_denies_bounds_nothing(named: str | None, denied: str | None) -> None:
    """One says it is Ada, another that it is not: neither is believed alone. Only "not this face" leaves open that she
    is somewhere in the picture, as long as nobody said which face is hers."""
    there = *ADA, seen("ada", region=named), aged(7, 7)
    denial = ev.Appearance(id="no", **STRONG, photograph="K1", person="ada", region=denied, denied=True)
    elsewhere = named is None and denied == "R"
    assert exposure(*there, denial) == (exposure(*there) if elsewhere else exposure())


@pytest.mark.parametrize(("where", "who", "region"), [("K2", "ada", "R"), ("K1", "rut", "R"), ("K1", "ada", "S")])
def test_a_denial_is_of_one_name_on_one_face(where: str, who: str, region: str) -> None:
    """Of another photograph, another person or another face it touches nothing."""
    there = *ADA, seen("ada", region="R")
    denial = ev.Appearance(id="no", **STRONG, photograph=where, person=who, region=region, denied=True)
    assert exposure(*there, denial) == exposure(*there) != exposure()


def test_what_two_disagree_about_is_no_conflict() -> None:
    """A name that was denied cannot be what does not fit, nor does it move Ada's life."""
    denial = ev.Appearance(id="no", **STRONG, photograph="K1", person="ada", denied=True)
    settled = settled_by(ADA[0], seen("ada"), denial, taken(year(1900)))
    assert not settled.conflicts
    assert settled.bounds.birth["ada"] == settled_by(ADA[0]).bounds.birth["ada"]


def test_an_album_page_has_no_date() -> None:
    """Whatever is said about the page itself."""
    said = (*ADA, seen("ada", "PAGE"), taken(year(1930), "PAGE"), related("PAGE", ev.Related.BEFORE, "K1"))
    assert exposure(*said, of="PAGE") == exposure(*said, of="K1") == exposure()


# --- ages -------------------------------------------------------------------------------------------------------------


def test_a_stated_age_may_be_a_year_off() -> None:
    """Seven: between the sixth birthday and the ninth, one or two days loose over any leap years."""
    first, last = exposure(*ADA, seen("ada"), aged(7, 7))
    assert (first, last) == ("1923-04-30", "1926-05-04")
    assert day("1923-05-02") - day(first or "") in (1, 2)
    assert day(last or "") - day("1926-05-02") in (1, 2)


def test_a_certain_age_is_exact() -> None:
    """Between the seventh birthday and the eighth."""
    assert exposure(*ADA, seen("ada"), aged(7, 7, ev.Trust.CERTAIN)) == ("1924-04-29", "1925-05-03")


def test_half_a_year() -> None:
    """A baby of six months, told with certainty, is not one and a half yet."""
    assert exposure(*ADA, seen("ada"), aged(0.5, 0.5, ev.Trust.CERTAIN)) == ("1917-10-29", "1918-11-02")


def test_a_stated_age_dates_the_birth_too() -> None:
    """It works both ways."""
    bounds = settled_by(seen("ada"), aged(7, 7), taken(dated("1924-06-01", "1924-06-01"))).bounds
    assert shown(bounds.birth["ada"]) == ("1915-05-31", "1918-06-04")


def test_an_apparent_age_bounds_nothing() -> None:
    """No wall is built on how old somebody looks."""
    looks = aged(7, 7, basis=ev.AgeBasis.APPARENT)
    assert exposure(*ADA, seen("ada"), looks) == exposure(*ADA, seen("ada"))


def test_an_age_falls_with_the_name() -> None:
    """When the face turns out not to be Ada's, her age there says nothing about the picture or about her."""
    assert exposure(*ADA, aged(7, 7)) == exposure()
    weak = ev.Appearance(id="ada in K1", trust=ev.Trust.WEAK, photograph="K1", person="ada")
    settled = settled_by(*ADA, weak, aged(7, 7), taken(year(1950)))
    assert settled.aside == ("ada in K1",)
    assert shown(settled.bounds.exposure["K1"]) == ("1950-01-01", "1950-12-31")


def test_the_age_of_a_likeness_bounds_nothing() -> None:
    """It is the age in the inner picture, which may be old."""
    there = seen("ada", role=ev.Role.LIKENESS)
    assert exposure(*ADA, there, aged(7, 7)) == exposure(*ADA, there)


def test_the_age_of_somebody_laid_out_is_the_age_at_death() -> None:
    """Aged 7 for certain: taken at most sixty days after the eighth birthday."""
    there = seen("ada", role=ev.Role.LAID_OUT)
    assert exposure(ADA[0], there, aged(7, 7, ev.Trust.CERTAIN))[1] == "1925-07-02"


# --- rivals -----------------------------------------------------------------------------------------------------------

RUT = (born("rut", dated("1880-02-01", "1880-02-01")), died("rut", dated("1940-02-01", "1940-02-01")))
PER = (born("per", dated("1950-02-01", "1950-02-01")), died("per", dated("1960-02-01", "1960-02-01")))


def test_rivals_bind_as_the_hull_of_both() -> None:
    """Rut or Per: from her birth to his death, the years between included."""
    rivals = seen("rut", region="R"), seen("per", region="R")
    assert exposure(*RUT, *PER, *rivals) == ("1880-02-01", "1960-02-01")


def test_the_same_name_twice_is_no_rival() -> None:
    """Two who agree bind as each does."""
    again = ev.Appearance(id="again", **STRONG, photograph="K1", person="rut", region="R")
    assert exposure(*RUT, seen("rut", region="R"), again) == ("1880-02-01", "1940-02-01")


def test_a_rival_narrows_nobody_s_life() -> None:
    """A picture of 1970 cannot show Per, but that does not make him live longer, nor is it a conflict."""
    rivals = seen("ada", region="R"), seen("per", region="R")
    settled = settled_by(*ADA, PER[0], *rivals, taken(year(1970)))
    assert not settled.conflicts
    assert settled.bounds.death["per"] == settled_by(*ADA, PER[0]).bounds.death["per"]


def test_a_rival_who_is_denied_leaves_the_other() -> None:
    """Rut or Per, and somebody says that it is not Rut: it is Per."""
    rivals = seen("rut", region="R"), seen("per", region="R")
    denial = ev.Appearance(id="no", **STRONG, photograph="K1", person="rut", region="R", denied=True)
    assert exposure(*RUT, *PER, *rivals, denial) == exposure(*PER, rivals[1]) == ("1950-02-01", "1960-02-01")


def test_the_age_of_a_rival_counts_for_that_rival_alone() -> None:
    """Ada at seven, or Rut at any age."""
    rivals = seen("ada", region="R"), seen("rut", region="R")
    assert exposure(*ADA, *RUT, *rivals, aged(7, 7)) == ("1880-02-01", "1940-02-01")
    rivals = seen("ada", region="R"), seen("per", region="R")
    assert exposure(*ADA, *PER, *rivals, aged(7, 7)) == ("1923-04-30", "1960-02-01")


def test_only_when_no_rival_is_possible_they_do_not_fit() -> None:
    """In 1970 neither Rut nor Per can be there."""
    rivals = seen("rut", region="R"), seen("per", region="R")
    (conflict,) = settled_by(*RUT, *PER, *rivals, taken(year(1970))).conflicts
    assert set(conflict.statements) == {
        "death of rut", "death of per", "rut in K1", "per in K1", "taken of K1",
    }  # fmt: skip


# --- claims, events, processes, relations -----------------------------------------------------------------------------


@pytest.mark.parametrize("claim", [ev.Claim.TAKEN, ev.Claim.INSCRIPTION, ev.Claim.RECOLLECTION])
def test_a_date_of_the_picture_bounds_the_exposure(claim: ev.Claim) -> None:
    """Whoever says so; the print may be later."""
    bounds = settled_by(claimed(claim, year(1924))).bounds
    assert shown(bounds.exposure["K1"]) == ("1924-01-01", "1924-12-31")
    assert shown(bounds.printed["K1"]) == ("1924-01-01", "2025-06-01")


@pytest.mark.parametrize("claim", [ev.Claim.WRITTEN, ev.Claim.POSTMARK])
def test_what_was_written_on_it_was_not_before_it(claim: ev.Claim) -> None:
    """The picture and the print may be older than the writing and the postmark, but not younger."""
    bounds = settled_by(claimed(claim, year(1924))).bounds
    assert shown(bounds.exposure["K1"]) == shown(Span(FIRST_PHOTOGRAPH, day("1924-12-31")))
    assert bounds.printed["K1"].last == day("1924-12-31")


def test_a_stamp_on_the_border_dates_the_print() -> None:
    """And so bounds the exposure above; on a slide too, which has no print."""
    stamp = ev.Claim.PRINT_STAMP
    assert shown(settled_by(claimed(stamp, year(1962))).bounds.printed["K1"]) == ("1962-01-01", "1962-12-31")
    assert exposure(claimed(stamp, year(1962), "SLIDE"), of="SLIDE") == ("1826-01-01", "1962-12-31")


def test_a_photographer_s_mark_dates_both() -> None:
    """Taken and printed in the years of work."""
    bounds = settled_by(claimed(ev.Claim.IMPRINT, dated("1890-01-01", "1905-12-31"))).bounds
    assert shown(bounds.exposure["K1"]) == shown(bounds.printed["K1"]) == ("1890-01-01", "1905-12-31")


def test_the_picture_of_an_event_dates_both() -> None:
    """The couple goes to the photographer the day before at the earliest, or within sixty days."""
    shows = ev.EventClaim(id="shows", **STRONG, photograph="K1", event="F1:MARR")
    when = ev.EventDate(id="when", **STRONG, event="F1:MARR", date=dated("1924-06-10", "1924-06-10"))
    assert exposure(shows, when) == ("1924-06-09", "1924-08-09")
    bounds = settled_by(shows, taken(dated("1924-06-10", "1924-06-10"))).bounds
    assert shown(bounds.event["F1:MARR"]) == ("1924-04-11", "1924-06-11")


def test_a_birth_can_be_the_event() -> None:
    """`ada:BIRT` is Ada's birth."""
    shows = ev.EventClaim(id="shows", **STRONG, photograph="K1", event="ada:BIRT")
    assert exposure(ADA[0], shows) == ("1917-05-01", "1917-07-01")


def by_event(lapse: Span, event: str = "ada:BIRT") -> ev.RelativeDate:
    """K1 was taken so many days after an event."""
    return ev.RelativeDate(id="told", **STRONG, photograph="K1", claim=ev.Claim.RECOLLECTION, event=event, lapse=lapse)


def test_a_picture_from_before_a_birth_is_not_after_it() -> None:
    """Either way: the birth bounds the picture, and a dated picture bounds a birth of which nothing is known."""
    before = by_event(Span(None, 0))
    assert exposure(ADA[0], before) == ("1826-01-01", "1917-05-02")
    assert exposure(ADA[0], by_event(Span(0, None))) == ("1917-05-02", "2025-06-01")
    bounds = settled_by(before, taken(year(1931))).bounds
    assert shown(bounds.birth["ada"])[0] == "1931-01-01"


def test_when_she_was_seven_allows_the_days_of_a_stated_age() -> None:
    """As if she were in the picture and seven there, told by somebody who is sure."""
    stated = exposure(ADA[0], seen("ada"), aged(7, 7, ev.Trust.CERTAIN))
    assert exposure(ADA[0], by_event(Span(at_least(7), at_most(8)))) == stated


def test_the_year_of_an_event_is_that_calendar_year() -> None:
    """Not twelve months on either side, where the event has a date; and without one, a year from it at most."""
    assert exposure(ADA[0], by_event(SAME_YEAR)) == ("1917-01-01", "1917-12-31")
    bounds = settled_by(by_event(SAME_YEAR), taken(dated("1931-06-01", "1931-06-01"))).bounds
    assert shown(bounds.birth["ada"]) == ("1930-06-01", "1932-05-31")


def test_a_date_told_by_an_event_rests_on_the_date_of_the_event() -> None:
    """A picture of 1931 cannot be from before the birth of 1917; either of the two may be wrong."""
    found = settled_by(ADA[0], by_event(Span(None, 0)), taken(year(1931)))
    assert {c for conflict in found.conflicts for c in conflict.statements} == {ADA[0].id, "told", taken(year(1931)).id}


def made(photograph: str, original: bool) -> ev.Made:
    """Made in a way that was in use from 1935 to 1960."""
    window = dated("1935-01-01", "1960-12-31").span
    return ev.Made(
        id="made", **STRONG, photograph=photograph, what="process", name="some", window=window, original=original
    )


def test_a_process_bounds_the_print_or_what_lay_in_the_camera() -> None:
    """Of a print only the making; of a slide the exposure."""
    bounds = settled_by(made("K1", False)).bounds
    assert shown(bounds.printed["K1"]) == ("1935-01-01", "1960-12-31")
    assert shown(bounds.exposure["K1"]) == ("1826-01-01", "1960-12-31")
    assert exposure(made("SLIDE", True), of="SLIDE") == ("1935-01-01", "1960-12-31")
    assert exposure(made("SLIDE", False), of="SLIDE") == ("1935-01-01", "1960-12-31")


def test_order_in_time() -> None:
    """Before and after are each other's mirror."""
    said = taken(year(1924), "K2")
    assert exposure(said, related("K1", ev.Related.BEFORE, "K2")) == ("1826-01-01", "1924-12-31")
    assert exposure(said, related("K1", ev.Related.AFTER, "K2")) == ("1924-01-01", "2025-06-01")


def test_the_same_occasion_is_within_a_day() -> None:
    """Either way."""
    said = taken(dated("1924-06-10", "1924-06-10"), "K2")
    assert exposure(said, related("K1", ev.Related.SAME_OCCASION, "K2")) == ("1924-06-09", "1924-06-11")


def test_prints_of_one_negative_share_the_exposure_alone() -> None:
    """One was printed in 1930, the other may have been printed at any time."""
    stamp = claimed(ev.Claim.PRINT_STAMP, year(1930), "K2")
    bounds = settled_by(taken(year(1924)), stamp, related("K1", ev.Related.SAME_NEGATIVE, "K2")).bounds
    assert shown(bounds.exposure["K2"]) == ("1924-01-01", "1924-12-31")
    assert shown(bounds.printed["K1"]) == ("1924-01-01", "2025-06-01")


def test_a_copy_shows_the_day_of_its_original() -> None:
    """A slide of an old portrait: its film dates the copying, not the portrait."""
    bounds = settled_by(taken(year(1890)), related("SLIDE", ev.Related.COPY_OF, "K1"), made("SLIDE", True)).bounds
    assert shown(bounds.exposure["SLIDE"]) == ("1890-01-01", "1890-12-31")
    assert shown(bounds.printed["SLIDE"]) == ("1935-01-01", "1960-12-31")


def test_a_photographer_s_mark_on_a_copy_dates_the_copying() -> None:
    """A portrait of 1890, copied by a studio that worked from 1935: its mark is under the copy, not the portrait."""
    mark = claimed(ev.Claim.IMPRINT, dated("1935-01-01", "1960-12-31"), "K2")
    copy = related("K2", ev.Related.COPY_OF, "K1")
    settled = settled_by(taken(year(1890)), copy, mark)
    assert not settled.conflicts
    assert shown(settled.bounds.exposure["K2"]) == ("1890-01-01", "1890-12-31")
    assert shown(settled.bounds.printed["K2"]) == ("1935-01-01", "1960-12-31")
    assert exposure(copy, mark, of="K1") == ("1826-01-01", "1960-12-31")


def test_a_part_of_a_page_says_nothing() -> None:
    """A page is filled over years."""
    assert exposure(taken(year(1890), "K2"), related("K1", ev.Related.PART_OF, "K2")) == exposure()


# --- which statements build walls -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("trust", "builds"), [(ev.Trust.STRONG, True), (ev.Trust.FAIR, False)])
def test_a_hesitant_date_builds_no_wall(trust: ev.Trust, builds: bool) -> None:
    """A fair statement moves what is likely; the wall stands on strong ones."""
    said = ev.DateClaim(id="said", trust=trust, photograph="K1", claim=ev.Claim.TAKEN, date=year(1924))
    assert (exposure(said) != exposure()) is builds


def test_a_hesitant_statement_still_conflicts() -> None:
    """All statements enter the search for what does not fit together."""
    said: Iterable[ev.Statement] = (
        *ADA,
        seen("ada"),
        ev.DateClaim(id="said", trust=ev.Trust.WEAK, photograph="K1", claim=ev.Claim.TAKEN, date=year(1900)),
    )
    assert settled_by(*said).aside == ("said",)
