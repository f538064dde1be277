"""The ways out of a conflict in words that can be read aloud: what would be so if a statement were withdrawn.

"It is not Lise Holm in K00042" stands on the key that withdraws that name. Nobody is called wrong: the words are about
the photograph or the life, and never about who said it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from kinphoto.archive.words.kinds import words_of
from kinphoto.archive.words.sentences import Sentences
from kinphoto.phrases import counted, opening
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.findings import Conflict

MOST = 3
"""Ways out that a reader is told (scripts get all that the reasoner found)."""
LONGEST = 2
"""Statements in a way that can be taken in at once; a longer one is told only as the best, or the only other one."""
QUIET = "This touches who somebody's parents were: look at it alone first."
NAMED = 3
"""Things a way names; what goes beyond is counted."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way out."""

    statements: Annotated[tuple[str, ...], "a way out, for `settle`"]
    words: Annotated[str, "what would be so if these were withdrawn"]
    is_best: Annotated[bool, "true for what is set aside for now; for none when nothing tells them apart"]
    touches_parentage: Annotated[
        bool, "true when it is about who somebody's parents were, which is looked at alone first"
    ]


def ways(say: Sentences, conflict: Conflict) -> tuple[Way, ...]:
    """The best way out and some others, the best first."""
    known = conflict.ways_out or ((conflict.aside,) if conflict.aside else ())
    short = [way for way in known[1:] if len(way) <= LONGEST] or known[1:2]
    found = [*known[:1], *short][:MOST]
    words = [in_words(say, way) for way in found]
    twice = {text for text, count in Counter(words).items() if count > 1}
    return tuple(
        Way(
            way,
            f"{text} ({', '.join(way)})" if text in twice else text,
            at == 0 and not conflict.tie,
            any(isinstance(say.statements[each], ev.ParentLink) for each in way),
        )
        for at, (way, text) in enumerate(zip(found, words, strict=True))
    )


def advice(found: Sequence[Way]) -> str:
    """The same in one paragraph, with the ids, for a reader who types them."""
    if not found:
        return "These cannot all be true."
    told = [f"{way.words} [{' '.join(way.statements)}]" for way in found]
    if found[0].is_best:
        start = f"They cannot all be true. Likeliest: {told[0]}; that is set aside for now."
    else:
        start = f"They cannot all be true, and nothing here tells which. Either: {told[0]}."
    start += "".join(f" Or: {each}." for each in told[1:])
    return start + (f" {QUIET}" if any(way.touches_parentage for way in found) else "")


def without(say: Sentences, statement_id: str) -> str:
    """What would be so without a statement, as a clause: "it is not Lise Holm in K00042"."""
    said = say.statements[statement_id]
    return say.fill(words_of(said).sentence, said, so=False)


def in_words(say: Sentences, way: Sequence[str]) -> str:
    """What would be so without all of these statements: "It is not Ada Marsh in K00031, K00003 or 2 other pictures".

    Names of one person, or in one photograph, are told together; at most NAMED things are named, the rest counted.
    """
    names, others = _names(say, way), [each for each in way if not _is_name(say.statements[each])]
    clauses = list(dict.fromkeys((*names, *(without(say, each) for each in others))))
    told = clauses[:NAMED]
    if more := len(clauses) - len(told):
        told.append(f"{counted(more, 'other thing')} would not be so either")
    return opening(", and ".join(told))


def _names(say: Sentences, way: Sequence[str]) -> Iterator[str]:
    """The names among these statements as clauses: those of one person together, then those in one photograph."""
    of_person: dict[str, list[ev.Appearance]] = defaultdict(list)
    for each in way:
        said = say.statements[each]
        if isinstance(said, ev.Appearance) and _is_name(said):
            of_person[say.name(said.person)].append(said)
    in_photograph: dict[str, list[str]] = defaultdict(list)
    for who, seen in of_person.items():
        photographs = list(dict.fromkeys(one.photograph for one in seen))
        if len(photographs) > 1:
            yield f"it is not {who} in {_either(photographs, 'picture')}"
        else:
            in_photograph[photographs[0]].append(who)
    for photograph, people in in_photograph.items():
        yield f"it is not {_either(people, 'person', 'people')} in {photograph}"


def _is_name(said: ev.Statement) -> bool:
    return isinstance(said, ev.Appearance) and said.role is ev.Role.PRESENT and not said.denied


def _either(things: Sequence[str], one: str, many: str = "") -> str:
    """ "A", "A or B", "A, B or C", "A, B or 3 other pictures"."""
    if len(things) > NAMED:
        more = len(things) - (NAMED - 1)
        things = [*things[: NAMED - 1], counted(more, f"other {one}", f"other {many or one + 's'}")]
    return f"{', '.join(things[:-1])} or {things[-1]}" if len(things) > 1 else things[0]
