"""Words people try for what the archive calls by fixed words: understood, or answered with the word to use."""

from __future__ import annotations

import pytest

from kinphoto.archive.catalogue import vocabulary
from kinphoto.archive.catalogue.kinds import DATED_KINDS, RELATION_KINDS
from kinphoto.archive.catalogue.vocabulary import Vocabulary
from kinphoto.archive.collection.rotation import WAYS
from kinphoto.archive.statements.claims import find_process
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model import processes
from kinphoto.reason.model.evidence import Role, Trust

ALL = [each for each in vars(vocabulary).values() if isinstance(each, Vocabulary)]


@pytest.mark.parametrize(
    ("words", "said", "meant"),
    [
        (vocabulary.SIDES, "Back", "verso"),
        (vocabulary.SIDES, "the front", "recto"),
        (vocabulary.SIDES, "close-up", "detail"),
        (vocabulary.ROLES, "post-mortem", "laid-out"),
        (vocabulary.ROLES, "a portrait", "likeness"),
        (vocabulary.ROLES, "laid out", "laid-out"),
        (vocabulary.TRUSTS, "not sure", "weak"),
        (vocabulary.TRUSTS, "Sure", "certain"),
        (vocabulary.KINDS, "caption", "inscription"),
        (vocabulary.KINDS, "print stamp", "print-stamp"),
        (vocabulary.KINDS, "studio", "imprint"),
        (vocabulary.RELATIONS, "same occasion", "same-occasion"),
        (vocabulary.RELATIONS, "same-day", "same-occasion"),
        (vocabulary.RELATIONS, "copy", "copy-of"),
        (vocabulary.RELATIONS, "EARLIER", "before"),
        (vocabulary.RELATIONS, "page", "part-of"),
        (vocabulary.TURNS, "clockwise", "right"),
        (vocabulary.TURNS, "upside-down", "over"),
        (vocabulary.AGE_BASES, "looks", "apparent"),
    ],
)
def test_plain_words_are_understood(words: Vocabulary, said: str, meant: str) -> None:
    """Other words for the same thing, in any case, with hyphens or spaces, with an article or without."""
    assert words.read(said) == meant


@pytest.mark.parametrize(
    ("words", "said", "answer"),
    [
        (vocabulary.KINDS, "inscripton", "Did you mean inscription"),
        (vocabulary.KINDS, "stamp", "print-stamp"),
        (vocabulary.KINDS, "wedding", 'event "wedding of Lambert and Agnes"'),
        (vocabulary.RELATIONS, "back", "kinphoto scans join FRONT BACK"),
        (vocabulary.RELATIONS, "befor", "Did you mean before"),
        (vocabulary.SIDES, "vreso", "Did you mean verso"),
        (vocabulary.ROLES, "hiding", "Use one of present, likeness, laid-out"),
    ],
)
def test_others_are_answered_with_the_word_to_use(words: Vocabulary, said: str, answer: str) -> None:
    """What can mean several things, and slips of the pen: never guessed at."""
    with pytest.raises(InvalidValueError) as refused:
        words.read(said)
    assert answer in str(refused.value)


@pytest.mark.parametrize(
    ("kind", "said", "answer"),
    [
        ("process", "polaroid", "instant-peel-apart when"),
        ("format", "polaroid", "instant-integral when"),
        ("format", "postcard", "postcard-divided-back when"),
        ("process", "Postcards", "postcard-undivided-back when"),
        ("process", "film negative", "Nitrate film burns"),
        ("process", "cabinet card", "kinphoto format PHOTO cabinet-card"),
        ("format", "tintype", "kinphoto process PHOTO tintype"),
        ("process", "albumin", "Did you mean albumen"),
    ],
)
def test_a_process_or_format_that_is_answered(kind: str, said: str, answer: str) -> None:
    """How to tell which of several it is, which command takes it, or the nearest name."""
    with pytest.raises(InvalidValueError) as refused:
        find_process(said, kind)
    assert answer in str(refused.value)


def test_each_table_holds_the_fixed_words_and_no_word_twice() -> None:
    """A word that stood for two things would be taken for one of them silently."""
    assert tuple(vocabulary.KINDS.also) == DATED_KINDS
    assert set(vocabulary.RELATIONS.also) == set(RELATION_KINDS)
    assert set(vocabulary.ROLES.also) == set(Role)
    assert set(vocabulary.TRUSTS.also) == set(Trust)
    assert set(vocabulary.TURNS.also) == {*WAYS, "mirror", "positive", "as-scanned"}
    for each in ALL:
        said = [vocabulary.plain(word) for fixed, also in each.also.items() for word in (fixed, *also)]
        said += [vocabulary.plain(word) for word in each.unclear]
        assert sorted(said) == sorted(set(said)), each.name


def test_every_process_that_is_named_in_an_answer_exists() -> None:
    """The answers name processes and formats by their words in the table."""
    names = set(processes.load())
    for answer in vocabulary.MADE_UNCLEAR.values():
        named = [word.strip("().,;:") for word in answer.split() if "-" in word.strip("().,;:")]
        assert named
        assert set(named) <= names | {"35-mm"}, answer
