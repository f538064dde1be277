"""Every kind of statement has its words, and each kind of row has those that forms and pages need."""

from __future__ import annotations

import re

import pytest

from kinphoto.archive.catalogue.kinds import AGE_KINDS, DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.words.kinds import KINDS, KindWords
from kinphoto.reason.model import evidence as ev

RECORDED = (*DATED_KINDS, *MADE_KINDS, *RELATION_KINDS)


def test_every_kind_has_one_block() -> None:
    """What is recorded, what the tree says, and the roles in which somebody is in a picture: no more and no less."""
    expected = {*RECORDED, *AGE_KINDS, *ev.LifeEvent, *ev.Role, "denied", "event-date", "parent-link", "marriage"}
    expected |= {ev.LiesIn.CALLED, ev.Numbered.CALLED}
    assert KINDS.keys() == expected


@pytest.mark.parametrize("kind", RECORDED)
def test_what_people_record_has_a_name_in_the_forms(kind: str) -> None:
    """The form offers it by `choice`; a dated kind and a process have a `fact`, a relation a label from either side."""
    words = KINDS[kind]
    assert words.choice
    assert words.fact or (words.label_from(False) and words.label_from(True))


@pytest.mark.parametrize("words", KINDS.values(), ids=KINDS.keys())
def test_a_doubt_is_about_what_its_sentence_is_about(words: KindWords) -> None:
    """It says "may", calls nobody wrong, and fills in nothing that the sentence does not have as well."""
    assert re.search(r"\bmay\b", words.doubt)
    same = {"at": "when", "role": "a_role", "kind": "when", "as_written": "photo", "by": "photo"}
    slots = [set(re.findall(r"\{(\w+)\}", text)) for text in (words.doubt, words.sentence)]
    assert {same.get(slot, slot) for slot in slots[0]} <= slots[1]


def test_a_label_does_without_its_photograph() -> None:
    """It is a sentence of its own where the sentence names the photograph; and of the other photograph a relation says
    the same, or what it is from there."""
    relation = KindWords(
        sentence="{photo} was taken on the day of {other}", doubt="", called="", label="taken on the day of {other}"
    )
    assert relation.label_from() == "taken on the day of {other}"
    assert relation.label_from(other=True) == "taken on the day of {photo}"
    assert KindWords(sentence="{who} was born {when}", doubt="", called="").label_from() == "{who} was born {when}"
    quoted = KindWords(sentence="", doubt="", called="", label="signed {when}", label_quoting="signed: {quoted}")
    assert (quoted.label_from(), quoted.label_from(quoting=True)) == ("signed {when}", "signed: {quoted}")
    assert [kind for kind, words in KINDS.items() if "{photo}" in words.label_from()] == []
