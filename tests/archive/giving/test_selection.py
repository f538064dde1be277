"""What may go to whom. The rules are the project's own; that somebody is presumed to be living for 110 years is common
practice of those who publish family trees."""

from __future__ import annotations

import pytest

from kinphoto.archive import Archive
from kinphoto.archive.giving.selection import Report, Wanted
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import InvalidValueError, KinphotoError, NotFoundError


def reasons(found: Report) -> dict[str, str]:
    """Why each photograph is held back."""
    return {one.photograph: one.reason for one in found.held_back}


PRIVATE = {"K00003": "same-picture", "K00004": "private", "K00007": "same-picture"}
"""What leaves for nobody: the private one, its copy, and the page on which that is."""


def test_each_reason_to_hold_a_photograph_back(planted: Archive) -> None:
    """Of the living, private, a copy of that and the page it is on, a face without a name, a rival name."""
    found = planted.give.report("public")
    assert found.going == ("K00001", "K00008")
    assert reasons(found) == {
        "K00002": "living", "K00003": "same-picture", "K00004": "private", "K00005": "face", "K00006": "living",
        "K00007": "same-picture",
    }  # fmt: skip
    assert found.people == ("Ada Marsh", "Tom Marsh")
    assert found.words_held == ("K00001", "K00008")


def test_the_household_has_everything_but_what_is_private(planted: Archive) -> None:
    """Nobody under the keeper's roof has to be asked."""
    assert reasons(planted.give.report("household")) == PRIVATE


def test_private_holds_for_copies_and_for_the_household(planted: Archive) -> None:
    """The same picture under another code would give it away; unmarking gives both back."""
    planted.statements.relate(Tie(photograph="K00008", relation="same-negative", other="K00004"))
    assert reasons(planted.give.report("household")) == PRIVATE | {"K00008": "same-picture"}
    planted.give.mark_private(["K00004"], private=False)
    assert reasons(planted.give.report("household")) == {}


def test_a_consent_lets_somebody_go_to_that_audience_and_can_be_revoked(planted: Archive) -> None:
    """Zelda agrees for the cousins: the public still gets nothing, and after she revokes it neither do they."""
    done = planted.give.record_consent("I3", "cousins", asked_by="Clemence", on="3 May 2026")
    assert (done.consents[0].on, done.consents[0].asked_by) == ("2026-05-03", "Clemence")
    found = planted.give.report("cousins")
    assert set(found.going) == {"K00001", "K00002", "K00006", "K00008"}
    assert found.asked == ("Zelda Quickenborough",)
    assert "K00002" in reasons(planted.give.report("public"))
    planted.give.revoke(done.consents[0].id)
    assert "K00002" in reasons(planted.give.report("cousins"))
    assert f"revoked {done.consents[0].id} for cousins" in planted.statements.history(1)[0].what
    planted.statements.undo()
    assert "K00002" not in reasons(planted.give.report("cousins"))


def test_a_consent_for_the_public_holds_for_relatives(planted: Archive) -> None:
    """What anybody may see, a cousin may."""
    planted.give.record_consent("I3", "public", asked_by="Clemence")
    assert "K00002" in planted.give.report("cousins").going


def test_a_branch_is_asked_at_once_and_whoever_says_no_is_left_out(planted: Archive) -> None:
    """Tom's branch are he, Zelda, whom she married, and their daughter; Xavier had said no. Nobody can speak for a
    branch to the public."""
    planted.statements.link(Link(photograph="K00002", person="I4"))
    planted.statements.link(Link(photograph="K00002", person="I5"))
    planted.give.record_consent("I2", "cousins", asked_by="Clemence", branch=True)
    found = planted.give.report("cousins")
    assert found.held_back[0].why == "Xavier Prestwick may be living and has not agreed"
    planted.give.record_consent("I4", "cousins", asked_by="Clemence")
    found = planted.give.report("cousins")
    assert "K00002" in found.going
    assert found.asked == ("Xavier Prestwick", "Yolanda Quickenborough", "Zelda Quickenborough")
    with pytest.raises(InvalidValueError, match="whole branch"):
        planted.give.record_consent("I2", "public", asked_by="Clemence", branch=True)


def test_shown_but_not_named(planted: Archive) -> None:
    """Whoever agrees to be shown alone is called living, without a life or a place in the picture."""
    planted.give.record_consent("I3", "cousins", asked_by="Clemence", what="pictures")
    found = planted.give.report("cousins", Wanted(photographs=("K00002",)))
    assert (found.going, found.people) == (("K00002",), ())


