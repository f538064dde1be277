"""The ways out of a conflict in words: what withdrawing a statement would mean.

"It may not be Lise Holm in K00042" labels the button that withdraws that name. Nobody is called wrong: the words are
about the photograph or the life, and never about the informant.
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
"""Ways out that a reader sees (scripts get all that the reasoner found)."""
LONGEST = 2
"""Statements in a way that is easy to take in; a longer one is shown only as the best, or as the only other one."""
QUIET = "This is about who somebody's parents were: look at it alone first."
NAMED = 3
"""Things a way names; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way out."""

    statements: Annotated[tuple[str, ...], "a way out, for `settle`"]
    words: Annotated[str, "what withdrawing these would mean"]
    is_best: Annotated[bool, "true for the way that is set aside for now; for none when they are equally good"]
    touches_parentage: Annotated[
        bool, "true when it is about who somebody's parents were, which you should look at alone first"
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
    """The same in one paragraph, with the ids for a reader who types them."""
    if not found:
        return "These cannot all be true."
    best, *others = [f"{way.words} [{' '.join(way.statements)}]" for way in found]
    if found[0].is_best:
        start = f"They cannot all be true. Likeliest: {best}; this is set aside for now."
    else:
        start = f"They cannot all be true, and nothing here shows which of them is not. Either: {best}."
    start += "".join(f" Or: {each}." for each in others)
    return start + (f" {QUIET}" if any(way.touches_parentage for way in found) else "")


def in_words(say: Sentences, way: Sequence[str]) -> str:
    """What withdrawing all of these would mean: "It may not be Ada Marsh in K00031, K00003 or 2 other pictures".

    Names of one person, or in one photograph, share a clause; at most NAMED clauses are shown, the rest counted.
    """
    statements = [say.statements[each] for each in way]
    others = [say.fill(words_of(each).doubt, each) for each in statements if not _is_name(each)]
    clauses = list(dict.fromkeys((*_names(say, statements), *others)))
    shown = clauses[:NAMED]
    if more := len(clauses) - len(shown):
        shown.append(f"{counted(more, 'other statement')} may not hold")
    return opening(", and ".join(shown))


def _names(say: Sentences, statements: Sequence[ev.Statement]) -> Iterator[str]:
    """The names among these statements as clauses: those of one person together, then those in one photograph."""
    of_person: dict[str, dict[str, None]] = defaultdict(dict)
    for each in statements:
        if isinstance(each, ev.Appearance) and _is_name(each):
            of_person[say.name(each.person)][each.photograph] = None
    in_photograph: dict[str, list[str]] = defaultdict(list)
    for who, seen in of_person.items():
        if len(seen) > 1:
            yield f"it may not be {who} in {_either(list(seen), 'other picture')}"
        else:
            in_photograph[next(iter(seen))].append(who)
    for photograph, people in in_photograph.items():
        yield f"it may not be {_either(people, 'other person', 'other people')} in {photograph}"


def _is_name(statement: ev.Statement) -> bool:
    return isinstance(statement, ev.Appearance) and statement.role is ev.Role.PRESENT and not statement.denied


def _either(things: Sequence[str], one: str, many: str = "") -> str:
    """ "A", "A or B", "A, B or C", "A, B or 3 other pictures"."""
    if len(things) > NAMED:
        more = len(things) - (NAMED - 1)
        things = [*things[: NAMED - 1], counted(more, one, many)]
    return f"{', '.join(things[:-1])} or {things[-1]}" if len(things) > 1 else things[0]
