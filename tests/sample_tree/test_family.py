"""The invented family is as large, as deep and as untidy as it should be, and its tree says so in proper GEDCOM."""

from __future__ import annotations

from datetime import date

from ged4py import GedcomReader

from sample_tree.family import BY_ID, FAMILIES, HERE, PEOPLE, gedcom


def test_the_tree_on_disk_is_the_one_the_program_writes() -> None:
    """family.ged can be written again from the plain data."""
    assert (HERE / "family.ged").read_text(encoding="utf-8") == gedcom()


def test_an_independent_reader_finds_everybody() -> None:
    """ged4py, a GEDCOM reader this project does not use for records, sees the same people and families."""
    with GedcomReader(str(HERE / "family.ged")) as reader:
        people = {record.xref_id.strip("@") for record in reader.records0("INDI")}
        families = {record.xref_id.strip("@") for record in reader.records0("FAM")}
    assert people == set(BY_ID)
    assert families == {family.id for family in FAMILIES}


def test_sixty_to_a_hundred_people_in_five_generations() -> None:
    """From the ferryman, born about 1822, the tree goes down five generations."""
    children = {p.id: [c for f in FAMILIES if p.id in (f.husband, f.wife) for c in f.children] for p in PEOPLE}

    def depth(person: str) -> int:
        return 1 + max((depth(child) for child in children[person]), default=0)

    assert 60 <= len(PEOPLE) <= 100
    assert depth("I1") == 5


def test_nobody_is_born_too_early_or_dies_too_soon() -> None:
    """The truth itself breaks no law of life: parents are grown, nobody marries or has children after death."""
    for family in FAMILIES:
        for parent in filter(None, (family.husband, family.wife)):
            born = date.fromisoformat(BY_ID[parent].birth)
            died = date.fromisoformat(BY_ID[parent].death or "2025-12-31")
            for child in family.children:
                if child in family.adopted:
                    continue
                years = (date.fromisoformat(BY_ID[child].birth) - born).days / 365.2425
                assert 16 <= years <= 52, (parent, child)
                assert date.fromisoformat(BY_ID[child].birth) < died
            if family.married:
                assert born < date.fromisoformat(family.married) < died


def test_the_tree_is_as_untidy_as_real_ones() -> None:
    """Vague dates, a christening for a birth, deaths nobody wrote down, an adoption, namesakes, a second marriage."""
    text = gedcom()
    for words in (
        "DATE ABT ",
        "DATE BEF ",
        "DATE BET ",
        "DATE AFT ",
        "DATE EST ",
        "DATE CAL ",
        "1 CHR",
        "PEDI adopted",
        "TYPE married",
    ):
        assert words in text
    names = [person.name for person in PEOPLE]
    assert names.count("Ambrose Quillern") >= 2
    assert any(person.death and person.died == "" for person in PEOPLE)
    assert any(not family.husband for family in FAMILIES)
    assert sum("I9" in (f.husband, f.wife) for f in FAMILIES) == 2
