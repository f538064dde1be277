"""What can bear on one photograph, and what cannot."""

from __future__ import annotations

from datetime import date

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.span import Dated, Span, span_of_years
from kinphoto.reason.model.subjects import Person, Photograph

SCANNED = date(2025, 1, 1).toordinal()
KNOWN = Dated(Span(date(1917, 5, 2).toordinal(), date(1917, 5, 2).toordinal()))
VAGUE = Dated(span_of_years(1880, 1920))


def family(birth: Dated) -> ev.Evidence:
    """Ada is in K1 and K2; her mother Rut is in K3; K4 has a stranger; K5 was taken before K1."""
    strong = ev.Trust.STRONG
    return ev.Evidence(
        people=tuple(Person(p, p) for p in ("ada", "rut", "per")),
        photographs=tuple(Photograph(f"K{n}", SCANNED) for n in range(1, 6)),
        statements=(
            ev.LifeDate(id="E1", trust=strong, person="ada", event=ev.LifeEvent.BIRTH, date=birth),
            ev.LifeDate(id="E2", trust=strong, person="rut", event=ev.LifeEvent.BIRTH, date=VAGUE),
            ev.ParentLink(id="L1", trust=ev.Trust.CERTAIN, child="ada", parent="rut", parent_sex="F"),
            ev.Appearance(id="A1", trust=strong, photograph="K1", person="ada"),
            ev.Age(id="S1", trust=strong, appearance="A1", low=7, high=7),
            ev.Appearance(id="A2", trust=strong, photograph="K2", person="ada"),
            ev.Appearance(id="A3", trust=strong, photograph="K3", person="rut"),
            ev.Appearance(id="A4", trust=strong, photograph="K4", person="per"),
            ev.Relation(id="S2", trust=strong, photograph="K5", related=ev.Related.BEFORE, other="K1"),
        ),
    )


def test_a_known_birth_is_a_wall() -> None:
    """Somebody's other photographs do not bear on this one when the birth is known; the mother's dates still do."""
    near = focus(family(KNOWN), "K1")
    assert [p.id for p in near.photographs] == ["K1", "K5"]
    assert {s.id for s in near.statements} == {"E1", "E2", "L1", "A1", "S1", "S2"}


def test_a_vague_birth_is_none() -> None:
    """A vague birth is narrowed by the person's other photographs and by the family's, so all of them count."""
    near = focus(family(VAGUE), "K1")
    assert [p.id for p in near.photographs] == ["K1", "K2", "K3", "K5"]
    assert "A4" not in {s.id for s in near.statements}


def test_an_album_page_carries_no_date() -> None:
    """Prints on one page are not connected by it: part-of has no bearing on dates."""
    on_page = ev.Relation(id="S9", trust=ev.Trust.FAIR, photograph="K1", related=ev.Related.PART_OF, other="K4")
    whole = family(KNOWN)
    near = focus(ev.Evidence(whole.people, whole.photographs, (*whole.statements, on_page)), "K1")
    assert "K4" not in [p.id for p in near.photographs]
    assert "S9" in {s.id for s in near.statements}


def test_walls_stand_whatever_is_reached_first() -> None:
    """From an exact birth the walk does not go on to the family; from a vague one it does, however it was reached."""
    strong, birth = ev.Trust.STRONG, ev.LifeEvent.BIRTH

    def child_of(child: str, parent: str) -> ev.ParentLink:
        return ev.ParentLink(id=f"{child} {parent}", trust=ev.Trust.CERTAIN, child=child, parent=parent)

    def seen(person: str, photograph: str) -> ev.Appearance:
        return ev.Appearance(id=f"{person} {photograph}", trust=strong, photograph=photograph, person=person)

    def born(person: str) -> ev.LifeDate:
        return ev.LifeDate(id=f"{person} born", trust=strong, person=person, event=birth, date=KNOWN)

    # In K1 are exact and vague, children of mother; mother is vague and in K2; her own mother is exact and in K3.
    told = (seen("exact", "K1"), seen("vague", "K1"), child_of("exact", "mother"), child_of("vague", "mother"),
            seen("mother", "K2"), child_of("mother", "granny"), seen("granny", "K3"), child_of("granny", "old"),
            born("exact"), born("granny"))  # fmt: skip
    people = tuple(Person(p, p) for p in ("exact", "vague", "mother", "granny", "old"))
    for statements in (told, told[::-1]):
        near = focus(ev.Evidence(people, tuple(Photograph(f"K{n}", SCANNED) for n in (1, 2, 3)), statements), "K1")
        assert [p.id for p in near.photographs] == ["K1", "K2"]
        assert [p.id for p in near.people] == ["exact", "vague", "mother", "granny"]


def test_the_birth_somebody_is_said_to_show() -> None:
    """A picture of somebody's birth leads to that person, who brings the date of it."""
    whole = family(KNOWN)
    shown = ev.EventClaim(id="S9", trust=ev.Trust.FAIR, photograph="K4", event="ada:BIRT")
    near = focus(ev.Evidence(whole.people, whole.photographs, (*whole.statements, shown)), "K4")
    assert {"E1", "S9"} <= {s.id for s in near.statements}
