"""Who the unnamed people of a photograph could be."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.errors import InvalidValueError
from kinphoto.store import tables as t


@pytest.fixture
def archive(own_sample: Archive) -> Archive:
    """A copy of the sample."""
    return own_sample


def test_names_that_are_held_out_are_found_again(archive: Archive) -> None:
    """Of names with a judged age that are taken off their faces one by one, most are among the first five that are
    suggested, and the right ones are given a fair chance."""
    a, p, x = t.appearance.c, t.photograph.c, t.person.c
    rows = (
        select(a.id, p.code, x.code.label("who"))
        .join(t.photograph, p.id == a.photograph_id)
        .join(t.person, x.id == a.person_id)
        .where(a.withdrawn == 0, a.denied == 0, a.region_id.is_not(None), x.outside == 0)
        .order_by(a.id)
    )
    with archive.reading() as connection:
        named = connection.execute(rows).all()[::7]
    doubted = archive.dates.statements_set_aside()
    among, chances = [], []
    for id_, code, person in named:
        if f"A{id_}" in doubted:
            continue
        taken = archive.statements.take_name_off(f"A{id_}")
        found = next(one for one in archive.asking.candidates(code, 5).unnamed if one.appearance == taken.face)
        among.append(person in [s.person for s in found.suggestions])
        chances += [s.probability for s in found.suggestions if s.person == person]
        assert taken.change is not None
        archive.statements.undo(taken.change)
    assert len(among) >= 25
    assert sum(among) / len(among) >= 0.6
    assert sum(chances) / len(among) >= 0.15


def test_reasons_are_told_and_add_up(archive: Archive) -> None:
    """Each suggestion says who they are to those named, how old they were, how often they are in the box; the
    probabilities are at most one."""
    found = archive.asking.candidates("K00014", 40)
    (one,) = found.unnamed
    assert one.number == 3
    assert 0.9 < sum(s.probability for s in one.suggestions) + one.somebody_else <= 1 + 1e-9
    reasons = {s.name: "; ".join(s.reasons) for s in one.suggestions}
    assert "other pictures in Willow box" in reasons["Rosamund Quillern"]
    assert "of Corvin Quillern" in reasons["Rosamund Quillern"]
    assert "would have been 35 to 40" in reasons["Rosamund Quillern"]
    assert [s.probability for s in one.suggestions] == sorted((s.probability for s in one.suggestions), reverse=True)


def test_somebody_denied_or_elsewhere_is_never_suggested(archive: Archive) -> None:
    """Whoever somebody said it is not has no chance, nor has anybody with another face of the same photograph."""
    before = archive.asking.candidates("K00014", 40).unnamed[0]
    first = before.suggestions[0].person
    archive.statements.link(Link(photograph="K00014", person=first, region=before.region, denied=True))
    after = {s.person for s in archive.asking.candidates("K00014", 40).unnamed[0].suggestions}
    assert first not in after
    seated = archive.photographs.faces("K00014")
    named = {n.person for f in seated.faces for n in f.names if n.person}
    assert named.isdisjoint(after)


def test_an_age_moves_the_guess(archive: Archive) -> None:
    """A face that looks four is no longer thought to be a grown-up's."""
    before = archive.asking.candidates("K00014", 40).unnamed[0]
    archive.statements.link(Link(photograph="K00014", person="-", region=before.region, age="4"))
    after = archive.asking.candidates("K00014", 40).unnamed[0]
    assert after.looks == "looks 4"
    lambert = {s.name: s.probability for s in before.suggestions}["Lambert Quillern"]
    assert {s.name: s.probability for s in after.suggestions}.get("Lambert Quillern", 0) < lambert / 4
    assert "the age fits" in after.suggestions[0].reasons


def test_nothing_is_put_down(archive: Archive) -> None:
    """Asking changes nothing."""
    before = archive.statements.revision()
    archive.asking.candidates("K00015")
    assert archive.statements.revision() == before


def test_a_page_and_a_photograph_without_unnamed_people(archive: Archive) -> None:
    """Where everybody has a name there is nothing to guess; an album page is refused with what to do."""
    assert archive.asking.candidates("K00009").unnamed == ()
    with pytest.raises(InvalidValueError, match="album page"):
        archive.asking.candidates("K00001")


TREE = """0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 BIRT
2 DATE 1875
1 FAMS @F1@
0 @I2@ INDI
1 NAME Tom /Holm/
1 SEX M
1 BIRT
2 DATE 1873
1 FAMS @F1@
0 @I3@ INDI
1 NAME Ruth /Holm/
1 SEX F
1 BIRT
2 DATE 1901
1 FAMC @F1@
0 @I4@ INDI
1 NAME Per /Holm/
1 SEX M
1 BIRT
2 DATE 1899
1 FAMC @F1@
1 FAMS @F2@
0 @I5@ INDI
1 NAME Vera /Prask/
1 SEX F
1 BIRT
2 DATE 1901
1 FAMS @F2@
0 @F1@ FAM
1 HUSB @I2@
1 WIFE @I1@
1 CHIL @I3@
1 CHIL @I4@
0 @F2@ FAM
1 HUSB @I4@
1 WIFE @I5@
1 MARR
2 DATE 1925
0 TRLR
"""


def test_a_later_in_law_never_comes_before_a_child_of_the_house(tmp_path: Path) -> None:
    """A girl of eight beside her parents in 1909: their daughter Ruth, not Vera, who is of the same age, married the
    son in 1925 and is in most of the box."""
    archive = Archive.create(tmp_path / "house")
    (tmp_path / "tree.ged").write_text(TREE)
    archive.tree.import_file(tmp_path / "tree.ged")
    with archive.working("a box") as work:
        box = work.insert_one(t.container, code="C1", name="Tin")
        rows = [{"code": f"K{n:05}", "indexed": 738000, "container_id": box} for n in range(1, 12)]
        work.insert(t.photograph, rows)
    for n in range(2, 12):
        archive.statements.link(Link(photograph=f"K{n}", person="I5"))
        archive.statements.record(NewClaim(photograph=f"K{n}", kind="taken", date="1935"))
    for n, person in enumerate(("I1", "I2", "I4"), 1):
        archive.statements.link(Link(photograph="K1", person=person, region=f"{0.1 + 0.2 * n:.1f},0.1,0.1,0.1"))
    archive.statements.link(Link(photograph="K1", person="-", region="0.1,0.1,0.1,0.1", age="8"))
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="1909"))
    archive.dates.estimates()
    (face,) = archive.asking.candidates("K1").unnamed
    order = [s.person for s in face.suggestions]
    assert order[0] == "I3"
    offered = [
        offer.id for offer in archive.asking.name_suggestions("K1", "", region="0.1,0.1,0.1,0.1", age="8").people
    ]
    assert offered.index("I3") < offered.index("I5")
    archive.engine.dispose()