def test_a_release_lapses_when_something_is_added(planted: Archive) -> None:
    """The keeper read what was there, and looked at the faces that were there."""
    planted.give.release(["K00005"], "cousins", what="faces", looked_by="Clemence")
    planted.give.release(["K00001"], "cousins", what="words", looked_by="Clemence")
    found = planted.give.report("cousins")
    assert "K00005" in found.going
    assert found.words_held == ("K00008",)
    planted.statements.link(Link(photograph="K00005", person="-", region="0.5,0.7,0.1,0.1"))
    planted.photographs.describe("K00001", Description(note="and Zelda"))
    found = planted.give.report("cousins")
    assert reasons(found)["K00005"] == "face"
    assert found.words_held == ("K00001", "K00008")


def test_joining_keeps_a_photograph_private(planted: Archive) -> None:
    """A private photograph that becomes part of another takes that with it, and parting gives neither away."""
    planted.scans.join(["K00008", "K00004"], side="recto")
    assert reasons(planted.give.report("household"))["K00008"] == "private"
    planted.scans.separate("4 zelda.jpg")
    assert reasons(planted.give.report("household")) == PRIVATE | {"K00008": "private"}


def test_consents_survive_a_new_import_of_the_tree(planted: Archive) -> None:
    """Somebody who was asked stays known, also when the next file does not have them."""
    tree = planted.folder.parent / "family.ged"
    text = tree.read_text(encoding="utf-8")
    start, end = text.index("0 @I4@"), text.index("0 @I5@")
    tree.write_text((text[:start] + text[end:]).replace("1 HUSB @I4@\n", ""), encoding="utf-8")
    planted.tree.import_file(tree)
    assert [(one.person.name, one.what) for one in planted.give.consents() if one.person] == [
        ("Xavier Prestwick", "nothing")
    ]


def test_removing_a_photograph_takes_its_release_with_it_and_undo_brings_it_back(planted: Archive) -> None:
    """A release is about the photograph."""
    planted.give.release(["K00005"], "cousins", what="faces", looked_by="Clemence")
    planted.photographs.remove(["K00005"], with_statements=True)
    assert [one.photograph for one in planted.give.consents() if one.photograph] == []
    planted.statements.undo()
    assert [one.photograph for one in planted.give.consents() if one.photograph] == ["K00005"]


def test_private_photographs_are_in_no_tree_file(planted: Archive) -> None:
    """A tree with its pictures leaves the house, too."""
    out = planted.folder.parent / "out.ged"
    planted.tree.write_file(out)
    written = out.read_text(encoding="utf-8")
    assert "1 zelda.jpg" in written
    assert not any(f"{number} zelda.jpg" in written for number in (3, 4, 7))


@pytest.mark.parametrize(
    ("wanted", "going"),
    [
        (Wanted(of="Tom Marsh"), ("K00008",)),
        (Wanted(branch="Ada Marsh"), ("K00001", "K00008")),
        (Wanted(box="Zelda's box"), ("K00001", "K00008")),
        (Wanted(photographs=("K00001", "K00002")), ("K00001",)),
        (Wanted(photographs=("K00001",), of="Tom Marsh"), ()),
    ],
)
def test_what_to_give_can_be_chosen(planted: Archive, wanted: Wanted, going: tuple[str, ...]) -> None:
    """By person, by branch, by box, by code; several choices narrow each other down."""
    assert planted.give.report("public", wanted).going == going


def test_mistakes_are_answered_in_one_line(planted: Archive) -> None:
    """An audience nobody added, a day to come, no name of who asked, a box there is not."""
    for mistake, words in (
        (lambda: planted.give.report("cousin"), "there is no audience called 'cousin'. There are: household, cousins"),
        (lambda: planted.give.record_consent("I3", "cousins", asked_by="C", on="3 May 2130"), "has not come yet"),
        (lambda: planted.give.record_consent("I3", "cousins", asked_by="C", on="May 2020"), "is not a day"),
        (lambda: planted.give.record_consent("I3", "cousins", asked_by=" "), "who asked"),
        (lambda: planted.give.record_consent("I3", "household", asked_by="C"), "needs no consent"),
        (lambda: planted.give.add_audience("Public"), "cannot be the name"),
        (lambda: planted.give.revoke("C99"), "there is no consent 'C99'"),
        (lambda: planted.give.report("public", Wanted(box="Chest")), "no box called 'Chest'"),
    ):
        with pytest.raises(KinphotoError) as caught:
            mistake()
        assert words in str(caught.value)
        assert "\n" not in str(caught.value)
    with pytest.raises(NotFoundError):
        planted.give.release(["K00099"], "cousins", what="faces", looked_by="C")
