"""One person's life with its pictures and family, on the sample."""

from __future__ import annotations

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.people.lifeline import IdentityDoubt
from kinphoto.archive.statements.appearances import Link


@pytest.fixture
def archive(own_sample: Archive) -> Archive:
    """A copy of the sample."""
    return own_sample


def test_the_pictures_are_those_that_are_listed_elsewhere(archive: Archive) -> None:
    """The same photographs as `pictures` finds, in the order in which they were taken."""
    shown = archive.people.life("I24")
    listed = archive.people.pictures("I24").photographs
    assert [one.photograph.code for one in shown.pictures] == [one.code for one in listed]
    assert len(shown.sure) + len(shown.unsure) == len(shown.pictures)


def test_what_does_not_fit_is_among_the_doubtful(archive: Archive) -> None:
    """The planted mistake: a boy named in a picture that was taken before he was born."""
    doubts = {one.photograph.code: one.doubts for one in archive.people.life("I24").unsure}
    assert doubts["K00023"] == (IdentityDoubt.ASIDE,)


def test_a_rival_and_a_denial_make_a_picture_doubtful(archive: Archive) -> None:
    """Another name on the same face, or somebody who says that it is not."""
    faces = archive.photographs.faces("K00009").faces
    him, other = (next(f for f in faces if f.names[0].person == who) for who in ("I24", "I10"))
    archive.statements.link(Link(photograph="K00009", person="I40", region=him.region))
    archive.statements.link(Link(photograph="K00009", person="I10", region=other.region, denied=True))
    told = {who: {one.photograph.code: one.doubts for one in archive.people.life(who).unsure} for who in ("I24", "I10")}
    assert told["I24"]["K00009"] == (IdentityDoubt.RIVAL,)
    assert told["I10"]["K00009"] == (IdentityDoubt.CONTESTED,)


def test_the_family_around_with_what_they_are(archive: Archive) -> None:
    """Parents above, wife and sisters beside, children below, in kinship words, with their pictures counted."""
    family = {one.kin: one for one in archive.people.life("I24").family}
    assert (family["his father"].id, family["his mother"].id) == ("I7", "I13")
    assert [one.generation for one in (family["his father"], family["his wife"])] == [1, 0]
    assert all(
        one.generation == -1 for one in archive.people.life("I24").family if one.kin in ("his son", "his daughter")
    )
    assert family["his mother"].pictures == len(archive.people.pictures("I13").photographs)


def test_who_is_most_often_beside_and_how_often_alone(archive: Archive) -> None:
    """The counts are those of `pictures --with`."""
    shown = archive.people.life("I24")
    for who, count in shown.beside:
        assert count == len(archive.people.pictures("I24", beside=[who.id]).photographs), who.name
    assert [count for _, count in shown.beside] == sorted((count for _, count in shown.beside), reverse=True)


def test_the_lines_of_descent_are_counted_as_pictures_counts_them(archive: Archive) -> None:
    """Pictures of those one descends from, and of those who descend from one, without one's own alone."""
    shown = archive.people.life("I13")
    own = {one.code for one in archive.people.pictures("I13").photographs}
    below = {one.code for one in archive.people.pictures("I13", descendants=True).photographs}
    assert shown.descendants >= len(below - own)
    assert shown.ancestors == 0


def test_kinship_is_told_from_the_proband(archive: Archive) -> None:
    """With somebody to tell it from, everybody's page says what they are to them."""
    assert archive.people.life("I13").kin == ""
    archive.people.choose_proband("I52")
    assert archive.people.life("I13").kin == "your grandmother"


def test_events_can_be_withdrawn_by_the_id_they_are_shown_with(archive: Archive) -> None:
    """The id on the page is the one that `withdraw` takes, and the event stays, marked."""
    birth = next(event for event in archive.people.life("I24").events if event.tag == "BIRT")
    archive.statements.withdraw(birth.id)
    assert [event.withdrawn for event in archive.people.life("I24").events if event.id == birth.id] == [True]
