"""Every kind of statement has its words, and each kind of row has those that forms and pages need."""

from __future__ import annotations

import re

import pytest

from kinphoto.archive.catalogue.kinds import AGE_KINDS, DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.words.kinds import KINDS, Words, one_of
from kinphoto.reason.model import evidence as ev

RECORDED = (*DATED_KINDS, *MADE_KINDS, *RELATION_KINDS)


def test_every_kind_has_one_block() -> None:
    """What is recorded, what the tree says, and the roles in which somebody is in a picture: no more and no less."""
    told = {*RECORDED, *AGE_KINDS, *ev.LifeEvent, *ev.Role, "denied", "event-date", "parent-link", "marriage"}
    assert KINDS.keys() == told


@pytest.mark.parametrize("kind", RECORDED)
def test_what_people_record_has_a_name_in_the_forms(kind: str) -> None:
    """The form offers it by `choice`; a dated kind and a process have a `fact`, a relation a label from either side."""
    words = KINDS[kind]
    assert words.choice
    assert words.fact or (words.label_from(False) and words.label_from(True))


@pytest.mark.parametrize("words", KINDS.values(), ids=KINDS.keys())
def test_a_sentence_and_what_would_be_so_without_it_differ(words: Words) -> None:
    """Each sentence says two things, and no bracket is left over."""
    so, not_so = (one_of(words.sentence, each) for each in (True, False))
    assert so != not_so
    assert not re.search(r"[\[\]|]", so + not_so)


def test_a_label_is_the_sentence_without_its_photograph() -> None:
    """Unless it says so itself; and of the other photograph a relation says the same, or what it is from there."""
    tie = Words(sentence="{photo} was[| not] taken on the day of {other}", turned="")
    assert tie.label_from() == "taken on the day of {other}"
    assert tie.label_from(other=True) == "taken on the day of {photo}"
    assert Words(sentence="{photo} [shows|does not show] {event}").label_from() == "shows {event}"
    quoted = Words(sentence="{photo} is[| not] signed {when}", label_quoting="signed: {quoted}")
    assert (quoted.label_from(), quoted.label_from(quoting=True)) == ("signed {when}", "signed: {quoted}")
